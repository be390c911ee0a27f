//! The spread over amps of one model: against formulas, published limits, and the sentences on the
//! amps that come with the program.

use engine::advice::spread::{
    Band, Plan, SpreadReport, SpreadSettings, draw as draw_values, spread,
};
use engine::analysis::drive::drive;
use engine::circuit::{self, Circuit};
use engine::device::Catalogue;
use engine::network::{Network, Piece};
use engine::solve::operating_point;
use engine::solve::solved::SolvedAmp;

/// A built-in amp, and with one of its proposals.
fn built_in(amp: &str, proposal: &str) -> [Circuit; 2] {
    let catalogue = Catalogue::built_in();
    let found = circuit::built_in_circuit(amp).expect("a built-in amp");
    let as_found = circuit::read(found.text, &catalogue).expect("a sound file");
    let text = found.proposals.iter().find(|p| p.key == proposal);
    let text = text.expect("a built-in proposal").text;
    let proposal = circuit::read_proposal(text).expect("a sound file");
    let proposed = proposal.apply(&as_found, &catalogue).expect("it fits");
    [as_found, proposed]
}

fn draw(as_found: &Circuit, proposed: Option<&Circuit>, amps: usize) -> SpreadReport {
    let settings = SpreadSettings {
        amps,
        ..SpreadSettings::default()
    };
    let amp = SolvedAmp::new(as_found, proposed).expect("a solution");
    spread(&amp, settings, &mut |_| true).expect("not given up")
}
/// The widest a percentile of `n` draws may be off: four standard errors √(p(1−p)/n)/f, `f` being
/// the density there.
fn error(share: f64, density: f64, n: usize) -> f64 {
    4.0 * (share * (1.0 - share) / n as f64).sqrt() / density
}

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).expect("a sound file")
}

/// Two equal resistors of ±10 % across 300 V. Each is even within its tolerance, so that its
/// relative standard deviation is 0.1/√3. The middle of a divider by a half moves by 150 V·½ times
/// the difference of the two, r.m.s. 150·½·√2·0.1/√3 = 6.12 V; the difference of two even numbers
/// is triangular, its 95th percentile (1 − √0.1) of the 20 % that it can reach: 150·½·0.2·0.684 =
/// 10.26 V (by hand).
#[test]
fn a_divider_spreads_as_the_formula_says() {
    let circuit = read(
        "format = 1\n[amp]\nname = \"Divider\"\ninput = \"in\"\noutput = \"half\"\n[parts]\n\
         HT = { supply = \"300 V\", node = \"ht\" }\n\
         R1 = { resistor = \"100k\", between = [\"ht\", \"half\"], tolerance = \"10%\" }\n\
         R2 = { resistor = \"100k\", between = [\"half\", \"gnd\"], tolerance = \"10%\" }\n\
         R3 = { resistor = \"1M\", between = [\"in\", \"gnd\"], tolerance = \"5%\" }\n",
    );
    const AMPS: usize = 4000;
    let report = draw(&circuit, None, AMPS);
    let band = report.as_found.nodes.get("half").expect("a node");
    assert!((band.nominal - 150.0).abs() < 0.01, "{band:?}");
    // Density of the triangle at its 95th percentile: √0.1 of its top, which is 1 over its reach
    // of 15 V.
    let allowed = error(0.95, 0.1_f64.sqrt() / 15.0, AMPS);
    assert!((band.p95 - 160.26).abs() < allowed, "{band:?} ±{allowed}");
    assert!((band.p5 - 139.74).abs() < allowed, "{band:?} ±{allowed}");

    // The r.m.s. itself, from the draws. The formula leaves out products of two tolerances:
    // 0.1²/3 of it; the estimate has a standard error below 1/√(2n).
    let network = Network::new(&circuit);
    let nominal = network.values(&circuit);
    let plan = Plan::new(&circuit, 0.0);
    let half = network.position(circuit.find_node("half").expect("a node"));
    let mut values = nominal.clone();
    let square: f64 = (0..AMPS)
        .map(|amp| {
            draw_values(
                &network,
                &circuit,
                &nominal,
                &plan.luck(1, amp),
                &mut values,
            );
            let point = operating_point(&network, &values).expect("a solution");
            (point.solution[half] - 150.0).powi(2)
        })
        .sum();
    let rms = (square / AMPS as f64).sqrt();
    let allowed = 6.12 * (0.01 / 3.0 + 4.0 / (2.0 * AMPS as f64).sqrt());
    assert!((rms - 6.12).abs() < allowed, "{rms} ±{allowed}");
}

/// A triode at fixed anode and grid voltage: its current is spread as that of new valves is
/// assumed to be. Of a normal distribution that is cut off at two standard deviations, at 30 %,
/// the 95th percentile is at Φ⁻¹(0.0228 + 0.95·0.9545) = 1.472 standard deviations: 22.1 %
/// (tables, from memory). With a cathode resistor the same valves are held closer.
#[test]
fn a_stage_spreads_as_its_valve_does_and_less_with_cathode_bias() {
    let stage = |grid: &str, cathode: &str| {
        read(&format!(
            "format = 1\n[amp]\nname = \"Stage\"\ninput = \"in\"\noutput = \"a\"\n[parts]\n\
             HT = {{ supply = \"250 V\", node = \"a\" }}\n\
             R1 = {{ resistor = \"1M\", between = [\"in\", \"gnd\"], tolerance = \"5%\" }}\n\
             {grid}\n\
             V1 = {{ triode = \"ECC83\", anode = \"a\", grid = \"{}\", cathode = \"{cathode}\" }}\n",
            if grid.contains("bias") { "g" } else { "in" },
        ))
    };
    const AMPS: usize = 4000;
    let fixed = stage("B = { bias_supply = \"-2 V\", node = \"g\" }", "gnd");
    let self_biased = stage(
        "R2 = { resistor = \"1k6\", between = [\"k\", \"gnd\"], tolerance = \"1%\" }",
        "k",
    );
    let current = |circuit| {
        let report = draw(circuit, None, AMPS);
        report.as_found.valves.0[0].1.anode_milliamps
    };
    let band = current(&fixed);
    let deviation = 0.15 * band.nominal;
    let density = (-0.5 * 1.472_f64.powi(2)).exp() / 2.5066 / 0.9545 / deviation;
    let allowed = error(0.95, density, AMPS);
    let expected = 1.472 * deviation;
    assert!(
        (band.p95 - band.nominal - expected).abs() < allowed,
        "{band:?} ±{allowed}"
    );
    assert!(
        (band.nominal - band.p5 - expected).abs() < allowed,
        "{band:?} ±{allowed}"
    );
    assert!(band.p99 < 1.3 * band.nominal && band.p1 > 0.7 * band.nominal);
    let share = |band: &Band| band.half() / band.nominal;
    let self_biased = current(&self_biased);
    assert!(
        share(&self_biased) < 0.6 * share(&band),
        "{self_biased:?} {band:?}"
    );
}

/// As found and as proposed are one amp before and after: a proposal that changes nothing moves
/// nothing, though the amps differ, and a changed value moves all amps alike.
#[test]
fn the_change_of_each_amp_is_told_from_the_spread() {
    let [as_found, _] = built_in("bradawl", "cooler");
    let same = draw(&as_found, Some(&as_found), 64);
    assert_eq!(same.proposed.as_ref(), Some(&same.as_found));
    assert!(same.changes.is_empty() && same.as_found.gain_db.half() > 0.5);

    let [as_found, proposed] = built_in("bradawl", "cleaner");
    let report = draw(&as_found, Some(&proposed), 200);
    let gain = &report.changes[0];
    assert_eq!(gain.what, "Gain at 1 kHz");
    // R103 and R205 lie before the output stage; the change itself hardly varies.
    assert!(
        gain.stands_out && gain.change.half() < 0.3 * gain.spread,
        "{gain:?}"
    );
    assert!(
        gain.sentence
            .contains("stands out: two amps of this model differ by less")
    );
}

/// What the whole report says of the demo's proposal.
#[test]
fn the_sentences_of_the_demo() {
    let [as_found, proposed] = built_in("bradawl", "cooler");
    let report = draw(&as_found, Some(&proposed), 400);
    let told = report.sentences.join("\n");
    for start in [
        "Gain at 1 kHz: the change of −0.7 dB is smaller than the difference between two amps of this model (±",
        "Anode dissipation of V3 and V4: the change of −3.",
        "Anode dissipation of V3 and V4: over the limit of 12 W each in ",
    ] {
        assert!(told.contains(start), "{start}\n{told}");
    }
    assert_eq!(report.unsolved, 0);
    let share = |side: &engine::advice::spread::SideSpread| {
        side.valves
            .get("V3")
            .and_then(|v| v.anode_over_percent)
            .expect("a limit")
    };
    let proposed = report.proposed.as_ref().expect("proposed");
    assert!(share(&report.as_found) > 50.0 && share(proposed) < 10.0);
}

/// The level that a rising tone finds lies near that of the standing sine of the verdict: within
/// 1 dB on these amps, which hardly sag at a hundredth of distortion.
#[test]
fn the_clean_level_is_that_of_the_verdict() {
    for amp in circuit::built_in_circuits() {
        let circuit = read(amp.text);
        let report = draw(&circuit, None, 8);
        let band = report.as_found.clean_volts.expect("it distorts");
        let rest = SolvedAmp::new(&circuit, None).expect("a solution");
        let verdict = drive(&rest.network, &rest.as_found, &mut |_| {});
        let standing = verdict.limits[0].at.expect("it distorts").input_volts;
        let db = 20.0 * (band.nominal / standing).log10();
        println!(
            "{}: {:.4} V, {standing:.4} V: {db:.2} dB",
            amp.key, band.nominal
        );
        assert!(db.abs() < 1.0, "{}: {db} dB", amp.key);
    }
}

#[test]
fn valves_out_silence_and_nothing_drawn_do_no_harm() {
    let catalogue = Catalogue::built_in();
    let [as_found, _] = built_in("bradawl", "cooler");
    for out in [
        &["V1=out"][..],
        &["V3=out", "V4=out"],
        &["C101=out", "R101=22M"],
    ] {
        let changes: Vec<_> = out.iter().map(|c| c.parse().expect("a change")).collect();
        let proposed = as_found
            .with_written_changes(&changes, &catalogue)
            .expect("it fits");
        let report = draw(&as_found, Some(&proposed), 16);
        assert_eq!(report.unsolved, 0, "{out:?}");
        let told = report.sentences.join("\n");
        assert!(!told.contains("NaN") && !told.contains("inf"), "{told}");
    }
    assert_eq!(
        draw(&as_found, None, 0).as_found.gain_db.p95,
        draw(&as_found, None, 0).as_found.gain_db.nominal
    );
}

/// Another loudspeaker gives another tone, by what it radiates and by what its impedance does; what
/// two amps of one model differ by is not moved by it.
#[test]
fn another_loudspeaker_is_told_by_what_it_radiates() {
    use engine::analysis::listening::loudspeaker_of;
    use engine::analysis::third_octave::NOMINAL_HZ;
    let [as_found, _] = built_in("bradawl", "cooler");
    let change = "LS1=Harbour Ten".parse().unwrap();
    let proposed = as_found.with_written_changes(&[change], &Catalogue::built_in());
    let proposed = proposed.expect("it fits");
    let report = draw(&as_found, Some(&proposed), 100);
    let start = "Tone of the loudspeakers at ";
    let tone = report.changes.iter().find(|c| c.what.starts_with(start));
    let tone = tone.expect("another tone");
    assert!(tone.stands_out, "{tone:?}");
    // The same from the curves of the file's amp and the two drivers' own gains, both against 1 kHz.
    let [was, is] = [&as_found, &proposed].map(|c| loudspeaker_of(c).unwrap());
    let db = |k: usize| {
        let hz = NOMINAL_HZ[k];
        let own = is.acoustic.at(hz).norm() / was.acoustic.at(hz).norm();
        let curve = |side: &engine::advice::spread::SideSpread| side.curve_db[k].nominal;
        20.0 * own.log10() + curve(report.proposed.as_ref().unwrap()) - curve(&report.as_found)
    };
    let kilohertz = NOMINAL_HZ.iter().position(|hz| *hz == 1000.0).unwrap();
    let within = (0..NOMINAL_HZ.len()).filter(|&k| (80.0..=8000.0).contains(&NOMINAL_HZ[k]));
    let most = within.map(|k| db(k) - db(kilohertz));
    let most = most.max_by(|a, b| a.abs().total_cmp(&b.abs())).unwrap();
    assert!((tone.change.nominal - most).abs() < 1e-9, "{most} {tone:?}");
    assert!(most.abs() > 3.0, "{most}");
}

/// Inductance, leakage and core loss of an output transformer are drawn each by itself, evenly within
/// the 30 % that are assumed: a standard deviation of 0.3/√3, means and correlations within four
/// standard errors; what is drawn is what the branches have.
#[test]
fn transformers_are_drawn_too() {
    const AMPS: usize = 2000;
    let circuit = read(include_str!("../circuits/push_pull.toml"));
    let network = Network::new(&circuit);
    let nominal = network.values(&circuit);
    let plan = Plan::new(&circuit, 0.0);
    let id = circuit.find_part("T1").expect("a transformer");
    let mut sums = [0.0; 3];
    let mut products = [[0.0; 3]; 3];
    for amp in 0..AMPS {
        let luck = plan.luck(1, amp);
        let [(part, factors)] = luck.transformers[..] else {
            panic!("one transformer");
        };
        assert_eq!(part, id);
        let off = [factors.inductance, factors.leakage, factors.core_loss].map(|f| f - 1.0);
        assert!(off.iter().all(|x| x.abs() <= 0.3));
        for (i, x) in off.iter().enumerate() {
            sums[i] += x;
            for (j, y) in off.iter().enumerate() {
                products[i][j] += x * y;
            }
        }
    }
    let count = AMPS as f64;
    let variance = 0.03;
    for (i, (sum, row)) in sums.iter().zip(&products).enumerate() {
        assert!((sum / count).abs() < 4.0 * (variance / count).sqrt());
        for (j, product) in row.iter().enumerate() {
            let expected = if i == j { variance } else { 0.0 };
            let allowed = 4.0 * variance / count.sqrt();
            assert!((product / count - expected).abs() < allowed, "{i} {j}");
        }
    }
    let luck = plan.luck(1, 0);
    let factors = luck.transformers[0].1;
    let mut drawn = nominal.clone();
    draw_values(&network, &circuit, &nominal, &luck, &mut drawn);
    for index in network.branches_of(id) {
        let factor = match network.branches()[index].piece {
            Piece::Inductance => factors.inductance,
            Piece::PrimarySection(_) => factors.leakage,
            Piece::CoreLoss => 1.0 / factors.core_loss,
            _ => 1.0,
        };
        assert_eq!(
            drawn.branches[index],
            nominal.branches[index].scaled(factor)
        );
    }
}
