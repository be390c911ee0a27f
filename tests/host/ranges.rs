//! What a host may try that no session has: rates from 1 Hz to 1 MHz, numbers that are no rate, and
//! the parameter behind the last.

use crate::fixture::vst3::{self, Mode};
use crate::fixture::{CLASSES, clap, peak, pluck};

/// Rates, Hz; at those that are true something is heard.
const RATES: [(f64, bool); 13] = [
    (1.0, false),
    (50.0, false),
    (1_234.567_8, false),
    (7_999.0, false),
    (8_000.0, true),
    (22_050.0, true),
    (44_100.0, true),
    (352_800.0, true),
    (400_001.0, true),
    (705_600.0, true),
    (768_000.0, true),
    (1_000_000.0, true),
    (3_000_000.0, false),
];

/// Frames of the plucked string that are played: 20 ms where the rate is a session's.
fn input(rate: f64) -> Vec<Vec<f32>> {
    let frames = (0.02 * rate).clamp(2_000.0, 20_000.0);
    pluck(rate, frames as usize, 2, 0.5)
}

fn judge(heard: &[Vec<f32>], loud: bool, rate: f64) {
    let peak = peak(heard);
    assert!(peak.is_finite() && peak < 4.0, "{rate} Hz: {peak}");
    assert!(!loud || peak > 1e-2, "{rate} Hz: {peak}");
}

#[test]
fn vst3_setup_and_activation_agree_at_any_rate() {
    for (mode, classes) in [
        (Mode::Realtime, &vst3::CLASSES[..]),
        (Mode::Offline, &vst3::CLASSES[1..2]),
    ] {
        for class in classes {
            let mut instance = vst3::Instance::new(class);
            for (rate, loud) in RATES {
                assert!(instance.set_up(mode, rate, 1024), "{rate} Hz");
                assert!(instance.set_active(true), "{rate} Hz");
                assert!(instance.latency() > 0);
                judge(&instance.play(&input(rate), &[]), loud, rate);
                assert!(instance.set_active(false));
            }
            // What is refused is refused at setup, and what was set up before then holds.
            for rate in [0.0, -48_000.0, 1e300, 1e-60, f64::INFINITY, f64::NAN] {
                assert!(!instance.set_up(mode, rate, 1024), "{rate}");
                assert!(instance.set_active(true), "{rate}");
                assert!(instance.set_active(false));
            }
        }
    }
}

#[test]
fn clap_activates_at_any_rate() {
    for class in CLASSES {
        let mut instance = clap::Instance::new(class);
        for (rate, loud) in RATES {
            instance.activate(rate, 1024);
            assert!(instance.latency() > 0);
            judge(&instance.play(&input(rate), &[1024], &[]), loud, rate);
            instance.deactivate();
        }
    }
}

/// At 768 kHz the same is heard as at 192 kHz: every fourth sample, later by the latency.
#[test]
fn the_highest_rates_sound_as_others_do() {
    const TIMES: usize = 4;
    let heard = |rate: f64, frames: usize| {
        let mut instance = vst3::Instance::new(vst3::CLASSES[1]);
        instance.set(instance.param("Loudness match"), 0.0);
        assert!(instance.set_up(Mode::Offline, rate, 1024));
        assert!(instance.set_active(true));
        let late = instance.latency() as usize;
        let all = instance.play(&pluck(rate, frames, 2, 0.05), &[]);
        all[0][late..].to_vec()
    };
    let slow = heard(192_000.0, 8_000);
    let fast = heard(768_000.0, 8_000 * TIMES);
    let fast: Vec<f32> = fast.into_iter().step_by(TIMES).collect();
    let power = |samples: &mut dyn Iterator<Item = f32>| samples.map(|x| f64::from(x * x)).sum();
    let whole: f64 = power(&mut slow.iter().copied());
    let apart: f64 = power(&mut slow.iter().zip(&fast).map(|(a, b)| a - b));
    let decibels = 10.0 * (apart / whole).log10();
    println!("192 kHz and 768 kHz differ by {decibels:.1} dB");
    assert!(decibels < -40.0, "{decibels:.1} dB");
}

#[test]
fn the_parameter_behind_the_last_is_refused() {
    for class in vst3::CLASSES {
        let instance = vst3::Instance::new(class);
        let count = instance.count();
        assert!(count > 10);
        assert!(instance.told(count - 1).is_some());
        for index in [count, count + 1, i32::MAX, -1, i32::MIN] {
            assert_eq!(instance.told(index), None, "{index}");
        }
    }
    for class in CLASSES {
        let mut instance = clap::Instance::new(class);
        let count = instance.params().len() as u32;
        assert!(instance.has_param(count - 1));
        for index in [count, count + 1, u32::MAX] {
            assert!(!instance.has_param(index), "{index}");
        }
    }
}
