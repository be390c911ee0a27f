//! The hint at how hard an amp was driven: built-in amps at known settings, heard through something
//! like a loudspeaker, with hiss; the known setting lies among those that are nearly as good.

use crate::fixture::*;
use engine::analysis::playing::play;
use engine::circuit::{self, WrittenSetting, built_in_circuits};
use engine::device::Catalogue;
use engine::recording::drive_hint::drive_hint;
use engine::recording::with_dry_track;
use engine::solve::solved::SolvedAmp;
use engine::sound::phrase::phrase;

/// Volts at the jack of full scale, and the same as the level of a sine.
const FULL_SCALE_VOLTS: f64 = 1.0;
const FULL_SCALE_DBU: f64 = -0.79;

/// Seconds that this process has computed, on all cores, as far as Linux tells: hundredths.
fn seconds() -> f64 {
    let told = std::fs::read_to_string("/proc/self/stat").unwrap_or_default();
    let behind_name = told.rsplit(')').next().unwrap_or_default();
    let ticks = behind_name.split_whitespace().nth(11);
    ticks.and_then(|t| t.parse::<f64>().ok()).unwrap_or(0.0) / 100.0
}

#[test]
fn the_known_setting_is_among_the_nearly_as_good() {
    let catalogue = Catalogue::built_in();
    let text = built_in_circuits()[0].text;
    let circuit = circuit::read(text, &catalogue).expect("a built-in amp");
    let amp = SolvedAmp::new(&circuit, None).expect("at rest");
    // Two rounds without their last quarter, in which they rest.
    let dry: Vec<f32> = phrase(RATE)
        .into_iter()
        .cycle()
        .take(12 * RATE as usize)
        .collect();
    let dry_sound = sound("dry.wav", RATE, &[&dry]);
    let mut hints = Vec::new();
    for position in [0.3, 0.6, 1.0] {
        let setting = WrittenSetting {
            control: "Volume".into(),
            value: position.to_string(),
            line: None,
        };
        let turned = circuit
            .with_written_controls(&[setting])
            .expect("a control");
        let driven = SolvedAmp::new(&turned, None).expect("at rest");
        let side = &driven.as_found;
        let played = play(
            &amp.network,
            &[side],
            RATE,
            &[&dry],
            FULL_SCALE_VOLTS,
            &mut |_| {},
        );
        let volts: Vec<f64> = played.volts[0].iter().map(|v| f64::from(*v)).collect();
        let heard = through(
            &[
                Section::bell(2800.0, 1.2, 6.0, RATE),
                Section::high_cut(4500.0, RATE),
            ],
            &volts,
        );
        let level = rms(&heard);
        let hiss = noise(71, heard.len());
        let recording: Vec<f64> = heard
            .iter()
            .zip(&hiss)
            .map(|(s, n)| 0.05 * (s + 0.003 * level * n) / level)
            .collect();
        let recording = later(&recording, 144.0);
        let recording = sound("amp.wav", RATE, &[&single(&recording)]);
        let target = with_dry_track(&recording, &dry_sound).expect("a target");
        let started = seconds();
        let hint = drive_hint(
            &amp.network,
            &amp.as_found,
            &recording,
            &dry_sound,
            &target,
            &mut |_| true,
        );
        let hint = hint.expect("not given up").expect("a hint");
        println!(
            "Volume {position}: {hint:#?}\n{:.1} s of a core",
            seconds() - started
        );
        let [low, high] = hint.positions;
        assert!((low..=high).contains(&position), "{position}: {hint:?}");
        let [low, high] = hint.full_scales_dbu;
        assert!(
            (low - 6.0..=high + 6.0).contains(&FULL_SCALE_DBU),
            "{hint:?}"
        );
        hints.push(hint);
    }
    // Soft and hard playing are told apart: the product of position and level rises.
    let drive = |i: usize| 40.0 * hints[i].position.log10() + hints[i].full_scale_dbu;
    assert!(drive(0) < drive(1) && drive(1) <= drive(2), "{hints:?}");
}
