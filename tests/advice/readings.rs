//! Files of readings: points and values as one would type them, and every fault at once with line,
//! value, allowed range and remedy.

use engine::circuit::{self, Circuit, Readings, read_readings};
use engine::device::Catalogue;
use proptest::prelude::*;

fn amp() -> Circuit {
    let amp = circuit::built_in_circuit("bradawl").expect("a built-in amp");
    circuit::read(amp.text, &Catalogue::built_in()).expect("a sound file")
}

fn read(text: &str) -> Result<Readings, Vec<String>> {
    read_readings(text.as_bytes(), &amp(), &Catalogue::built_in())
        .map_err(|faults| faults.iter().map(ToString::to_string).collect())
}

/// Faults of a file whose readings are these lines, the first being line 3.
fn faults(lines: &str) -> Vec<String> {
    read(&format!("format = 1\n[readings]\n{lines}\n")).expect_err("faults")
}

#[test]
fn points_may_be_nodes_pins_and_tables_of_pins() {
    let readings = read(
        "format = 1\n[measured]\nfor = \"Bradawl 15\"\nmeter = \"11M\"\nmeter_tolerance = \"0.5%\"\n\
         [readings]\nht2 = \"295 V\"\n\"V3 anode\" = 298\n\"v1A cathode\" = 1.27\n\
         V2a = { grid = 62, cathode = \"64,1 V\" }\n\"V4 grid\" = -10.2\nneg = \"-24600 mV\"\n",
    );
    let readings = readings.expect("a sound file");
    let amp = amp();
    let row: Vec<(&str, f64, f64)> = readings
        .volts
        .iter()
        .map(|r| (amp.nodes()[r.node.0 as usize].as_str(), r.volts, r.step))
        .collect();
    assert_eq!(
        row,
        [
            ("ht2", 295.0, 1.0),
            ("a5", 298.0, 1.0),
            ("k1", 1.27, 0.01),
            ("g3", 62.0, 1.0),
            ("k3", 64.1, 0.1),
            ("g6", -10.2, 0.1),
            ("neg", -24.6, 0.001),
        ]
    );
    assert_eq!(
        (readings.meter.ohms, readings.meter.tolerance),
        (11e6, 0.005)
    );
}

#[test]
fn every_fault_is_told_at_once() {
    let told = faults(
        "a11 = 100\n\"V3 anode\" = 4000\n\"V3 screen\" = nan\nneg = -25\n\"V1 anode\" = 135\n\
         \"V4 heater\" = 6.3\ngnd = 0\n\"V4 cathode\" = 0\nht2 = \"lots\"\n\
         ht3 = 250\nHT3 = 251\n\"V1a screen\" = 1\nht1 = [1, 2]",
    );
    assert_eq!(
        told,
        [
            "line 3: a11 is not a point of this circuit; did you mean a1?",
            "line 4: V3 anode: 4000 V is outside -1000 V to 1000 V; look at the meter's range and at the decimal point",
            "line 5: V3 screen: \"nan\" is not a reading; write it like \"280 V\"",
            "line 7: V1 anode could be either half of V1; write V1a anode or V1b anode",
            "line 8: V4 heater is not a pin of V4; write anode, screen, grid or cathode after a valve's designator",
            "line 9: gnd is ground, which reads 0 V; leave it out: all readings are to ground",
            "line 10: V4 cathode is ground, which reads 0 V; leave it out: all readings are to ground",
            "line 11: ht2: \"lots\" is not a reading; write it like \"280 V\"",
            "line 13: HT3 is the same point as ht3 on line 12; keep one of the two readings",
            "line 14: V1a screen is not a pin of V1a; write anode, screen, grid or cathode after a valve's designator",
            "line 15: ht1: not a reading; write one value",
        ]
    );
}

#[test]
fn parts_and_head_have_their_faults_too() {
    let told = read(
        "format = 1\n[measured]\nmetre = 1\nmeter = \"5 Ω\"\n[parts]\n\nR999 = \"10k\"\n\
         R505 = \"0\"\nr505 = \"12k\"\nR103 = \"-150k\"\n[voltages]\n",
    )
    .expect_err("faults");
    let told = told.join("\n");
    for fault in [
        "line 3: metre is not a known key; did you mean meter?",
        "line 4: meter: 5 Ω is outside 10 kΩ to 1000 MΩ; state a value within it",
        "R999, line 7: is not a part of this circuit",
        "R505, line 8: 0 Ω is outside 0.1 Ω to 22 MΩ; state a value within it",
        "r505, line 9: was measured on line 8 already; keep one of the two",
        "R103, line 10: ",
        "line 11: voltages is not a known key",
    ] {
        assert!(told.contains(fault), "{fault}\n{told}");
    }
    assert_eq!(
        read("format = 1\n").expect_err("nothing"),
        ["nothing was measured; write volts under [readings], or parts under [parts]"]
    );
    assert_eq!(
        read("[readings]\nht1 = 1\nht1 = 2\n")
            .expect_err("a key twice")
            .len(),
        2
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 300, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever is typed, reading it ends with readings in range or with faults.
    #[test]
    fn nothing_typed_does_harm(point in "[a-zA-Z0-9 .\"=\\[\\]{}]{0,16}", value in "[-+0-9a-zA-Z., \"µ]{0,12}") {
        for text in [
            format!("format = 1\n[readings]\n{point} = {value}\n"),
            format!("format = 1\n[readings]\n\"{point}\" = \"{value}\"\n"),
            format!("format = 1\n[parts]\n{point} = \"{value}\"\n[readings]\nht1 = {value}\n"),
        ] {
            if let Ok(readings) = read(&text) {
                prop_assert!(readings.volts.iter().all(|r| r.volts.abs() <= 1000.0 && r.step > 0.0));
            }
        }
    }
}
