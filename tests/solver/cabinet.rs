//! What an amp is heard through: a loudspeaker's sections against their analogue originals, the
//! convolver against direct summation; both whatever the blocks, and reset equals new.

use engine::device::Catalogue;
use engine::device::acoustics::AnalogSection;
use engine::realtime::cabinet::{Convolver, Sections, Voicing};
use num_complex::Complex64;
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::f64::consts::TAU;

fn noise(random: &mut StdRng, length: usize) -> Vec<f64> {
    (0..length)
        .map(|_| random.random_range(-1.0..1.0))
        .collect()
}

/// Frequencies from 20 Hz to `highest`, 40 an octave.
fn grid(highest: f64) -> impl Iterator<Item = f64> {
    (0..)
        .map(|i| 20.0 * 2f64.powf(f64::from(i) / 40.0))
        .take_while(move |&hz| hz < highest)
}

/// The bars are our own: a tenth of a decibel is what a third-octave band of a cabinet may be off
/// without anybody hearing it (half of the smallest step that the audibility report counts); the
/// sections reach a third of it.
#[test]
fn the_sections_have_the_loudspeakers_curve_to_10_khz() {
    for rate in [44_100.0, 48_000.0, 88_200.0, 96_000.0, 192_000.0] {
        let mut most = (0.0f64, 0.0f64);
        for driver in &Catalogue::built_in().loudspeakers {
            let voicing = Voicing::new(driver.acoustic.analog(), rate);
            for hz in grid(10_000.0) {
                let (ours, analogue) = (voicing.at(hz, rate), driver.acoustic.at(hz));
                let db = 20.0 * (ours / analogue).norm().log10();
                let degrees = (ours / analogue).arg().to_degrees();
                assert!(
                    db.abs() < 0.1,
                    "{} at {rate} Hz: {db:.3} dB at {hz:.0} Hz",
                    driver.name
                );
                most = (most.0.max(db.abs()), most.1.max(degrees.abs()));
            }
        }
        println!("{rate} Hz: at most {:.3} dB, {:.1} degrees", most.0, most.1);
    }
}

/// Every kind of section over its whole range, at the lowest usual rate. The bar is our own: 5 % of
/// the larger of 1 and the gain, half a decibel; deep dips near the top come closest to it.
#[test]
fn every_section_is_matched() {
    let mut random = StdRng::seed_from_u64(71);
    let rate = 44_100.0;
    let mut worst = 0.0f64;
    for _ in 0..4000 {
        let hz: f64 = 20.0 * 500f64.powf(random.random());
        let (omega, q) = (TAU * hz, random.random_range(0.3..12.0));
        let root = 10f64.powf(random.random_range(-24.0..24.0) / 40.0);
        let s2 = 1.0 / (omega * omega);
        let section = match random.random_range(0..5) {
            0 => ([0.0, 0.0, s2], [1.0, 1.0 / (q * omega), s2]),
            1 => ([1.0, 0.0, 0.0], [1.0, 1.0 / (q * omega), s2]),
            2 => ([0.0, 1.0 / omega, 0.0], [1.0, 1.0 / omega, 0.0]),
            3 => (
                [1.0, root / (q * omega), s2],
                [1.0, 1.0 / (root * q * omega), s2],
            ),
            _ => ([1.0, root / omega, 0.0], [1.0, 1.0 / (root * omega), 0.0]),
        };
        let (numerator, denominator) = section;
        let section = AnalogSection {
            numerator,
            denominator,
        };
        let voicing = Voicing::new([section], rate);
        for hz in grid(10_000.0) {
            let (ours, analogue) = (voicing.at(hz, rate).norm(), section.at(hz).norm());
            let error = (ours - analogue).abs() / analogue.max(1.0);
            assert!(
                error < 0.05,
                "{section:?}: {ours} for {analogue} at {hz:.0} Hz"
            );
            worst = worst.max(error);
        }
    }
    println!("worst {:.2} %", 100.0 * worst);
}

/// What runs is what is told: a long sine through the filter has the gain of `Voicing::at`.
#[test]
fn the_filter_has_its_voicings_gain_in_each_lane() {
    let catalogue = Catalogue::built_in();
    let rate = 48_000.0;
    let voicings: Vec<Voicing> = (0..4)
        .map(|i| Voicing::new(catalogue.loudspeakers[i].acoustic.analog(), rate))
        .collect();
    for hz in [100.0, 1000.0, 3000.0, 8000.0] {
        let mut sections = Sections::<4>::new(std::array::from_fn(|lane| &voicings[lane]));
        // 1 s: the slowest resonance has died down by e to the minus 100 before the second half.
        let sine: Vec<f64> = (0..48_000)
            .map(|n| (TAU * hz * n as f64 / rate).cos())
            .collect();
        let mut lines = vec![sine; 4];
        let [a, b, c, d] = &mut lines[..] else {
            unreachable!()
        };
        sections.process(&mut [a, b, c, d]);
        for (line, voicing) in lines.iter().zip(&voicings) {
            let measured: Complex64 = (24_000..48_000)
                .map(|n| {
                    line[n] * Complex64::from_polar(2.0 / 24_000.0, -TAU * hz * n as f64 / rate)
                })
                .sum();
            assert!((measured - voicing.at(hz, rate)).norm() < 1e-9, "{hz} Hz");
        }
    }
}

/// Direct summation.
fn summed(taps: &[f64], x: &[f64]) -> Vec<f64> {
    (0..x.len())
        .map(|n| {
            let reach = taps.len().min(n + 1);
            (0..reach).map(|k| taps[k] * x[n - k]).sum()
        })
        .collect()
}

/// Through a convolver in blocks of random length up to `longest`.
fn convolved<const N: usize>(
    convolver: &mut Convolver<N>,
    inputs: &[Vec<f64>; N],
    random: &mut StdRng,
    longest: usize,
) -> [Vec<f64>; N] {
    let mut lines = inputs.clone();
    let length = lines[0].len();
    let mut start = 0;
    while start < length {
        let end = (start + random.random_range(1..=longest)).min(length);
        let mut parts = lines.each_mut().map(|line| &mut line[start..end]);
        convolver.process(&mut parts);
        start = end;
    }
    lines
}

/// Error of a transform of length L and back, relative in the root of the sum of squares, at most
/// `ε·6·log₂L` (N. J. Higham, "Accuracy and Stability of Numerical Algorithms", 2nd ed., theorem
/// 24.2, from memory, with the constants of exact twiddles); of a sum of n products `n·ε`. With
/// Cauchy and Schwarz each sample is off by no more than that times |h|·|x|.
fn bound(taps: &[f64], x: &[f64]) -> f64 {
    let norm = |v: &[f64]| v.iter().map(|x| x * x).sum::<f64>().sqrt();
    let transforms = 3.0 * 6.0 * (8192f64).log2();
    let sums = taps.len() as f64;
    f64::EPSILON * (transforms + sums) * norm(taps) * norm(x)
}

#[test]
fn the_convolution_is_the_sum() {
    let mut random = StdRng::seed_from_u64(72);
    let mut lengths: Vec<usize> = (0..30).map(|_| random.random_range(1..=3000)).collect();
    lengths.extend([
        1, 63, 64, 65, 128, 129, 1023, 1024, 1025, 1536, 3000, 8192, 8193, 14_000,
    ]);
    for length in lengths {
        let taps = noise(&mut random, length);
        let frames = (2 * length + 700).min(16_000);
        let inputs: [Vec<f64>; 2] = std::array::from_fn(|_| noise(&mut random, frames));
        let mut convolver = Convolver::<2>::new(&taps);
        let ours = convolved(&mut convolver, &inputs, &mut random, 300);
        let mut worst = 0.0f64;
        for (input, ours) in inputs.iter().zip(&ours) {
            let expected = summed(&taps, input);
            let error = expected.iter().zip(ours).map(|(a, b)| (a - b).abs());
            worst = error.fold(worst, f64::max);
        }
        let bound = bound(&taps, &inputs[0]).max(bound(&taps, &inputs[1]));
        println!("{length} taps: {worst:.1e}, bound {bound:.1e}");
        assert!(
            worst <= bound,
            "{length} taps: {worst:.1e} beyond {bound:.1e}"
        );
    }
}

/// A tap in the middle of nowhere arrives when it should: no level is late or early by a block.
#[test]
fn a_single_late_tap_is_a_delay() {
    for place in [0, 63, 64, 500, 1023, 1024, 5000, 8191, 8192, 20_000, 95_999] {
        let mut taps = vec![0.0; place + 1];
        taps[place] = 1.0;
        let mut convolver = Convolver::<1>::new(&taps);
        let mut random = StdRng::seed_from_u64(place as u64);
        let x = [noise(&mut random, place + 9000)];
        let [y] = convolved(&mut convolver, &x, &mut random, 1000);
        let early = y[..place].iter().fold(0.0f64, |most, s| most.max(s.abs()));
        let error = y[place..].iter().zip(&x[0]).map(|(y, x)| (y - x).abs());
        let error = error.fold(0.0, f64::max);
        let bound = bound(&[1.0], &x[0]);
        assert!(
            early <= bound && error <= bound,
            "{place}: {early:.1e} {error:.1e} {bound:.1e}"
        );
    }
}

#[test]
fn blocks_of_any_length_give_the_same_bits() {
    let mut random = StdRng::seed_from_u64(73);
    for length in [40, 900, 6000, 30_000] {
        let taps = noise(&mut random, length);
        let inputs: [Vec<f64>; 4] = std::array::from_fn(|_| noise(&mut random, 40_000));
        let mut whole = Convolver::<4>::new(&taps);
        let expected = convolved(&mut whole, &inputs, &mut random, 100_000);
        for longest in [1, 7, 64, 500] {
            let mut cut = Convolver::<4>::new(&taps);
            let ours = convolved(&mut cut, &inputs, &mut random, longest);
            assert!(ours == expected, "{length} taps in blocks to {longest}");
        }
        // And after a reset, whatever was there before, even what is no number.
        let mut broken = inputs.clone();
        broken[1][777] = f64::NAN;
        broken[2][39_999] = f64::INFINITY;
        convolved(&mut whole, &broken, &mut random, 500);
        whole.reset();
        assert!(
            convolved(&mut whole, &inputs, &mut random, 500) == expected,
            "{length} after reset"
        );
    }
}

/// Lanes do not hear each other.
#[test]
fn each_lane_is_on_its_own() {
    let mut random = StdRng::seed_from_u64(74);
    let taps = noise(&mut random, 12_000);
    let mut inputs: [Vec<f64>; 4] = std::array::from_fn(|_| vec![0.0; 20_000]);
    inputs[2] = noise(&mut random, 20_000);
    let ours = convolved(&mut Convolver::<4>::new(&taps), &inputs, &mut random, 64);
    for lane in [0, 1, 3] {
        assert!(ours[lane].iter().all(|&s| s == 0.0), "lane {lane}");
    }
    let one = [inputs[2].clone()];
    let [alone] = convolved(&mut Convolver::<1>::new(&taps), &one, &mut random, 64);
    assert!(ours[2] == alone);
}
