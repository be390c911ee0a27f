//! A guitar in the jack: the construction for a track that an interface has loaded already, against
//! the guitar's own voltage played into the amp.

use crate::solved::Solved;
use engine::circuit::{self, Circuit, Guitar, NamedGuitar, Taper};
use engine::device::Catalogue;
use engine::network::Companion;
use engine::network::assemble::{empty_vector, linear_matrix};
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Processor, Settings};
use engine::solve::{SmallSignal, Transient};
use std::f64::consts::TAU;
use std::sync::Arc;

const STAGE: &str = include_str!("../circuits/one_triode.toml");

/// What two solutions of one circuit may differ by, as a share: the leak of 10⁻¹² S that every node
/// has goes to ground on one side and to the track on the other, at three nodes behind at most 1 MΩ.
const LEAK_SHARE: f64 = 3e-6;

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).unwrap_or_else(|faults| panic!("{faults:?}"))
}

/// Guitars that differ in all that they have.
fn guitars() -> Vec<Guitar> {
    let mut turned_down = NamedGuitar::Humbucker.guitar();
    turned_down.volume.set = 0.6;
    turned_down.tone.set = 0.2;
    let mut poor_interface = NamedGuitar::SingleCoil.guitar();
    poor_interface.volume.taper = Taper::Linear;
    poor_interface.volume.set = 0.3;
    poor_interface.interface_ohms = 100e3;
    poor_interface.interface_farads = 1e-9;
    let named = NamedGuitar::ALL.map(NamedGuitar::guitar);
    let mut all = named.to_vec();
    all.extend([turned_down, poor_interface]);
    all
}

/// The guitar as plain parts that its own voltage, at node `emf`, drives; `rest` hangs on the node
/// `in` and says what is the output. The source's 1 Ω and the
/// least resistance of an inductor stand in the winding's place.
fn of_parts(guitar: &Guitar, rest: &str) -> Circuit {
    let pot = |pot: &circuit::GuitarPot| {
        let taper = match pot.taper {
            Taper::Linear => "linear",
            Taper::Log => "log",
            Taper::Reverse => "reverse",
        };
        format!(
            "pot = \"{}\", taper = \"{taper}\", set = {}",
            pot.ohms, pot.set
        )
    };
    let parts = format!(
        r#"
GL = {{ inductor = "{}", winding_resistance = "0.01", between = ["wound", "pickup"] }}
GR1 = {{ resistor = "{}", between = ["emf", "wound"] }}
GR2 = {{ resistor = "{}", between = ["wound", "pickup"] }}
GC1 = {{ capacitor = "{}", between = ["pickup", "gnd"] }}
GV = {{ {}, from = "pickup", to = "gnd", wiper = "in", control = "Guitar volume" }}
GT = {{ {}, from = "tone", to = "pickup", wiper = "pickup", control = "Guitar tone" }}
GC2 = {{ capacitor = "{}", between = ["tone", "gnd"] }}
GC3 = {{ capacitor = "{}", between = ["in", "gnd"] }}
"#,
        guitar.pickup_henries,
        guitar.pickup_ohms - 1.01,
        guitar.loss_ohms,
        guitar.pickup_farads,
        pot(&guitar.volume),
        pot(&circuit::GuitarPot {
            set: 1.0 - guitar.tone.set,
            taper: match guitar.tone.taper {
                Taper::Log => Taper::Reverse,
                Taper::Reverse => Taper::Log,
                Taper::Linear => Taper::Linear,
            },
            ..guitar.tone
        }),
        guitar.tone_farads,
        guitar.lead_farads,
    );
    read(&format!(
        "{}{parts}",
        rest.replace("input = \"in\"", "input = \"emf\"")
    ))
}

/// The guitar on nothing but the interface.
fn into_interface(guitar: &Guitar) -> Circuit {
    let rest = format!(
        "format = 1\n[amp]\nname = \"interface\"\ninput = \"in\"\noutput = \"in\"\n[parts]\nIR = {{ resistor = \"{}\", between = [\"in\", \"gnd\"] }}\nIC = {{ capacitor = \"{}\", between = [\"in\", \"gnd\"] }}\n",
        guitar.interface_ohms, guitar.interface_farads
    );
    of_parts(guitar, &rest)
}

/// The three circuits: the guitar on the amp, on the interface, and the amp with the construction.
fn three(guitar: &Guitar, amp: &str) -> [Solved; 3] {
    let ours = read(amp).with_guitar(Some(Arc::new(guitar.clone())));
    [of_parts(guitar, amp), into_interface(guitar), ours].map(Solved::new)
}

#[test]
fn what_is_recorded_and_replayed_is_the_guitar_on_the_amp_small_signal() {
    for (amp, text) in [
        ("stage", STAGE),
        (
            "bradawl",
            circuit::built_in_circuit("bradawl").unwrap().text,
        ),
    ] {
        for guitar in guitars() {
            let three = three(&guitar, text);
            let mut worst: f64 = 0.0;
            for step in 0..=60 {
                let hz = 20.0 * 10f64.powf(f64::from(step) / 20.0);
                let gain = |solved: &Solved| {
                    SmallSignal::new(&solved.network, &solved.values, &solved.point).gain(hz)
                };
                let [direct, recorded, replayed] = three.each_ref().map(gain);
                worst = worst.max((recorded * replayed / direct - 1.0).norm());
            }
            println!("{amp}, {}: {worst:.1e}", guitar.name);
            assert!(worst <= LEAK_SHARE, "{amp}, {}: {worst:e}", guitar.name);
        }
    }
}

/// Energy of the difference of two waveforms in that of the first, dB.
fn difference_db(first: &[f64], second: &[f64]) -> f64 {
    let rest = first[0];
    let pairs = first.iter().zip(second);
    let difference: f64 = pairs.map(|(a, b)| (a - b).powi(2)).sum();
    let signal: f64 = first.iter().map(|a| (a - rest).powi(2)).sum();
    10.0 * (difference / signal).log10()
}

fn oracle(solved: &Solved, step: f64, track: &[f64]) -> Vec<f64> {
    let mut transient = Transient::new(&solved.network, &solved.values, &solved.point, step);
    let steps = track.iter().map(|&volts| transient.step(volts));
    steps.map(|volts| volts.expect("it converges")).collect()
}

/// Two notes that rise and fall, V.
fn burst(volts: f64, t: f64) -> f64 {
    let rise = 0.5 - 0.5 * (TAU * t / 0.012).cos();
    0.5 * volts * rise * ((TAU * 440.0 * t).sin() + (TAU * 1000.0 * t).sin())
}

/// The valve is driven until its grid conducts: the guitar's impedance then shapes the clipping.
#[test]
fn what_is_recorded_and_replayed_is_the_guitar_on_the_amp_overdriven() {
    let step = 2e-6;
    for guitar in guitars() {
        let [direct, recorded, replayed] = three(&guitar, STAGE);
        let emf: Vec<f64> = (0..6000)
            .map(|n| burst(20.0, f64::from(n) * step))
            .collect();
        let on_the_amp = oracle(&direct, step, &emf);
        let track = oracle(&recorded, step, &emf);
        let again = oracle(&replayed, step, &track);
        let db = difference_db(&on_the_amp, &again);
        // Without the guitar's impedance it is another sound.
        let bare = Solved::new(read(STAGE));
        let bare = difference_db(&on_the_amp, &oracle(&bare, step, &track));
        println!(
            "{}: {db:.0} dB; without its impedance {bare:.0} dB",
            guitar.name
        );
        assert!(db <= 20.0 * LEAK_SHARE.log10(), "{}: {db} dB", guitar.name);
        assert!(bare > -30.0, "{}: {bare} dB", guitar.name);
    }
}

/// The processor that is heard, whose steps are its own.
#[test]
fn the_processor_plays_the_guitar_on_the_amp() {
    let settings = Settings::live(48_000.0, 3);
    let guitar = NamedGuitar::Humbucker.guitar();
    for (name, text, volts) in [
        ("stage", STAGE, 20.0),
        (
            "bradawl",
            circuit::built_in_circuit("bradawl").unwrap().text,
            0.2,
        ),
    ] {
        let [_, _, replayed] = three(&guitar, text);
        let frames = 1200;
        let track: Vec<f64> = (0..frames).map(|n| burst(volts, n as f64 / 48e3)).collect();
        let lane = (&replayed.values, replayed.point.solution.as_slice());
        let mut processor =
            Processor::new(&replayed.network, [lane], settings, Instructions::detect());
        let late = processor.latency();
        let padded: Vec<f64> = track
            .iter()
            .copied()
            .chain((0..late).map(|_| 0.0))
            .collect();
        let mut played = vec![0.0; padded.len()];
        processor.process(&[&padded], &mut [&mut played]);
        let per_frame = 16;
        let step = 1.0 / (48e3 * f64::from(per_frame));
        let fine: Vec<f64> = (1..=frames * per_frame as usize)
            .map(|n| burst(volts, n as f64 * step))
            .collect();
        let oracle = oracle(&replayed, step, &fine);
        let exact: Vec<f64> = (1..frames)
            .map(|n| oracle[n * per_frame as usize - 1])
            .collect();
        let db = difference_db(&exact, &played[late + 1..late + frames]);
        println!(
            "{name}: {db:.1} dB, unsolved {}",
            processor.counts().unsolved
        );
        assert_eq!(processor.counts().unsolved, 0);
        // What lies beyond 20 kHz is in the oracle and not in the sound.
        assert!(db <= -40.0, "{name}: {db} dB");
    }
}

/// Corners of what a file may say.
fn extremes() -> Vec<Guitar> {
    let mut all = Vec::new();
    for bits in 0..32 {
        let either =
            |bit: usize, low: f64, high: f64| if bits >> bit & 1 == 0 { low } else { high };
        let mut guitar = NamedGuitar::Humbucker.guitar();
        guitar.volume.set = either(0, 0.0, 1.0);
        guitar.tone.set = either(1, 0.0, 1.0);
        guitar.interface_ohms = either(2, 10e3, 22e6);
        guitar.interface_farads = either(3, 0.1e-12, 100e-9);
        guitar.lead_farads = either(4, 0.1e-12, 10e-9);
        all.push(guitar);
    }
    all
}

/// The factors take their pivots in a fixed order; what is left of the equations says whether that
/// holds with an interface taken away.
#[test]
fn the_factors_hold_with_an_interface_taken_away() {
    let text = circuit::built_in_circuit("bradawl").unwrap().text;
    for guitar in extremes() {
        let solved = Solved::new(read(text).with_guitar(Some(Arc::new(guitar.clone()))));
        let program = solved.network.program();
        let n = program.unknowns();
        for step in [1e-3, 1e-5, 3e-7] {
            let companions: Vec<Companion> = solved
                .values
                .branches
                .iter()
                .map(|b| b.companion(step))
                .collect();
            let matrix = linear_matrix(&solved.network, &companions);
            let mut right = empty_vector::<f64>(&solved.network);
            right[solved.network.input()] = solved.network.input_siemens();
            let mut solution = right.clone();
            program.solve(&mut matrix.clone(), &mut solution);
            let (mut left_over, mut scale): (f64, f64) = (0.0, 0.0);
            for (row, amps) in right[..n].iter().enumerate() {
                let (mut sum, mut size) = (-amps, amps.abs());
                for (column, volts) in solution[..n].iter().enumerate() {
                    let (row, column) = (program.unknown_at(row), program.unknown_at(column));
                    if let Some(slot) = program.slot(row, column) {
                        sum += matrix[slot] * volts;
                        size += (matrix[slot] * volts).abs();
                    }
                }
                left_over = left_over.max(sum.abs() / size.max(1e-300));
                scale = scale.max(size);
            }
            assert!(scale.is_finite());
            // Each row to some tens of roundings.
            assert!(left_over < 1e-13, "{guitar:?}, {step} s: {left_over:e}");
        }
    }
}

/// The trapezoidal rule does not grow with an interface taken away: a note has died away within a
/// second. After a jolt from one step to the next a node without time constant to speak of rings on,
/// as it does in any circuit by this rule; it never gets louder.
#[test]
fn a_jolt_does_not_grow() {
    let step = 20e-6;
    for guitar in extremes() {
        let solved = Solved::new(read(STAGE).with_guitar(Some(Arc::new(guitar.clone()))));
        let rest = solved.point.solution[solved.network.output()[0]];
        let largest = |part: &[f64]| part.iter().map(|v| (v - rest).abs()).fold(0.0, f64::max);
        let note = |n: usize| match n {
            0..600 => burst(0.1, n as f64 * step),
            _ => 0.0,
        };
        let track: Vec<f64> = (0..100_000).map(note).collect();
        let heard = oracle(&solved, step, &track);
        let (first, last) = (largest(&heard[..1000]), largest(&heard[50_000..]));
        assert!(last < 1e-6, "{guitar:?}: {first} V, then {last} V");
        let mut track = vec![0.0; 100_000];
        (track[0], track[1]) = (0.1, -0.1);
        let heard = oracle(&solved, step, &track);
        let by_fifth = heard.chunks(20_000).map(largest);
        let by_fifth: Vec<f64> = by_fifth.collect();
        let falls = by_fifth.windows(2).all(|pair| pair[1] <= pair[0] + 1e-9);
        assert!(
            falls && by_fifth[4] < 1e-4 * by_fifth[0].max(0.1),
            "{guitar:?}: {by_fifth:?} V"
        );
    }
}

/// Without a guitar nothing is there that was not before.
#[test]
fn none_leaves_the_network_alone() {
    for amp in circuit::built_in_circuits() {
        let circuit = read(amp.text);
        let with = circuit.with_guitar(Some(Arc::new(NamedGuitar::Humbucker.guitar())));
        let [bare, none, humbucker] =
            [circuit.clone(), with.with_guitar(None), with].map(Solved::new);
        assert_eq!(bare.network.input(), bare.network.position(circuit.input()));
        assert_eq!(bare.network.input_siemens(), 1.0);
        assert!(bare.network.guitar_branches().is_empty());
        assert_eq!(bare.network.names(), none.network.names());
        assert_eq!(bare.values, none.values);
        assert_eq!(bare.point.solution, none.point.solution);
        let count = bare.values.branches.len();
        assert_eq!(humbucker.values.branches[..count], bare.values.branches);
        assert_eq!(humbucker.network.guitar_branches(), count..count + 7);
        assert_eq!(humbucker.network.unknowns(), bare.network.unknowns() + 3);
        // What is eliminated in every iteration is not more.
        let [bare, humbucker] = [bare, humbucker].map(|s| s.network.program().trailing_products());
        assert_eq!(bare, humbucker);
    }
}
