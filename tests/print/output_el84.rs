//! Against print: the operating conditions of EL84 as output valve, at rest and driven. How the
//! stages are built, and what is assumed, stands in `print/output_stage.rs`.

use crate::printed::ledger::{Ledger, Miss};
use crate::printed::output_stage::{
    Bias, Condition, GraphPoint, Stage, driven, measure_graph, measure_watts, settle,
};

/// Graphs of drive of the EL84 sheets: fixed bias -14.7 V, and 130 Ω, both at 300 V in 8 kΩ; read
/// from the scan to 2 %.
const EL84_FIXED_GRAPH: &[GraphPoint] = &[
    (5.0, 51.0, 5.0),
    (7.5, 61.0, 5.5),
    (10.0, 71.0, 5.2),
    (15.0, 86.5, 4.1),
    (17.0, 92.0, 4.0),
];
const EL84_CATHODE_GRAPH: &[GraphPoint] = &[
    (5.0, 75.5, 1.4),
    (10.0, 81.0, 2.2),
    (14.0, 86.0, 1.6),
    (17.0, 92.0, 4.0),
];

/// EL84 with one valve, pentode.
const SINGLE: Stage = Stage {
    valve: "EL84",
    push_pull: false,
    anode_volts: 250.0,
    screen_volts: Some(250.0),
    bias: Bias::Cathode {
        ohms: 135.0,
        volts: 7.3,
    },
    load_ohms: 5.2e3,
};

const PAIR: Stage = Stage {
    push_pull: true,
    load_ohms: 8e3,
    ..SINGLE
};

/// Electronic Tube Handbook sheets of EL84, 1953 to 1957, seen.
const EL84: &[Condition] = &[
    Condition {
        name: "single 5.2k",
        stage: SINGLE,
        anode_ma: 48.0,
        screen_ma: 5.5,
        driven: &[
            driven(3.4, 0.0, 0.0, 4.5, 6.8),
            driven(4.3, 49.5, 10.8, 5.7, 10.0),
            driven(4.7, 49.2, 11.6, 6.0, 0.0),
        ],
    },
    Condition {
        name: "single 4.5k",
        stage: Stage {
            load_ohms: 4.5e3,
            ..SINGLE
        },
        anode_ma: 48.0,
        screen_ma: 5.5,
        driven: &[
            driven(3.5, 0.0, 0.0, 4.5, 7.5),
            driven(4.4, 50.6, 10.0, 5.7, 10.0),
            driven(4.8, 50.5, 11.0, 6.0, 0.0),
        ],
    },
    Condition {
        name: "pair fixed 250 V",
        stage: Stage {
            bias: Bias::Fixed(11.6),
            ..PAIR
        },
        anode_ma: 10.0,
        screen_ma: 1.1,
        driven: &[driven(8.0, 37.5, 7.5, 11.0, 3.0)],
    },
    Condition {
        name: "pair fixed 300 V",
        stage: Stage {
            anode_volts: 300.0,
            screen_volts: Some(300.0),
            bias: Bias::Fixed(14.7),
            ..PAIR
        },
        anode_ma: 7.5,
        screen_ma: 0.8,
        driven: &[driven(10.0, 46.0, 11.0, 17.0, 4.0)],
    },
    Condition {
        name: "pair cathode 300 V",
        // 130 Ω at twice 40 mA.
        stage: Stage {
            anode_volts: 300.0,
            screen_volts: Some(300.0),
            bias: Bias::Cathode {
                ohms: 130.0,
                volts: 10.4,
            },
            ..PAIR
        },
        anode_ma: 36.0,
        screen_ma: 4.0,
        driven: &[driven(10.0, 46.0, 11.0, 17.0, 4.0)],
    },
    Condition {
        name: "triode single",
        // 270 Ω at 34 mA.
        stage: Stage {
            screen_volts: None,
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 9.18,
            },
            load_ohms: 3.5e3,
            ..SINGLE
        },
        anode_ma: 34.0,
        screen_ma: 0.0,
        driven: &[driven(6.7, 36.0, 0.0, 1.95, 9.0)],
    },
    Condition {
        name: "triode pair 250 V",
        // 270 Ω at twice 20 mA.
        stage: Stage {
            screen_volts: None,
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 10.8,
            },
            load_ohms: 10e3,
            ..PAIR
        },
        anode_ma: 20.0,
        screen_ma: 0.0,
        driven: &[driven(8.3, 21.7, 0.0, 3.4, 2.5)],
    },
    Condition {
        name: "triode pair 300 V",
        // 270 Ω at twice 24 mA.
        stage: Stage {
            anode_volts: 300.0,
            screen_volts: None,
            bias: Bias::Cathode {
                ohms: 270.0,
                volts: 12.96,
            },
            load_ohms: 10e3,
            ..PAIR
        },
        anode_ma: 24.0,
        screen_ma: 0.0,
        driven: &[driven(10.0, 26.0, 0.0, 5.2, 2.5)],
    },
];

#[test]
fn el84() {
    const SCREEN: &str = "the fitted screen current rises more steeply towards full drive";
    const STRAIGHT: &str = "the fitted law is too straight with the screen tied to the anode";
    settle(
        EL84,
        &[
            Miss {
                what: "single 5.2k, 4.70 V: anode mA",
                measured: 45.675,
                why: "print's current rises with drive although its own cathode resistor takes the grid 0.9 V \
                     down; the fitted law rises less",
            },
            Miss {
                what: "pair fixed 250 V, 8.00 V: screen mA",
                measured: 9.434,
                why: SCREEN,
            },
            Miss {
                what: "pair fixed 300 V, 10.00 V: screen mA",
                measured: 11.941,
                why: SCREEN,
            },
            Miss {
                what: "pair cathode 300 V, 10.00 V: screen mA",
                measured: 11.869,
                why: SCREEN,
            },
            Miss {
                what: "triode single, 6.70 V: distortion %",
                measured: 6.968,
                why: STRAIGHT,
            },
            Miss {
                what: "triode pair 250 V, 8.30 V: distortion %",
                measured: 0.3453,
                why: STRAIGHT,
            },
        ],
    );
}

/// The power of all five pairs stays within the bar with a core loss at either end of what may be
/// assumed, and none would leave it.
#[test]
fn el84_pairs_at_either_end_of_the_assumed_core_loss() {
    for core_loss in [120e3, 180e3] {
        let mut ledger = Ledger::default();
        for condition in EL84.iter().filter(|c| c.stage.push_pull) {
            measure_watts(&mut ledger, condition, core_loss);
        }
        ledger.settle(&[]);
    }
}

#[test]
fn el84_graphs_of_drive() {
    let mut ledger = Ledger::default();
    let at_300 = Stage {
        anode_volts: 300.0,
        screen_volts: Some(300.0),
        ..PAIR
    };
    let fixed = Stage {
        bias: Bias::Fixed(14.7),
        ..at_300
    };
    measure_graph(&mut ledger, "fixed", &fixed, EL84_FIXED_GRAPH);
    let cathode = Stage {
        bias: Bias::Cathode {
            ohms: 130.0,
            volts: 10.4,
        },
        ..at_300
    };
    measure_graph(&mut ledger, "cathode", &cathode, EL84_CATHODE_GRAPH);
    ledger.settle(&[]);
}
