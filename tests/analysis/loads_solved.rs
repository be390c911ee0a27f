//! Loudspeakers swapped and combined, the whole circuit solved for each: a swap against a
//! one-port's own law, power against a triode's equivalent circuit, the report of all ways.

use crate::loads_fixture::{TEN, across, change};
use engine::analysis::drive::{DriveOptions, HZ, Pace, drive_with, impedance};
use engine::analysis::listening::{self, loudspeaker_of};
use engine::analysis::load::{LoadCase, LoadReport, NoLoads, Way, loads};
use engine::analysis::response::{Path, Response, axis, gains, response, response_through};
use engine::circuit::{Circuit, Join, built_in_circuits, read};
use engine::device::{Catalogue, Loudspeaker, ValveLaw};
use engine::solve::solved::SolvedAmp;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// An empty extension socket is no part of the sound: voltages at rest and response are those
/// without it. What is left of an absent coil are 10⁻¹⁵ S against tenths: 10⁻⁹ is far above both
/// that and the rounding of a solution.
#[test]
fn an_empty_socket_changes_nothing() {
    let socket =
        "LS9 = { loudspeaker = \"Anvil Twelve\", between = [\"spk\", \"gnd\"], fitted = false }\n";
    let hz = axis();
    let amps = built_in_circuits().iter().map(|amp| {
        let with = format!("{}\n{socket}", amp.text);
        (amp.key, amp.text.to_string(), with)
    });
    for (key, without, with) in amps {
        let curve = |text: &str| {
            let circuit = read(text, &Catalogue::built_in()).unwrap();
            let amp = SolvedAmp::new(&circuit, None).unwrap();
            gains(&amp.network, &amp.as_found, Path::default(), &hz)
        };
        for (a, b) in curve(&without).iter().zip(curve(&with)) {
            assert!((a - b).norm() <= 1e-9 * a.norm(), "{key}: {a} {b}");
        }
    }
}

/// Impedance of the branches that stand for a driver: the formula of Small (see
/// `tests/device/loudspeaker.rs`), with the microhm that every coil has at least.
fn stamped(driver: &Loudspeaker, hz: f64) -> Complex64 {
    let s = Complex64::new(0.0, TAU * hz);
    let lossy = 1.0 / (1.0 / (s * driver.lossy_henries) + 1.0 / driver.lossy_ohms);
    let motional = 1.0 / driver.motional_ohms()
        + s * driver.motional_farads()
        + 1.0 / (s * driver.motional_henries() + 1e-6);
    driver.coil_ohms + s * driver.coil_henries + lossy + 1.0 / motional
}

/// A loudspeaker is one part between two nodes, so whatever is in front of it, by Thévenin's
/// theorem, is a voltage behind an impedance: one over the volts at it is a straight line in its
/// admittance. Two loudspeakers give that line at each frequency; the others must lie on it, with
/// the whole amp, its feedback and its transformer solved for each. No direct current flows through
/// a loudspeaker, so that all four share the operating point of the first. What is left is the
/// rounding of the solutions: 10⁻¹⁰ of each (own choice: ε times some 60 unknowns, times 10⁴ for
/// how far the equations of a feedback amp at its lowest frequencies spread), carried along the
/// line.
#[test]
fn a_swap_goes_through_the_whole_circuit() {
    const ROUNDING: f64 = 1e-10;
    let catalogue = Catalogue::built_in();
    let hz = axis();
    for amp in built_in_circuits() {
        let circuit = read(amp.text, &catalogue).unwrap();
        let first = SolvedAmp::new(&circuit, None).unwrap();
        let curves: Vec<(&Loudspeaker, Vec<Complex64>)> = catalogue
            .loudspeakers
            .iter()
            .map(|driver| {
                let swapped = change(&circuit, &[&format!("LS1={}", driver.name)]).unwrap();
                let mut side = SolvedAmp::new(&swapped, None).unwrap().as_found;
                let volts = side.point.solution.iter();
                for (a, b) in volts.zip(&first.as_found.point.solution) {
                    assert!((a - b).abs() < 1e-6, "{}: {a} {b}", amp.key);
                }
                side.point = first.as_found.point.clone();
                let curve = gains(&first.network, &side, Path::default(), &hz);
                (&**driver, curve)
            })
            .collect();
        let (mut most, mut worst) = (0.0_f64, 0.0_f64);
        for (i, &hz) in hz.iter().enumerate() {
            let at = |k: usize| (1.0 / stamped(curves[k].0, hz), 1.0 / curves[k].1[i]);
            let ((y0, u0), (y1, u1)) = (at(0), at(1));
            for k in 2..4 {
                let (y, u) = at(k);
                let along = (y - y0) / (y1 - y0);
                let predicted = u0 * (1.0 - along) + u1 * along;
                let carried =
                    u0.norm() * (1.0 - along).norm() + u1.norm() * along.norm() + u.norm();
                let off = (u - predicted).norm();
                worst = worst.max(off / carried);
                most = most.max(20.0 * (u0 / u).norm().log10().abs());
            }
        }
        assert!(worst <= ROUNDING, "{}: {worst:e}", amp.key);
        println!("{}: {worst:e} of the volts, {most:.1} dB", amp.key);
        // And the swap does something to the amp.
        assert!(most > 0.5, "{}: {most} dB", amp.key);
    }
}

/// What the microphone adds is the loudspeaker's own, on each side the one that is connected.
#[test]
fn a_response_through_the_loudspeaker_adds_its_acoustic_side() {
    let catalogue = Catalogue::built_in();
    let circuit = read(built_in_circuits()[0].text, &catalogue).unwrap();
    let swapped = change(&circuit, &["LS1=Harbour Ten"]).unwrap();
    let amp = SolvedAmp::new(&circuit, Some(&swapped)).unwrap();
    let line = response(&amp, Path::default());
    let heard = response_through(&amp, Path::default(), &listening::loudspeaker);
    let of = |circuit: &Circuit, hz: f64| {
        let driver = loudspeaker_of(circuit).unwrap();
        20.0 * driver.acoustic.at(hz).norm().log10()
    };
    let proposed = |r: &Response| r.proposed.clone().unwrap();
    for (i, &hz) in line.hz.iter().enumerate() {
        let found = heard.as_found.db[i] - line.as_found.db[i];
        assert!((found - of(&circuit, hz)).abs() < 1e-9, "{hz} Hz");
        let found = proposed(&heard).db[i] - proposed(&line).db[i];
        assert!((found - of(&swapped, hz)).abs() < 1e-9, "{hz} Hz");
    }
    for (heard, line) in heard.third_octaves.iter().zip(&line.third_octaves) {
        let found = heard.difference_db.unwrap() - line.difference_db.unwrap();
        let expected = of(&swapped, line.hz) - of(&circuit, line.hz);
        assert!((found - expected).abs() < 1e-9, "{} Hz", line.hz);
    }
}

/// The equivalent circuit of a triode (any handbook, from memory): a current `S·vg` beside its own
/// conductance feeds the load over the square of the turns. Worked by hand with the law's own
/// slopes, for a small sine: one, two in parallel, two in series. The steps of the processor see
/// reactances at 1 kHz off by (ωh/2)²/3, 0.14 % at 48 kHz: 0.3 % of the power is allowed.
#[test]
fn small_power_is_that_of_the_equivalent_circuit() {
    let catalogue = Catalogue::built_in();
    let valve = catalogue.valve("ECC82").unwrap();
    let ValveLaw::Triode(law) = &valve.law else {
        panic!("a triode");
    };
    let slopes = law.currents(250.0, -8.5);
    let tin = catalogue.loudspeaker("Tin Ten").unwrap();
    let harbour = catalogue.loudspeaker("Harbour Ten").unwrap();
    let [z1, z2] = [tin, harbour].map(|driver| impedance(driver, HZ));
    let one = across(TEN).unwrap();
    let first = one.find_part("LS1").unwrap();
    let more = |join| {
        one.with_another_loudspeaker(first, harbour.clone(), join)
            .unwrap()
    };
    let volts = 0.02;
    let turns2 = 10e3 / 8.0;
    for (circuit, load) in [
        (one.clone(), z1),
        (more(Join::Parallel), z1 * z2 / (z1 + z2)),
        (more(Join::Series), z1 + z2),
    ] {
        let amp = SolvedAmp::new(&circuit, None).unwrap();
        let asked = DriveOptions {
            played_volts: Some(volts),
            pace: Pace::Quick,
        };
        let drive = drive_with(&amp.network, &amp.as_found, asked, &mut |_| true).unwrap();
        let played = drive.harmonics_played.expect("it was asked for").level;
        assert!(played.distortion_percent < 0.1, "{played:?}");
        // The secondary's 10 mΩ, the core's 22 MΩ and 1000 H are in it.
        let behind = load + 0.01;
        let magnetic = 1.0 / Complex64::new(0.0, TAU * HZ * 1000.0) + 1.0 / 22e6;
        let primary = 1.0 / (turns2 * behind);
        let anode = slopes.anode_by_grid * volts / (slopes.anode_by_anode + magnetic + primary);
        let across = (anode * (load / behind)).norm_sqr() / turns2;
        let watts = across * (1.0 / load).re;
        let found = played.watts.unwrap();
        assert!(
            (found / watts - 1.0).abs() < 3e-3,
            "{found} W for {watts} W"
        );
    }
}

fn report(key: &str) -> LoadReport {
    let catalogue = Catalogue::built_in();
    let amp = built_in_circuits()
        .iter()
        .find(|amp| amp.key == key)
        .unwrap();
    let circuit = read(amp.text, &catalogue).unwrap();
    loads(&circuit, &catalogue, &mut |_| true).unwrap().unwrap()
}

fn case(report: &LoadReport, is: impl Fn(&Way) -> bool) -> &LoadCase {
    report.cases.iter().find(|case| is(&case.way)).unwrap()
}

/// Common practice, no source: half the load asks for more current, twice the load makes more
/// voltage and drives the screens harder, and nothing at all is worst (for the voltage as bad at
/// least: the core saturates then, and holds it).
#[test]
fn mismatches_go_the_way_that_is_known() {
    for amp in built_in_circuits() {
        let report = report(amp.key);
        assert_eq!(report.unsolved, Vec::<String>::new());
        assert!(
            report.cases.iter().all(|case| case.unsolved == 0),
            "{}",
            amp.key
        );
        let low = case(&report, |way| {
            matches!(way, Way::Parallel(_) | Way::PutIn(..))
        });
        let right = case(&report, |way| *way == Way::AsItIs);
        let high = case(&report, |way| matches!(way, Way::Series(_)));
        let open = case(&report, |way| *way == Way::Nothing);
        let ratio = |case: &LoadCase| case.nominal.unwrap().ratio;
        assert!((ratio(low) - 0.5).abs() < 1e-6);
        assert!((ratio(right) - 1.0).abs() < 1e-6);
        assert!((ratio(high) - 2.0).abs() < 1e-6);
        assert_eq!(open.nominal, None);
        let rising = |of: fn(&LoadCase) -> f64| {
            let figures = [low, right, high, open].map(of);
            assert!(
                figures.is_sorted_by(|a, b| a < b),
                "{}: {figures:?}",
                amp.key
            );
        };
        let volts = [low, right, high, open].map(|case| case.hard.anode_high_volts);
        assert!(
            volts[..3].is_sorted_by(|a, b| a < b) && volts[3] > 0.98 * volts[2],
            "{}: {volts:?}",
            amp.key
        );
        rising(|case| case.hard.screen_watts.unwrap());
        // Where the valves give all they can into either load, the peaks are alike.
        let amps = [low, right, high, open].map(|case| case.hard.peak_amps);
        assert!(
            amps.windows(2).all(|pair| pair[1] < 1.01 * pair[0]) && amps[3] < 0.9 * amps[0],
            "{}: {amps:?}",
            amp.key
        );
        // Clean, the anodes keep more of what the supply gives where less of it goes out.
        assert!(
            low.clean.anode_watts > right.clean.anode_watts,
            "{}",
            amp.key
        );
        // A second one beside it damps it; one in its way does the opposite.
        let damping = |case: &LoadCase| case.damping.unwrap();
        assert!(damping(low) > damping(right) && damping(right) > damping(high));
        // Alike, they share alike, and no more than there is.
        for case in [low, high] {
            let [one, two] = &case.loudspeakers[..] else {
                panic!("two loudspeakers");
            };
            assert!((one.clean_watts / two.clean_watts - 1.0).abs() < 0.01);
            let sum = one.clean_watts + two.clean_watts;
            assert!((sum / case.clean_watts - 1.0).abs() < 1e-9);
        }
        assert!(open.loudspeakers.is_empty() && open.sentences[0].contains("Never do this"));
        assert!(low.sentences[0].contains("too low"), "{:?}", low.sentences);
        assert!(
            high.sentences[0].contains("too high"),
            "{:?}",
            high.sentences
        );
    }
}

#[test]
fn a_loudspeaker_that_gets_more_than_it_is_rated_for_is_named() {
    let report = report("sluice");
    let harbour = case(&report, |way| *way == Way::Instead("Harbour Ten".into()));
    let told = harbour.sentences.join("\n");
    assert!(told.contains("LS1 (Harbour Ten) gets up to"), "{told}");
    assert!(told.contains("more than the 20 W"), "{told}");
}

/// Sound level by the definition of sensitivity: its decibels for 2.83 V, and 20 lg of the volts over
/// that; two alike in parallel at the same volts are 3 dB more when powers are added.
#[test]
fn how_loud_a_loudspeaker_is_comes_from_its_sensitivity() {
    let catalogue = Catalogue::built_in();
    let report = report("bradawl");
    for name in ["Anvil Twelve", "Harbour Ten"] {
        let case = case(&report, |way| *way == Way::Instead(name.into()));
        let driver = catalogue.loudspeaker(name).unwrap();
        let volts = (case.clean_watts * driver.rated_ohms).sqrt();
        let expected = driver.sensitivity_db.unwrap() + 20.0 * (volts / 2.83).log10();
        let db = case.clean_sound_db.unwrap();
        assert!((db - expected).abs() < 1e-9, "{name}: {db} {expected}");
        assert!(case.sentences.iter().any(|s| s.contains("dB at 1 m")));
    }
    let as_it_is = case(&report, |way| *way == Way::AsItIs);
    let two = case(&report, |way| matches!(way, Way::Parallel(_)));
    let share = two.loudspeakers[0].clean_watts / as_it_is.clean_watts;
    let expected = 10.0 * (2.0 * share).log10();
    let change = two.clean_sound_db.unwrap() - as_it_is.clean_sound_db.unwrap();
    assert!((change - expected).abs() < 0.1, "{change} {expected}");
}

#[test]
fn an_empty_extension_socket_is_one_of_the_ways() {
    let catalogue = Catalogue::built_in();
    let socket =
        "LS9 = { loudspeaker = \"Anvil Twelve\", between = [\"spk\", \"gnd\"], fitted = false }\n";
    let text = format!("{}\n{socket}", built_in_circuits()[0].text);
    let circuit = read(&text, &catalogue).unwrap();
    let report = loads(&circuit, &catalogue, &mut |_| true).unwrap().unwrap();
    let both = case(&report, |way| matches!(way, Way::PutIn(..)));
    assert_eq!(both.name, "LS9 (Anvil Twelve) as well");
    assert_eq!(both.loudspeakers.len(), 2);
    assert!((both.nominal.unwrap().ohms - 4.0).abs() < 1e-6);
    // The one that was called off gives nothing; one without a loudspeaker says so.
    assert_eq!(loads(&circuit, &catalogue, &mut |_| false), None);
    let node = circuit.heard_between(circuit.output().positive, circuit.output().negative);
    let none = loads(&node, &catalogue, &mut |_| true).unwrap();
    assert_eq!(none, Err(NoLoads::NoLoudspeaker));
}
