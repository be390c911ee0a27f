//! What has been worked out already: a window that follows an edit works out only the circuits that
//! it has not met.

use super::calibrated::CalibratedSound;
use super::side::{SideFigures, Thorough};
use crate::advice::changes::Figures;
use crate::circuit::Circuit;
use std::sync::Arc;

/// Circuits remembered: as found, as proposed, and those of a proposal of a dozen changes.
const MOST: usize = 26;

/// Figures by circuit, for one sound; the latest last.
#[derive(Clone, Debug, Default)]
pub struct Cache {
    sound: Option<Heard>,
    sides: Vec<(Circuit, Arc<SideFigures>)>,
    changes: Vec<(Circuit, Arc<Figures>)>,
    thorough: Vec<(Circuit, Arc<Thorough>)>,
}

/// What tells one sound from another.
#[derive(Clone, Debug, PartialEq)]
struct Heard {
    name: String,
    rate: u32,
    volts: [f64; 2],
    frames: Vec<usize>,
}

impl Cache {
    /// Forgets everything when another sound is played; sounds of one name are one.
    pub(super) fn of_sound(&mut self, played: &CalibratedSound) {
        let heard = Heard {
            name: played.sound.name.clone(),
            rate: played.sound.rate,
            volts: [played.input_volts, played.output_volts],
            frames: played.sound.channels.iter().map(Vec::len).collect(),
        };
        if self.sound.as_ref() != Some(&heard) {
            *self = Cache {
                sound: Some(heard),
                ..Cache::default()
            };
        }
    }

    /// All figures of a circuit.
    pub(super) fn side(&mut self, circuit: &Circuit) -> Option<Arc<SideFigures>> {
        take(&mut self.sides, circuit)
    }

    /// Remembers them.
    pub(super) fn put_side(&mut self, circuit: &Circuit, figures: Arc<SideFigures>) {
        put(&mut self.changes, circuit, Arc::clone(&figures.of_changes));
        put(&mut self.sides, circuit, figures);
    }

    /// The figures that a change is judged by.
    pub(super) fn of_changes(&mut self, circuit: &Circuit) -> Option<Arc<Figures>> {
        take(&mut self.changes, circuit)
    }

    /// Remembers them.
    pub(super) fn put_of_changes(&mut self, circuit: &Circuit, figures: Arc<Figures>) {
        put(&mut self.changes, circuit, figures);
    }
}

impl Cache {
    /// What takes a second by itself.
    pub(super) fn thorough(&mut self, circuit: &Circuit) -> Option<Arc<Thorough>> {
        take(&mut self.thorough, circuit)
    }

    /// Remembers it.
    pub(super) fn put_thorough(&mut self, circuit: &Circuit, thorough: Arc<Thorough>) {
        put(&mut self.thorough, circuit, thorough);
    }
}

/// Finds the figures of a circuit and moves them to the end.
fn take<T>(known: &mut Vec<(Circuit, Arc<T>)>, circuit: &Circuit) -> Option<Arc<T>> {
    let place = known
        .iter()
        .position(|(c, _)| c.same_but_for_lines(circuit))?;
    let found = known.remove(place);
    let figures = Arc::clone(&found.1);
    known.push(found);
    Some(figures)
}

fn put<T>(known: &mut Vec<(Circuit, Arc<T>)>, circuit: &Circuit, figures: Arc<T>) {
    known.retain(|(c, _)| !c.same_but_for_lines(circuit));
    known.push((circuit.clone(), figures));
    if known.len() > MOST {
        known.remove(0);
    }
}
