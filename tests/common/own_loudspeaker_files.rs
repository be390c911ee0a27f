//! Circuit files that bring a loudspeaker of their own, for the tests of it: a copy of a built-in
//! one under another name, and an invented one that is like none of them.
#![allow(dead_code)]

use engine::circuit::{Circuit, built_in_circuit, read};
use engine::device::Catalogue;
use engine::device::catalogue::LOUDSPEAKER_FILES;

/// Invented: a driver with a low, sharp resonance and few ohms, as no built-in one has.
pub const FERRY: &str = r#"
[[loudspeaker]]
name = "Ferry Eight"
about = "Invented for tests."
rated_ohms = 4
coil_ohms = 3.4 # as a meter shows it
coil_henries = 0.1e-3
lossy_henries = 0.3e-3
lossy_ohms = 7
resonance_hz = 61.5
mechanical_q = 4
electrical_q = 0.6
rated_watts = 15
acoustic = [
    { low_cut = { hz = 90, q = 0.8 } },
    { open_back = { hz = 150 } },
    # The cone's first break-up.
    { peak = { hz = 1800, q = 2.5, db = 7 } },
    { shelf = { hz = 2500, db = -4.5 } },
    { roll_off = { hz = 4200, q = 0.9 } },
]
"#;

/// The same with nothing but what a data sheet says.
pub const SHEET: &str = r#"
[[loudspeaker]]
name = "Plain Ten"
rated_ohms = 8
coil_ohms = 6.2
coil_henries = 0.5e-3
resonance_hz = 88
mechanical_q = 6
electrical_q = 0.9
rated_watts = 30
"#;

/// A table that is a built-in loudspeaker under another name: the text of its file.
pub fn copy(of: &str, name: &str) -> String {
    let line = format!("name = \"{of}\"");
    let (_, text) = LOUDSPEAKER_FILES
        .iter()
        .find(|(_, text)| text.contains(&line))
        .expect("a built-in loudspeaker");
    let renamed = text.replacen(&line, &format!("name = \"{name}\""), 1);
    format!("\n[[loudspeaker]]\n{renamed}")
}

/// A built-in amp's file with tables after it.
pub fn amp(key: &str, tables: &[&str]) -> String {
    let text = built_in_circuit(key).expect("a built-in amp").text;
    format!("{text}\n{}", tables.concat())
}

/// The circuit of a text.
#[track_caller]
pub fn circuit(text: &str) -> Circuit {
    read(text, &Catalogue::built_in()).unwrap_or_else(|faults| {
        let told: String = faults.iter().map(|f| format!("{f}\n")).collect();
        panic!("{told}")
    })
}
