//! What each change of a proposal does: taken apart, each alone and taken back, ranked by worth,
//! with cost, minutes and what changes do together. Figures without a source are own design.

use presolder::analysis::at_rest::Side;
use presolder::analysis::audibility::Heard;
use presolder::analysis::changes::{
    ChangesReport, Doing, NoReport, Plan, Safety, changes_report, figures,
};
use presolder::analysis::phrase::phrase;
use presolder::analysis::prices::Prices;
use presolder::circuit::{
    Change, Circuit, Proposal, Setting, built_in_circuit, built_in_circuits, built_in_proposals,
    read, read_proposal,
};
use presolder::command_line::changes_text::changes_text;
use presolder::device::Catalogue;
use presolder::network::Network;

const RATE: u32 = 48_000;

fn amp(key: &str) -> Circuit {
    let text = built_in_circuit(key).expect("a built-in amp").text;
    read(text, &Catalogue::built_in()).expect("a sound file")
}

/// "R505=15k" and "Tone=0.2", whichever the circuit has.
fn proposal(circuit: &Circuit, edits: &[&str]) -> Proposal {
    let mut proposal = Proposal::default();
    for edit in edits {
        let name = edit.split('=').next().expect("NAME=VALUE");
        if circuit.parts_named(name).is_empty() {
            proposal.settings.push(edit.parse::<Setting>().unwrap());
        } else {
            proposal.changes.push(edit.parse::<Change>().unwrap());
        }
    }
    proposal
}

fn plan(circuit: &Circuit, edits: &[&str]) -> Plan {
    let proposal = proposal(circuit, edits);
    Plan::new(circuit, &proposal, &Catalogue::built_in()).unwrap()
}

fn report_with(circuit: &Circuit, edits: &[&str], sound: &[f32]) -> ChangesReport {
    let report = changes_report(
        circuit,
        &proposal(circuit, edits),
        &Catalogue::built_in(),
        &Prices::built_in(),
        (&[sound], RATE),
        &mut |_| true,
    );
    report.expect("not given up").expect("a report")
}

/// With the hard chord of the built-in phrase, 1.2 s: short, so that many reports are quick.
fn report(key: &str, edits: &[&str]) -> ChangesReport {
    let sound = phrase(RATE);
    let (from, to) = (67 * RATE as usize / 10, 79 * RATE as usize / 10);
    report_with(&amp(key), edits, &sound[from..to])
}

fn names(report: &ChangesReport) -> Vec<&str> {
    report.rows.iter().map(|row| row.name.as_str()).collect()
}

#[test]
fn a_proposal_is_taken_apart_into_what_one_would_do_at_once() {
    let bradawl = amp("bradawl");
    let plan = plan(
        &bradawl,
        &[
            "R403=4k7",
            "C102=22n",
            "R404=4k7",
            "V1=ECC81",
            "R505=12k",
            "Tone=0.2",
            "SW301=open",
            "Volume=0.5",
            "C102=10n",
        ],
    );
    let told: Vec<(String, Doing)> = plan.items.iter().map(|i| (i.name(), i.doing)).collect();
    // R505 and Volume stand so already; of C102 the last word counts; R403 and R404 are twins.
    let expected = [
        ("R403 and R404", Doing::Solder),
        ("V1", Doing::Swap),
        ("SW301", Doing::Turn),
        ("C102", Doing::Solder),
        ("Tone", Doing::Turn),
    ];
    assert_eq!(told, expected.map(|(n, d)| (n.to_string(), d)));
    let parts = |i: usize| {
        let part = &plan.items[i].parts[0];
        [&part.role, &part.as_found, &part.proposed].map(String::as_str)
    };
    assert_eq!(parts(0), ["grid stopper", "3.3 kΩ", "4.7 kΩ"]);
    assert_eq!(parts(1), ["valve", "ECC83", "ECC81"]);
    assert_eq!(parts(3), ["coupling", "15 nF", "10 nF"]);
    assert_eq!(parts(4), ["control", "0.5", "0.2"]);
    // A valve has two sections and is bought once.
    assert_eq!(
        (plan.items[1].bought.len(), plan.items[0].bought.len()),
        (1, 2)
    );
    assert!(plan.items.iter().all(|i| i.reversible));
}

#[test]
fn the_halves_of_a_valve_go_together() {
    let bradawl = amp("bradawl");
    let plan = plan(&bradawl, &["V1a=ECC81", "V1b=ECC81"]);
    assert_eq!(plan.items.len(), 1);
    assert_eq!(plan.items[0].name(), "V1");
    assert_eq!(plan.circuits.len(), 2);
}

#[test]
fn circuits_that_coincide_are_computed_once() {
    let bradawl = amp("bradawl");
    let count = |edits: &[&str]| plan(&bradawl, edits).circuits.len();
    assert_eq!(count(&[]), 1);
    assert_eq!(count(&["R505=15k"]), 2);
    assert_eq!(count(&["R505=15k", "C103=820p"]), 4);
    assert_eq!(count(&["R505=15k", "C103=820p", "R103=100k"]), 8);
    assert_eq!(
        count(&["R505=15k", "C103=820p", "R103=100k", "R205=22k"]),
        10
    );
}

/// A pot that was not there needs a hole.
#[test]
fn what_is_drilled_is_not_undone() {
    let text = built_in_circuit("bradawl").unwrap().text.replace(
        "taper = \"log\", from = \"m3\"",
        "fitted = false, taper = \"log\", from = \"m3\"",
    );
    let without_tone = read(&text, &Catalogue::built_in()).unwrap();
    let plan = plan(&without_tone, &["VR101=in", "R505=15k"]);
    let reversible: Vec<bool> = plan.items.iter().map(|i| i.reversible).collect();
    assert_eq!(reversible, [false, true]);
}

#[test]
fn safety_comes_first_and_what_takes_a_valve_over_its_limit_last() {
    let report = report("bradawl", &["R205=22k", "C505=33u", "R505=15k"]);
    assert_eq!(names(&report), ["R505", "R205", "C505"]);
    let safety = |i: usize| report.rows[i].standing.safety;
    assert_eq!([0, 1].map(safety), [Safety::BringsWithin, Safety::AsBefore]);
    let alone = report.rows[0].alone.as_ref().unwrap();
    assert_eq!(alone.brings_within.len(), 2, "{:?}", alone.brings_within);
    assert!(report.warnings.is_empty());

    // From within its limits: less bias takes it over again.
    let cool = amp("bradawl").with_changes(&["R505=15k".parse().unwrap()], &Catalogue::built_in());
    let sound = phrase(RATE);
    let hot = report_with(
        &cool.unwrap(),
        &["R505=10k", "C504=33u"],
        &sound[..RATE as usize],
    );
    assert_eq!(names(&hot), ["C504", "R505"]);
    assert_eq!(hot.rows[1].standing.safety, Safety::TakesOver);
    let sentence = &hot.rows[1].sentence;
    assert!(
        sentence.contains("instead of 79 %): OVER the limit."),
        "{sentence}"
    );
    let warning = "The proposal takes the anode dissipation of V3 and V4 OVER the limit.";
    assert_eq!(hot.warnings, [warning]);
}

/// What the owner sees of Bradawl's cooler bias: the resistor of the demonstration.
#[test]
fn one_change_alone_is_the_whole_proposal() {
    let report = report("bradawl", &["R505=15k"]);
    let row = &report.rows[0];
    assert!(row.beside_others.is_none() && report.interactions.is_empty());
    assert_eq!(row.alone.as_ref(), Some(&report.together));
    assert_eq!(row.what, "R505 (bias load, 12 kΩ → 15 kΩ)");
    let anodes = report.together.most_moved().unwrap();
    assert_eq!(anodes.valves, ["V3", "V4"]);
    assert!((anodes.before_watts - 12.8).abs() < 0.1 && (anodes.after_watts - 9.4).abs() < 0.1);
    assert!(
        row.worth_it && row.sentence.contains("the valves last longer"),
        "{}",
        row.sentence
    );
    // 0.20 for half a watt; 30 minutes for the chassis, 10 for the resistor.
    assert_eq!((row.cost, row.minutes), (Some(0.2), Some(40.0)));
}

/// A supply capacitor half as large again: hum is not heard here, and nothing else changes.
#[test]
fn a_change_that_does_nothing_is_said_to_do_nothing() {
    let report = report("bradawl", &["C504=33u"]);
    let row = &report.rows[0];
    let played = row.alone.as_ref().unwrap().played.as_ref().unwrap();
    assert_eq!(played.verdict, Heard::NotAudible);
    assert!(!row.worth_it);
    let end = "It does nothing worth opening the chassis for.";
    assert!(row.sentence.ends_with(end), "{}", row.sentence);
}

/// More heat that nobody hears is worth nothing; the other way about it is worth something.
#[test]
fn heat_alone_is_not_worth_it() {
    let hotter = report("sluice", &["R504=20k"]);
    let effect = hotter.rows[0].alone.as_ref().unwrap();
    assert!(effect.most_moved().unwrap().change() > 0.2);
    assert!(!hotter.rows[0].worth_it, "{}", hotter.rows[0].sentence);
    let cooler = report("sluice", &["R504=24k"]);
    assert!(cooler.rows[0].worth_it, "{}", cooler.rows[0].sentence);
}

/// Prices and minutes of the file, by hand: 0.35 for a watt, 0.20 for half a watt, 0.60 for 820 pF;
/// the chassis is opened once, 30 minutes, and each part takes 10.
#[test]
fn costs_and_minutes_add_up() {
    let report = report(
        "bradawl",
        &["R103=100k", "R205=22k", "C103=820p", "Tone=0.4"],
    );
    let cost: f64 = report.rows.iter().filter_map(|r| r.cost).sum();
    assert!((cost - 1.15).abs() < 1e-9 && (report.cost.unwrap() - 1.15).abs() < 1e-9);
    assert_eq!(report.minutes, Some(60.0));
    let tone = report.rows.iter().find(|r| r.name == "Tone").unwrap();
    assert_eq!(
        (tone.cost, tone.minutes, tone.doing),
        (Some(0.0), Some(0.0), Doing::Turn)
    );
    let solder = report.rows.iter().filter(|r| r.doing == Doing::Solder);
    assert!(solder.clone().count() == 3 && solder.clone().all(|r| r.minutes == Some(40.0)));
    // Leaving a part out costs nothing; another supply has no price.
    let out = self::report("bradawl", &["C101=out", "HT=320 V"]);
    let row = |name: &str| out.rows.iter().find(|r| r.name == name).unwrap();
    assert_eq!(
        (row("C101").cost, row("C101").minutes),
        (Some(0.0), Some(40.0))
    );
    assert_eq!((row("HT").cost, row("HT").minutes), (None, None));
    assert_eq!((out.cost, out.minutes), (None, None));
}

/// Feed and load of the bias supply make one divider: both smaller by a sixth leave it as it was,
/// and are not the sum of a cooler and a hotter amp.
#[test]
fn changes_that_act_upon_one_another_are_named() {
    let report = report("bradawl", &["R504=9k1", "R505=6k2"]);
    let [interaction] = &report.interactions[..] else {
        panic!("{:?}", report.interactions);
    };
    assert_eq!(interaction.changes, ["R504", "R505"]);
    let watts = interaction.watts.unwrap();
    assert!(watts.abs() > 0.2, "{watts}");
    assert!(
        interaction
            .sentence
            .starts_with("R504 and R505 act upon one another")
    );
    // By hand from the report's own figures.
    let change = |e: &presolder::analysis::changes::Effect| e.most_moved().unwrap().change();
    let alone: f64 = report
        .rows
        .iter()
        .map(|r| change(r.alone.as_ref().unwrap()))
        .sum();
    assert!((change(&report.together) - alone - watts).abs() < 1e-9);
    // Parts of different stages that hardly move do not act upon one another.
    assert!(
        self::report("bradawl", &["C504=33u", "C505=33u"])
            .interactions
            .is_empty()
    );
}

/// A pair within three changes is named as the pair.
#[test]
fn of_three_changes_the_pair_is_named() {
    let report = report("bradawl", &["R504=9k1", "R505=6k2", "C504=33u"]);
    let pairs: Vec<&[String]> = report.interactions.iter().map(|i| &i.changes[..]).collect();
    assert_eq!(pairs, [["R504", "R505"]]);
}

#[test]
fn taken_back_is_measured_beside_the_others() {
    let report = report("bradawl", &["R103=100k", "R205=22k"]);
    for row in &report.rows {
        let (alone, beside) = (
            row.alone.as_ref().unwrap(),
            row.beside_others.as_ref().unwrap(),
        );
        let sum: f64 = report.together.gain_db;
        let other = report.rows.iter().find(|r| r.name != row.name).unwrap();
        // From as found by the other change alone, then this one beside it: the whole way.
        let way = other.alone.as_ref().unwrap().gain_db + beside.gain_db;
        assert!((way - sum).abs() < 1e-9);
        assert!(alone.gain_db < -1.0 && alone.headroom.change_db.unwrap() > 0.5);
    }
}

/// The same to the last bit when asked again, and in other words never when the changes are listed
/// in another order (circuits that are played side by side share their finest steps).
#[test]
fn the_same_report_every_time_whatever_the_order() {
    let one = report("mizzle", &["R10=330", "C5=3n3"]);
    assert!(one == report("mizzle", &["R10=330", "C5=3n3"]));
    let two = report("mizzle", &["C5=3n3", "R10=330"]);
    let told = |report: &ChangesReport| -> Vec<String> {
        let rows = report.rows.iter();
        rows.map(|row| row.what.clone() + &row.sentence).collect()
    };
    assert_eq!(told(&one), told(&two));
    assert_eq!(one.together_in_words, two.together_in_words);
}

#[test]
fn faults_silence_and_giving_up() {
    let bradawl = amp("bradawl");
    let prices = Prices::built_in();
    let ask = |edits: &[&str], go_on: bool| {
        changes_report(
            &bradawl,
            &proposal(&bradawl, edits),
            &Catalogue::built_in(),
            &prices,
            (&[&[0.0; 4800]], RATE),
            &mut |_| go_on,
        )
    };
    assert!(ask(&["R505=15k"], false).is_none());
    let Some(Err(NoReport::Faults(faults))) = ask(&["R505=0"], true) else {
        panic!("no resistor has no ohms");
    };
    assert!(faults[0].to_string().contains("R505"));
    let silent = ask(&["R505=15k"], true).unwrap().unwrap();
    assert!(silent.rows[0].alone.as_ref().unwrap().played.is_none());
    assert!(
        silent.rows[0]
            .sentence
            .starts_with("Nothing is heard to compare.")
    );
    let nothing = ask(&["R505=12k"], true).unwrap().unwrap();
    assert_eq!(nothing.together_in_words, "The proposal changes nothing.");
    assert!(changes_text(&nothing).contains("The proposal changes nothing."));
}

/// Valves out of their sockets, parts left out, no loudspeaker's signal: a report all the same.
#[test]
fn hostile_circuits_have_a_report() {
    let sound = phrase(RATE);
    for edits in [
        &["V3=out", "V4=out"][..],
        &["V1=out"],
        &["R103=out", "C102=out"],
        &["R505=out"],
        &["Volume=0"],
    ] {
        let report = report_with(&amp("bradawl"), edits, &sound[..RATE as usize]);
        assert!(
            !changes_text(&report).contains("NaN"),
            "{}",
            changes_text(&report)
        );
    }
}

/// A change alone whose circuit has no operating point, or that was not computed.
#[test]
fn a_change_that_does_not_go_alone_says_so() {
    let bradawl = amp("bradawl");
    let plan = plan(&bradawl, &["R505=15k", "C103=820p"]);
    let network = Network::new(&bradawl);
    let sides = plan.at_rest(&network).unwrap();
    let sides: Vec<&Side> = sides.iter().flatten().collect();
    let sound = &phrase(RATE)[..RATE as usize];
    let known = figures(&network, &sides, &[sound], RATE, &mut |_| true).unwrap();
    let mut known: Vec<_> = known.into_iter().map(Some).collect();
    known[plan.alone[0].unwrap()] = None;
    let report = plan.report(&known, &Prices::built_in()).unwrap();
    let row = report.rows.iter().find(|r| r.name == "R505").unwrap();
    assert!(row.alone.is_none() && row.sentence.starts_with("It does not go alone"));
    known[0] = None;
    assert!(plan.report(&known, &Prices::built_in()).is_none());
}

/// The table has a line a change and one for all, and every sentence is there.
#[test]
fn the_text_has_everything() {
    let report = report("bradawl", &["R103=100k", "R205=22k"]);
    let text = changes_text(&report);
    for row in &report.rows {
        assert!(text.contains(&format!("{}: {}", row.what, row.sentence)));
    }
    for expected in [
        "As found the anode dissipation of V3 and V4 is OVER the limit",
        "All together",
        "Can be undone",
        "OVER at 107 %",
        "Ranked: first what brings a valve within its limits",
        "Invented prices",
    ] {
        assert!(text.contains(expected), "{expected}\n{text}");
    }
}

/// For reading, not for checking: every report of every proposal that comes with the program.
#[test]
#[ignore = "prints every report, for reading"]
fn print_reports() {
    let catalogue = Catalogue::built_in();
    let sound = phrase(48_000);
    for built_in in built_in_circuits() {
        let found = read(built_in.text, &catalogue).expect("a sound file");
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).expect("a sound file");
            let start = std::time::Instant::now();
            let report = changes_report(
                &found,
                &proposal,
                &catalogue,
                &Prices::built_in(),
                (&[&sound], 48_000),
                &mut |_| true,
            );
            let report = report.expect("not given up").expect("a report");
            println!(
                "== {}: {} ({:.2} s)",
                built_in.name,
                report.proposal,
                start.elapsed().as_secs_f64()
            );
            println!("{}", changes_text(&report));
        }
    }
}
