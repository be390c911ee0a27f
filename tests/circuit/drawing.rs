//! The drawn schematic: the netlist read back from its lines is the circuit's, nothing lies on anything
//! else, and a changed value moves nothing.

use super::random_amp::random_amp;
use engine::circuit::{self, Circuit};
use engine::device::Catalogue;
use engine::drawing::netlist::{Fault, faults};
use engine::drawing::sheet::{Item, Sheet, Symbol};
use engine::drawing::write::Lettering;
use engine::drawing::{draw, sheet_of};

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).expect("no faults")
}

fn drawn(circuit: &Circuit, proposed: Option<&Circuit>, volts: Option<&[f64]>) -> Sheet {
    let topology = circuit.topology();
    draw(&Lettering {
        circuit,
        topology: &topology,
        proposed,
        volts: volts.map(|v| [v, v]),
        notes: None,
    })
}

/// Bends and crossings of a drawing's wires.
fn count(sheet: &Sheet) -> (usize, usize) {
    let ends = |wire: &engine::drawing::sheet::Wire| (wire.points[0], wire.points[1]);
    let (mut bends, mut crossings) = (0, 0);
    for (i, one) in sheet.wires.iter().enumerate() {
        let (a, b) = ends(one);
        for other in &sheet.wires[i + 1..] {
            let (c, d) = ends(other);
            if (a.y == b.y) == (c.y == d.y) {
                continue;
            }
            let ((a, b), (c, d)) = if a.y == b.y {
                ((a, b), (c, d))
            } else {
                ((c, d), (a, b))
            };
            let at = engine::drawing::sheet::Point { x: c.x, y: a.y };
            let on = (a.x..=b.x).contains(&at.x) && (c.y..=d.y).contains(&at.y);
            if on && one.node != other.node {
                crossings += 1;
            }
            let ends_here = (at == a || at == b) && (at == c || at == d);
            let joint = sheet.dots.iter().any(|(_, dot)| *dot == at);
            if on && one.node == other.node && ends_here && !joint {
                bends += 1;
            }
        }
    }
    (bends, crossings)
}

#[test]
fn our_own_amps_are_drawn_without_a_fault() {
    // Crossings and bends of a first try by hand-written script (own measure): not to be exceeded.
    for (key, most_crossings, most_bends) in [
        ("bradawl", 4, 25),
        ("mizzle", 1, 13),
        ("sluice", 4, 37),
        ("spokeshave", 2, 29),
    ] {
        let circuit = read(circuit::built_in_circuit(key).expect("there").text);
        let volts: Vec<f64> = (0..circuit.nodes().len()).map(|i| 7.3 * i as f64).collect();
        for volts in [None, Some(volts.as_slice())] {
            let sheet = drawn(&circuit, None, volts);
            assert_eq!(faults(&sheet, &circuit), [], "{key}");
            let flags = sheet.placed.iter().filter(|p| p.symbol == Symbol::Flag);
            assert_eq!(flags.count(), 0, "{key}: a name in place of a wire");
            let (bends, crossings) = count(&sheet);
            println!("{key}: {crossings} crossings, {bends} bends");
            assert!(crossings <= most_crossings, "{key}: {crossings} crossings");
            assert!(bends <= most_bends, "{key}: {bends} bends");
        }
    }
}

#[test]
fn every_drawn_amp_is_the_circuit_that_it_shows() {
    let mut bad = Vec::new();
    for seed in 0..200 {
        let circuit = read(&random_amp(seed).text);
        let sheet = drawn(&circuit, None, None);
        let found = faults(&sheet, &circuit);
        if !found.is_empty() {
            bad.push((seed, found));
        }
    }
    let brief: Vec<String> = bad
        .iter()
        .map(|(seed, f)| format!("{seed}: {f:?}"))
        .collect();
    assert!(
        bad.is_empty(),
        "{} of 200:\n{}",
        bad.len(),
        brief.join("\n")
    );
}

#[test]
fn further_circuits_are_drawn_without_a_fault() {
    let mut bad = Vec::new();
    for (name, text) in super::recognised::files() {
        let circuit = read(&text);
        let found = faults(&drawn(&circuit, None, None), &circuit);
        if !found.is_empty() {
            bad.push(format!("{name}: {found:?}"));
        }
    }
    assert!(bad.is_empty(), "{}", bad.join("\n"));
}

#[test]
fn a_changed_value_moves_nothing() {
    let circuit = read(circuit::built_in_circuit("bradawl").expect("there").text);
    let change: circuit::WrittenChange = "R505=15k".parse().expect("a change");
    let proposal = circuit::WrittenProposal {
        changes: vec![change],
        ..Default::default()
    };
    let catalogue = Catalogue::built_in();
    let proposed = proposal
        .resolve(&circuit, &catalogue)
        .and_then(|all| all.apply(&circuit))
        .expect("a proposal");
    let (one, other) = (
        drawn(&circuit, None, None),
        drawn(&circuit, Some(&proposed), None),
    );
    assert_eq!(one.placed, other.placed);
    assert_eq!(one.wires, other.wires);
    let changed: Vec<&str> = other
        .texts
        .iter()
        .filter(|text| text.changed)
        .map(|text| text.text.as_str())
        .collect();
    assert_eq!(changed, ["R505", "12k → 15k"]);
}

/// A sheet with one thing spoiled must show a fault of the kind.
fn spoiled(spoil: impl Fn(&mut Sheet), is: impl Fn(&Fault) -> bool) {
    let circuit = read(circuit::built_in_circuit("mizzle").expect("there").text);
    let mut sheet = drawn(&circuit, None, None);
    spoil(&mut sheet);
    let found = faults(&sheet, &circuit);
    assert!(found.iter().any(is), "{found:?}");
}

#[test]
fn the_proof_can_fail() {
    spoiled(
        |sheet| drop(sheet.wires.remove(0)),
        |fault| matches!(fault, Fault::Open { .. }),
    );
    spoiled(
        |sheet| drop(sheet.placed.remove(3)),
        |fault| matches!(fault, Fault::Drawn { times: 0, .. }),
    );
    spoiled(
        |sheet| {
            let nodes = sheet.placed[1]
                .pins
                .iter()
                .map(|p| p.node)
                .collect::<Vec<_>>();
            for (pin, node) in sheet.placed[1].pins.iter_mut().zip(nodes.iter().rev()) {
                pin.node = *node;
            }
        },
        |fault| matches!(fault, Fault::Pins { .. }),
    );
    spoiled(
        |sheet| sheet.dots.clear(),
        |fault| matches!(fault, Fault::Dot { .. }),
    );
    spoiled(
        |sheet| {
            let at = sheet.wires[0].points[0];
            let node = sheet.wires[sheet.wires.len() - 1].node;
            sheet.wires[0].node = node;
            sheet.dots.push((node, at));
        },
        |fault| {
            matches!(
                fault,
                Fault::Dot { .. } | Fault::Over { .. } | Fault::Short { .. }
            )
        },
    );
    spoiled(
        |sheet| {
            let (x, y) = (sheet.texts[0].x, sheet.texts[0].y);
            sheet.texts[1].x = x;
            sheet.texts[1].y = y;
        },
        |fault| matches!(fault, Fault::Text { .. }),
    );
    spoiled(
        |sheet| {
            // Two nodes joined by a line from a pin to a pin.
            let pins: Vec<_> = sheet
                .placed
                .iter()
                .filter(|p| matches!(p.item, Item::Part(_)))
                .flat_map(|p| p.pins.clone())
                .collect();
            let other = pins
                .iter()
                .find(|p| p.node != pins[0].node)
                .expect("another node");
            sheet.wires.push(engine::drawing::sheet::Wire {
                node: pins[0].node,
                points: vec![pins[0].at, other.at],
            });
        },
        |fault| matches!(fault, Fault::Short { .. }),
    );
}

#[test]
fn a_drawing_is_a_function_of_its_circuit() {
    for seed in [3, 11, 42] {
        let circuit = read(&random_amp(seed).text);
        let topology = circuit.topology();
        assert_eq!(
            sheet_of(&circuit, &topology),
            sheet_of(&circuit, &circuit.topology())
        );
    }
}
