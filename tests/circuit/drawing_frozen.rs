//! Parts added, removed and put in series into a drawing: everything else stays where it is, and the
//! netlist that is read back is the new circuit's.

use engine::circuit::{self, Circuit, GROUND, PartId, PartKind};
use engine::device::Catalogue;
use engine::drawing::frozen::redraw;
use engine::drawing::netlist::{Fault, faults};
use engine::drawing::sheet::{Item, Placed, Sheet, Wire};
use engine::drawing::sheet_of;
use std::collections::BTreeSet;

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).expect("no faults")
}

/// A circuit file with other lines of parts.
fn edited(text: &str, edit: impl Fn(&str) -> Option<String>) -> String {
    let lines = text.lines().filter_map(edit);
    lines.collect::<Vec<_>>().join("\n") + "\n"
}

fn designator(line: &str) -> &str {
    line.split(" = ").next().unwrap_or_default()
}

struct Redrawn {
    former: Circuit,
    before: Sheet,
    circuit: Circuit,
    after: Sheet,
}

fn redrawn(before: &str, after: &str) -> Redrawn {
    let (former, circuit) = (read(before), read(after));
    let sheet = sheet_of(&former, &former.topology());
    let after = redraw(&sheet, &former, &circuit, &circuit.topology());
    Redrawn {
        former,
        before: sheet,
        circuit,
        after,
    }
}

fn find<'s>(sheet: &'s Sheet, circuit: &Circuit, designator: &str) -> Option<&'s Placed> {
    let part = circuit.find_part(designator)?;
    sheet.placed.iter().find(|p| p.item == Item::Part(part))
}

/// The designators of parts that were moved.
fn moved(r: &Redrawn) -> Vec<String> {
    let stays = |name: &str| {
        let (Some(one), Some(other)) = (
            find(&r.before, &r.former, name),
            find(&r.after, &r.circuit, name),
        ) else {
            return true;
        };
        let stand = |p: &Placed| (p.at, p.turn, p.mirrored, p.length);
        stand(one) == stand(other)
    };
    let names = r.former.parts().iter().map(|part| part.designator.clone());
    names.filter(|name| !stays(name)).collect()
}

/// Wires of a node of that name.
fn wires(sheet: &Sheet, circuit: &Circuit, node: &str) -> BTreeSet<Vec<(i32, i32)>> {
    let Some(node) = circuit.find_node(node) else {
        return BTreeSet::new();
    };
    let points = |wire: &Wire| wire.points.iter().map(|p| (p.x, p.y)).collect();
    let own = sheet.wires.iter().filter(|wire| wire.node == node);
    own.map(points).collect()
}

/// Faults of what is drawn; texts are not.
fn wrong(r: &Redrawn) -> Vec<Fault> {
    faults(&r.after, &r.circuit)
}

/// Nodes of the former circuit, but these, whose wires are not what they were.
fn rewired(r: &Redrawn, but: &[&str]) -> Vec<String> {
    let nodes = r
        .former
        .nodes()
        .iter()
        .filter(|node| !but.contains(&node.as_str()));
    nodes
        .filter(|node| wires(&r.before, &r.former, node) != wires(&r.after, &r.circuit, node))
        .cloned()
        .collect()
}

/// Resistors with their nodes by name, and whether one end is at ground.
fn resistors(circuit: &Circuit) -> Vec<(String, [String; 2], bool)> {
    let parts = circuit.parts().iter();
    parts
        .filter_map(|part| match part.kind {
            PartKind::Resistor { between, .. } => {
                let names = between.map(|node| circuit.nodes()[node.0 as usize].clone());
                let grounded = between.contains(&GROUND);
                Some((part.designator.clone(), names, grounded))
            }
            _ => None,
        })
        .collect()
}

#[test]
fn nothing_changed_changes_nothing() {
    for built_in in circuit::built_in_circuits() {
        let r = redrawn(built_in.text, built_in.text);
        assert_eq!(wrong(&r), [], "{}", built_in.key);
        let places = |sheet: &Sheet| {
            let mut places: Vec<_> = sheet
                .placed
                .iter()
                .map(|p| (p.item, p.at, p.turn))
                .collect();
            places.sort();
            places
        };
        let (one, other) = (places(&r.before), places(&r.after));
        let gone: Vec<_> = one.iter().filter(|p| !other.contains(p)).collect();
        let new: Vec<_> = other.iter().filter(|p| !one.contains(p)).collect();
        assert!(
            gone.is_empty() && new.is_empty(),
            "{}: {gone:?} {new:?}",
            built_in.key
        );
        assert_eq!(one.len(), other.len(), "{}", built_in.key);
        assert_eq!(rewired(&r, &[]), [] as [&str; 0], "{}", built_in.key);
        assert_eq!(r.before.dots, r.after.dots, "{}", built_in.key);
    }
}

#[test]
fn a_capacitor_across_a_resistor_moves_nothing() {
    for built_in in circuit::built_in_circuits() {
        for (name, nodes, _) in resistors(&read(built_in.text)) {
            let text = edited(built_in.text, |line| {
                let new = format!(
                    "CX = {{ capacitor = \"100p\", between = [\"{}\", \"{}\"] }}",
                    nodes[0], nodes[1]
                );
                match designator(line) == name {
                    true => Some(format!("{line}\n{new}")),
                    false => Some(line.to_string()),
                }
            });
            let r = redrawn(built_in.text, &text);
            let case = format!("{} {name}", built_in.key);
            assert_eq!(wrong(&r), [], "{case}");
            assert_eq!(moved(&r), [] as [&str; 0], "{case}");
            let touched = [nodes[0].as_str(), nodes[1].as_str(), "gnd"];
            assert_eq!(rewired(&r, &touched), [] as [&str; 0], "{case}");
            // What was drawn of the touched nodes is still there.
            for node in touched {
                let after = &r.after;
                let id = r.circuit.find_node(node).expect("there");
                for line in wires(&r.before, &r.former, node) {
                    let on = |x: i32, y: i32| {
                        after.wires.iter().filter(|w| w.node == id).any(|w| {
                            let (a, b) = (w.points[0], w.points[1]);
                            (a.x..=b.x).contains(&x) && (a.y..=b.y).contains(&y)
                        })
                    };
                    assert!(line.iter().all(|(x, y)| on(*x, *y)), "{case}: {node}");
                }
            }
        }
    }
}

#[test]
fn a_removed_part_moves_nothing() {
    for built_in in circuit::built_in_circuits() {
        let former = read(built_in.text);
        for part in former.parts() {
            let text = edited(built_in.text, |line| {
                (designator(line) != part.designator).then(|| line.to_string())
            });
            // Some parts an amp cannot do without.
            let Ok(circuit) = circuit::read(&text, &Catalogue::built_in()) else {
                continue;
            };
            let before = sheet_of(&former, &former.topology());
            let after = redraw(&before, &former, &circuit, &circuit.topology());
            let r = Redrawn {
                former: former.clone(),
                before,
                circuit,
                after,
            };
            let case = format!("{} {}", built_in.key, part.designator);
            assert_eq!(wrong(&r), [], "{case}");
            assert_eq!(moved(&r), [] as [&str; 0], "{case}");
            let placed = find(&r.before, &r.former, &part.designator).expect("drawn");
            let touched: Vec<&str> = placed
                .pins
                .iter()
                .map(|pin| r.former.nodes()[pin.node.0 as usize].as_str())
                .collect();
            assert_eq!(rewired(&r, &touched), [] as [&str; 0], "{case}");
        }
    }
}

#[test]
fn a_resistor_in_series_moves_nothing() {
    let (mut tried, mut gave_way) = (0, Vec::new());
    for built_in in circuit::built_in_circuits() {
        let former = read(built_in.text);
        for (name, nodes, _) in resistors(&former) {
            // The second end goes on over the new part.
            let text = edited(built_in.text, |line| {
                if designator(line) != name {
                    return Some(line.to_string());
                }
                let old = format!("between = [\"{}\", \"{}\"]", nodes[0], nodes[1]);
                let cut = format!("between = [\"{}\", \"split\"]", nodes[0]);
                let new = format!(
                    "RX = {{ resistor = \"1k\", between = [\"split\", \"{}\"] }}",
                    nodes[1]
                );
                Some(format!("{}\n{new}", line.replace(&old, &cut)))
            });
            let r = redrawn(built_in.text, &text);
            let case = format!("{} {name}", built_in.key);
            tried += 1;
            assert_eq!(wrong(&r), [], "{case}");
            // Where its pin lies on another part's, the resistor itself must give way; nothing else.
            let moved = moved(&r);
            if !moved.is_empty() {
                gave_way.push(case.clone());
            }
            assert!(moved.iter().all(|part| *part == name), "{case}: {moved:?}");
            let touched = [nodes[0].as_str(), nodes[1].as_str(), "gnd"];
            assert_eq!(rewired(&r, &touched), [] as [&str; 0], "{case}");
        }
    }
    // Those whose second pin lies on another part's.
    let known = [
        "bradawl R305",
        "bradawl R306",
        "spokeshave R12",
        "sluice R201",
        "sluice R302",
    ];
    assert_eq!(gave_way, known, "of {tried}");
}

#[test]
fn the_same_part_has_the_same_number_or_not() {
    // Parts in another order: places are by designator.
    let text = circuit::built_in_circuit("mizzle").expect("there").text;
    let former = read(text);
    let lines: Vec<&str> = text.lines().collect();
    let start = lines
        .iter()
        .position(|line| *line == "[parts]")
        .expect("parts")
        + 1;
    let mut turned: Vec<&str> = lines[..start].to_vec();
    turned.extend(lines[start..].iter().rev());
    let r = redrawn(text, &(turned.join("\n") + "\n"));
    assert_ne!(
        r.former.part(PartId(0)).designator,
        r.circuit.part(PartId(0)).designator
    );
    assert_eq!(former.parts().len(), r.circuit.parts().len());
    assert_eq!(wrong(&r), []);
    assert_eq!(moved(&r), [] as [&str; 0]);
    assert_eq!(rewired(&r, &[]), [] as [&str; 0]);
}
