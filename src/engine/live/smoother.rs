//! Parts on their way from one value to the next: each glides for a few milliseconds, values in
//! their logarithm, so that no step is heard.

use crate::circuit::{Part, PartKind, Taper};
use crate::network::{BranchValue, contact_value, pot_values};
use std::ops::Range;

/// A number on its way, as a critically damped follower: it starts and arrives level, and may be
/// sent elsewhere meanwhile without a kink.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Smoother {
    now: f64,
    target: f64,
    /// Change a step.
    speed: f64,
    /// Angular frequency times the step, and its decay in one.
    rate: f64,
    fade: f64,
    left: u32,
}

/// `(1 + x)·e^−x` is 1 % here: after the time asked for, 99 % of the way is done.
const WAY_DONE: f64 = 6.64;
/// After so many times the time asked for the rest, a millionth of the way, is taken at once.
const PATIENCE: f64 = 2.5;

impl Smoother {
    /// At its value.
    pub fn at(value: f64) -> Self {
        Smoother {
            now: value,
            target: value,
            speed: 0.0,
            rate: 0.0,
            fade: 1.0,
            left: 0,
        }
    }

    /// Where it is.
    pub fn now(&self) -> f64 {
        self.now
    }

    /// Where it goes.
    pub fn target(&self) -> f64 {
        self.target
    }

    /// Whether it moves.
    pub fn moves(&self) -> bool {
        self.left > 0
    }

    /// Sends it to `target` within about so many steps, one at least.
    pub fn aim(&mut self, target: f64, steps: u32) {
        self.target = target;
        self.rate = WAY_DONE / f64::from(steps.max(1));
        self.fade = (-self.rate).exp();
        self.left = (PATIENCE * f64::from(steps)) as u32 + 1;
    }

    /// Goes there at once.
    pub fn arrive(&mut self) {
        self.now = self.target;
        self.speed = 0.0;
        self.left = 0;
    }

    /// One step on its way.
    pub fn step(&mut self) -> f64 {
        self.steps(1);
        self.now
    }

    /// So many steps at once.
    pub fn steps(&mut self, count: u32) {
        if count >= self.left {
            if self.left > 0 {
                self.arrive();
            }
            return;
        }
        self.left -= count;
        let away = self.now - self.target;
        let time = f64::from(count);
        let pull = (self.speed + self.rate * away) * time;
        let fade = match count {
            1 => self.fade,
            _ => (-self.rate * time).exp(),
        };
        self.now = self.target + (away + pull) * fade;
        self.speed = (self.speed - self.rate * pull) * fade;
    }
}

/// Of what kind a part is that can glide.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Sort {
    Resistor,
    Capacitor,
    /// With the share of its winding resistance in its inductance, Ω/H.
    Inductor {
        winding: f64,
    },
    Pot(Taper),
    Switch,
}

/// A part whose value can move.
#[derive(Clone, Copy, Debug)]
pub struct PartSmoother {
    sort: Sort,
    /// First of its branches.
    first_branch: usize,
    /// Logarithm of the value; of no use to a switch.
    value: Smoother,
    /// Rotation of a pot, or 1 for a closed switch.
    turn: Smoother,
    /// 1 if fitted.
    fitted: Smoother,
}

/// Decades by which a part fades before it is out: at the end its effect is far below that of any
/// real part in its place.
const DECADES_OUT: f64 = 7.0;

impl PartSmoother {
    /// A part at its value; nothing for kinds that do not glide.
    pub fn new(part: &Part, first_branch: usize) -> Option<Self> {
        let (sort, value, turn) = match &part.kind {
            PartKind::Resistor { ohms, .. } => (Sort::Resistor, *ohms, 0.0),
            PartKind::Capacitor { farads, .. } => (Sort::Capacitor, *farads, 0.0),
            PartKind::Inductor {
                henries,
                winding_ohms,
                ..
            } => {
                let winding = winding_ohms / henries;
                (Sort::Inductor { winding }, *henries, 0.0)
            }
            PartKind::Pot {
                ohms, taper, set, ..
            } => (Sort::Pot(*taper), *ohms, *set),
            PartKind::Switch { closed, .. } => (Sort::Switch, 1.0, f64::from(u8::from(*closed))),
            _ => return None,
        };
        Some(PartSmoother {
            sort,
            first_branch,
            value: Smoother::at(value.ln()),
            turn: Smoother::at(turn),
            fitted: Smoother::at(f64::from(u8::from(part.fitted))),
        })
    }

    /// Sends the value (SI units) to a new place.
    pub fn aim_value(&mut self, value: f64, steps: u32) {
        self.value.aim(value.ln(), steps);
    }

    /// Sends the rotation or contact to a new place.
    pub fn aim_turn(&mut self, turn: f64, steps: u32) {
        self.turn.aim(turn, steps);
    }

    /// Takes the part out or puts it in.
    pub fn aim_fitted(&mut self, fitted: bool, steps: u32) {
        self.fitted.aim(f64::from(u8::from(fitted)), steps);
    }

    /// Whether anything moves.
    pub fn moves(&self) -> bool {
        self.value.moves() || self.turn.moves() || self.fitted.moves()
    }

    /// So many steps on its way.
    pub fn steps(&mut self, count: u32) {
        self.value.steps(count);
        self.turn.steps(count);
        self.fitted.steps(count);
    }

    /// Goes there at once.
    pub fn arrive(&mut self) {
        self.value.arrive();
        self.turn.arrive();
        self.fitted.arrive();
    }

    /// Whether direct current can flow through it.
    pub fn conducts(&self) -> bool {
        self.sort != Sort::Capacitor
    }

    /// Its branches; a pot has two.
    pub fn own_branches(&self) -> Range<usize> {
        let count = match self.sort {
            Sort::Pot(_) => 2,
            _ => 1,
        };
        self.first_branch..self.first_branch + count
    }

    /// Values of its branches now; the second is only a pot's.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn branches(&self) -> (BranchValue, Option<BranchValue>) {
        let (turn, fitted) = (self.turn.now().clamp(0.0, 1.0), self.fitted.now());
        let value = self.value.now().exp();
        let (first, second) = match self.sort {
            Sort::Resistor => (BranchValue::resistor(value), None),
            Sort::Capacitor => (BranchValue::Capacitive { farads: value }, None),
            Sort::Inductor { winding } => (
                BranchValue::coil(winding * value, value, f64::INFINITY),
                None,
            ),
            Sort::Pot(taper) => {
                let [upper, lower] = pot_values(value, taper.share(turn));
                (upper, Some(lower))
            }
            Sort::Switch => (contact_value(turn), None),
        };
        if fitted >= 1.0 {
            return (first, second);
        }
        let out = |branch: BranchValue| match branch {
            _ if fitted <= 0.0 => branch.absent(),
            BranchValue::Coil {
                ohms,
                henries,
                damping,
            } => BranchValue::Coil {
                ohms: ohms * 10f64.powf(DECADES_OUT * (1.0 - fitted)),
                henries,
                damping,
            },
            _ => branch.scaled(10f64.powf(-DECADES_OUT * (1.0 - fitted))),
        };
        (out(first), second.map(out))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::{NodeId, Particulars};

    fn resistor(ohms: f64) -> Part {
        Part {
            designator: "R1".into(),
            line: 1,
            kind: PartKind::Resistor {
                ohms,
                between: [NodeId(1), NodeId(0)],
            },
            fitted: true,
            particulars: Particulars::default(),
        }
    }

    #[test]
    fn a_value_glides_in_its_logarithm_and_arrives_exactly() {
        let mut moving = PartSmoother::new(&resistor(1000.0), 0).unwrap();
        moving.aim_value(16_000.0, 100);
        let mut seen = Vec::new();
        while moving.moves() {
            moving.steps(1);
            let BranchValue::Resistive { siemens, .. } = moving.branches().0 else {
                unreachable!()
            };
            seen.push(-siemens.ln());
        }
        assert_eq!(seen.len(), 251);
        let way = |ohms: f64| (ohms.ln() - 1000f64.ln()) / 16f64.ln();
        // Critically damped: (1 + x)·e^−x is left at x = 6.64·t/T.
        let left = 1.0 - way(seen[49].exp());
        assert!((left - 4.32 * (-3.32f64).exp()).abs() < 1e-9, "{left}");
        assert!((seen[250].exp() / 16_000.0 - 1.0).abs() < 1e-12);
        assert!(seen.windows(2).all(|w| w[1] > w[0]));
    }

    #[test]
    fn a_part_fades_out_and_is_then_absent() {
        let mut moving = PartSmoother::new(&resistor(1000.0), 0).unwrap();
        moving.aim_fitted(false, 10);
        for _ in 0..25 {
            moving.steps(1);
        }
        let BranchValue::Resistive { siemens, .. } = moving.branches().0 else {
            unreachable!()
        };
        assert!(siemens > 0.0 && siemens < 1.1e-10, "{siemens}");
        moving.steps(1);
        assert_eq!(moving.branches().0, BranchValue::resistor(1000.0).absent());
    }
}
