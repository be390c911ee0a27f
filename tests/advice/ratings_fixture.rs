//! Shared by the tests of ratings: a circuit from lines of parts, its idle report, and nearness.
#![allow(dead_code)]

use crate::printed::solved;
use engine::advice::ratings::{Driven, RatingsReport, ratings};
use engine::circuit::Circuit;
use engine::solve::solved::SolvedAmp;

/// Parts that give every circuit here something to hear.
const HEARD: &str = "RIN = { resistor = \"1M\", between = [\"in\", \"gnd\"] }\n";

/// A circuit of these parts.
pub fn circuit(parts: &str) -> Circuit {
    solved("in", &format!("{HEARD}{parts}")).circuit
}

/// Its report, idle only.
pub fn report(circuit: &Circuit) -> RatingsReport {
    let amp = SolvedAmp::new(circuit, None).expect("an operating point");
    ratings(&amp.network, &amp.as_found, &Driven::default())
}

/// Fails unless `measured` is within a share of `expected`.
#[track_caller]
pub fn near(measured: f64, expected: f64, share: f64) {
    assert!(
        (measured / expected - 1.0).abs() < share,
        "{measured} is not {expected}"
    );
}
