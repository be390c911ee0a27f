//! Which way a change goes, as every bench hand expects it: common practice, no source. A wrong
//! sign, a part in the wrong place or a control wired backwards fails here. The proposals are held
//! to what their texts promise.

use crate::whole_amp::{Amp, circuit, dummy_loads, told};
use engine::circuit::{
    WrittenChange, WrittenSetting, built_in_circuit, built_in_proposals, read_proposal,
};
use engine::device::Catalogue;

/// An amp with changes ("R505=15k") and settings ("Tone=0.2"), given together.
fn built(key: &str, edits: &[&str], catalogue: &Catalogue) -> Amp {
    let found = circuit(
        built_in_circuit(key).expect("a built-in amp").text,
        catalogue,
    );
    let (mut changes, mut settings) = (Vec::new(), Vec::new());
    for edit in edits {
        let name = edit.split('=').next().expect("NAME=VALUE");
        if found.parts_named(name).is_empty() {
            settings.push(edit.parse::<WrittenSetting>().expect("a setting"));
        } else {
            changes.push(edit.parse::<WrittenChange>().expect("a change"));
        }
    }
    let changed = found.with_written_changes(&changes, catalogue);
    let changed = changed.unwrap_or_else(|f| panic!("{}", told(&f)));
    let set = changed.with_written_controls(&settings);
    Amp::new(set.unwrap_or_else(|f| panic!("{}", told(&f))))
}

fn amp(key: &str, edits: &[&str]) -> Amp {
    built(key, edits, &Catalogue::built_in())
}

/// With a resistor for a loudspeaker.
fn bench(key: &str, edits: &[&str]) -> Amp {
    built(key, edits, &dummy_loads())
}

fn proposed(key: &str, proposal: &str, catalogue: &Catalogue) -> Amp {
    let files = built_in_proposals(key);
    let file = files
        .iter()
        .find(|p| p.key == proposal)
        .expect("a built-in proposal");
    let proposal = read_proposal(file.text).unwrap_or_else(|f| panic!("{}", told(&f)));
    let found = built(key, &[], catalogue).circuit;
    Amp::new(
        proposal
            .apply(&found, catalogue)
            .unwrap_or_else(|f| panic!("{}", told(&f))),
    )
}

fn idle_watts(amp: &Amp, valve: &str) -> f64 {
    amp.section(valve).anode_watts
}

/// How much a change lifts the response at `hz` over that at `against`, dB.
#[track_caller]
fn lift(key: &str, edits: &[&str], hz: f64, against: f64) -> f64 {
    let tilt = |amp: &Amp| amp.gain_db(hz) - amp.gain_db(against);
    tilt(&amp(key, edits)) - tilt(&amp(key, &[]))
}

#[track_caller]
fn within(value: f64, least: f64, greatest: f64) {
    assert!(
        (least..=greatest).contains(&value),
        "{value:.3}, not {least} to {greatest}"
    );
}

#[test]
fn bias_supply_resistors_move_the_idle_current_by_their_place() {
    for (key, valve, feed, load) in [
        (
            "bradawl",
            "V3",
            ["R504=15k", "R504=22k"],
            ["R505=10k", "R505=15k"],
        ),
        (
            "sluice",
            "V301",
            ["R503=6k8", "R503=10k"],
            ["R504=18k", "R504=27k"],
        ),
    ] {
        let found = idle_watts(&amp(key, &[]), valve);
        let watts = |edit| idle_watts(&amp(key, &[edit]), valve);
        assert!(
            watts(load[1]) < 0.9 * found,
            "{key}: a larger load resistor cools"
        );
        assert!(
            watts(load[0]) > 1.1 * found,
            "{key}: a smaller load resistor heats"
        );
        assert!(
            watts(feed[1]) > 1.1 * found,
            "{key}: a larger feed resistor heats"
        );
        assert!(
            watts(feed[0]) < 0.9 * found,
            "{key}: a smaller feed resistor cools"
        );
    }
}

#[test]
fn larger_cathode_resistors_cool() {
    for (key, valve, edit) in [("mizzle", "V2", "R10=390"), ("spokeshave", "V3", "R18=180")] {
        assert!(
            idle_watts(&amp(key, &[edit]), valve) < 0.92 * idle_watts(&amp(key, &[]), valve),
            "{key}"
        );
    }
}

#[test]
fn larger_tone_shunts_darken() {
    within(lift("bradawl", &["C103=1n"], 1e3, 100.0), -6.0, -1.0);
    within(lift("bradawl", &["C103=180p"], 1e3, 100.0), 0.2, 4.0);
    within(lift("mizzle", &["C5=3n3"], 2e3, 100.0), -6.0, -1.0);
    within(lift("mizzle", &["C5=330p"], 2e3, 100.0), 0.5, 6.0);
}

/// The input that the clean limit allows rises with what a change takes from the gain.
#[test]
fn lower_dividers_and_anode_loads_give_clean_headroom() {
    let found = bench("bradawl", &[]).clean_limit(0.05).input;
    let divider = bench("bradawl", &["R205=22k"]).clean_limit(0.05).input;
    let load = bench("bradawl", &["R103=82k"]).clean_limit(0.05).input;
    within(divider / found, 1.25, 1.7);
    within(load / found, 1.1, 1.5);
}

#[test]
fn light_feedback_off_changes_little_but_lets_the_loudspeaker_speak() {
    let (on, off) = (amp("bradawl", &[]), amp("bradawl", &["Feedback=off"]));
    within(off.gain_db(1e3) - on.gain_db(1e3), 0.5, 4.0);
    // The transformer's inductance beside the compliance shifts the electrical resonance upwards.
    let peak = |amp: &Amp| {
        (80..160)
            .map(|hz| amp.gain_db(hz as f64))
            .fold(f64::MIN, f64::max)
    };
    let resonance = |amp: &Amp| peak(amp) - amp.gain_db(400.0);
    within(resonance(&off) - resonance(&on), 0.5, 4.0);
    // At rest nothing moves: no direct current flows in the loop but the tail's.
    within(idle_watts(&off, "V3") / idle_watts(&on, "V3"), 0.99, 1.01);
}

#[test]
fn cathode_bypass_lifts_the_gain_of_its_stage() {
    let gain = |edit| amp("mizzle", &[edit]).gain_db(1e3) - amp("mizzle", &[]).gain_db(1e3);
    // 1 + (µ+1)·Rk/(R + ra), with µ 100, Rk 1.8 kΩ, ra 62 to 80 kΩ and a load of 80 to 120 kΩ
    // (standard formula, from memory), is 5.7 to 7.1 dB.
    within(gain("C10=in"), 5.5, 7.3);
    // A small one lifts the treble more than the bass.
    within(lift("mizzle", &["C10=in", "C10=220n"], 2e3, 80.0), 2.0, 7.3);
}

#[test]
fn smaller_coupling_capacitors_thin_the_bass() {
    within(lift("bradawl", &["C102=1n5"], 80.0, 1e3), -12.0, -2.0);
    within(
        lift("spokeshave", &["C7=2n2", "C8=2n2"], 80.0, 1e3),
        -12.0,
        -2.0,
    );
    // Not so before the cathodyne: its leak is bootstrapped to many megohms.
    within(lift("spokeshave", &["C6=2n2"], 80.0, 1e3), -0.5, 0.1);
}

#[test]
fn larger_grid_stoppers_darken() {
    within(lift("mizzle", &["R2=390k"], 10e3, 400.0), -15.0, -3.0);
}

#[test]
fn smaller_slope_resistors_fill_the_middle() {
    within(lift("spokeshave", &["R6=39k"], 700.0, 5e3), 0.5, 6.0);
}

#[test]
fn a_valve_of_less_amplification_lowers_the_gain() {
    let change = amp("bradawl", &["V1=ECC81"]).gain_db(1e3) - amp("bradawl", &[]).gain_db(1e3);
    within(change, -14.0, -2.0);
}

#[test]
fn more_supply_resistance_lowers_the_high_tension_and_the_power() {
    let (found, weak) = (
        bench("sluice", &[]),
        bench("sluice", &["R405=4k7", "R406=4k7"]),
    );
    assert!(weak.sine(0.2).watts < 0.9 * found.sine(0.2).watts);
}

#[test]
fn controls_turn_the_right_way() {
    // Bright end at full turn.
    within(lift("bradawl", &["Tone=1"], 5e3, 200.0), 2.0, 15.0);
    within(lift("bradawl", &["Tone=0"], 5e3, 200.0), -15.0, -0.5);
    within(lift("mizzle", &["Tone=0"], 1e4, 200.0), -30.0, -4.0);
    within(lift("mizzle", &["Tone=1"], 1e4, 200.0), 1.0, 10.0);
    within(lift("spokeshave", &["Treble=1"], 5e3, 400.0), 2.0, 20.0);
    within(lift("spokeshave", &["Bass=1"], 80.0, 1e3), 1.0, 20.0);
    within(lift("spokeshave", &["Mid=0"], 600.0, 5e3), -20.0, -1.0);
    within(lift("sluice", &["Treble=1"], 5e3, 400.0), 6.0, 25.0);
    within(lift("sluice", &["Treble=0"], 5e3, 400.0), -20.0, -4.0);
    within(lift("sluice", &["Bass=1"], 80.0, 1e3), 5.0, 20.0);
    within(lift("sluice", &["Bass=0"], 80.0, 1e3), -20.0, -4.0);
    for key in ["bradawl", "mizzle", "spokeshave", "sluice"] {
        let at = |volume: &str| amp(key, &[volume]).gain_db(1e3);
        let (quiet, half, full) = (at("Volume=0.25"), at("Volume=0.5"), at("Volume=1"));
        assert!(quiet < half - 3.0 && half < full - 6.0, "{key}");
        assert!(at("Volume=0") < half - 30.0, "{key}");
    }
}

#[test]
fn presence_lifts_the_treble_alone() {
    within(lift("sluice", &["Presence=1"], 5e3, 200.0), 2.0, 9.0);
    within(lift("sluice", &["Presence=1"], 100.0, 200.0), -0.5, 0.5);
    within(lift("sluice", &["Presence=0"], 5e3, 200.0), -3.0, -0.05);
}

#[test]
fn a_bright_capacitor_acts_when_the_volume_is_down() {
    let bright = |volume: &str| {
        let tilt = |edits: &[&str]| {
            let amp = amp("mizzle", edits);
            amp.gain_db(5e3) - amp.gain_db(200.0)
        };
        tilt(&[volume, "C3=in"]) - tilt(&[volume])
    };
    within(bright("Volume=0.3"), 2.0, 25.0);
    within(bright("Volume=1"), -0.5, 0.5);
}

#[test]
fn proposals_for_bradawl_do_what_they_say() {
    let cooler = bench_proposed("bradawl", "cooler");
    let found = bench("bradawl", &[]);
    within(idle_watts(&cooler, "V3"), 8.0, 9.5);
    within(cooler.gain_db(1e3) - found.gain_db(1e3), -1.5, 0.0);
    let (was, is) = (found.clean_limit(0.05), cooler.clean_limit(0.05));
    assert!(is.watts >= was.watts, "no less power");
    let cleaner = bench_proposed("bradawl", "cleaner");
    within(cleaner.clean_limit(0.05).input / was.input, 1.5, 3.0);
    let tilt = |amp: &Amp| amp.gain_db(2e3) - amp.gain_db(100.0);
    assert!(tilt(&cleaner) < tilt(&found) - 1.0);
    within(
        idle_watts(&cleaner, "V3") / idle_watts(&found, "V3"),
        0.99,
        1.01,
    );
}

#[test]
fn proposals_for_the_others_do_what_they_say() {
    let found = bench("mizzle", &[]);
    let calmer = bench_proposed("mizzle", "calmer");
    assert!(idle_watts(&calmer, "V2") < 0.95 * idle_watts(&found, "V2"));
    let tilt = |amp: &Amp, low: f64, high: f64| amp.gain_db(high) - amp.gain_db(low);
    assert!(tilt(&calmer, 100.0, 2e3) < tilt(&found, 100.0, 2e3) - 1.0);
    let drive = bench_proposed("mizzle", "drive");
    within(
        drive.clean_limit(0.1).input / found.clean_limit(0.1).input,
        0.35,
        0.7,
    );

    let found = amp("spokeshave", &[]);
    let catalogue = Catalogue::built_in();
    let cooler = proposed("spokeshave", "cooler", &catalogue);
    within(
        idle_watts(&cooler, "V3") / idle_watts(&found, "V3"),
        0.85,
        0.95,
    );
    let fuller = proposed("spokeshave", "fuller", &catalogue);
    assert!(fuller.gain_db(700.0) > found.gain_db(700.0) + 1.0);

    let found = amp("sluice", &[]);
    let warmer = proposed("sluice", "warmer", &catalogue);
    let limit = warmer.section("V301").anode_limit_watts;
    within(
        idle_watts(&warmer, "V301"),
        1.1 * idle_watts(&found, "V301"),
        0.8 * limit,
    );
    let looser = proposed("sluice", "looser", &catalogue);
    within(looser.gain_db(1e3) - found.gain_db(1e3), 1.5, 5.0);
    assert!(
        tilt(&looser, 400.0, 100.0) > tilt(&found, 400.0, 100.0) + 0.5,
        "the resonance speaks up"
    );
}

fn bench_proposed(key: &str, proposal: &str) -> Amp {
    proposed(key, proposal, &dummy_loads())
}
