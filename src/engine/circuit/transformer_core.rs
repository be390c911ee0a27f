//! Cores of output transformers: what is assumed of them hangs on the valves that drive them, so
//! it is supplied when all parts are known.

use super::parts::assumption;
use super::reader::Reader;
use super::{OutputTransformer, PartId, PartKind};
use crate::device::Valve;
use crate::units::Quantity;
use std::f64::consts::TAU;

/// Power that a pair brings, as a share of its valves' anode dissipation, and one valve or several
/// in parallel. Printed rows of EL84, 6V6GT, EL34, 6L6GC and KT66 lie at 0.4 to 1.1 and 0.2 to 0.5
/// (data sheets, see `tests/print`); the figures are ours.
const PAIR_SHARE: f64 = 0.7;
const SINGLE_SHARE: f64 = 0.4;
/// Rated power where no valve that has a printed dissipation is found at the primary, W.
const PLAIN_WATTS: f64 = 15.0;
/// Reactance of the inductance over the load at the lowest frequency of full power: twice for a
/// pair (1 dB down behind pentodes), once for a core with a gap for direct current (3 dB down).
/// Common practice, no source.
const PAIR_REACTANCE: f64 = 2.0;
const SINGLE_REACTANCE: f64 = 1.0;

/// The valves at a primary.
#[derive(Clone, Copy, Debug, Default)]
struct Driving {
    /// Printed anode dissipation of all of them, W.
    watts: f64,
    /// There is one at either end.
    pair: bool,
    any: bool,
}

/// A positive value in two digits: an assumption is no finer.
fn two_digits(value: f64) -> f64 {
    let unit = 10f64.powi(value.log10().floor() as i32 - 1);
    // Dividing by a whole number keeps values such as 0.044 as they are written.
    match unit < 1.0 {
        true => (value / unit).round() / (1.0 / unit).round(),
        false => (value / unit).round() * unit,
    }
}

impl Reader<'_> {
    /// Replaces what no line states of the cores, and says so.
    pub(super) fn supply_cores(&mut self) {
        for index in 0..self.parts.len() {
            let PartKind::OutputTransformer(t) = &self.parts[index].kind else {
                continue;
            };
            let mut core = t.clone();
            let driving = self.driving(&core);
            self.supply_core(PartId(index as u16), &mut core, driving);
            self.parts[index].kind = PartKind::OutputTransformer(core);
        }
    }

    fn supply_core(&mut self, id: PartId, core: &mut OutputTransformer, driving: Driving) {
        let single = driving.any && !driving.pair;
        let assumed = |reader: &Self, key| {
            let mut all = reader.assumed.iter();
            all.any(|a| a.part == id && a.key == key)
        };
        if assumed(self, "inductance") {
            let share = if single {
                SINGLE_REACTANCE
            } else {
                PAIR_REACTANCE
            };
            let henries = share * core.primary_ohms / (TAU * core.full_power_hz);
            core.inductance = self.supply_value(id, "inductance", Quantity::Inductance, henries);
        }
        if assumed(self, "rated_power") {
            let share = if single { SINGLE_SHARE } else { PAIR_SHARE };
            let watts = match share * driving.watts {
                0.0 => PLAIN_WATTS,
                watts => watts,
            };
            core.rated_watts = self.supply_value(id, "rated_power", Quantity::RatedPower, watts);
        }
        if assumed(self, "direct_current") {
            // Class A: the current at rest is the peak of the load's. A pair's cancel.
            core.direct_amps = if single {
                let amps = core.rated_volts() / core.primary_ohms;
                self.supply_value(id, "direct_current", Quantity::Current, amps)
            } else {
                0.0
            };
        }
    }

    /// A value in two digits, within its range, with the sentence that names it.
    fn supply_value(
        &mut self,
        part: PartId,
        key: &'static str,
        quantity: Quantity,
        value: f64,
    ) -> f64 {
        let (least, greatest) = quantity.range();
        let value = two_digits(value).clamp(least, greatest);
        let designator = &self.parts[part.0 as usize].designator;
        let words = quantity.in_words(value);
        self.supplied.push(assumption(designator, key, &words));
        value
    }

    fn driving(&self, core: &OutputTransformer) -> Driving {
        let taps = &core.primary.taps;
        let mut ends = [false; 2];
        let mut driving = Driving::default();
        for part in &self.parts {
            let (valve, anode): (&Valve, _) = match &part.kind {
                PartKind::Triode { valve, anode, .. } => (valve, anode),
                PartKind::Pentode { valve, anode, .. } => (valve, anode),
                _ => continue,
            };
            if !taps.contains(anode) {
                continue;
            }
            driving.any = true;
            let printed = valve.ratings.iter().find_map(|r| r.anode_watts);
            driving.watts += printed.unwrap_or(0.0);
            ends[0] |= *anode == taps[0];
            ends[1] |= *anode == taps[taps.len() - 1];
        }
        driving.pair = ends == [true; 2];
        driving
    }
}
