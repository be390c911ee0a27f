//! What each change of a proposal does: each alone and taken back, ranked by worth, with cost,
//! minutes and what changes do together. Figures without a source are own design.

use crate::changes_fixture::{RATE, amp, names, proposal, report, report_with};
use engine::advice::changes::{
    Caveat, ChangesReport, Doing, Effect, NoReport, Safety, changes_report,
};
use engine::advice::prices::Prices;
use engine::analysis::audibility::Heard;
use engine::circuit::{PartValue, Proposal};
use engine::device::Catalogue;
use engine::sound::phrase::phrase;

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
    let cool =
        amp("bradawl").with_written_changes(&["R505=15k".parse().unwrap()], &Catalogue::built_in());
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
    let end =
        "It does nothing worth opening the chassis for. What it does against hum is not counted.";
    assert!(row.sentence.ends_with(end), "{}", row.sentence);
    // What only keeps a stage from oscillating is not called useless.
    let stoppers = crate::changes_fixture::report("bradawl", &["R403=3k9", "R404=3k9"]);
    let row = &stoppers.rows[0];
    assert_eq!(row.caveat, Some(Caveat::Oscillation), "{}", row.sentence);
    // Nor is a loudspeaker that does nothing to the amp.
    let other = crate::changes_fixture::report("bradawl", &["LS1=Harbour Ten"]);
    let sentence = &other.rows[0].sentence;
    assert!(
        sentence.ends_with("how loud it is beside another is not."),
        "{sentence}"
    );
    assert!(!sentence.contains("nothing worth"), "{sentence}");
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
    let out = crate::changes_fixture::report("bradawl", &["C101=out", "HT=320 V"]);
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
    let change = |e: &Effect| e.most_moved().unwrap().change();
    let alone: f64 = report
        .rows
        .iter()
        .map(|r| change(r.alone.as_ref().unwrap()))
        .sum();
    assert!((change(&report.together) - alone - watts).abs() < 1e-9);
    // Parts of different stages that hardly move do not act upon one another.
    assert!(
        crate::changes_fixture::report("bradawl", &["C504=33u", "C505=33u"])
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

/// Of many changes those are named that do most beside the others what they do not alone.
#[test]
fn of_many_changes_the_three_that_matter_are_named() {
    let report = report(
        "bradawl",
        &["R504=9k1", "R505=6k2", "C504=33u", "R404=3k9", "C505=33u"],
    );
    let [one] = &report.interactions[..] else {
        panic!("{:?}", report.interactions);
    };
    assert_eq!((one.changes.len(), one.most.len()), (5, 3));
    assert!(one.most.contains(&"R504".into()) && one.most.contains(&"R505".into()));
    let start = "The changes act upon one another, most of all R504, R505 and ";
    assert!(one.sentence.starts_with(start), "{}", one.sentence);
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
    let report = |proposal: &Proposal, go_on: bool| {
        changes_report(
            &bradawl,
            proposal,
            &prices,
            (&[&[0.0; 4800]], RATE),
            &mut |_| go_on,
        )
    };
    let ask = |edits: &[&str], go_on: bool| report(&proposal(&bradawl, edits), go_on);
    assert!(ask(&["R505=15k"], false).is_none());
    let mut nothing_left = proposal(&bradawl, &["R505=15k"]);
    nothing_left.changes[0].value = PartValue::Quantity(0.0);
    let Some(Err(NoReport::Faults(faults))) = report(&nothing_left, true) else {
        panic!("no resistor has no ohms");
    };
    assert!(faults[0].to_string().contains("R505"));
    let silent = ask(&["R505=15k"], true).unwrap().unwrap();
    assert!(silent.rows[0].alone.as_ref().unwrap().played.is_none());
    assert!(
        silent.rows[0]
            .sentence
            .starts_with("Too little is heard to compare.")
    );
    let nothing = ask(&["R505=12k"], true).unwrap().unwrap();
    assert_eq!(nothing.together_in_words, "The proposal changes nothing.");
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
        if edits == ["V3=out", "V4=out"] || edits == ["Volume=0"] {
            let sentence = &report.rows[0].sentence;
            assert!(
                sentence.starts_with("Next to nothing is heard any more."),
                "{sentence}"
            );
            assert!(!report.rows[0].worth_it);
        }
    }
}
