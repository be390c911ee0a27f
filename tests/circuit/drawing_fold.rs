//! The drawing folded to A4: the netlist that is read back stays the circuit's, names of cut wires are
//! each node's own, and the letters can be read.

use super::random_amp::random_amp;
use engine::circuit::{self, Circuit, NodeId};
use engine::device::Catalogue;
use engine::drawing::draw;
use engine::drawing::fold::{LANDSCAPE, fold, smallest_letters};
use engine::drawing::netlist::faults;
use engine::drawing::sheet::{Item, Sheet, Symbol};
use engine::drawing::write::Lettering;
use std::collections::BTreeMap;

/// Letters that are read without a glass, points (own aim).
const LEGIBLE: f32 = 6.0;

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).expect("no faults")
}

fn folded(circuit: &Circuit, volts: Option<&[f64]>) -> (Sheet, Sheet) {
    let topology = circuit.topology();
    let lettering = Lettering {
        circuit,
        topology: &topology,
        proposed: None,
        volts: volts.map(|v| [v, v]),
        notes: None,
    };
    let sheet = draw(&lettering);
    let folded = fold(&sheet, &lettering, LANDSCAPE);
    (sheet, folded)
}

/// The text at each flag, by node: one for each, and no two nodes with the same.
fn names(sheet: &Sheet) -> Result<BTreeMap<NodeId, String>, String> {
    let mut names: BTreeMap<NodeId, String> = BTreeMap::new();
    let flags = sheet
        .placed
        .iter()
        .filter(|p| p.symbol == Symbol::Flag)
        .count();
    let texts = sheet.texts.iter().filter_map(|text| match text.of {
        Some(Item::Flag(node)) => Some((node, text.text.clone())),
        _ => None,
    });
    let mut written = 0;
    for (node, text) in texts {
        written += 1;
        let known = names.entry(node).or_insert_with(|| text.clone());
        if *known != text {
            return Err(format!("one node is called {known} and {text}"));
        }
    }
    if written != flags {
        return Err(format!("{flags} flags, {written} names"));
    }
    let mut all: Vec<&String> = names.values().collect();
    all.sort();
    if all.windows(2).any(|pair| pair[0] == pair[1]) {
        return Err(format!("two nodes with one name: {all:?}"));
    }
    Ok(names)
}

#[test]
fn our_own_amps_are_legible_on_a4() {
    for built_in in circuit::built_in_circuits() {
        let circuit = read(built_in.text);
        let volts: Vec<f64> = (0..circuit.nodes().len()).map(|i| 7.3 * i as f64).collect();
        for volts in [None, Some(volts.as_slice())] {
            let (sheet, folded) = folded(&circuit, volts);
            assert_eq!(faults(&folded, &circuit), [], "{}", built_in.key);
            names(&folded).unwrap_or_else(|fault| panic!("{}: {fault}", built_in.key));
            let (before, after) = (
                smallest_letters(&sheet, LANDSCAPE),
                smallest_letters(&folded, LANDSCAPE),
            );
            println!(
                "{}: {before:.2} pt whole, {after:.2} pt folded",
                built_in.key
            );
            assert!(before < LEGIBLE, "{}: no fold was needed", built_in.key);
            assert!(after >= LEGIBLE, "{}: {after} pt", built_in.key);
        }
    }
}

/// Amps at random whose letters come out smaller, with how large: no fault-free fold was found that
/// has larger ones. The list is exact.
const SMALL: [(u64, f32); 4] = [(1, 5.4), (57, 5.4), (127, 5.4), (143, 4.8)];

#[test]
fn random_amps_stay_themselves_when_folded() {
    let mut small = Vec::new();
    for seed in 0..200 {
        let circuit = read(&random_amp(seed).text);
        let (_, folded) = folded(&circuit, None);
        assert_eq!(faults(&folded, &circuit), [], "{seed}");
        names(&folded).unwrap_or_else(|fault| panic!("{seed}: {fault}"));
        let points = smallest_letters(&folded, LANDSCAPE);
        if points < LEGIBLE {
            small.push((seed, points));
        }
    }
    let seeds = |list: &[(u64, f32)]| list.iter().map(|(seed, _)| *seed).collect::<Vec<_>>();
    assert_eq!(seeds(&small), seeds(&SMALL), "{small:?}");
    for ((seed, points), (_, least)) in small.iter().zip(&SMALL) {
        assert!(points >= least, "{seed}: {points} pt");
    }
}

#[test]
fn folding_is_a_function_of_the_drawing() {
    let circuit = read(&random_amp(7).text);
    assert_eq!(folded(&circuit, None).1, folded(&circuit, None).1);
}
