//! The adjustables of a circuit, in signal order: everything that its owner can change with the
//! iron or the player with a knob.

use super::adjustable::{Adjustable, AdjustableKind};
use crate::circuit::{Circuit, Kind, Part, PartId, PartKind, PartType};
use crate::device::Catalogue;
use crate::units::Quantity;
use std::sync::Arc;

/// Smallest and largest parts on sale, SI units (common practice, no source).
const ON_SALE: [(Quantity, f64, f64); 3] = [
    (Quantity::Resistance, 1.0, 22e6),
    (Quantity::Capacitance, 1e-12, 1e-3),
    (Quantity::Inductance, 1e-6, 100.0),
];

/// The adjustables of a circuit: stage by stage in the order of the file, the supplies last, and a
/// stage's controls behind its parts.
pub fn adjustables(circuit: &Circuit, catalogue: &Catalogue) -> Vec<Adjustable> {
    let mut found = Vec::new();
    for stage in stages(circuit) {
        let inside = || {
            circuit
                .parts()
                .iter()
                .enumerate()
                .filter(|(_, part)| part.particulars.stage() == stage)
                .map(|(index, part)| (PartId(index as u16), part))
        };
        for (id, part) in inside() {
            part_values(circuit, catalogue, id, part, &mut found);
        }
        for (id, part) in inside() {
            knob(circuit, id, part, &mut found);
        }
    }
    found
}

/// Stages in the order of the file, those that hold a supply behind the others.
fn stages(circuit: &Circuit) -> Vec<&str> {
    let mut order: Vec<(bool, &str)> = Vec::new();
    for part in circuit.parts() {
        let name = part.particulars.stage();
        let supply = matches!(
            part.kind.kind(),
            Kind::Supply | Kind::BiasSupply | Kind::VoltageSource | Kind::Rectifier
        );
        match order.iter_mut().find(|(_, stage)| *stage == name) {
            Some((has_supply, _)) => *has_supply |= supply,
            None => order.push((supply, name)),
        }
    }
    order.sort_by_key(|(supply, _)| *supply);
    order.into_iter().map(|(_, stage)| stage).collect()
}

fn adjustable(
    id: String,
    designator: &str,
    part: &Part,
    kind: AdjustableKind,
    filed: f64,
) -> Adjustable {
    Adjustable {
        id,
        designator: designator.to_owned(),
        role: part.particulars.role().to_string(),
        stage: part.particulars.stage().to_string(),
        kind,
        parts: Vec::new(),
        filed,
    }
}

/// Adds what the iron can change about a part.
fn part_values(
    circuit: &Circuit,
    catalogue: &Catalogue,
    id: PartId,
    part: &Part,
    found: &mut Vec<Adjustable>,
) {
    let (designator, parts) = envelope(circuit, id, part);
    if parts.first() != Some(&id) {
        return;
    }
    let value = match &part.kind {
        PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => {
            Some((Quantity::Resistance, *ohms))
        }
        PartKind::Capacitor { farads, .. } => Some((Quantity::Capacitance, *farads)),
        PartKind::Inductor { henries, .. } => Some((Quantity::Inductance, *henries)),
        _ => None,
    };
    let (kind, filed) = match value {
        Some((quantity, filed)) => (around(quantity, filed), filed),
        None => match types(circuit, part, catalogue) {
            Some((types, now)) if types.len() > 1 => (AdjustableKind::Choice { types }, now as f64),
            _ => (AdjustableKind::Fitted, -1.0),
        },
    };
    if kind != AdjustableKind::Fitted {
        let mut one = adjustable(designator.clone(), &designator, part, kind, filed);
        one.parts.clone_from(&parts);
        found.push(one);
    }
    // The only loudspeaker is never unplugged.
    let only = circuit.loudspeakers() == [id];
    if part.kind.kind().may_be_unfitted() && !only {
        let filed = f64::from(u8::from(part.fitted));
        let id = format!("{designator} fitted");
        let mut one = adjustable(id, &designator, part, AdjustableKind::Fitted, filed);
        one.parts = parts;
        found.push(one);
    }
}

/// Adds the control of a pot or switch, unless an earlier part has the same one.
fn knob(circuit: &Circuit, id: PartId, part: &Part, found: &mut Vec<Adjustable>) {
    let (control, kind, filed) = match &part.kind {
        PartKind::Pot { control, set, .. } => (control, AdjustableKind::Turn, *set),
        PartKind::Switch {
            control, closed, ..
        } => (
            control,
            AdjustableKind::Switch,
            f64::from(u8::from(*closed)),
        ),
        _ => return,
    };
    let same = |part: &Part| {
        part.kind
            .control()
            .is_some_and(|c| c.eq_ignore_ascii_case(control))
    };
    let ganged: Vec<PartId> = (0..circuit.parts().len())
        .filter(|&index| same(&circuit.parts()[index]))
        .map(|index| PartId(index as u16))
        .collect();
    if ganged.first() != Some(&id) {
        return;
    }
    let mut one = adjustable(control.clone(), control, part, kind, filed);
    one.parts = ganged;
    one.role = String::new();
    found.push(one);
}

/// Two decades about a value, within what is sold.
fn around(quantity: Quantity, filed: f64) -> AdjustableKind {
    let sold = ON_SALE.iter().find(|(q, ..)| *q == quantity);
    let (least, most) = sold.map_or(quantity.range(), |&(_, least, most)| (least, most));
    AdjustableKind::Value {
        quantity,
        low: decades(filed, -1).max(least.min(filed)),
        high: decades(filed, 1).min(most.max(filed)),
    }
}

/// A value moved by whole decades as it is written: ten times 22u is 220u, where a product of the
/// doubles is a whisker below it.
fn decades(value: f64, count: i32) -> f64 {
    let written = format!("{value:e}");
    let (digits, exponent) = written.split_once('e').expect("`e` format has an exponent");
    let exponent: i32 = exponent.parse().expect("`e` format has a number there");
    format!("{digits}e{}", exponent + count)
        .parse()
        .expect("digits and an exponent")
}

/// Types that fit where a part stands, and the index of its own.
fn types(circuit: &Circuit, part: &Part, catalogue: &Catalogue) -> Option<(Vec<PartType>, usize)> {
    let (types, now): (Vec<PartType>, &str) = match &part.kind {
        PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => (
            catalogue
                .valves
                .iter()
                .filter(|v| v.socket == valve.socket && v.law.same_kind(&valve.law))
                .map(|v| PartType::Valve(Arc::clone(v)))
                .collect(),
            &valve.name,
        ),
        PartKind::Rectifier { rectifier, .. } => {
            let all = catalogue.rectifiers.iter();
            (
                all.map(|r| PartType::Rectifier(Arc::clone(r))).collect(),
                &rectifier.name,
            )
        }
        PartKind::Loudspeaker { driver, .. } => {
            let all = circuit.known_loudspeakers(catalogue).all();
            (
                all.map(|l| PartType::Loudspeaker(Arc::clone(l))).collect(),
                &driver.name,
            )
        }
        _ => return None,
    };
    let now = types.iter().position(|one| one.name() == now)?;
    Some((types, now))
}

/// A valve's bottle with both of its halves, or the part itself.
fn envelope(circuit: &Circuit, id: PartId, part: &Part) -> (String, Vec<PartId>) {
    let own = || (part.designator.clone(), vec![id]);
    if !matches!(
        part.kind,
        PartKind::Triode { .. } | PartKind::Pentode { .. }
    ) {
        return own();
    }
    let name = part
        .designator
        .trim_end_matches(|c: char| c.is_ascii_lowercase());
    let halves = circuit.parts_named(name);
    if halves.contains(&id) {
        (name.to_owned(), halves)
    } else {
        own()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{built_in_circuits, read};

    #[test]
    fn every_slot_gives_back_the_text_that_it_prints() {
        let catalogue = Catalogue::built_in();
        for amp in built_in_circuits() {
            let circuit = read(amp.text, &catalogue).unwrap();
            let adjustables = adjustables(&circuit, &catalogue);
            let mut ids: Vec<&str> = adjustables.iter().map(|s| s.id.as_str()).collect();
            ids.sort_unstable();
            ids.dedup();
            assert_eq!(ids.len(), adjustables.len(), "{}: ids are unique", amp.name);
            for adjustable in &adjustables {
                let back = adjustable.read(&adjustable.text(adjustable.filed)).unwrap();
                assert!(
                    adjustable.same(back, adjustable.filed),
                    "{}: {back}",
                    adjustable.id
                );
                if let AdjustableKind::Value { low, high, .. } = adjustable.kind {
                    assert!(
                        low < adjustable.filed && adjustable.filed < high,
                        "{}",
                        adjustable.id
                    );
                }
            }
        }
    }

    #[test]
    fn a_bottle_is_one_slot_and_supplies_come_last() {
        let catalogue = Catalogue::built_in();
        let circuit = read(built_in_circuits()[0].text, &catalogue).unwrap();
        let adjustables = adjustables(&circuit, &catalogue);
        let first = adjustables.iter().find(|s| s.id == "V1").unwrap();
        assert_eq!(first.parts.len(), 2);
        assert!(adjustables.iter().all(|s| s.id != "V1a"));
        let place = |id: &str| adjustables.iter().position(|s| s.id == id).unwrap();
        assert!(place("R101") < place("R401") && place("R401") < place("R504"));
    }
}
