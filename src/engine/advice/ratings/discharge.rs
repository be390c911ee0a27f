//! What stays charged when the amp is switched off: energy, what drains it, and for how long.
//!
//! The worst case: valves cold, rectifiers blocking (a stated supply stands for one). What is left
//! are resistors, windings and capacitors, `C·v' = −G·v`, solved from the highest voltages at
//! switch-off by steps that grow with time. The method is the two-stage, stiffly accurate
//! Runge-Kutta method with γ = 1 − 1/√2 (R. Alexander, SIAM J. Numer. Anal. 14(6), 1977, from
//! memory).

use super::passive::{Sources, capacitances, conductances, matrix};
use super::valves::Seen;
use crate::circuit::{PartId, PartKind};
use crate::network::Network;
use crate::network::assemble::branch_volts;
use crate::text::digits::{fixed, significant};
use crate::units::Quantity;
use serde::Serialize;

/// Direct voltage that counts as harmless to a technician here, V: the limit of energy class ES1
/// and of the discharge rule of IEC 60204-1 (seen as quotations).
pub const SAFE_VOLTS: f64 = 60.0;
/// Charge below which a capacitor is left out, C: 45 µC (IEC 60335-1, for up to 15 kV; seen as a
/// quotation).
const SAFE_COULOMBS: f64 = 45e-6;
/// Longest time that is followed, s. What holds longer is said to hold for hours or days.
const LONGEST_SECONDS: f64 = 3600.0;
/// First step, s, and by which share of the time that has passed the others grow.
const FIRST_STEP: f64 = 2e-3;
const GROWTH: f64 = 0.07;
/// A part counts as what drains a capacitor from this share of the whole heat on (own design).
const MAIN_SHARE: f64 = 0.25;

/// One capacitor that stays charged.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Reservoir {
    /// Designator.
    pub designator: String,
    /// What it does; may be empty.
    pub role: String,
    /// Its value, F.
    pub farads: f64,
    /// Highest direct voltage, V: valves cold, mains 10 % high.
    pub volts: f64,
    /// Energy at that voltage, J.
    pub joules: f64,
    /// Time to fall below 60 V for good, with the amp off and the valves cold, s; none when that
    /// takes more than an hour.
    pub seconds: Option<f64>,
    /// Parts that turn most of what is stored into heat until then.
    pub through: Vec<String>,
    /// All of it in words, after the designator and a colon.
    pub in_words: String,
}

/// Every capacitor above 60 V that holds more than 45 µC, most energy first.
pub fn reservoirs(seen: &Seen<'_>) -> Vec<Reservoir> {
    let circuit = &seen.side.circuit;
    let start = [&seen.states.cold, &seen.states.high];
    let start = start.into_iter().flatten().next();
    let start = start.unwrap_or(&seen.states.nominal);
    let volts = |id: PartId| {
        let branch = seen.network.branches_of(id).start;
        branch_volts(seen.network, branch, start).abs()
    };
    let charged: Vec<(PartId, f64)> = (0..circuit.parts().len())
        .map(|i| PartId(i as u16))
        .filter_map(|id| match circuit.part(id).kind {
            PartKind::Capacitor { farads, .. } if circuit.part(id).fitted => Some((id, farads)),
            _ => None,
        })
        .filter(|&(id, farads)| volts(id) > SAFE_VOLTS && farads * volts(id) > SAFE_COULOMBS)
        .collect();
    if charged.is_empty() {
        return Vec::new();
    }
    let branches: Vec<usize> = charged
        .iter()
        .map(|&(id, _)| seen.network.branches_of(id).start)
        .collect();
    let drain = Drain::new(seen);
    let drained = drain.run(start, &branches);
    let islands = drain.islands();
    let mut found: Vec<Reservoir> = charged
        .iter()
        .zip(&drained.seconds)
        .map(|(&(id, farads), &seconds)| {
            let part = circuit.part(id);
            let joules = 0.5 * farads * volts(id).powi(2);
            let mut reservoir = Reservoir {
                designator: part.designator.clone(),
                role: part.particulars.role().to_string(),
                farads,
                volts: volts(id),
                joules,
                seconds,
                through: match seconds {
                    Some(_) => drained.through(seen, &islands, id),
                    None => Vec::new(),
                },
                in_words: String::new(),
            };
            reservoir.in_words = sentence(&reservoir);
            reservoir
        })
        .collect();
    found.sort_by(|a, b| b.joules.total_cmp(&a.joules));
    found
}

fn sentence(of: &Reservoir) -> String {
    let charged = format!(
        "{} at up to {} V holds {} J",
        Quantity::Capacitance.in_words(of.farads),
        fixed(of.volts, 0),
        significant(of.joules, 2)
    );
    match of.seconds {
        None => format!(
            "{charged}. With the valves cold nothing drains it: it can stay charged for hours or \
             days after the plug is pulled."
        ),
        Some(seconds) => format!(
            "{charged}. With the amp off and the valves cold it falls below {SAFE_VOLTS} V in {}{}.",
            duration(seconds),
            match of.through.as_slice() {
                [] => String::new(),
                parts => {
                    let names: Vec<&str> = parts.iter().map(String::as_str).collect();
                    format!(", through {}", crate::text::list::listed(&names))
                }
            }
        ),
    }
}

/// "21 s", "4 min"; never less than a second.
pub fn duration(seconds: f64) -> String {
    if seconds < 1.0 {
        "less than a second".into()
    } else if seconds < 100.0 {
        format!("{} s", significant(seconds, 2))
    } else {
        format!("{} min", significant(seconds / 60.0, 2))
    }
}

/// The unpowered network.
struct Drain<'a> {
    network: &'a Network,
    siemens: Vec<f64>,
    farads: Vec<f64>,
}

/// What came of it.
struct Drained {
    /// For each capacitor asked for: when it fell below 60 V for good; none within the time.
    seconds: Vec<Option<f64>>,
    /// Energy that each branch turned into heat, J.
    heat: Vec<f64>,
}

impl<'a> Drain<'a> {
    fn new(seen: &Seen<'a>) -> Self {
        let (network, side) = (seen.network, seen.side);
        Drain {
            network,
            siemens: conductances(network, &side.circuit, &side.values, Sources::Off),
            farads: capacitances(network, &side.values),
        }
    }

    /// From volts by position at switch-off until the capacitors of `branches` are below 60 V.
    fn run(&self, start: &[f64], branches: &[usize]) -> Drained {
        let gamma = 1.0 - 0.5_f64.sqrt();
        let program = self.network.program();
        let mut volts = start.to_vec();
        let mut time = 0.0;
        let mut seconds: Vec<Option<f64>> = vec![None; branches.len()];
        let mut heat = vec![0.0; self.siemens.len()];
        let mut powers = self.powers(&volts);
        let mut step = FIRST_STEP;
        let mut stage = vec![0.0; volts.len()];
        while time < LONGEST_SECONDS {
            // Both stages share one matrix: C + γhG.
            let shared = matrix(self.network, |b| {
                self.farads[b] + gamma * step * self.siemens[b]
            });
            let slope = |at: &[f64]| {
                let mut right = self.outflow(at);
                let mut factors = shared.clone();
                program.solve(&mut factors, &mut right);
                right[self.network.unknowns()] = 0.0;
                right
            };
            let first = slope(&volts);
            for (out, (v, k)) in stage.iter_mut().zip(volts.iter().zip(&first)) {
                *out = v + (1.0 - gamma) * step * k;
            }
            let second = slope(&stage);
            let before: Vec<f64> = self.across(branches, &volts);
            for (v, (a, b)) in volts.iter_mut().zip(stage.iter().zip(&second)) {
                *v = a + gamma * step * b;
            }
            let after = self.across(branches, &volts);
            if volts.iter().any(|v| !v.is_finite()) {
                break;
            }
            let later = self.powers(&volts);
            for (sum, (a, b)) in heat.iter_mut().zip(powers.iter().zip(&later)) {
                *sum += 0.5 * step * (a + b);
            }
            powers = later;
            for (slot, (a, b)) in seconds.iter_mut().zip(before.iter().zip(&after)) {
                if *b > SAFE_VOLTS {
                    *slot = None;
                } else if *a > SAFE_VOLTS {
                    // An exponential between the two.
                    let share = (a / SAFE_VOLTS).ln() / (a / b.max(1e-9)).ln();
                    *slot = Some(time + step * share.clamp(0.0, 1.0));
                }
            }
            time += step;
            step = step.max(GROWTH * time);
            let safe = |v: &f64| *v <= SAFE_VOLTS;
            if after.iter().all(safe) {
                break;
            }
        }
        Drained { seconds, heat }
    }

    /// For each position the number of the island of conductors that it belongs to; ground joins
    /// nothing.
    fn islands(&self) -> Vec<usize> {
        let mut island: Vec<usize> = (0..self.network.unknowns()).collect();
        let mut moved = true;
        while moved {
            moved = false;
            for (branch, siemens) in self.network.branches().iter().zip(&self.siemens) {
                if *siemens * super::passive::NO_PATH_OHMS < 1.0 {
                    continue;
                }
                let of = |i: &[usize]| branch.terminals.iter().map(|t| i[t.0]).min();
                let Some(least) = of(&island) else { continue };
                for &(at, _) in &branch.terminals {
                    moved |= island[at] != least;
                    island[at] = least;
                }
            }
        }
        island
    }

    fn across(&self, branches: &[usize], volts: &[f64]) -> Vec<f64> {
        let each = branches.iter();
        each.map(|&b| branch_volts(self.network, b, volts).abs())
            .collect()
    }

    /// Currents that leave the nodes' capacitances: −G·v.
    fn outflow(&self, volts: &[f64]) -> Vec<f64> {
        let mut out = vec![0.0; volts.len()];
        for (index, branch) in self.network.branches().iter().enumerate() {
            let amps = self.siemens[index] * branch_volts(self.network, index, volts);
            for &(at, c) in &branch.terminals {
                out[at] -= c * amps;
            }
        }
        out
    }

    fn powers(&self, volts: &[f64]) -> Vec<f64> {
        let each = self.siemens.iter().enumerate();
        each.map(|(b, g)| g * branch_volts(self.network, b, volts).powi(2))
            .collect()
    }
}

impl Drained {
    /// Designators of the parts that made most of the heat among those that are joined to a
    /// capacitor by more than other capacitors and ground.
    fn through(&self, seen: &Seen<'_>, islands: &[usize], capacitor: PartId) -> Vec<String> {
        let island = |branch: usize| {
            let terminals = seen.network.branches()[branch].terminals.iter();
            terminals.map(|&(at, _)| islands[at]).collect::<Vec<_>>()
        };
        let of_capacitor = island(seen.network.branches_of(capacitor).start);
        let parts = seen.side.circuit.parts().iter().enumerate();
        let heat = parts.map(|(i, part)| {
            let range = seen.network.branches_of(PartId(i as u16));
            let joined = |&b: &usize| island(b).iter().any(|i| of_capacitor.contains(i));
            let heat: f64 = range.filter(joined).map(|b| self.heat[b]).sum();
            (heat, part)
        });
        let heat: Vec<_> = heat.collect();
        let all: f64 = heat.iter().map(|(heat, _)| heat).sum();
        let mut main: Vec<_> = heat
            .into_iter()
            .filter(|(heat, _)| *heat > MAIN_SHARE * all)
            .collect();
        main.sort_by(|a, b| b.0.total_cmp(&a.0));
        let names = main.into_iter().map(|(_, part)| part.designator.clone());
        names.collect()
    }
}
