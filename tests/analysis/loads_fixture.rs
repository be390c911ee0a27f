//! A plain amp for the tests of loads: one triode into a transformer without flaws.
#![allow(dead_code)]

use engine::circuit::{Circuit, WrittenChange, read};
use engine::device::Catalogue;

/// One triode into a transformer without flaws, 10 kΩ to 8 Ω; `secondary` holds its taps and what
/// hangs on them.
pub fn plain(secondary: &str) -> Result<Circuit, String> {
    let text = format!(
        r#"
format = 1
[amp]
name = "Plain Load"
input = "in"
output = "LS1"
[parts]
HT = {{ supply = "250 V", node = "ht" }}
BIAS = {{ bias_supply = "-8.5 V", node = "b" }}
C1 = {{ capacitor = "10u", between = ["in", "g"] }}
R1 = {{ resistor = "1M", between = ["g", "b"] }}
V1a = {{ triode = "ECC82", anode = "a", grid = "g", cathode = "gnd" }}
T1 = {{ output_transformer = {{ primary = "10k", secondary = "8", inductance = "1000 H", leakage = "1u", leakage_damping = "22M", resistance = ["0.01", "0.01"], core_loss = "22M", winding_capacitance = "0.1p" }}, primary = ["a", "ht"], {secondary}
"#
    );
    read(&text, &Catalogue::built_in())
        .map_err(|faults| faults.iter().map(|f| format!("{f}\n")).collect())
}

/// Secondary without further taps, and these lines of parts.
pub fn across(lines: &str) -> Result<Circuit, String> {
    plain(&format!("secondary = [\"spk\", \"gnd\"] }}\n{lines}"))
}

pub const TEN: &str = "LS1 = { loudspeaker = \"Tin Ten\", between = [\"spk\", \"gnd\"] }\n";

pub fn change(circuit: &Circuit, changes: &[&str]) -> Result<Circuit, String> {
    let changes: Vec<WrittenChange> = changes.iter().map(|c| c.parse().unwrap()).collect();
    circuit
        .with_written_changes(&changes, &Catalogue::built_in())
        .map_err(|faults| faults.iter().map(|f| format!("{f}\n")).collect())
}
