//! The makers' printed operating conditions through the ratings report: EL84 and 6V6GT at rest, and
//! at full drive, where the screen of the EL84 passes its limit for good and keeps the one for peaks.

use crate::printed::output_stage::{Bias, Stage};
use crate::printed::sine::steady;
use engine::advice::ratings::{BiasMethod, Driven, Line, RatingsReport, ratings};
use engine::analysis::stress::{SineStress, sine_stress};
use engine::solve::solved::{SolvedAmp, SolvedCircuit};

/// The bar of the tests against print: currents within 7 %.
const BAR: f64 = 0.07;

const SINGLE: Stage = Stage {
    valve: "EL84",
    push_pull: false,
    anode_volts: 250.0,
    screen_volts: Some(250.0),
    bias: Bias::Fixed(7.3),
    load_ohms: 5.2e3,
};

const PAIR: Stage = Stage {
    push_pull: true,
    anode_volts: 300.0,
    screen_volts: Some(300.0),
    load_ohms: 8e3,
    ..SINGLE
};

struct Run {
    report: RatingsReport,
    sine: Option<SineStress>,
}

/// Rests a stage, drives it with a sine if asked to (V r.m.s. at each grid), and reports.
fn run(stage: &Stage, drive: Option<f64>) -> Run {
    let circuit = stage.solved().circuit;
    let amp = SolvedAmp::new(&circuit, None).expect("rest");
    let side: &SolvedCircuit = &amp.as_found;
    let sine = drive
        .map(|volts| sine_stress(&amp.network, side, volts, &mut |_| true).expect("not given up"));
    let driven = Driven {
        phrase: None,
        sine: sine.as_ref(),
        drive: None,
    };
    Run {
        report: ratings(&amp.network, side, &driven),
        sine,
    }
}

fn line<'a>(run: &'a Run, what: &str) -> &'a Line {
    let lines = &run.report.valves[0].lines;
    lines
        .iter()
        .find(|l| l.what.in_words() == what)
        .expect("the line")
}

#[track_caller]
fn near(measured: f64, printed: f64) {
    let share = measured / printed - 1.0;
    assert!(share.abs() < BAR, "{measured} against {printed} printed");
}

/// Idle dissipation worked out from the printed currents (Electronic Tube Handbook sheets, 1953 to
/// 1957, seen): 250 V and 48 mA are 12.0 W, the whole limit; 300 V and 36 mA 10.8 W, 90 %; 300 V and
/// 7.5 mA 2.25 W, 19 %.
#[test]
fn el84_at_rest() {
    for (stage, watts, method) in [
        (SINGLE, 12.0, BiasMethod::Fixed),
        (
            Stage {
                bias: Bias::Cathode {
                    ohms: 130.0,
                    volts: 10.4,
                },
                ..PAIR
            },
            10.8,
            BiasMethod::Cathode,
        ),
        (
            Stage {
                bias: Bias::Fixed(14.7),
                ..PAIR
            },
            2.25,
            BiasMethod::Fixed,
        ),
    ] {
        let run = run(&stage, None);
        let anode = line(&run, "anode dissipation");
        near(anode.at_rest.expect("a figure"), watts);
        assert_eq!(anode.limit, Some(12.0));
        assert_eq!(run.report.valves[0].bias, method);
        // Common practice, told beside the limit and named so.
        let idle = run.report.valves[0]
            .idle
            .as_deref()
            .expect("an output valve");
        let practice = match (method, stage.push_pull) {
            (BiasMethod::Cathode, _) => "65 to 100 % with cathode bias",
            (_, true) => "about 70 % for class AB with fixed bias",
            (_, false) => "about 85 % for a single valve",
        };
        println!("{idle}");
        assert!(
            idle.contains(practice) && idle.contains("Common practice, not a rating"),
            "{idle}"
        );
        assert!(
            run.report
                .valves
                .iter()
                .all(|v| v.output && v.valve == "EL84")
        );
    }
}

/// At full drive, 10 V at each grid, print has 46 mA in each anode and 11 mA in each screen: 3.3 W
/// in the screen, over its 2 W and within its 4 W at full signal (same sheets; limits on sheet 6).
#[test]
fn el84_screen_at_full_drive_is_over_one_limit_and_within_the_other() {
    let stage = Stage {
        bias: Bias::Fixed(14.7),
        ..PAIR
    };
    let run = run(&stage, Some(10.0));
    let screen = line(&run, "screen dissipation");
    // The fitted law has 11.94 mA there, which `tests/print/output_el84.rs` lists as a miss; the
    // report follows it.
    let watts = screen.sine.expect("driven");
    assert!(
        (watts / (300.0 * 11.941e-3) - 1.0).abs() < 0.01,
        "{watts} W"
    );
    assert_eq!((screen.limit, screen.brief_limit), (Some(2.0), Some(4.0)));
    assert!(
        run.report
            .over
            .iter()
            .all(|f| f.what.in_words() != "screen dissipation")
    );
    let brief = run.report.brief_sentences();
    println!("{brief:#?}");
    assert_eq!(brief.len(), 1, "one sentence for both valves: {brief:?}");
    for words in [
        "V1 and V2: the screen takes 3.",
        "on a steady tone at full output",
        "more than the 2 W it stands for good",
        "within the 4 W",
        "signal peaks",
    ] {
        assert!(brief[0].contains(words), "{words}: {}", brief[0]);
    }
    // Print: 46 + 11 mA from the cathode; the anode keeps 300 V · 46 mA less the 17 W of both halved.
    near(
        line(&run, "mean cathode current").sine.expect("driven"),
        57.0,
    );
    let peak = line(&run, "peak cathode current").sine.expect("driven");
    // Worked from 17 W in 8 kΩ from anode to anode: 130 mA in the anode alone at the peak.
    assert!(peak > 130.0 && peak < 200.0, "{peak} mA");
}

/// The gauge in the processor that is heard reads what the plain oracle has: mean currents of one
/// valve, within 1 % (both settle to two parts in a thousand, at different steps).
#[test]
fn the_gauge_agrees_with_the_oracle() {
    let stage = Stage {
        bias: Bias::Cathode {
            ohms: 130.0,
            volts: 10.4,
        },
        ..PAIR
    };
    let run = run(&stage, Some(10.0));
    let oracle = steady(&stage.solved(), 10.0, &["V1"]).amps[0];
    let amps = oracle.anode + oracle.screen + oracle.grid;
    let measured = line(&run, "mean cathode current").sine.expect("driven");
    assert!(
        (measured / (1e3 * amps) - 1.0).abs() < 0.01,
        "{measured} mA, {amps} A"
    );
    assert_eq!(run.sine.expect("driven").input_volts, 10.0);
}

/// 6V6GT (maker's sheets, August 1941 and December 1944, seen): 250 V and 45 mA are 11.25 W of 12;
/// the pair at 285 V has 35 mA each, 9.98 W, and at full drive 6.75 mA in each screen: 1.92 W of 2.
/// The fitted law has 6.14 mA there, which `tests/print/output_6v6gt.rs` lists as a miss; the report follows it.
#[test]
fn v6v6_within_its_limits() {
    let single = Stage {
        valve: "6V6GT",
        bias: Bias::Fixed(12.5),
        load_ohms: 5e3,
        ..SINGLE
    };
    let rest = run(&single, None);
    near(
        line(&rest, "anode dissipation").at_rest.expect("a figure"),
        11.25,
    );
    assert!(
        rest.report.over.is_empty(),
        "{:?}",
        rest.report.over_sentences()
    );
    let pair = Stage {
        valve: "6V6GT",
        bias: Bias::Fixed(19.0),
        anode_volts: 285.0,
        screen_volts: Some(285.0),
        ..PAIR
    };
    // Class AB1: the drive reaches the bias.
    let driven = run(&pair, Some(19.0 * 0.5_f64.sqrt()));
    near(
        line(&driven, "anode dissipation")
            .at_rest
            .expect("a figure"),
        9.975,
    );
    let screen = line(&driven, "screen dissipation").sine.expect("driven");
    assert!(
        (screen / (285.0 * 6.1358e-3) - 1.0).abs() < 0.01,
        "{screen} W"
    );
}

/// Fixed bias in the bench circuits has no resistor in the grid; the sheets' limit of a cathode-
/// biased 6V6GT is 0.5 MΩ, of a fixed-biased one 0.1 MΩ, and the report names the one that holds.
#[test]
fn the_grid_limit_follows_the_method() {
    let fixed = Stage {
        valve: "6V6GT",
        bias: Bias::Fixed(12.5),
        ..SINGLE
    };
    let cathode = Stage {
        bias: Bias::Cathode {
            ohms: 250.0,
            volts: 12.5,
        },
        ..fixed
    };
    let limit = |stage: &Stage| line(&run(stage, None), "resistance in the grid circuit").limit;
    assert_eq!(limit(&fixed), Some(100.0));
    assert_eq!(limit(&cathode), Some(500.0));
}
