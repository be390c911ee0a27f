//! Readings of amps in which a fault was hidden: the fault is named among the first three. The
//! other parts of each amp are off within their tolerances, its valves are no average ones, and the
//! meter loads every point and is off itself.

use crate::readings_fixture::{Hide, built_in, judge, leak, ohms, place, take, tired};
use engine::advice::readings::{Judgement, MeasuredReport, as_found};
use engine::analysis::voltages::chart;
use engine::circuit::{self, Circuit};
use engine::device::Catalogue;
use engine::network::{Network, Values};
use engine::solve::solved::SolvedAmp;

/// Faults of every kind are named among the first three, whatever the luck of the amp they sit in.
#[test]
fn hidden_faults_are_named_among_the_first_three() {
    let faults: [(&str, &str, &str, Hide); 9] = [
        (
            "bradawl",
            "R103",
            "in place of 150 kΩ (−4",
            &ohms("R103", 0.6),
        ),
        (
            "bradawl",
            "R104",
            "in place of 1.8 kΩ (+4",
            &ohms("R104", 1.4),
        ),
        (
            "bradawl",
            "R505",
            "in place of 12 kΩ (+",
            &ohms("R505", 1.5),
        ),
        ("bradawl", "C401", "a leak of about", &leak("C401", 3e6)),
        ("bradawl", "C102", "a leak of about", &leak("C102", 5e6)),
        (
            "bradawl",
            "V1a",
            "of what an average ECC83 draws",
            &tired("V1a", 0.4),
        ),
        (
            "mizzle",
            "V2",
            "of what an average 6V6GT draws",
            &tired("V2", 0.5),
        ),
        (
            "spokeshave",
            "R22",
            "in place of 10 kΩ (+",
            &ohms("R22", 1.4),
        ),
        ("sluice", "R504", "in place of 22 kΩ (−", &ohms("R504", 0.6)),
    ];
    for (name, part, needed, hide) in faults {
        let circuit = built_in(name);
        for amp in 0..2 {
            let (_, report) = judge(&circuit, &take(&circuit, amp, hide));
            let found = place(&report, part);
            assert!(
                found.is_some_and(|p| p < 3),
                "{name} {part} {amp}: {:?}",
                report.suspects
            );
            let suspect = &report.suspects[found.unwrap_or(0)];
            assert!(suspect.sentence.contains(needed), "{}", suspect.sentence);
            assert!(
                suspect.look.contains(part.trim_end_matches('a')),
                "{}",
                suspect.look
            );
        }
    }
}

/// Amps whose parts are all within tolerance raise no alarm. A healthy reading lies outside 98 of
/// 100 amps once in fifty, and less often with the meter's tolerance added; of some forty readings
/// in these two amps, one may.
#[test]
fn healthy_amps_raise_no_alarm() {
    for name in ["bradawl", "mizzle"] {
        let circuit = built_in(name);
        let (_, report) = judge(&circuit, &take(&circuit, 5, &|_, _, _| {}));
        let outside = report.readings.iter();
        let outside = outside.filter(|r| r.judgement != Judgement::Within).count();
        assert!(
            outside <= 1 && !report.unlikely,
            "{name}: {:?}",
            report.sentences
        );
    }
}

/// What a fixed-bias output valve draws does not show in volts; the report says so instead of
/// naming something else.
#[test]
fn a_tired_output_valve_in_fixed_bias_is_said_to_be_beyond_reach() {
    let circuit = built_in("bradawl");
    let (_, report) = judge(&circuit, &take(&circuit, 0, &tired("V3", 0.4)));
    assert_eq!(report.suspects, []);
    let notes = report.notes.join("\n");
    assert!(
        notes.contains("V3 and V4: with the cathode at ground"),
        "{notes}"
    );
}

/// Two resistors of 1 MΩ across 300 V: 150 V stand between them, a meter of 10 MΩ makes it 150 V ·
/// 10/(10 + 0.5) = 142.86 V (by hand).
#[test]
fn the_meter_loads_what_it_measures() {
    let text = "format = 1\n[amp]\nname = \"Divider\"\ninput = \"in\"\noutput = \"half\"\n[parts]\n\
         HT = { supply = \"300 V\", node = \"ht\" }\n\
         R1 = { resistor = \"1M\", between = [\"ht\", \"half\"], tolerance = \"1%\" }\n\
         R2 = { resistor = \"1M\", between = [\"half\", \"gnd\"], tolerance = \"1%\" }\n\
         R3 = { resistor = \"1M\", between = [\"in\", \"gnd\"], tolerance = \"1%\" }\n";
    let circuit = circuit::read(text, &Catalogue::built_in()).expect("a sound file");
    let (_, report) = judge(&circuit, "format = 1\n[readings]\nhalf = 143\n");
    let half = &report.readings[0];
    assert!((half.expected - 142.857).abs() < 0.01, "{half:?}");
    assert!((half.without_meter - 150.0).abs() < 0.01, "{half:?}");
    assert_eq!(half.judgement, Judgement::Within);
    assert!(
        report
            .notes
            .iter()
            .any(|n| n.contains("The meter's 10 MΩ pull the voltage down at half"))
    );
    // A meter of 1 MΩ: 150 · 1/1.5 = 100 V.
    let coarse = "format = 1\n[measured]\nmeter = \"1M\"\n[readings]\nhalf = 100\n";
    let (_, report) = judge(&circuit, coarse);
    assert!((report.readings[0].expected - 100.0).abs() < 0.01);
    // R2 measured at half its value: 300 V · 0.5/1.5 = 100 V, with the meter 100 V · 10/10.33.
    let known = "format = 1\n[readings]\nhalf = 97\n[parts]\nR2 = \"500k\"\n";
    let (_, report) = judge(&circuit, known);
    assert!((report.readings[0].expected - 96.774).abs() < 0.01);
    assert_eq!(report.readings[0].judgement, Judgement::Within);
    assert_eq!(report.parts[0].within, Some(false));
    assert_eq!(
        report.parts[0].sentence,
        "R2: 500 kΩ measured, 1 MΩ in the file (−50 %): OUTSIDE its tolerance of 1 %."
    );
}

#[test]
fn readings_that_cannot_be_are_told_from_those_of_a_fault() {
    let circuit = built_in("bradawl");
    let text = take(&circuit, 1, &|_, _, _| {});
    let with = |point: &str, volts: &str| {
        let line = text
            .lines()
            .find(|l| l.starts_with(&format!("\"{point}\"")))
            .expect("a line");
        judge(
            &circuit,
            &text.replace(line, &format!("\"{point}\" = {volts}")),
        )
        .1
    };
    let of = |report: &MeasuredReport, point: &str| {
        report
            .readings
            .iter()
            .find(|r| r.point == point)
            .expect("a reading")
            .judgement
    };
    // More than the supply of 312 V can be, mains 10 % up.
    let report = with("V1a anode", "420");
    assert_eq!(of(&report, "V1a anode"), Judgement::Impossible);
    assert!(report.sentences[0].contains("impossible: nothing in this amp stands outside"));
    assert!(
        report.suspects.is_empty() && !report.unlikely,
        "the others are sound"
    );
    // Leads the wrong way round.
    let report = with("V1a anode", "-135");
    assert_eq!(of(&report, "V1a anode"), Judgement::Impossible);
    assert!(
        report.sentences[0].contains("the wrong way round"),
        "{:?}",
        report.sentences
    );
    // A positive grid is no impossibility: a coupling capacitor may leak.
    let report = with("V3 grid", "1.3");
    assert_eq!(of(&report, "V3 grid"), Judgement::Outside);
    assert!(
        place(&report, "C401").is_some_and(|p| p < 3),
        "{:?}",
        report.suspects
    );
}

/// The values written for the next round bring supplies and measured parts to what was read.
#[test]
fn readings_become_the_as_found_values() {
    let circuit = built_in("bradawl");
    let catalogue = Catalogue::built_in();
    let changes = ["HT=298 V", "BIAS=-27.5 V", "R505=12k6"].map(|c| c.parse().expect("a change"));
    let real = circuit
        .with_written_changes(&changes, &catalogue)
        .expect("it fits");
    let side = SolvedAmp::new(&real, None).expect("a solution");
    let volts = chart(&side.network, &side.as_found).nodes;
    let at = |node: &str| volts.get(node).expect("a node");
    let text = format!(
        "format = 1\n[measured]\nmeter = \"1000M\"\n[readings]\nht2 = {:.2}\nht3 = {:.2}\nneg = {:.3}\n[parts]\nR505 = \"12k6\"\n",
        at("ht2"),
        at("ht3"),
        at("neg")
    );
    let (readings, _) = judge(&circuit, &text);
    let put_in = circuit.with_changes(&readings.parts).expect("it fits");
    let put_in = SolvedAmp::new(&put_in, None).expect("a solution");
    let found = as_found(&put_in, &readings);
    let put_in = put_in.as_found.circuit;
    let written = circuit::write_proposal(&found.proposal.written(&put_in));
    for line in ["HT = \"298 V\"", "BIAS = \"-27.5 V\"", "R505 = \"12k6\""] {
        assert!(written.contains(line), "{line}\n{written}");
    }
    assert!(
        found
            .notes
            .iter()
            .any(|n| n.contains("so that ht2 and ht3 read as they did")),
        "{:?}",
        found.notes
    );
}

/// Two faults at once: the first leaves something, and the other is named beside it. The second
/// pair is the harder one: one grid reads differently for both reasons.
#[test]
fn a_second_fault_is_named_beside_the_first() {
    let circuit = built_in("bradawl");
    let pairs: [[(&str, Hide); 2]; 2] = [
        [("R505", &ohms("R505", 1.5)), ("R103", &ohms("R103", 0.6))],
        [("R505", &ohms("R505", 1.5)), ("C401", &leak("C401", 1e7))],
    ];
    for pair in pairs {
        let both = |c: &Circuit, n: &Network, v: &mut Values| {
            pair.iter().for_each(|(_, hide)| hide(c, n, v));
        };
        let (_, report) = judge(&circuit, &take(&circuit, 0, &both));
        let all = report.suspects.iter().take(3);
        let all = all.chain(report.besides.iter().take(3));
        let named: Vec<&str> = all.map(|s| s.part.as_str()).collect();
        let parts = pair.map(|(part, _)| part);
        assert!(
            parts.iter().all(|p| named.contains(p)),
            "{parts:?} {named:?}"
        );
    }
}
