//! The report on loudspeakers, and how its figures are meant.

use super::case::LoadCase;
use serde::Serialize;

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadReport {
    /// Name of the amp.
    pub amp: String,
    /// Designator of the output transformer.
    pub transformer: String,
    /// The hard drive, V r.m.s. at the jack.
    pub hard_input_volts: f64,
    /// As it is; then each way.
    pub cases: Vec<LoadCase>,
    /// Ways that could not be solved, a sentence each.
    pub unsolved: Vec<String>,
    /// How the figures are meant.
    pub notes: Vec<&'static str>,
}

/// What must not be done, whatever the figures say.
pub const NEVER: &str =
    "Never run the amp without a loudspeaker, and never plug one in or out while it is on.";

/// How the figures are meant.
pub const NOTES: [&str; 7] = [
    "Each line is the whole circuit solved again with these loudspeakers. What the valves see is reckoned from rated impedances; a loudspeaker's own impedance is several times as much at its resonance and rises towards the top.",
    "Clean power is a sine of 1 kHz at 5 % distortion, or the most that the amp gives where it stays below. Driven hard is 12 dB more at the jack than full output takes as the amp is, the same for every line. Watts are those of the output valve that gets hottest.",
    "The hard drive is a steady tone: a test, not music. Voltages are read 9600 times a second; the shortest spikes may be higher.",
    "A load within 2 : 1 of what the transformer is meant for is usually survived; beyond that it is not for playing (common practice, no source). Too low a load asks for current and is hard on anodes and cathodes; too high a load makes voltage and is hard on screens, sockets and the transformer's insulation.",
    "The damping factor is a loudspeaker's rated impedance over what it finds behind it at 400 Hz. At a low one its own resonance and its rise towards the top come out, as of a valve amp without feedback; a high one holds the cone.",
    NEVER,
    "Sound levels come from the sensitivities that the loudspeakers' files state (2.83 V, 1 m), powers added; a room and a listener's place change them.",
];
