//! What lies between an amp's jack and its first grids: the parts that a guitar's impedance works
//! with.

use super::Circuit;
use super::part::{GROUND, NodeId, Part, PartId, PartKind};

/// The nodes of a passive part that carry the signal on.
fn passes(part: &Part) -> Vec<NodeId> {
    match &part.kind {
        PartKind::Resistor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Switch { between, .. } => between.to_vec(),
        PartKind::Pot {
            from, to, wiper, ..
        } => vec![*from, *to, *wiper],
        _ => Vec::new(),
    }
}

/// Grid of a valve section, and its other electrodes.
fn electrodes(part: &Part) -> Option<(NodeId, Vec<NodeId>)> {
    match &part.kind {
        PartKind::Triode {
            anode,
            grid,
            cathode,
            ..
        } => Some((*grid, vec![*anode, *cathode])),
        PartKind::Pentode {
            anode,
            screen,
            grid,
            cathode,
            ..
        } => Some((*grid, vec![*anode, *screen, *cathode])),
        _ => None,
    }
}

impl Circuit {
    /// The parts that hang on the jack with nothing but passive parts between, and the valves whose
    /// grids do, in the order of the file. What they do depends on what drives the jack.
    pub fn front_parts(&self) -> Vec<PartId> {
        let ends = |part: &Part| match &part.kind {
            PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => vec![*node],
            PartKind::VoltageSource { between, .. } => between.to_vec(),
            _ => electrodes(part).map_or_else(Vec::new, |(_, others)| others),
        };
        let stops: Vec<NodeId> = self.parts.iter().flat_map(ends).chain([GROUND]).collect();
        let mut front = vec![self.input];
        let mut seen = 0;
        while let Some(&node) = front.get(seen) {
            seen += 1;
            if stops.contains(&node) {
                continue;
            }
            for part in &self.parts {
                let nodes = passes(part);
                if nodes.contains(&node) {
                    let fresh: Vec<NodeId> =
                        nodes.into_iter().filter(|n| !front.contains(n)).collect();
                    front.extend(fresh);
                }
            }
        }
        front.retain(|node| !stops.contains(node));
        let belongs = |part: &Part| {
            let grid = electrodes(part).map(|(grid, _)| grid);
            let mut nodes = passes(part).into_iter().chain(grid);
            nodes.any(|node| front.contains(&node))
        };
        let numbered = self.parts.iter().enumerate();
        numbered
            .filter(|(_, part)| belongs(part))
            .map(|(index, _)| PartId(index as u16))
            .collect()
    }

    /// Whether a change to this part cannot be judged because nobody said what drives the jack.
    pub fn wants_guitar(&self, part: PartId) -> bool {
        self.guitar.is_none() && self.front_parts().contains(&part)
    }
}

#[cfg(test)]
mod tests {
    use crate::circuit::{built_in_circuit, read};
    use crate::device::Catalogue;

    #[test]
    fn the_front_of_an_amp_ends_at_its_first_grid() {
        let text = built_in_circuit("bradawl").unwrap().text;
        let circuit = read(text, &Catalogue::built_in()).unwrap();
        let front = circuit.front_parts().into_iter();
        let names: Vec<&str> = front
            .map(|id| circuit.part(id).designator.as_str())
            .collect();
        assert_eq!(names, ["R101", "R102", "V1a"]);
        assert!(circuit.wants_guitar(circuit.find_part("R101").unwrap()));
        assert!(!circuit.wants_guitar(circuit.find_part("R103").unwrap()));
    }
}
