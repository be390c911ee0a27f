//! How far down an output transformer carries power: what its core leaves for low notes.
//!
//! Takes an amp at rest, and what its loudspeakers get where that is known; gives, a transformer, the
//! lowest frequency of full power with the direct current that flows through it, and how much of its
//! flux full output asks for at the lowest string of a guitar.

use crate::circuit::PartKind;
use crate::network::Network;
use crate::network::cores::henries;
use crate::solve::solved::{Both, SolvedCircuit};
use crate::text::digits::{percent, printed_hertz, significant};
use serde::Serialize;
use std::f64::consts::TAU;

/// The lowest string of a guitar, Hz.
pub const LOW_E_HZ: f64 = 82.41;
/// A demand on the flux that rises by less than this share is the same.
const NOTHING_SHARE: f64 = 0.05;

/// One output transformer.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LowNotes {
    /// Designator.
    pub designator: String,
    /// Rated power, W.
    pub rated_watts: f64,
    /// Lowest frequency at which it carries that, with the direct current that flows, Hz; none where
    /// that current alone takes up all its flux.
    pub full_power_hz: Option<f64>,
    /// The same without direct current beyond that which it is made for, Hz.
    pub stated_full_power_hz: f64,
    /// Direct current through the whole primary, mA: the difference of a pair's.
    pub direct_milliamps: f64,
    /// What it carries at the low E, W, at most its rated power.
    pub low_e_watts: f64,
    /// Flux in the core at rest over the rated flux.
    share_at_rest: f64,
    /// Peak volts across the whole primary that bring the rated flux at the low E without direct
    /// current.
    rated_volts_at_low_e: f64,
    /// What the loudspeakers in their rated impedances show the whole primary, Ω; none without a load.
    pub primary_ohms: Option<f64>,
}

/// Every output transformer of one circuit.
pub fn low_notes(network: &Network, side: &SolvedCircuit) -> Vec<LowNotes> {
    let loads = side.circuit.nominal_loads();
    let cores = network.cores().iter().zip(&side.values.cores);
    let one = |(core, law): (&crate::network::Core, _)| {
        let part = side.circuit.part(core.part);
        let PartKind::OutputTransformer(t) = &part.kind else {
            return None;
        };
        let branch = &side.values.branches[core.branch];
        let amps = core.amps_at_rest(branch, law, side.point.solution[core.at]);
        let (rated, at_rest) = (t.rated_flux(), amps.abs() * henries(branch));
        let left = rated - at_rest;
        let full_power_hz = (left > 0.0).then(|| t.rated_volts() / (TAU * left));
        let load = loads.iter().find(|load| load.transformer == core.part);
        let share = full_power_hz.map_or(0.0, |hz| (LOW_E_HZ / hz).min(1.0));
        Some(LowNotes {
            designator: part.designator.clone(),
            rated_watts: t.rated_watts,
            full_power_hz,
            stated_full_power_hz: t.full_power_hz,
            direct_milliamps: 1e3 * amps.abs(),
            low_e_watts: t.rated_watts * share * share,
            share_at_rest: at_rest / rated,
            rated_volts_at_low_e: TAU * LOW_E_HZ * rated,
            primary_ohms: load.map(|load| load.primary_ohms).filter(|o| o.is_finite()),
        })
    };
    cores.filter_map(one).collect()
}

impl LowNotes {
    /// Flux that a tone of `watts` in the loudspeakers asks for at the low E, over what the core is
    /// rated for; none without a load.
    pub fn demand(&self, watts: f64) -> Option<f64> {
        let volts = (2.0 * watts * self.primary_ohms?).sqrt();
        Some(self.share_at_rest + volts / self.rated_volts_at_low_e)
    }

    /// One sentence.
    pub fn in_words(&self) -> String {
        let (name, watts) = (&self.designator, significant(self.rated_watts, 2));
        let Some(hz) = self.full_power_hz else {
            return format!(
                "{name}: {} mA of direct current take up all the flux of its core; it saturates \
                 without a note.",
                significant(self.direct_milliamps, 2)
            );
        };
        let end = match hz > LOW_E_HZ {
            true => format!(
                "; at the low E (82 Hz) up to {} W, beyond which it saturates",
                significant(self.low_e_watts, 2)
            ),
            false => ", so also at the low E (82 Hz)".into(),
        };
        format!(
            "{name} carries its {watts} W down to {}{end}.",
            printed_hertz(hz)
        )
    }
}

/// What a proposal asks of a transformer at the low E, where that is more than its core carries and
/// more than before. `watts`: full output of each side.
pub fn asks_more(sides: &Both<&LowNotes>, watts: &Both<f64>) -> Option<Both<f64>> {
    let [was, is] = [
        sides.as_found.demand(watts.as_found)?,
        sides.proposed.demand(watts.proposed)?,
    ];
    let more = is > 1.0 && is > (1.0 + NOTHING_SHARE) * was;
    more.then_some(Both {
        as_found: was,
        proposed: is,
    })
}

/// The same in words.
pub fn asks_more_in_words(designator: &str, demand: &Both<f64>) -> String {
    format!(
        "{designator}: full output at the low E (82 Hz) asks {} of the flux that its core is rated \
         for (was {}). Loud low notes lose level and turn harsh.",
        percent(100.0 * demand.proposed),
        percent(100.0 * demand.as_found)
    )
}
