//! What an output transformer is loaded with: nominal loads by hand, loudspeakers unplugged and
//! plugged in, and which one is heard.

use crate::loads_fixture::{TEN, across, change, plain};
use engine::analysis::listening::loudspeaker_of;
use engine::circuit::{Circuit, Join, PartKind, read};
use engine::device::Catalogue;

/// Load at the taps in use, what they are meant for, and what the valve sees, all Ω.
fn nominal(circuit: &Circuit) -> [f64; 3] {
    let [load] = circuit.nominal_loads()[..] else {
        panic!("one transformer");
    };
    assert_eq!(load.meant_primary_ohms, 10e3);
    [load.ohms, load.meant_ohms, load.primary_ohms]
}

fn close(found: [f64; 3], expected: [f64; 3], what: &str) {
    for (found, expected) in found.into_iter().zip(expected) {
        // Contacts of 10⁻⁴ Ω are in it.
        let off = (found / expected - 1.0).abs();
        assert!(off < 1e-4, "{what}: {found} for {expected}");
    }
}

/// Ohm's law and the square of the turns, by hand.
#[test]
fn nominal_loads_are_those_of_ohms_law() {
    let second = |name: &str, between: &str| {
        format!("{TEN}LS2 = {{ loudspeaker = \"{name}\", between = {between} }}\n")
    };
    let switch = |word: &str| {
        format!(
            "LS1 = {{ loudspeaker = \"Tin Ten\", between = [\"sw\", \"gnd\"] }}\nSW1 = {{ switch = \"{word}\", between = [\"spk\", \"sw\"] }}\n"
        )
    };
    let series = "LS1 = { loudspeaker = \"Tin Ten\", between = [\"spk\", \"m\"] }\nLS2 = { loudspeaker = \"Breakwater Quad\", between = [\"m\", \"gnd\"] }\n";
    let feedback = format!("{TEN}R9 = {{ resistor = \"1k\", between = [\"spk\", \"gnd\"] }}\n");
    let dummy = format!("{TEN}R9 = {{ resistor = \"8\", between = [\"spk\", \"gnd\"] }}\n");
    for (lines, expected) in [
        (TEN.to_string(), [8.0, 8.0, 10e3]),
        (second("Tin Ten", "[\"spk\", \"gnd\"]"), [4.0, 8.0, 5e3]),
        (
            second("Breakwater Quad", "[\"gnd\", \"spk\"]"),
            [16.0 / 3.0, 8.0, 20e3 / 3.0],
        ),
        (series.into(), [24.0, 8.0, 30e3]),
        (feedback, [8.0, 8.0, 10e3]),
        (dummy, [4.0, 8.0, 5e3]),
        (switch("closed"), [8.0, 8.0, 10e3]),
    ] {
        let circuit = across(&lines).unwrap_or_else(|e| panic!("{lines}: {e}"));
        close(nominal(&circuit), expected, &lines);
    }
    let open = nominal(&across(&switch("open")).unwrap());
    assert!(open[0].is_infinite() && open[2].is_infinite());
    // A tap of half the turns is meant for a quarter of the ohms.
    let tapped = plain(
        "secondary = [\"spk\", \"half\", \"gnd\"] }\nLS1 = { loudspeaker = \"Tin Ten\", between = [\"half\", \"gnd\"] }\nR9 = { resistor = \"1k\", between = [\"spk\", \"gnd\"] }\n",
    );
    close(nominal(&tapped.unwrap()), [8.0, 2.0, 40e3], "half of it");
}

#[test]
fn a_second_loudspeaker_is_put_beside_or_behind_the_first() {
    let catalogue = Catalogue::built_in();
    let circuit = across(TEN).unwrap();
    let first = circuit.find_part("LS1").unwrap();
    let quad = catalogue.loudspeaker("Breakwater Quad").unwrap();
    let more = |join| {
        circuit
            .with_another_loudspeaker(first, quad.clone(), join)
            .unwrap()
    };
    let (parallel, series) = (more(Join::Parallel), more(Join::Series));
    close(
        nominal(&parallel),
        [16.0 / 3.0, 8.0, 20e3 / 3.0],
        "parallel",
    );
    close(nominal(&series), [24.0, 8.0, 30e3], "series");
    for more in [parallel, series] {
        let [one, two] = more.loudspeakers()[..] else {
            panic!("two loudspeakers");
        };
        assert_eq!(more.part(two).designator, "LS2");
        assert_eq!(more.output().loudspeaker, Some(one));
        let PartKind::Loudspeaker { between, .. } = more.part(one).kind else {
            panic!("a loudspeaker");
        };
        assert_eq!(between, [more.output().positive, more.output().negative]);
    }
    let resistor = circuit.find_part("R1").unwrap();
    let none = circuit.with_another_loudspeaker(resistor, quad.clone(), Join::Series);
    assert!(none.is_none());
}

const LAST: &str = "T1, line 13: has no loudspeaker left: an amp that is driven without one can break down its output transformer and its valves; leave one loudspeaker in, or fit another one first\n";

#[test]
fn the_last_loudspeaker_is_not_taken_out() {
    let one = across(TEN).unwrap();
    assert_eq!(change(&one, &["LS1=out"]).unwrap_err(), LAST);
    let unplugged = TEN.replace(" }", ", fitted = false }");
    assert_eq!(across(&unplugged).unwrap_err(), LAST);
    let extension = format!("{TEN}{}", unplugged.replace("LS1", "LS2"));
    let two = across(&extension).unwrap();
    close(nominal(&two), [8.0, 8.0, 10e3], "nothing in the extension");
    let both = change(&two, &["LS2=in"]).unwrap();
    close(nominal(&both), [4.0, 8.0, 5e3], "both");
    let other = change(&two, &["LS2=in", "LS1=out", "LS2=in"]).unwrap();
    close(nominal(&other), [8.0, 8.0, 10e3], "the other");
    assert_eq!(change(&both, &["LS1=out", "LS2=out"]).unwrap_err(), LAST);
    // In series either one is the last.
    let series = "LS1 = { loudspeaker = \"Tin Ten\", between = [\"spk\", \"m\"] }\nLS2 = { loudspeaker = \"Tin Ten\", between = [\"m\", \"gnd\"] }\n";
    assert_eq!(
        change(&across(series).unwrap(), &["LS2=out"]).unwrap_err(),
        LAST
    );
    // A dummy load in its place is a load.
    let dummy = format!("{TEN}R9 = {{ resistor = \"8\", between = [\"spk\", \"gnd\"] }}\n");
    assert!(change(&across(&dummy).unwrap(), &["LS1=out"]).is_ok());
    // It is written back and read again.
    let again = read(&engine::circuit::write(&two), &Catalogue::built_in()).unwrap();
    assert!(again.same_but_for_lines(&two));
}

#[test]
fn what_is_heard_is_what_is_connected() {
    let two = across(&format!(
        "{TEN}LS2 = {{ loudspeaker = \"Anvil Twelve\", between = [\"spk\", \"gnd\"] }}\n"
    ))
    .unwrap();
    let name = |circuit: &Circuit| loudspeaker_of(circuit).map(|l| l.name.clone());
    assert_eq!(name(&two).as_deref(), Some("Tin Ten"));
    let other = change(&two, &["LS1=out"]).unwrap();
    assert_eq!(name(&other).as_deref(), Some("Anvil Twelve"));
    let node = two.heard_between(two.output().positive, two.output().negative);
    assert_eq!(name(&node), None);
}

#[test]
fn loudspeakers_on_the_wrong_tap_are_a_warning() {
    let told = |circuit: &Circuit| -> Vec<String> {
        circuit.warnings().iter().map(|w| w.to_string()).collect()
    };
    let right = across(TEN).unwrap();
    assert_eq!(told(&right), Vec::<String>::new());
    let high = change(&right, &["LS1=Breakwater Quad"]).unwrap();
    assert_eq!(
        told(&high),
        [
            "warning: T1, line 13: is loaded with 16 Ω at taps that are meant for 8 Ω; use the tap that fits the loudspeakers, or see with check --load what it does"
        ]
    );
    let switched = across(
        "LS1 = { loudspeaker = \"Tin Ten\", between = [\"sw\", \"gnd\"] }\nSW1 = { switch = \"open\", between = [\"spk\", \"sw\"] }\n",
    );
    let told = told(&switched.unwrap()).join("\n");
    assert!(
        told.contains("warning: T1, line 13: has no load as the switches stand"),
        "{told}"
    );
}
