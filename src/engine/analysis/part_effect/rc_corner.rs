//! What a capacitor does together with the resistor beside it, as a clause.

use super::corner::{Corner, Surroundings};
use super::idle::idle;
use super::varied::{LEVEL_DB, PartInAmp};
use crate::analysis::response::Path;
use crate::circuit::{GROUND, NodeId, Part, PartId, PartKind};
use crate::solve::solved::SolvedCircuit;
use crate::text::digits::{hertz, significant};

/// A capacitor with so much direct voltage between two nodes, neither of them ground, couples two
/// stages, V.
const COUPLING_VOLTS: f64 = 20.0;

/// A capacitor's corner, with the part that makes it.
pub struct RcCorner {
    capacitor: PartId,
    path: Path,
    /// Whether the path ends behind the capacitor, not where the stage's does.
    local: bool,
    partners: Vec<String>,
    corner: Corner,
}

impl RcCorner {
    /// "With R9 it sets a low cut at 62 Hz".
    pub fn in_words(&self) -> String {
        let with = match &self.partners[..] {
            [] => "It".into(),
            names => format!("With {} it", names.join(" and ")),
        };
        match self.corner {
            Corner::LowCut(hz) if self.local => {
                format!("{with} cuts what passes that way below {}", hertz(hz))
            }
            Corner::LowCut(hz) => format!("{with} sets a low cut at {}", hertz(hz)),
            Corner::HighCut(hz) => format!("{with} sets a high cut at {}", hertz(hz)),
            Corner::Shelf { hz, db } if db > 0.0 => format!(
                "{with} lifts what lies above about {} by {} dB",
                hertz(hz),
                significant(db, 2)
            ),
            Corner::Shelf { hz, db } => format!(
                "{with} takes {} dB off what lies above about {}",
                significant(-db, 2),
                hertz(hz)
            ),
        }
    }

    /// The corner's figures in the changed circuit, if it is still of the same kind.
    pub fn again(&self, stage: &PartInAmp<'_>, side: &SolvedCircuit) -> Option<String> {
        let there = Surroundings::new(&stage.amp.network, side, self.capacitor, self.path)?;
        match (self.corner, there.corner()?) {
            (Corner::LowCut(_), Corner::LowCut(hz)) | (Corner::HighCut(_), Corner::HighCut(hz)) => {
                Some(hertz(hz))
            }
            (Corner::Shelf { db, .. }, Corner::Shelf { hz, db: new })
                if db.signum() == new.signum() =>
            {
                let hz = hertz(hz);
                Some(match (db - new).abs() < LEVEL_DB {
                    true => hz,
                    false => format!("{} dB, {hz}", significant(new.abs(), 2)),
                })
            }
            _ => None,
        }
    }
}

/// The part's corner: its own, or that of a capacitor beside it whose resistance it makes alone.
pub fn rc_corner(stage: &PartInAmp<'_>) -> Option<RcCorner> {
    let part = stage.before();
    match &part.kind {
        PartKind::Capacitor { .. } if part.fitted => {
            let (job, partners) = of(stage, stage.part)?;
            let circuit = &stage.amp.as_found.circuit;
            let names = partners
                .iter()
                .map(|&id| circuit.part(id).designator.clone());
            Some(RcCorner {
                partners: names.collect(),
                ..job
            })
        }
        PartKind::Resistor { between, .. } if part.fitted => {
            beside(stage, between).find_map(|capacitor| {
                let (job, partners) = of(stage, capacitor)?;
                (partners == [stage.part]).then_some(job)
            })
        }
        _ => None,
    }
}

/// Capacitors that share a node other than ground with a part.
fn beside<'a>(
    stage: &'a PartInAmp<'_>,
    ends: &'a [NodeId; 2],
) -> impl Iterator<Item = PartId> + 'a {
    let parts = stage.amp.as_found.circuit.parts().iter().enumerate();
    let beside = |part: &Part| match &part.kind {
        PartKind::Capacitor { between, .. } => {
            let shared = |node: &NodeId| *node != GROUND && ends.contains(node);
            part.fitted && between.iter().any(shared)
        }
        _ => false,
    };
    parts
        .filter(move |(_, part)| beside(part))
        .map(|(i, _)| PartId(i as u16))
}

/// The corner of a capacitor and what makes it, told with the capacitor as the partner.
fn of(stage: &PartInAmp<'_>, capacitor: PartId) -> Option<(RcCorner, Vec<PartId>)> {
    let (network, side) = (&stage.amp.network, &stage.amp.as_found);
    let at = |path: Path, local: bool| {
        let around = Surroundings::new(network, side, capacitor, path)?;
        let corner = around.corner()?;
        let (Corner::LowCut(hz) | Corner::HighCut(hz) | Corner::Shelf { hz, .. }) = corner;
        let job = RcCorner {
            capacitor,
            path,
            local,
            partners: vec![side.circuit.part(capacitor).designator.clone()],
            corner,
        };
        Some((job, around.partners(hz)))
    };
    if let Some(found) = at(stage.path, false) {
        return Some(found);
    }
    // A coupling capacitor on one of two ways is not heard alone: a low cut may still stand at
    // its far end.
    let PartKind::Capacitor { between, .. } = side.circuit.part(capacitor).kind else {
        return None;
    };
    let idle = idle(network, side, capacitor);
    let couples =
        !between.contains(&GROUND) && idle.volts.is_some_and(|volts| volts > COUPLING_VOLTS);
    let ends = between.into_iter().filter(|_| couples);
    let mut jobs = ends.filter_map(|end| {
        let path = Path {
            to: Some(end),
            ..stage.path
        };
        at(path, true).filter(|(job, _)| matches!(job.corner, Corner::LowCut(_)))
    });
    jobs.next()
}
