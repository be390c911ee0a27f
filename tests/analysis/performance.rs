//! A sound played in segments against the same sound played in one piece: what is heard, and what
//! a gauge reads inside.

use engine::analysis::performance::{Gauge, NoGauge, heaviest_second, perform};
use engine::analysis::playing::play;
use engine::analysis::valves_playing::valves_playing;
use engine::circuit::{self, built_in_circuits};
use engine::device::Catalogue;
use engine::network::Network;
use engine::solve::solved::{SolvedAmp, SolvedCircuit};
use engine::sound::loudness::integrated_lufs;
use engine::sound::phrase::phrase;

const RATE: u32 = 48_000;

/// Anode watts of the pentodes.
struct Anodes<'a>(&'a Network);

impl Gauge for Anodes<'_> {
    fn count(&self) -> usize {
        self.0.devices().pentodes.len()
    }
    fn read(&self, side: &SolvedCircuit, volts: &dyn Fn(usize) -> f64, figures: &mut [f64]) {
        let devices = &self.0.devices().pentodes;
        let values = &side.values.devices.pentodes;
        for ((site, value), figure) in devices.iter().zip(values).zip(figures) {
            let [a, s, g, k] = site.at.map(|p| volts(p as usize));
            let current = value.law.currents(a - k, s - k, g - k).anode;
            *figure = value.present * current * (a - k);
        }
    }
}

fn amps() -> Vec<SolvedAmp> {
    let read = |text| circuit::read(text, &Catalogue::built_in()).expect("a built-in amp");
    let amps = built_in_circuits().iter().map(|c| read(c.text));
    amps.map(|c| SolvedAmp::new(&c, None).expect("at rest"))
        .collect()
}

fn power(samples: impl Iterator<Item = f64>) -> f64 {
    samples.map(|s| s * s).sum()
}

/// The seams and the lower oversampling leave the loudness within 0.05 LU and, sample by sample, a
/// difference 30 dB below the sound: well under the half decibel that is the smallest difference
/// that reports speak of.
#[test]
fn segments_sound_like_the_whole() {
    let sound = phrase(RATE);
    for amp in amps() {
        let side = &amp.as_found;
        let whole = play(&amp.network, &[side], RATE, &[&sound], 1.0, &mut |_| {});
        let whole = &whole.volts[0];
        let performed = perform(
            &amp.network,
            &[side],
            &[&sound],
            RATE,
            &NoGauge,
            &mut |_| true,
        );
        let segments = &performed.expect("not given up")[0].volts[0];
        assert_eq!(segments.len(), whole.len());
        let lufs = |s: &[f32]| {
            let scaled: Vec<f32> = s.iter().map(|v| v / 20.0).collect();
            integrated_lufs(&[&scaled], RATE).expect("a sound")
        };
        let louder = lufs(segments) - lufs(whole);
        let pairs = segments.iter().zip(whole);
        let difference = power(pairs.map(|(a, b)| f64::from(a - b)))
            / power(whole.iter().map(|&s| f64::from(s)));
        let decibels = 10.0 * difference.log10();
        let name = amp.as_found.circuit.name();
        println!("{name}: {louder:+.3} LU, difference {decibels:.1} dB");
        assert!(louder.abs() < 0.05, "{name}: {louder} LU");
        assert!(decibels < -30.0, "{name}: {decibels} dB");
    }
}

/// The heaviest second within 1 % of what the whole sound gives.
#[test]
fn gauges_read_what_the_whole_gives() {
    let sound = phrase(RATE);
    for amp in amps() {
        let side = &amp.as_found;
        let gauge = Anodes(&amp.network);
        let performed = perform(&amp.network, &[side], &[&sound], RATE, &gauge, &mut |_| {
            true
        });
        let performed = performed.expect("not given up").remove(0);
        assert!(performed.bins.mean.iter().all(|row| row.len() == 96));
        let whole = valves_playing(&amp, &sound, RATE, &mut |_| true).expect("not given up");
        let pentodes = whole
            .as_found
            .valves
            .iter()
            .filter(|v| v.screen_watts.is_some());
        for (row, valve) in performed.bins.mean.iter().zip(pentodes) {
            let watts = heaviest_second(row);
            let share = watts / valve.anode_watts - 1.0;
            println!(
                "{} {}: {watts:.3} W, {:+.2} %",
                amp.as_found.circuit.name(),
                valve.designator,
                100.0 * share
            );
            assert!(share.abs() < 0.01, "{}: {watts} W", valve.designator);
        }
    }
}

/// Two circuits and two channels come out where they belong.
#[test]
fn circuits_and_channels_keep_their_places() {
    let amp = amps().remove(0);
    let side = &amp.as_found;
    let loud: Vec<f32> = phrase(RATE).into_iter().take(9_000).collect();
    let quiet: Vec<f32> = loud.iter().map(|s| s * 0.1).collect();
    let both = perform(
        &amp.network,
        &[side, side],
        &[&loud, &quiet],
        RATE,
        &NoGauge,
        &mut |_| true,
    );
    let both = both.expect("not given up");
    assert_eq!(both[0].volts, both[1].volts);
    let [loud, quiet] = [0, 1].map(|c| power(both[0].volts[c].iter().map(|&s| f64::from(s))));
    assert!(both[0].volts.iter().all(|c| c.len() == 9_000));
    assert!(loud > 10.0 * quiet && quiet > 0.0, "{loud} {quiet}");
}

/// Silence of no length, a sound shorter than a bin, and giving up.
#[test]
fn odd_sounds_and_giving_up() {
    let amp = amps().remove(0);
    let side = &amp.as_found;
    let gauge = Anodes(&amp.network);
    let none = perform(&amp.network, &[side], &[&[]], RATE, &gauge, &mut |_| true).expect("done");
    assert!(none[0].volts[0].is_empty());
    assert_eq!(heaviest_second(&none[0].bins.mean[0]), 0.0);
    let short = perform(
        &amp.network,
        &[side],
        &[&[0.0; 100]],
        RATE,
        &gauge,
        &mut |_| true,
    );
    let short = short.expect("done");
    assert_eq!(short[0].volts[0].len(), 100);
    assert_eq!(short[0].bins.mean[0].len(), 1);
    let sound = phrase(RATE);
    assert!(
        perform(&amp.network, &[side], &[&sound], RATE, &gauge, &mut |_| {
            false
        })
        .is_none()
    );
}
