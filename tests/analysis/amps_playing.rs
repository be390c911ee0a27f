//! The built-in amps at work: watts, gain and response that they were designed for, balance,
//! stability, and a chord through the processor that is heard. Ranges are the design intent of our
//! own amps; no source.

use crate::whole_amp::{Amp, amp, bench, each, harmonics, proposed, told, within};
use engine::circuit::WrittenSetting;
use engine::device::Catalogue;
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Processor, Settings};
use engine::solve::Transient;

/// Anode dissipation of an output valve, W; gain at 1 kHz, dB; input peak and power at 5 %
/// distortion.
fn figures(key: &str, valve: &str, watts: [f64; 2], gain: [f64; 2]) -> Amp {
    let amp = bench(key);
    within(
        "anode watts",
        amp.section(valve).anode_watts,
        watts[0],
        watts[1],
    );
    within("gain in dB", amp.gain_db(1e3), gain[0], gain[1]);
    amp
}

#[test]
fn bradawl_15() {
    let amp = figures("bradawl", "V3", [12.6, 13.3], [46.0, 50.0]);
    within("high tension", amp.volts("ht1"), 297.0, 320.0);
    within("bias", amp.volts("bias"), -11.5, -8.5);
    let clip = amp.clean_limit(0.05);
    within("watts", clip.watts, 12.0, 18.0);
    within("input at 5 %", clip.input, 0.05, 0.1);
    // A guitar's 100 mV just about drives it full out, and the output valves give way first.
    let (heard, nodes) = amp.play(0.1, 0.08, &["a3", "a4"]);
    let whole = harmonics(&heard, 1e3);
    within(
        "watts at 100 mV",
        heard.iter().map(|v| v * v).sum::<f64>() / heard.len() as f64 / 8.0,
        15.0,
        20.0,
    );
    let distortion = |a: &[f64]| a[1..].iter().map(|x| x * x).sum::<f64>().sqrt() / a[0];
    for node in &nodes {
        assert!(distortion(&harmonics(node, 1e3)) < distortion(&whole));
    }
}

#[test]
fn mizzle_5() {
    let amp = figures("mizzle", "V2", [10.0, 12.0], [32.0, 38.0]);
    let clip = amp.clean_limit(0.1);
    within("watts at 10 %", clip.watts, 3.5, 5.5);
    within("input at 10 %", clip.input, 0.1, 0.25);
}

#[test]
fn spokeshave_18() {
    let amp = figures("spokeshave", "V3", [10.0, 12.0], [42.0, 48.0]);
    let clip = amp.clean_limit(0.05);
    within("watts", clip.watts, 13.0, 18.0);
    within("input at 5 %", clip.input, 0.1, 0.25);
    // The heater insulation of the follower: its cathode stands high.
    within("follower's cathode", amp.volts("k2"), 100.0, 180.0);
}

#[test]
fn sluice_40() {
    let amp = figures("sluice", "V301", [15.0, 22.0], [50.0, 58.0]);
    within("high tension", amp.volts("ht1"), 400.0, 450.0);
    let clip = amp.clean_limit(0.05);
    within("watts", clip.watts, 38.0, 48.0);
    within("input at 5 %", clip.input, 0.04, 0.15);
    let balance = amp.gain_to("a3", 1e3).norm() / amp.gain_to("a4", 1e3).norm();
    within("paraphase balance", balance, 0.9, 1.12);
}

/// From 80 Hz to 5 kHz the electrical response stays within what a guitar amp's tone network and
/// its loudspeaker do, and below and above the ear's range it falls.
#[test]
fn responses_are_plausible() {
    each(|built_in| {
        let amp = amp(built_in.key);
        let middle = amp.gain_db(1e3);
        for hz in [80.0, 120.0, 200.0, 400.0, 2e3, 5e3] {
            within(
                &format!("{} at {hz} Hz", built_in.key),
                amp.gain_db(hz) - middle,
                -12.0,
                13.0,
            );
        }
        assert!(
            amp.gain_db(5.0) < amp.gain_db(80.0) - 6.0,
            "{}",
            built_in.key
        );
        assert!(amp.gain_db(100e3) < middle - 15.0, "{}", built_in.key);
    });
}

/// Inverter halves and output anodes move against each other, alike within 1 dB.
#[test]
fn push_pull_halves_balance() {
    for (key, left, right) in [
        ("bradawl", "a5", "a6"),
        ("spokeshave", "a4", "a5"),
        ("sluice", "a5", "a6"),
    ] {
        let amp = amp(key);
        let ratio = amp.gain_to(left, 1e3) / amp.gain_to(right, 1e3);
        assert!((ratio + 1.0).norm() < 0.12, "{key}: {ratio}");
    }
}

/// A millisecond's push at the jack dies away, and the supply does not take it up: no feedback
/// loop rings, no motor-boating. A strong push at the controls as they stand, a weak one with all
/// of them fully up.
#[test]
fn a_push_dies_away() {
    each(|built_in| {
        let amp = amp(built_in.key);
        dies_away(built_in.key, &amp, 0.2);
        let turned_up = |control: &str| WrittenSetting {
            control: control.into(),
            value: if control == "Feedback" {
                "on".into()
            } else {
                "1".into()
            },
            line: None,
        };
        let settings: Vec<WrittenSetting> =
            amp.circuit.controls().into_iter().map(turned_up).collect();
        let full = amp.circuit.with_written_controls(&settings);
        let full = Amp::new(full.unwrap_or_else(|f| panic!("{}", told(&f))));
        dies_away(built_in.key, &full, 0.002);
    });
}

fn dies_away(key: &str, amp: &Amp, volts: f64) {
    let rate = 48e3;
    let mut transient = Transient::new(&amp.network, &amp.values, &amp.point, 1.0 / rate);
    let rest = transient.output();
    let mut peaks = [0f64; 4];
    for n in 1..=(1.2 * rate) as usize {
        let t = n as f64 / rate;
        let push = if t < 1e-3 {
            volts * (std::f64::consts::PI * t / 1e-3).sin()
        } else {
            0.0
        };
        let heard = (transient.step(push).expect("the oracle converges") - rest).abs();
        let slice = ((t / 0.3) as usize).min(3);
        peaks[slice] = peaks[slice].max(heard);
    }
    let [struck, after, _, last] = peaks;
    assert!(struck > 0.5, "{key}: {peaks:?}");
    assert!(
        after < 1e-2 * struck && last < 1e-3 * struck,
        "{key}: {peaks:?}"
    );
    assert!(last <= peaks[2].max(1e-6), "{key}: {peaks:?}");
}

/// Feedback lowers the gain where there is any, by little in (a) and about 6 dB in (d), and makes
/// no peak above the ear's range higher than the gain without it.
#[test]
fn feedback_is_negative_and_stable() {
    for (key, part, open, least, most) in [
        ("bradawl", "SW301", "open", 1.5, 4.0),
        ("sluice", "R303", "R1", 4.0, 9.0),
    ] {
        let closed = amp(key);
        let change = format!("{part}={open}").parse().unwrap();
        let without = closed
            .circuit
            .with_written_changes(&[change], &Catalogue::built_in());
        let without = Amp::new(without.unwrap_or_else(|f| panic!("{}", told(&f))));
        within(
            "feedback at 1 kHz, dB",
            without.gain_db(1e3) - closed.gain_db(1e3),
            least,
            most,
        );
        for step in 0..=60 {
            let hz = 20.0 * 10f64.powf(step as f64 / 15.0);
            let lost = without.gain_db(hz) - closed.gain_db(hz);
            assert!(
                lost > -3.0,
                "{key}: feedback adds {:.1} dB at {hz:.0} Hz",
                -lost
            );
        }
    }
}

/// Everything a chord asks of the processor that is heard, at three drives, as found beside
/// proposed.
#[test]
fn a_chord_plays_through_the_processor() {
    each(|built_in| {
        let found = amp(built_in.key);
        let proposed = proposed(&found, &built_in.proposals[0]);
        for volts in [0.05, 0.5, 5.0] {
            let settings = Settings {
                governor: None,
                ..Settings::live(48_000.0, 1)
            };
            let lanes = [
                (&found.values, &found.point.solution[..]),
                (&proposed.values, &proposed.point.solution[..]),
            ];
            let mut processor =
                Processor::<2>::new(&found.network, lanes, settings, Instructions::Avx2Fma);
            let input: Vec<f64> = (0..9600)
                .map(|n| volts * crate::solved::chord(n as f64 / 48e3))
                .collect();
            let (mut a, mut b) = (vec![0.0; 9600], vec![0.0; 9600]);
            processor.process(&[&input, &input], &mut [&mut a, &mut b]);
            let counts = processor.counts();
            let what = format!("{} at {volts} V: {counts:?}", built_in.key);
            assert_eq!(counts.unsolved, 0, "{what}");
            assert!(
                (counts.iterations as f64) < 3.0 * counts.intervals as f64,
                "{what}"
            );
            for heard in [a, b] {
                let peak = heard.iter().fold(0.0, |m: f64, v| m.max(v.abs()));
                assert!(peak > 1.0 && peak < 150.0, "{what}, peak {peak} V");
            }
        }
    });
}
