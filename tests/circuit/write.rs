//! Canonical text: what is written reads as the same circuit, for random circuits too.

use engine::circuit::{self, Circuit};
use engine::device::{Catalogue, RectifierType};
use engine::units::Quantity;
use proptest::prelude::*;
use std::fmt::Write;

fn catalogue() -> Catalogue {
    let mut catalogue = Catalogue::built_in();
    catalogue.rectifiers.push(
        RectifierType {
            name: "RECT1".into(),
            perveance: Some(1e-3),
            limits: Default::default(),
            provenance: "invented for tests".into(),
        }
        .into(),
    );
    catalogue
}

#[track_caller]
fn check(text: &str) {
    let read = |text: &str| -> Circuit {
        circuit::read(text, &catalogue()).unwrap_or_else(|faults| {
            let told: String = faults.iter().map(|f| format!("{f}\n")).collect();
            panic!("{told}\n{text}")
        })
    };
    let circuit = read(text);
    let written = circuit::write(&circuit);
    let again = read(&written);
    assert!(again.same_but_for_lines(&circuit), "{text}\n{written}");
    assert_eq!(circuit::write(&again), written);
}

#[test]
fn test_circuits() {
    check(include_str!("../circuits/one_triode.toml"));
    check(include_str!("../circuits/two_stages.toml"));
    check(include_str!("../circuits/push_pull.toml"));
}

#[test]
fn one_line_is_canonical() {
    let text = include_str!("../circuits/one_triode.toml").replace(
        "\"1M\", between = [\"in\", \"gnd\"]",
        "1000000, between = [\"in\", \"Earth\"], near = \"tag 3\"",
    );
    let circuit = circuit::read(&text, &catalogue()).expect("valid");
    let written = circuit::write(&circuit);
    assert_eq!(
        written.lines().find(|l| l.starts_with("R2 ")),
        Some(
            "R2 = { resistor = \"1M\", between = [\"in\", \"gnd\"], stage = \"Input\", role = \"grid leak\", near = \"tag 3\" }"
        )
    );
}

/// A random circuit: `parts` of random kinds among a few nodes, each node with two leaks.
fn circuit_text() -> impl Strategy<Value = String> {
    let part = (0usize..13, any::<[u8; 6]>(), any::<[u16; 4]>());
    (prop::collection::vec(part, 1..30), "\\PC{0,20}", any::<bool>()).prop_map(
        |(parts, about, lists)| {
            let mut text = format!(
                "format = 1\n[amp]\nname = \"Random\"\nabout = {}\ninput = \"n0\"\noutput = {}\n[parts]\n",
                toml_edit::Value::from(about),
                if lists { "[\"n1\", \"n2\"]" } else { "\"n2\"" },
            );
            for node in 0..8 {
                for leak in 0..2 {
                    let _ = writeln!(
                        text,
                        "R9{node}{leak} = {{ resistor = \"1M\", between = [\"n{node}\", \"gnd\"] }}"
                    );
                }
            }
            for (index, (kind, bytes, words)) in parts.into_iter().enumerate() {
                let line = part_text(index, kind, bytes, words);
                let _ = writeln!(text, "{line}");
            }
            text
        },
    )
}

/// Bytes and words that a random part is made of.
struct Drawn {
    b: [u8; 6],
    w: [u16; 4],
}

impl Drawn {
    fn node(&self, i: usize) -> String {
        format!("\"n{}\"", (self.b[0] as usize + i) % 8)
    }

    /// A value from the whole range of a quantity.
    fn value(&self, q: Quantity, i: usize) -> String {
        let (least, greatest) = q.range();
        let t = f64::from(self.w[i]) / 65535.0;
        let value = if least > 0.0 {
            (least * (greatest / least).powf(t)).clamp(least, greatest)
        } else {
            least + (greatest - least) * t
        };
        format!("\"{}\"", q.format(value))
    }

    /// Bit by bit, whether an optional key is stated.
    fn option(&self, bit: u8, key: &str, value: String) -> String {
        if self.b[1] >> bit & 1 == 1 {
            format!(", {key} = {value}")
        } else {
            String::new()
        }
    }

    fn between(&self) -> String {
        format!("between = [{}, {}]", self.node(0), self.node(1))
    }

    fn rated(&self) -> String {
        self.option(0, "rated", self.value(Quantity::RatedPower, 1))
            + &self.option(1, "tolerance", self.value(Quantity::Tolerance, 2))
            + &self.option(2, "fitted", (self.b[2] & 1 == 0).to_string())
    }

    fn winding_ohms(&self) -> String {
        let winding = self.value(Quantity::WindingResistance, 1);
        self.option(6, "winding_resistance", winding)
    }

    fn source_ohms(&self) -> String {
        match self.w[1] < 2000 {
            true => ", resistance = 1".into(),
            false => format!(
                ", resistance = {}",
                self.value(Quantity::SourceResistance, 1)
            ),
        }
    }

    fn pot(&self, index: usize) -> String {
        let tapers = ["\"linear\"", "\"log\"", "\"reverse\""];
        format!(
            "pot = {}, from = {}, to = {}, wiper = {}{}{}{}{}",
            self.value(Quantity::Resistance, 0),
            self.node(0),
            self.node(1),
            self.node(self.b[3] as usize),
            self.option(6, "taper", tapers[self.b[4] as usize % 3].into()),
            self.option(7, "set", self.value(Quantity::Share, 3)),
            self.option(1, "control", format!("\"Knob {index}\"")),
            self.rated(),
        )
    }

    fn output_transformer(&self) -> String {
        let share = f64::from(self.w[2] % 900) / 1000.0 + 0.05;
        let winding = self.value(Quantity::WindingResistance, 1);
        format!(
            "output_transformer = {{ primary = {}, secondary = \"8\"{}{}{}{}{}{} }}, primary = [{}, {}, {}], secondary = [{}, \"gnd\"]{}",
            self.value(Quantity::Impedance, 0),
            self.option(6, "inductance", self.value(Quantity::Inductance, 1)),
            self.option(7, "leakage", self.value(Quantity::Inductance, 2)),
            self.option(0, "leakage_damping", self.value(Quantity::Resistance, 2)),
            self.option(1, "core_loss", self.value(Quantity::Resistance, 3)),
            self.option(
                2,
                "winding_capacitance",
                self.value(Quantity::Capacitance, 3)
            ),
            self.option(3, "resistance", format!("[{winding}, {winding}]")),
            self.node(0),
            self.node(1),
            self.node(2),
            self.node(3),
            self.option(4, "primary_shares", format!("[0, {share}, 1]")),
        )
    }

    /// The part of one of thirteen kinds, without what every kind may have.
    fn part(&self, index: usize, kind: usize) -> String {
        let (node, value) = (|i| self.node(i), |q| self.value(q, 0));
        let (between, rated) = (self.between(), self.rated());
        let (winding_ohms, source_ohms) = (self.winding_ohms(), self.source_ohms());
        match kind {
            0 => format!(
                "resistor = {}, {between}{rated}",
                value(Quantity::Resistance)
            ),
            1 => format!(
                "capacitor = {}, {between}{rated}",
                value(Quantity::Capacitance)
            ),
            2 => format!(
                "inductor = {}, {between}{winding_ohms}{rated}",
                value(Quantity::Inductance)
            ),
            3 => self.pot(index),
            4 => {
                let state = if self.b[2] & 1 == 0 { "open" } else { "closed" };
                format!("switch = \"{state}\", {between}")
            }
            5 => format!(
                "triode = \"ECC83\", anode = {}, grid = {}, cathode = {}",
                node(0),
                node(1),
                node(2)
            ),
            6 => format!(
                "pentode = \"EL84\", anode = {}, screen = {}, grid = {}, cathode = {}",
                node(0),
                node(self.b[3] as usize),
                node(1),
                node(2)
            ),
            7 => format!(
                "rectifier = \"RECT1\", winding = {}, to = {}{winding_ohms}{}",
                value(Quantity::WindingVoltage),
                node(0),
                self.option(7, "from", node(1)),
            ),
            8 => self.output_transformer(),
            9 => format!("loudspeaker = \"Tin Ten\", {between}"),
            10 => format!(
                "supply = {}, node = {}{source_ohms}",
                value(Quantity::SupplyVoltage),
                node(0)
            ),
            11 => format!(
                "bias_supply = {}, node = {}{source_ohms}",
                value(Quantity::BiasVoltage),
                node(0)
            ),
            _ => format!(
                "voltage_source = {}, {between}{source_ohms}",
                value(Quantity::SourceVoltage)
            ),
        }
    }
}

fn part_text(index: usize, kind: usize, b: [u8; 6], w: [u16; 4]) -> String {
    let drawn = Drawn { b, w };
    let own = drawn.part(index, kind);
    let common = drawn.option(3, "stage", "\"Stage\"".into())
        + &drawn.option(4, "role", "\"a \\\"role\\\" 'of' its own\"".into())
        + &drawn.option(5, "near", "\"tag\"".into());
    format!("X{index} = {{ {own}{common} }}")
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(500))]

    #[test]
    fn random_circuits(text in circuit_text()) {
        check(&text);
    }
}
