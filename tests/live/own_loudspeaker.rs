//! A circuit file's own loudspeaker on the live map: its choices, where they stand, what is heard.

use crate::fixture::{RATE, Table, difference_db, phrase};
use crate::own_loudspeaker_files::{FERRY, SHEET, amp, copy};
use engine::circuit::built_in_circuits;
use engine::device::Catalogue;
use engine::live::cabinets::CabinetChoice;
use engine::live::parameter_map::ParameterMap;
use engine::live::{AdjustableKind, LiveAmp};
use engine::realtime::cabinet::{Cabinet, Sections, Voicing};
use std::sync::Arc;

fn live(text: &str) -> LiveAmp {
    LiveAmp::read(text.as_bytes(), None, Arc::new(Catalogue::built_in())).unwrap()
}

/// The names that can be chosen for LS1, and the slot.
fn choices(amp: &LiveAmp) -> (usize, Vec<String>) {
    let adjustable = amp.find("LS1").unwrap();
    match &amp.adjustables()[adjustable].kind {
        AdjustableKind::Choice { types } => {
            let names = types.iter().map(|one| one.name().to_owned());
            (adjustable, names.collect())
        }
        other => panic!("{other:?}"),
    }
}

/// A bench as the plugin has it for the owner's file: where each loudspeaker's position is.
fn places(text: &str) -> Vec<(String, f32)> {
    let bench = ParameterMap::for_own_file(live(text));
    let (adjustable, names) = choices(bench.amp());
    let parameter = bench.parameter_of(adjustable).unwrap();
    let place = |index: usize| bench.position_of(parameter, index as f64).unwrap();
    let numbered = names.iter().cloned().enumerate();
    numbered.map(|(index, name)| (name, place(index))).collect()
}

/// Files without loudspeakers of their own have their automation where it always was: thirds of the
/// range, as the four built-in loudspeakers divide it.
#[test]
fn positions_stay_where_they_were_without_and_are_in_order_with() {
    let built_in: Vec<String> = Catalogue::built_in()
        .loudspeakers
        .iter()
        .map(|l| l.name.clone())
        .collect();
    for amp in built_in_circuits() {
        let places = places(amp.text);
        let names: Vec<&String> = places.iter().map(|(name, _)| name).collect();
        assert_eq!(names, built_in.iter().collect::<Vec<_>>(), "{}", amp.key);
        // The only loudspeaker cannot be left out, so that the whole range is for its type; where
        // there is a socket for another one, the lowest fiftieth means that it is out.
        let only = live(amp.text).find("LS1 fitted").is_none();
        let lowest = if only { 0.0 } else { 0.02 };
        for (index, (name, place)) in places.iter().enumerate() {
            let third = lowest + (1.0 - lowest) * index as f32 / 3.0;
            assert!(
                (place - third).abs() < 1e-6,
                "{}: {name} at {place}",
                amp.key
            );
        }
    }
    let with = places(&amp("mizzle", &[SHEET, FERRY]));
    let names: Vec<&str> = with.iter().map(|(name, _)| name.as_str()).collect();
    assert_eq!(names[..4], built_in[..]);
    assert_eq!(names[4..], ["Plain Ten", "Ferry Eight"]);
    for (index, (_, place)) in with.iter().enumerate() {
        assert!((place - index as f32 / 5.0).abs() < 1e-6);
    }
}

/// Every position gives its loudspeaker back, as a host sends it.
#[test]
fn every_choice_makes_its_circuit() {
    let amp = live(&amp("mizzle", &[SHEET, FERRY]));
    let (adjustable, names) = choices(&amp);
    for (index, name) in names.iter().enumerate() {
        let mut values = amp.filed();
        values[adjustable] = index as f64;
        let circuit = amp.circuit_with(&values).unwrap();
        let heard = engine::analysis::listening::loudspeaker_of(&circuit).unwrap();
        assert_eq!(heard.name, *name);
        assert_eq!(
            amp.adjustables()[adjustable].read(name).ok(),
            Some(index as f64)
        );
    }
}

fn table(text: &str, through: CabinetChoice) -> Table {
    let mut table = Table::of(live(text));
    table.settings.through = through;
    table
}

/// A copy of a built-in loudspeaker is heard as the built-in one, to the last bit, from the start
/// and after a swap while it plays.
#[test]
fn a_copy_is_heard_as_the_original() {
    let text = amp("mizzle", &[FERRY, &copy("Anvil Twelve", "A Copy")]);
    let input = phrase(0.5);
    let heard = |name: &str| {
        let mut table = table(&text, CabinetChoice::Loudspeaker);
        let mut out = table.play_mono(&input[..9600]);
        table.propose("LS1", name);
        out.extend(table.play_mono(&input[9600..]));
        out
    };
    let original = heard("Anvil Twelve");
    assert!(heard("A Copy") == original);
    assert!(heard("Ferry Eight") != original);
    let plain = amp("mizzle", &[]);
    let mut before = table(&plain, CabinetChoice::Loudspeaker);
    let mut now = table(&text, CabinetChoice::Loudspeaker);
    assert!(before.play_mono(&input) == now.play_mono(&input));
}

/// What is heard is the line through the sections of the file's own loudspeaker. Single precision
/// of the rig's output, as in `tests/live/cabinet.rs`.
#[test]
fn its_sections_are_what_is_heard() {
    let text = amp("mizzle", &[FERRY]);
    let input = phrase(0.7);
    let play = |through| {
        let mut table = table(&text, through);
        table.propose("LS1", "Ferry Eight");
        table.renderer.reset();
        table.play_mono(&input)
    };
    let line = play(CabinetChoice::Line);
    let amp = live(&text);
    let driver = amp.circuit().own_loudspeakers().next().unwrap();
    let voicing = Voicing::new(driver.acoustic.analog(), RATE);
    let mut volts: Vec<f64> = line.iter().map(|&s| f64::from(s)).collect();
    Cabinet::<1>::Acoustic(Box::new(Sections::new([&voicing]))).process(&mut [&mut volts]);
    let expected: Vec<f32> = volts.iter().map(|&v| v as f32).collect();
    let error = difference_db(&expected, &play(CabinetChoice::Loudspeaker));
    assert!(error < -120.0, "{error:.1} dB");
}
