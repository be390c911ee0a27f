//! x
mod changes_bench;
use changes_bench::*;
use presolder::analysis::at_rest::AtRest;
use presolder::analysis::audibility::profile;
use presolder::analysis::changes::figures_of;
use presolder::analysis::headroom::stage_headroom;
use presolder::analysis::loudness::integrated_lufs;
use presolder::analysis::phrase::phrase;
use std::time::Instant;
#[test]
fn times() {
    let sound = phrase(48_000);
    for (what, edits) in [
        ("feedback off", &["Feedback=off"][..]),
        ("tone shunt", &["C103=820p"]),
        ("divider", &["R205=22k"]),
        ("load", &["R103=100k"]),
        ("bias load", &["R505=15k"]),
        ("feed", &["R504=15k"]),
        ("r308", &["R308=220k"]),
        ("C504", &["C504=47u"]),
        ("LS", &["LS1=Anvil Twelve"]),
        ("V1", &["V1=ECC81"]),
        ("pair", &["R403=10k", "R404=10k"]),
        ("C102", &["C102=22n"]),
        ("bypass", &["C101=22u"]),
    ] {
        let r = report_with(&amp("bradawl"), edits, &sound);
        println!("{what}: {}", r.rows[0].sentence);
        println!(
            "    response: {}",
            r.rows[0]
                .alone
                .as_ref()
                .unwrap()
                .response
                .as_ref()
                .unwrap()
                .in_words
        );
    }
    for (k, edits) in [
        ("sluice", &["R303=1"][..]),
        ("sluice", &["Presence=0.5"]),
        ("mizzle", &["V2=out"]),
        ("spokeshave", &["Volume=0.3"]),
        ("spokeshave", &["Mid=0.3", "Treble=0.7"]),
        ("sluice", &["LS1=Tin Ten"]),
        ("spokeshave", &["C7=22n", "C8=22n"]),
    ] {
        let r = report_with(&amp(k), edits, &sound);
        println!("{k} {}: {}", r.rows[0].what, r.rows[0].sentence);
    }
    let t = Instant::now();
    for _ in 0..10 {
        profile(&[&sound], 48_000);
    }
    println!("profile {:?}", t.elapsed() / 10);
    let t = Instant::now();
    for _ in 0..10 {
        integrated_lufs(&[&sound], 48_000);
    }
    println!("lufs {:?}", t.elapsed() / 10);
    let a = AtRest::new(&amp("bradawl"), None).unwrap();
    let t = Instant::now();
    for _ in 0..5 {
        stage_headroom(&a.network, &a.as_found, &mut |_| true);
    }
    println!("headroom {:?}", t.elapsed() / 5);
    let t = Instant::now();
    for _ in 0..5 {
        figures_of(&a.network, &a.as_found, &[&sound], 48_000, &mut |_| true);
    }
    println!("figures_of {:?}", t.elapsed() / 5);
    let t = Instant::now();
    for _ in 0..5 {
        report_with(&amp("bradawl"), &["R505=15k"], &sound);
    }
    println!("report 1 change {:?}", t.elapsed() / 5);
}
