//! Output stages as their makers tested them: one valve or two, a transformer, a resistor, a sine at
//! the grids.
//!
//! Printed conditions are those of the anodes. Behind one valve the transformer is nearly ideal; the
//! printed power of pairs is that behind a real one, and the one that is assumed where a file states
//! nothing brings it out. The tone is
//! 1 kHz (print names none) from a source without resistance. Cathode resistors are bypassed
//! (print says nothing). The supply is the printed anode voltage plus the printed bias, because
//! valve voltages are printed from the cathode.

use super::ledger::{Ledger, Miss, Within};
use super::sine::steady;
use super::{capacitor, idle, resistor, solved, source, supply};
use crate::solved::Solved;

/// How the control grids get their bias.
#[derive(Clone, Copy)]
pub enum Bias {
    /// Volts that the grids stand below the cathodes.
    Fixed(f64),
    /// Resistor that all cathodes share (Ω), and the printed volts across it.
    Cathode { ohms: f64, volts: f64 },
}

/// A stage under test.
#[derive(Clone, Copy)]
pub struct Stage {
    pub valve: &'static str,
    pub push_pull: bool,
    /// Anode and screen volts from the cathode, without signal.
    pub anode_volts: f64,
    /// None with the screen tied to the anode.
    pub screen_volts: Option<f64>,
    pub bias: Bias,
    /// Load of the valve, or from anode to anode, Ω.
    pub load_ohms: f64,
}

/// What print says at one drive; mean currents of one valve (with the screen's where it is tied
/// to the anode), 0 where print says nothing.
#[derive(Clone, Copy)]
pub struct Driven {
    /// Sine at each grid, V r.m.s.
    pub volts: f64,
    pub anode_ma: f64,
    pub screen_ma: f64,
    pub watts: f64,
    pub distortion_percent: f64,
}

/// V r.m.s. at each grid, anode mA, screen mA, W, distortion %.
pub const fn driven(
    volts: f64,
    anode_ma: f64,
    screen_ma: f64,
    watts: f64,
    distortion_percent: f64,
) -> Driven {
    Driven {
        volts,
        anode_ma,
        screen_ma,
        watts,
        distortion_percent,
    }
}

/// A printed line: the currents of one valve without signal, then driven.
pub struct Condition {
    pub name: &'static str,
    pub stage: Stage,
    pub anode_ma: f64,
    /// 0 where print says nothing.
    pub screen_ma: f64,
    pub driven: &'static [Driven],
}

const SECONDARY_OHMS: f64 = 8.0;
/// A transformer that is nearly ideal: at 1 kHz its inductance takes less than 2 % of the current
/// of the highest load here, at right angles, and its capacitance less.
const NEARLY_IDEAL: &str = ", inductance = \"100 H\", leakage = \"1 uH\", leakage_damping = \"10M\", \
    resistance = [\"0.01\", \"0.01\"], core_loss = \"22M\", winding_capacitance = \"100p\"";
/// Resistance of half the primary as a share of the load from anode to anode: what is assumed where
/// a file states nothing.
const HALF_WINDING_SHARE: f64 = 0.015;
/// Cathode bypass, F: print names none; this leaves 0.3 Ω at 1 kHz.
const BYPASS_FARADS: f64 = 470e-6;

fn transformer(name: &str, ohms: [f64; 2], values: &str, primary: &str, secondary: &str) -> String {
    format!(
        "{name} = {{ output_transformer = {{ primary = {}, secondary = {}{values} }}, \
         primary = [{primary}], secondary = [{secondary}] }}\n",
        ohms[0], ohms[1]
    )
}

impl Stage {
    /// The stage as a circuit at rest; a volt in the jack is a volt at each grid. The supply makes up
    /// for what the primary's resistance takes from the anodes at rest.
    pub fn solved(&self) -> Solved {
        self.behind(None)
    }

    /// The same with a core loss that is stated: Ω at 8 kΩ, more or less with the load.
    pub fn behind(&self, core_ohms: Option<f64>) -> Solved {
        let plain = self.with_drop(0.0, core_ohms);
        if !self.push_pull {
            return plain;
        }
        let rest = idle(&plain, "V1");
        let tied = if self.screen_volts.is_none() {
            rest.screen
        } else {
            0.0
        };
        self.with_drop(
            (rest.anode + tied) * HALF_WINDING_SHARE * self.load_ohms,
            core_ohms,
        )
    }

    /// The stage with a supply so many volts higher.
    fn with_drop(&self, drop: f64, core_ohms: Option<f64>) -> Solved {
        let (raised, mut parts) = match self.bias {
            Bias::Fixed(volts) => (volts, source("VB", volts, "k", "gnd")),
            Bias::Cathode { ohms, volts } => (
                volts,
                resistor("RK", ohms, "k", "gnd") + &capacitor("CK", BYPASS_FARADS, "k", "gnd"),
            ),
        };
        parts += &supply("HT", self.anode_volts + raised + drop, "ht");
        if let Some(volts) = self.screen_volts {
            parts += &supply("HS", volts + raised, "s");
        }
        let mut valve = |name: &str, grid: &str, anode: &str| {
            let screen = if self.screen_volts.is_some() {
                "s"
            } else {
                anode
            };
            parts += &format!(
                "{name} = {{ pentode = \"{}\", anode = \"{anode}\", screen = \"{screen}\", \
                 grid = \"{grid}\", cathode = \"k\" }}\n",
                self.valve
            );
        };
        let primary = if self.push_pull {
            valve("V1", "g1", "a1");
            valve("V2", "g2", "a2");
            // One volt in the jack is one volt at each grid, in opposite phase.
            parts += &transformer(
                "T2",
                [1e3, 4e3],
                NEARLY_IDEAL,
                "\"in\", \"gnd\"",
                "\"g1\", \"gnd\", \"g2\"",
            );
            "\"a1\", \"ht\", \"a2\""
        } else {
            valve("V1", "in", "a1");
            "\"a1\", \"ht\""
        };
        // A pair was measured behind a transformer, and ours is the one that is assumed.
        let values = match core_ohms {
            _ if !self.push_pull => NEARLY_IDEAL.to_owned(),
            None => String::new(),
            Some(ohms) => format!(", core_loss = \"{:.0}\"", ohms * self.load_ohms / 8e3),
        };
        parts += &transformer(
            "T1",
            [self.load_ohms, SECONDARY_OHMS],
            &values,
            primary,
            "\"out\", \"gnd\"",
        );
        parts += &resistor("RL", SECONDARY_OHMS, "out", "gnd");
        solved("out", &parts)
    }
}

/// Measures conditions and holds them to print.
pub fn settle(conditions: &[Condition], misses: &[Miss]) {
    let mut ledger = Ledger::default();
    for condition in conditions {
        measure(&mut ledger, condition);
    }
    ledger.settle(misses);
}

/// Adds every printed figure of a condition: currents within 7 %, power within 10 %, distortion
/// within 2 percentage points.
pub fn measure(ledger: &mut Ledger, condition: &Condition) {
    let Condition { name, stage, .. } = condition;
    let bench = stage.solved();
    let tied = stage.screen_volts.is_none();
    let mut figure = |what: String, measured: f64, printed: f64, within: Within| {
        if printed != 0.0 {
            ledger.add(what, measured, printed, within);
        }
    };
    let current = Within::Percent(7.0);
    let anode = |amps: super::ValveAmps| 1e3 * (amps.anode + if tied { amps.screen } else { 0.0 });
    let rest = idle(&bench, "V1");
    figure(
        format!("{name}: idle anode mA"),
        anode(rest),
        condition.anode_ma,
        current,
    );
    figure(
        format!("{name}: idle screen mA"),
        1e3 * rest.screen,
        condition.screen_ma,
        current,
    );
    for driven in condition.driven {
        let reading = steady(&bench, driven.volts, &["V1"]);
        let amps = reading.amps[0];
        let at = format!("{name}, {:.2} V", driven.volts);
        figure(
            format!("{at}: anode mA"),
            anode(amps),
            driven.anode_ma,
            current,
        );
        figure(
            format!("{at}: screen mA"),
            1e3 * amps.screen,
            driven.screen_ma,
            current,
        );
        let watts = reading.watts(SECONDARY_OHMS);
        figure(
            format!("{at}: W"),
            watts,
            driven.watts,
            Within::Percent(10.0),
        );
        let distortion = reading.distortion_percent();
        figure(
            format!("{at}: distortion %"),
            distortion,
            driven.distortion_percent,
            Within::Of(2.0),
        );
    }
}

/// Adds the power of every driven row behind a transformer whose core loses as `core_ohms` do at
/// 8 kΩ.
pub fn measure_watts(ledger: &mut Ledger, condition: &Condition, core_ohms: f64) {
    let bench = condition.stage.behind(Some(core_ohms));
    for driven in condition.driven {
        let watts = steady(&bench, driven.volts, &[]).watts(SECONDARY_OHMS);
        let name = format!("{}, {:.2} V: W", condition.name, driven.volts);
        ledger.add(name, watts, driven.watts, Within::Percent(10.0));
    }
}

/// One point of a printed graph of drive: output power, anode current of both valves, distortion
/// (0 where it was not read).
pub type GraphPoint = (f64, f64, f64);

/// Adds a graph's points, each at the drive that gives its power.
pub fn measure_graph(ledger: &mut Ledger, name: &str, stage: &Stage, points: &[GraphPoint]) {
    let bench = stage.solved();
    for &(watts, anode_ma, distortion) in points {
        let mut drive = (0.0, 15.0);
        let mut reading = steady(&bench, drive.1, &["V1"]);
        // Power goes with the square of the drive: 1 % of the one is 2 % of the other.
        while drive.1 - drive.0 > 2e-3 * drive.1 {
            let middle = 0.5 * (drive.0 + drive.1);
            reading = steady(&bench, middle, &["V1"]);
            if reading.watts(SECONDARY_OHMS) > watts {
                drive.1 = middle;
            } else {
                drive.0 = middle;
            }
        }
        let both = 2e3 * reading.amps[0].anode;
        ledger.add(
            format!("{name}, {watts} W: both anodes mA"),
            both,
            anode_ma,
            Within::Percent(7.0),
        );
        if distortion > 0.0 {
            let measured = reading.distortion_percent();
            ledger.add(
                format!("{name}, {watts} W: distortion %"),
                measured,
                distortion,
                Within::Of(2.0),
            );
        }
    }
}
