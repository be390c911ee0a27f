//! Parts on their way from one value to the next: each glides for a few milliseconds, values in
//! their logarithm, so that no step is heard.

use crate::circuit::{Part, PartKind, Taper};
use crate::network::{BranchValue, contact_value, pot_values};

/// A number on its way.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Glide {
    now: f64,
    target: f64,
    left: u32,
}

impl Glide {
    /// At rest.
    pub fn at(value: f64) -> Self {
        Glide {
            now: value,
            target: value,
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

    /// Sends it to `target` within `steps`; at once if none.
    pub fn aim(&mut self, target: f64, steps: u32) {
        self.target = target;
        self.left = steps;
        if steps == 0 {
            self.now = target;
        }
    }

    /// Goes there at once.
    pub fn arrive(&mut self) {
        self.aim(self.target, 0);
    }

    /// One step on its way.
    pub fn step(&mut self) -> f64 {
        if self.left > 0 {
            self.now += (self.target - self.now) / f64::from(self.left);
            self.left -= 1;
            if self.left == 0 {
                self.now = self.target;
            }
        }
        self.now
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
pub struct Moving {
    sort: Sort,
    /// First of its branches.
    pub first_branch: usize,
    /// Logarithm of the value; of no use to a switch.
    value: Glide,
    /// Rotation of a pot, or 1 for a closed switch.
    turn: Glide,
    /// 1 if fitted.
    fitted: Glide,
}

/// Decades by which a part fades before it is out: at the end its effect is far below that of any
/// real part in its place.
const DECADES_OUT: f64 = 7.0;

impl Moving {
    /// A part at rest; nothing for kinds that do not glide.
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
        Some(Moving {
            sort,
            first_branch,
            value: Glide::at(value.ln()),
            turn: Glide::at(turn),
            fitted: Glide::at(f64::from(u8::from(part.fitted))),
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

    /// One step on its way.
    pub fn step(&mut self) {
        self.value.step();
        self.turn.step();
        self.fitted.step();
    }

    /// Goes there at once.
    pub fn arrive(&mut self) {
        self.value.arrive();
        self.turn.arrive();
        self.fitted.arrive();
    }

    /// Values of its branches now; the second is only a pot's.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn branches(&self) -> (BranchValue, Option<BranchValue>) {
        let value = self.value.now().exp();
        let (first, second) = match self.sort {
            Sort::Resistor => (BranchValue::resistor(value), None),
            Sort::Capacitor => (BranchValue::Capacitive { farads: value }, None),
            Sort::Inductor { winding } => (
                BranchValue::coil(winding * value, value, f64::INFINITY),
                None,
            ),
            Sort::Pot(taper) => {
                let [upper, lower] = pot_values(value, taper.share(self.turn.now()));
                (upper, Some(lower))
            }
            Sort::Switch => (contact_value(self.turn.now()), None),
        };
        let fitted = self.fitted.now();
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
    fn a_value_glides_evenly_in_its_logarithm_and_arrives() {
        let mut moving = Moving::new(&resistor(1000.0), 0).unwrap();
        moving.aim_value(16_000.0, 4);
        let mut seen = Vec::new();
        while moving.moves() {
            moving.step();
            let BranchValue::Resistive { siemens, .. } = moving.branches().0 else {
                unreachable!()
            };
            seen.push(1.0 / siemens);
        }
        for (ohms, expected) in seen.iter().zip([2000.0, 4000.0, 8000.0, 16_000.0]) {
            assert!((ohms / expected - 1.0).abs() < 1e-12, "{ohms}");
        }
        assert_eq!(seen.len(), 4);
    }

    #[test]
    fn a_part_fades_out_and_is_then_absent() {
        let mut moving = Moving::new(&resistor(1000.0), 0).unwrap();
        moving.aim_fitted(false, 10);
        for _ in 0..9 {
            moving.step();
        }
        let BranchValue::Resistive { siemens, .. } = moving.branches().0 else {
            unreachable!()
        };
        assert!(siemens > 0.0 && siemens < 1e-8);
        moving.step();
        assert_eq!(moving.branches().0, BranchValue::resistor(1000.0).absent());
    }
}
