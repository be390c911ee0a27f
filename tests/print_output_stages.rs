//! Against print: the operating conditions of output stages, at rest and at the printed drive.
//!
//! Printed conditions refer to the power of the anodes, so the transformer here is nearly ideal:
//! 100 H, 1 µH of leakage, no winding resistance, no core loss. The tone is 1 kHz (print names
//! none). Drive comes from a source without resistance, as "grid-to-earth volts" imply. Cathode
//! resistors are bypassed with 470 µF (print says nothing), and the supply is the printed anode
//! voltage plus the printed bias, because valve voltages are printed from the cathode.

mod common;
mod print;

use print::ledger::{Ledger, Within};
use print::sine::steady;
use print::{bench, idle};

/// How the control grids get their bias.
#[derive(Clone, Copy)]
enum Bias {
    /// Volts between grid and cathode, as a positive number.
    Fixed(f64),
    /// Resistor that all cathodes share (Ω), and the printed bias that belongs to it (V).
    Cathode { ohms: f64, volts: f64 },
}

#[derive(Clone, Copy)]
struct Stage {
    valve: &'static str,
    push_pull: bool,
    triode: bool,
    anode: f64,
    screen: f64,
    bias: Bias,
    load: f64,
}

const SECONDARY_OHMS: f64 = 8.0;

fn text(s: &Stage) -> String {
    let raised = match s.bias {
        Bias::Fixed(volts) | Bias::Cathode { volts, .. } => volts,
    };
    let mut parts = format!(
        "HT = {{ supply = \"{} V\", node = \"ht\", resistance = \"0.01\" }}\n",
        s.anode + raised
    );
    parts += &match s.bias {
        Bias::Fixed(volts) => {
            format!(
                "VB = {{ voltage_source = \"{volts} V\", between = [\"k\", \"gnd\"], resistance = \"0.01\" }}\n"
            )
        }
        Bias::Cathode { ohms, .. } => format!(
            "R1 = {{ resistor = \"{ohms}\", between = [\"k\", \"gnd\"] }}\nC1 = {{ capacitor = \"470u\", between = [\"k\", \"gnd\"] }}\n"
        ),
    };
    let near_ideal = "inductance = \"100 H\", leakage = \"1 uH\", leakage_damping = \"10M\", resistance = [\"0.01\", \"0.01\"], core_loss = \"22M\", winding_capacitance = \"100p\"";
    let valve = |name: &str, grid: &str, anode: &str| {
        let screen = if s.triode { anode } else { "s" };
        format!(
            "{name} = {{ pentode = \"{}\", anode = \"{anode}\", screen = \"{screen}\", grid = \"{grid}\", cathode = \"k\" }}\n",
            s.valve
        )
    };
    if !s.triode {
        parts += &format!(
            "HS = {{ supply = \"{} V\", node = \"s\", resistance = \"0.01\" }}\n",
            s.screen + raised
        );
    }
    let primary = if s.push_pull {
        "\"a1\", \"ht\", \"a2\""
    } else {
        "\"a1\", \"ht\""
    };
    parts += &format!(
        "T1 = {{ output_transformer = {{ primary = \"{}\", secondary = \"{SECONDARY_OHMS}\", {near_ideal} }}, primary = [{primary}], secondary = [\"out\", \"gnd\"] }}\n",
        s.load
    );
    parts += &format!("R2 = {{ resistor = \"{SECONDARY_OHMS}\", between = [\"out\", \"gnd\"] }}\n");
    if s.push_pull {
        // One volt in is one volt at each grid, in opposite phase.
        parts += "T2 = { output_transformer = { primary = \"1k\", secondary = \"4k\", inductance = \"100 H\", leakage = \"1 uH\", leakage_damping = \"10M\", resistance = [\"0.01\", \"0.01\"], core_loss = \"22M\", winding_capacitance = \"100p\" }, primary = [\"in\", \"gnd\"], secondary = [\"g1\", \"gnd\", \"g2\"] }\n";
        parts += &valve("V1", "g1", "a1");
        parts += &valve("V2", "g2", "a2");
    } else {
        parts += &valve("V1", "in", "a1");
    }
    parts
}

/// One printed line: currents of one valve in mA, drive in V r.m.s. at each grid.
struct Drive {
    volts: f64,
    anode: Option<f64>,
    screen: Option<f64>,
    watts: Option<f64>,
    distortion: Option<f64>,
}

fn condition(
    ledger: &mut Ledger,
    name: &str,
    stage: &Stage,
    idle_anode: f64,
    idle_screen: Option<f64>,
    drives: &[Drive],
) {
    let bench = bench("out", &text(stage));
    let at_rest = idle(&bench, "V1");
    let together = if stage.triode {
        at_rest.anode + at_rest.screen
    } else {
        at_rest.anode
    };
    ledger.add(
        format!("{name}: idle anode mA"),
        1e3 * together,
        idle_anode,
        Within::Percent(7.0),
    );
    if let Some(printed) = idle_screen {
        ledger.add(
            format!("{name}: idle screen mA"),
            1e3 * at_rest.screen,
            printed,
            Within::Percent(7.0),
        );
    }
    for d in drives {
        let r = steady(&bench, d.volts, &["V1"]);
        let name = format!("{name}, {} V", d.volts);
        let together = if stage.triode {
            r.amps[0].anode + r.amps[0].screen
        } else {
            r.amps[0].anode
        };
        if let Some(printed) = d.anode {
            ledger.add(
                format!("{name}: anode mA"),
                1e3 * together,
                printed,
                Within::Percent(7.0),
            );
        }
        if let Some(printed) = d.screen {
            ledger.add(
                format!("{name}: screen mA"),
                1e3 * r.amps[0].screen,
                printed,
                Within::Percent(7.0),
            );
        }
        if let Some(printed) = d.watts {
            ledger.add(
                format!("{name}: W"),
                r.watts(SECONDARY_OHMS),
                printed,
                Within::Percent(10.0),
            );
        }
        if let Some(printed) = d.distortion {
            ledger.add(
                format!("{name}: distortion %"),
                r.distortion_percent(),
                printed,
                Within::Of(2.0),
            );
        }
        println!(
            "  {name}: d2 {:.1} d3 {:.1} d5 {:.1} grid mA {:.4}",
            r.harmonic_percent(2),
            r.harmonic_percent(3),
            r.harmonic_percent(5),
            1e3 * r.amps[0].grid
        );
    }
}

fn drive(volts: f64, anode: f64, screen: f64, watts: f64, distortion: Option<f64>) -> Drive {
    let given = |x: f64| (x > 0.0).then_some(x);
    Drive {
        volts,
        anode: given(anode),
        screen: given(screen),
        watts: given(watts),
        distortion,
    }
}

#[test]
fn el84() {
    let mut ledger = Ledger::default();
    let single = Stage {
        valve: "EL84",
        push_pull: false,
        triode: false,
        anode: 250.0,
        screen: 250.0,
        bias: Bias::Cathode {
            ohms: 135.0,
            volts: 7.3,
        },
        load: 5200.0,
    };
    condition(
        &mut ledger,
        "EL84 single 5.2k",
        &single,
        48.0,
        Some(5.5),
        &[
            drive(3.4, 0.0, 0.0, 4.5, Some(6.8)),
            drive(4.3, 49.5, 10.8, 5.7, Some(10.0)),
            drive(4.7, 49.2, 11.6, 6.0, None),
        ],
    );
    condition(
        &mut ledger,
        "EL84 single 4.5k",
        &Stage {
            load: 4500.0,
            ..single
        },
        48.0,
        Some(5.5),
        &[
            drive(3.5, 0.0, 0.0, 4.5, Some(7.5)),
            drive(4.4, 50.6, 10.0, 5.7, Some(10.0)),
            drive(4.8, 50.5, 11.0, 6.0, None),
        ],
    );
    condition(
        &mut ledger,
        "EL84 single fixed 5.2k",
        &Stage {
            bias: Bias::Fixed(7.3),
            ..single
        },
        48.0,
        Some(5.5),
        &[
            drive(3.4, 0.0, 0.0, 4.5, Some(6.8)),
            drive(4.3, 49.5, 10.8, 5.7, Some(10.0)),
            drive(4.7, 49.2, 11.6, 6.0, None),
        ],
    );
    let pair = Stage {
        push_pull: true,
        load: 8000.0,
        ..single
    };
    condition(
        &mut ledger,
        "EL84 pair fixed 250",
        &Stage {
            bias: Bias::Fixed(11.6),
            ..pair
        },
        10.0,
        Some(1.1),
        &[drive(8.0, 37.5, 7.5, 11.0, Some(3.0))],
    );
    condition(
        &mut ledger,
        "EL84 pair fixed 300",
        &Stage {
            anode: 300.0,
            screen: 300.0,
            bias: Bias::Fixed(14.7),
            ..pair
        },
        7.5,
        Some(0.8),
        &[drive(10.0, 46.0, 11.0, 17.0, Some(4.0))],
    );
    condition(
        &mut ledger,
        "EL84 pair Rk 300",
        &Stage {
            anode: 300.0,
            screen: 300.0,
            bias: Bias::Cathode {
                ohms: 130.0,
                volts: 10.4,
            },
            ..pair
        },
        36.0,
        Some(4.0),
        &[drive(10.0, 46.0, 11.0, 17.0, Some(4.0))],
    );
    condition(
        &mut ledger,
        "EL84 pair Rk 300 supply",
        &Stage {
            anode: 300.0,
            screen: 300.0,
            bias: Bias::Cathode {
                ohms: 130.0,
                volts: 0.0,
            },
            ..pair
        },
        36.0,
        Some(4.0),
        &[drive(10.0, 46.0, 11.0, 17.0, Some(4.0))],
    );
    let t = Stage {
        triode: true,
        load: 3500.0,
        bias: Bias::Cathode {
            ohms: 270.0,
            volts: 0.27 * 34.0,
        },
        ..single
    };
    condition(
        &mut ledger,
        "EL84 triode single",
        &t,
        34.0,
        None,
        &[drive(6.7, 36.0, 0.0, 1.95, Some(9.0))],
    );
    condition(
        &mut ledger,
        "EL84 triode single supply",
        &Stage {
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 0.0,
            },
            ..t
        },
        34.0,
        None,
        &[drive(6.7, 36.0, 0.0, 1.95, Some(9.0))],
    );
    let t = Stage {
        push_pull: true,
        load: 10e3,
        ..t
    };
    condition(
        &mut ledger,
        "EL84 triode pair 250",
        &Stage {
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 0.27 * 40.0,
            },
            ..t
        },
        20.0,
        None,
        &[drive(8.3, 21.7, 0.0, 3.4, Some(2.5))],
    );
    condition(
        &mut ledger,
        "EL84 triode pair 300",
        &Stage {
            anode: 300.0,
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 0.27 * 48.0,
            },
            ..t
        },
        24.0,
        None,
        &[drive(10.0, 26.0, 0.0, 5.2, Some(2.5))],
    );
    condition(
        &mut ledger,
        "EL84 triode pair 250 supply",
        &Stage {
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 0.0,
            },
            ..t
        },
        20.0,
        None,
        &[drive(8.3, 21.7, 0.0, 3.4, Some(2.5))],
    );
    condition(
        &mut ledger,
        "EL84 triode pair 300 supply",
        &Stage {
            anode: 300.0,
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 0.0,
            },
            ..t
        },
        24.0,
        None,
        &[drive(10.0, 26.0, 0.0, 5.2, Some(2.5))],
    );
    ledger.settle(&[]);
}
