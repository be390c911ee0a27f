//! The work behind the pictures: a request with two sets of numbers in, reports out. Quick work
//! follows a dragged value within a frame; slow work plays.

use crate::analysis::at_rest::{AtRest, Both, Side};
use crate::analysis::phrase::phrase;
use crate::analysis::response::{Path, axis, curve_of};
use crate::analysis::verdict::{NoVerdict, Sound, Verdict, compare};
use crate::analysis::voltages::{VoltageChart, chart};
use crate::circuit::{Circuit, NodeId};
use crate::live::LiveAmp;
use std::sync::Arc;
use std::time::{Duration, Instant};

/// What is to be computed.
#[derive(Clone, Debug)]
pub struct Request {
    /// The amp.
    pub amp: Arc<LiveAmp>,
    /// Its numbers as found, one a slot, the player's controls as they stand.
    pub as_found: Vec<f64>,
    /// As proposed.
    pub proposed: Vec<f64>,
    /// Node of the curve; the loudspeaker if none.
    pub node: Option<NodeId>,
    /// Slot of the part that is looked at.
    pub slot: Option<usize>,
}

impl Request {
    /// Whether it asks for the same.
    pub fn same(&self, other: &Request) -> bool {
        self.same_values(other) && self.node == other.node && self.slot == other.slot
    }

    /// Whether it is about the same amp with the same values.
    pub fn same_values(&self, other: &Request) -> bool {
        Arc::ptr_eq(&self.amp, &other.amp)
            && self.as_found == other.as_found
            && self.proposed == other.proposed
    }

    fn circuits(&self) -> Result<Both<Circuit>, String> {
        let of = |values: &[f64]| {
            self.amp.circuit_with(values).map_err(|faults| {
                let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
                lines.join(" ")
            })
        };
        Ok(Both {
            as_found: of(&self.as_found)?,
            proposed: of(&self.proposed)?,
        })
    }
}

/// What follows a dragged value.
#[derive(Clone, Debug)]
pub struct Quick {
    /// What it answers.
    pub request: Request,
    /// Frequencies, Hz.
    pub hz: Vec<f64>,
    /// Gain to the node, dB, a value a frequency.
    pub db: Both<Vec<f64>>,
    /// Voltages and valves at rest.
    pub charts: Both<VoltageChart>,
    /// How long it took.
    pub took: Duration,
}

/// What takes seconds.
#[derive(Clone, Debug)]
pub struct Slow {
    /// The verdict on the guitar phrase.
    pub verdict: Verdict,
    /// How long it took.
    pub took: Duration,
}

/// Does the quick work.
///
/// # Errors
/// A sentence when the circuit has no solution.
pub fn quick(request: &Request) -> Result<Quick, String> {
    let start = Instant::now();
    let circuits = request.circuits()?;
    let rest = AtRest::new(&circuits.as_found, Some(&circuits.proposed))
        .map_err(|fault| fault.to_string())?;
    let sides = rest.both().expect("two circuits were given");
    let path = Path {
        from: None,
        to: request.node,
    };
    let curve = |side: &&Side| curve_of(&rest.network, side, path).db;
    Ok(Quick {
        hz: axis(),
        db: sides.map(curve),
        charts: sides.map(|side| chart(&rest.network, side)),
        request: request.clone(),
        took: start.elapsed(),
    })
}

/// Rate at which the phrase is played, Hz.
const PHRASE_RATE: u32 = 48_000;

/// Peak volts at the loudspeaker that make full scale; it only places the loudness readings, whose
/// difference is what is shown.
const FULL_SCALE_VOLTS: f64 = 20.0;

/// Does the slow work. `progress` is told the share that is done and may unwind to give up.
///
/// # Errors
/// A sentence when there is no verdict.
pub fn slow(request: &Request, progress: &mut dyn FnMut(f64)) -> Result<Slow, String> {
    let start = Instant::now();
    let circuits = request.circuits()?;
    let played = phrase(PHRASE_RATE);
    let sound = Sound {
        name: "the built-in guitar phrase",
        rate: PHRASE_RATE,
        channels: &[played],
        // The phrase is in volts.
        input_volts: 1.0,
        output_volts: FULL_SCALE_VOLTS,
        may_exceed: true,
    };
    let compared =
        compare(&circuits.as_found, &circuits.proposed, "", &sound, progress).map_err(|fault| {
            match fault {
                NoVerdict::NoRest(fault) => fault.to_string(),
                NoVerdict::NotFinite(_) => "What comes out is not made of numbers.".into(),
            }
        })?;
    Ok(Slow {
        verdict: compared.verdict,
        took: start.elapsed(),
    })
}
