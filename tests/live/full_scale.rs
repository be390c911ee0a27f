//! What leaves a new instance stays within full scale, also when the guitar is hot and the amp is
//! turned up: hosts clip what goes beyond when they write whole numbers.

use crate::fixture::{RATE, Table};
use engine::live::AdjustableKind;
use engine::live::cabinets::CabinetChoice;
use engine::live::settings::PluginSetting;
use engine::requests::played::{INPUT_FULL_SCALE_DBU, OUTPUT_FULL_SCALE_DBU};
use engine::units::{peak_volts_from_dbu, ratio_from_decibels};
use std::f64::consts::TAU;

/// Six strings of an E major chord struck one after another, full scale at its loudest.
fn hot_chord(seconds: f64) -> Vec<f32> {
    let strings = [82.41, 123.47, 164.81, 207.65, 246.94, 329.63];
    let sample = |i: usize| -> f64 {
        let string = |(n, hz): (usize, &f64)| {
            let time = i as f64 / RATE - 0.012 * n as f64;
            let harmonics = (1..=8).map(|h| {
                let h = f64::from(h);
                (TAU * h * hz * time).sin() / h * (-1.5 * h * time).exp()
            });
            if time < 0.0 { 0.0 } else { harmonics.sum() }
        };
        strings.iter().enumerate().map(string).sum()
    };
    let count = (seconds * RATE) as usize;
    let samples: Vec<f64> = (0..count).map(sample).collect();
    let peak = samples.iter().fold(0.0f64, |most, s| most.max(s.abs()));
    samples.iter().map(|s| (s / peak) as f32).collect()
}

/// The loudest sample of a new instance that plays the chord, with its controls as the file has
/// them or all turned up.
fn loudest(amp: &str, up: bool) -> f64 {
    let mut table = Table::new(amp);
    let level = PluginSetting::OutputLevel.row().default_value();
    table.settings.through = CabinetChoice::Loudspeaker;
    table.settings.matched = true;
    table.settings.input_volts = peak_volts_from_dbu(INPUT_FULL_SCALE_DBU);
    table.settings.output_gain =
        ratio_from_decibels(level) / peak_volts_from_dbu(OUTPUT_FULL_SCALE_DBU);
    if up {
        let adjustables = table.map.amp().adjustables().to_vec();
        for (index, adjustable) in adjustables.iter().enumerate() {
            if adjustable.kind == AdjustableKind::Turn {
                table.positions[index] = 1.0;
            }
        }
    }
    let out = table.play_mono(&hot_chord(1.5));
    out.iter()
        .fold(0.0, |most, s| f64::max(most, f64::from(s.abs())))
}

#[test]
fn a_hot_chord_stays_within_full_scale_by_default() {
    for amp in ["bradawl", "mizzle", "spokeshave", "sluice"] {
        let [as_filed, up] = [false, true].map(|up| loudest(amp, up));
        println!("{amp}: {as_filed:.3}, turned up {up:.3}");
        assert!(as_filed < 0.9 && up < 1.0, "{amp}: {as_filed} {up}");
        // And it is not whispering.
        assert!(as_filed > 0.02, "{amp}: {as_filed}");
    }
}
