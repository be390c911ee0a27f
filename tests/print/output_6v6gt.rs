//! Against print: the operating conditions of 6V6GT as output valve, at rest and driven. How the
//! stages are built, and what is assumed, stands in `print/output_stage.rs`.

use crate::printed::ledger::Miss;
use crate::printed::output_stage::{Bias, Condition, Stage, driven, settle};

const SINGLE_6V6: Stage = Stage {
    valve: "6V6GT",
    push_pull: false,
    anode_volts: 250.0,
    screen_volts: Some(250.0),
    bias: Bias::Fixed(12.5),
    load_ohms: 5e3,
};

const TRIODE_6V6: Stage = Stage {
    screen_volts: None,
    ..SINGLE_6V6
};

/// Peak of a sine that drives a grid to zero from its bias, which is what classes A1 and AB1
/// mean; as V r.m.s.
const fn to_zero(bias: f64) -> f64 {
    bias * std::f64::consts::FRAC_1_SQRT_2
}

/// Maker's sheets of 6V6-GT, August 1941 and December 1944, seen. Currents of a pair are halved.
/// The drive is not in our copy.
const V6GT: &[Condition] = &[
    Condition {
        name: "single 180 V",
        stage: Stage {
            anode_volts: 180.0,
            screen_volts: Some(180.0),
            bias: Bias::Fixed(8.5),
            load_ohms: 5.5e3,
            ..SINGLE_6V6
        },
        anode_ma: 29.0,
        screen_ma: 3.0,
        driven: &[driven(to_zero(8.5), 30.0, 4.0, 2.0, 8.0)],
    },
    Condition {
        name: "single 250/100 V",
        stage: Stage {
            screen_volts: Some(100.0),
            bias: Bias::Fixed(5.0),
            load_ohms: 14e3,
            ..SINGLE_6V6
        },
        anode_ma: 17.5,
        screen_ma: 0.7,
        driven: &[driven(to_zero(5.0), 18.4, 1.3, 1.5, 5.0)],
    },
    Condition {
        name: "single 250 V",
        stage: SINGLE_6V6,
        anode_ma: 45.0,
        screen_ma: 4.5,
        driven: &[driven(to_zero(12.5), 47.0, 7.0, 4.5, 8.0)],
    },
    Condition {
        name: "pair 250 V",
        stage: Stage {
            push_pull: true,
            bias: Bias::Fixed(15.0),
            load_ohms: 10e3,
            ..SINGLE_6V6
        },
        anode_ma: 35.0,
        screen_ma: 2.5,
        driven: &[driven(to_zero(15.0), 39.5, 6.5, 10.0, 5.0)],
    },
    Condition {
        name: "pair 285 V",
        stage: Stage {
            push_pull: true,
            anode_volts: 285.0,
            screen_volts: Some(285.0),
            bias: Bias::Fixed(19.0),
            load_ohms: 8e3,
            ..SINGLE_6V6
        },
        anode_ma: 35.0,
        screen_ma: 2.0,
        driven: &[driven(to_zero(19.0), 46.0, 6.75, 14.0, 3.5)],
    },
    Condition {
        name: "triode single 250 V",
        stage: Stage {
            bias: Bias::Fixed(15.0),
            load_ohms: 3.5e3,
            ..TRIODE_6V6
        },
        anode_ma: 37.5,
        screen_ma: 0.0,
        driven: &[driven(to_zero(15.0), 0.0, 0.0, 1.0, 5.0)],
    },
    Condition {
        name: "triode single 300 V",
        stage: Stage {
            anode_volts: 300.0,
            bias: Bias::Fixed(20.0),
            load_ohms: 4.8e3,
            ..TRIODE_6V6
        },
        anode_ma: 39.0,
        screen_ma: 0.0,
        driven: &[driven(to_zero(20.0), 0.0, 0.0, 1.65, 5.0)],
    },
    Condition {
        name: "triode pair -20 V",
        stage: Stage {
            push_pull: true,
            anode_volts: 300.0,
            bias: Bias::Fixed(20.0),
            load_ohms: 9.6e3,
            ..TRIODE_6V6
        },
        anode_ma: 39.0,
        screen_ma: 0.0,
        driven: &[driven(to_zero(20.0), 0.0, 0.0, 3.3, 0.0)],
    },
    Condition {
        name: "triode pair -25 V",
        stage: Stage {
            push_pull: true,
            anode_volts: 300.0,
            bias: Bias::Fixed(25.0),
            load_ohms: 6e3,
            ..TRIODE_6V6
        },
        anode_ma: 21.0,
        screen_ma: 0.0,
        driven: &[driven(to_zero(25.0), 0.0, 0.0, 4.75, 0.0)],
    },
];

#[test]
fn beam_tetrode_6v6gt() {
    const POWER: &str =
        "the fitted law gives too little; behind a transformer without losses it is within the bar";
    const SCREEN: &str = "the fitted screen share does not follow the printed rows";
    settle(
        V6GT,
        &[
            Miss {
                what: "single 180 V: idle screen mA",
                measured: 2.3436,
                why: SCREEN,
            },
            Miss {
                what: "single 180 V, 6.01 V: anode mA",
                measured: 32.616,
                why: "the fitted law is 5 % high at rest there and bends more",
            },
            Miss {
                what: "single 250/100 V, 3.54 V: W",
                measured: 1.1814,
                why: "too little current at zero grid volts: no curve of 100 V on the screen was fitted",
            },
            Miss {
                what: "single 250 V: idle screen mA",
                measured: 3.3178,
                why: SCREEN,
            },
            Miss {
                what: "pair 285 V: idle screen mA",
                measured: 2.4796,
                why: SCREEN,
            },
            Miss {
                what: "pair 285 V, 13.44 V: screen mA",
                measured: 6.1358,
                why: SCREEN,
            },
            Miss {
                what: "pair 285 V, 13.44 V: W",
                measured: 12.1205,
                why: POWER,
            },
            Miss {
                what: "triode pair -20 V, 14.14 V: W",
                measured: 2.92,
                why: POWER,
            },
            Miss {
                what: "triode pair -25 V, 17.68 V: W",
                measured: 3.8038,
                why: POWER,
            },
        ],
    );
}
