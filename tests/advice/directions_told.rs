//! Which way a change goes in the words and figures that an owner reads: common practice, no source.
//! `directions.rs` has the same of the circuits themselves.

use crate::changes_fixture::{RATE, amp, report, report_with};
use crate::whole_amp::within;
use engine::advice::changes::{ChangeRow, Effect};
use engine::analysis::audibility::Heard;
use engine::analysis::drive::drive;
use engine::device::Catalogue;
use engine::solve::solved::SolvedAmp;
use engine::sound::phrase::phrase;

fn row(key: &str, edit: &str) -> ChangeRow {
    report(key, &[edit]).rows.remove(0)
}

fn effect(key: &str, edit: &str) -> Effect {
    row(key, edit).alone.expect("it goes alone")
}

/// The load resistor of a bias supply cools when it is larger, the feed resistor when it is
/// smaller, a cathode resistor when it is larger; what is cooler is said to last longer, and
/// nothing hotter is.
#[test]
fn cooler_valves_are_said_to_last_longer_and_hotter_ones_not() {
    for (key, cooler, hotter) in [
        ("bradawl", "R505=15k", "R505=10k"),
        ("bradawl", "R504=15k", "R504=22k"),
        ("sluice", "R504=27k", "R504=18k"),
        ("sluice", "R503=6k8", "R503=10k"),
        ("mizzle", "R10=390", "R10=220"),
        ("spokeshave", "R18=180", "R18=110"),
    ] {
        for (edit, cools) in [(cooler, true), (hotter, false)] {
            let row = row(key, edit);
            let alone = row.alone.as_ref().unwrap();
            let change = alone.most_moved().unwrap().change();
            let told =
                row.sentence.contains("last longer") || row.sentence.contains("lasts longer");
            assert_eq!(
                [change < 0.0, told],
                [cools; 2],
                "{key} {edit}: {}",
                row.sentence
            );
            // No hours are promised.
            assert!(!row.sentence.contains("hour"), "{}", row.sentence);
        }
    }
}

/// Parts whose role is "tone shunt": the level above 1 kHz against that below 300 Hz falls, of a quiet note and of hard playing.
#[test]
fn larger_tone_shunts_darken() {
    for (key, edit) in [("bradawl", "C103=1n"), ("mizzle", "C5=3n3")] {
        let effect = effect(key, edit);
        for heard in [&effect.played, &effect.response] {
            let heard = heard.as_ref().unwrap();
            let mean = |from: f64, to: f64| {
                let bands = heard.bands.iter().filter(|b| (from..to).contains(&b.hz));
                let each: Vec<f64> = bands.filter_map(|b| b.difference_db).collect();
                each.iter().sum::<f64>() / each.len() as f64
            };
            let tilt = mean(1000.0, 2500.0) - mean(80.0, 300.0);
            within(&format!("{key} {edit} tilt, dB"), tilt, -6.0, -0.5);
            assert_eq!(heard.verdict, Heard::ClearlyAudible, "{key} {edit}");
        }
    }
}

/// What a smaller load or divider takes from the gain, the jack may have more before a stage clips.
#[test]
fn smaller_loads_and_dividers_give_headroom() {
    for (key, edit) in [
        ("bradawl", "R205=22k"),
        ("bradawl", "R103=100k"),
        ("bradawl", "R202=68k"),
        ("mizzle", "R3=150k"),
        ("mizzle", "R6=82k"),
        ("spokeshave", "R8=82k"),
        ("sluice", "R205=68k"),
    ] {
        let row = row(key, edit);
        let effect = row.alone.as_ref().unwrap();
        let headroom = effect.headroom.change_db.unwrap();
        assert!(
            effect.gain_db < -0.5 && headroom > 0.5,
            "{key} {edit}: {headroom}"
        );
        // The two go together: the stage that clips stands behind the one that lost gain.
        within(
            &format!("{key} {edit}, dB"),
            headroom + effect.gain_db,
            -0.5,
            0.5,
        );
        assert!(row.sentence.contains("dB more; the "), "{}", row.sentence);
    }
}

/// Common practice says that light feedback switched off changes little. Of feedback that takes
/// half a decibel from the gain that is so: borderline at most. What stands in Bradawl 15 takes
/// 2.6 dB, and by the verdict that is no little: the loudspeaker's resonance and the onset of
/// clipping are clearly heard. The gain itself moves by less than a nudge of the volume control.
#[test]
fn light_feedback_off_changes_little_and_bradawls_is_not_so_light() {
    let sound = phrase(RATE);
    let off = |r308: &str| {
        let change = format!("R308={r308}").parse().unwrap();
        let amp = amp("bradawl").with_written_changes(&[change], &Catalogue::built_in());
        let mut report = report_with(&amp.unwrap(), &["Feedback=off"], &sound);
        report.rows.remove(0).alone.unwrap()
    };
    let light = off("470k");
    within("light feedback, dB", light.gain_db, 0.3, 0.7);
    for heard in [&light.played, &light.response] {
        let heard = heard.as_ref().unwrap();
        assert!(heard.verdict <= Heard::Borderline, "{}", heard.in_words);
        assert_eq!(heard.summary.bands_beyond, 0);
    }
    let built = off("82k");
    within("Bradawl's feedback, dB", built.gain_db, 1.5, 4.0);
    let played = built.played.unwrap();
    assert_eq!(played.verdict, Heard::ClearlyAudible);
    within("louder, LU", played.louder_db, 0.5, 1.5);
}

/// Two EL84 give 12 to 18 W at the limit of clean playing, into their loudspeaker as the report
/// shows it.
#[test]
fn a_pair_of_el84_gives_12_to_18_watts() {
    for key in ["bradawl", "spokeshave"] {
        let amp = SolvedAmp::new(&amp(key), None).unwrap();
        let driven = drive(&amp.network, &amp.as_found, &mut |_| {});
        let ten = driven.limits[2].at.expect("10 % is reached");
        within(&format!("{key}, W at 10 %"), ten.watts.unwrap(), 12.0, 18.0);
    }
}
