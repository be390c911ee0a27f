//! What a network holds that no line of the circuit file states.

use super::build::SCREEN_FARADS;
use crate::circuit::{Circuit, PartKind};

/// One sentence for each thing that is supplied.
pub fn assumed(circuit: &Circuit) -> Vec<String> {
    let of = |wanted: fn(&PartKind) -> bool| -> String {
        let names: Vec<&str> = circuit
            .parts()
            .iter()
            .filter(|p| wanted(&p.kind))
            .map(|p| p.designator.as_str())
            .collect();
        names.join(", ")
    };
    let valves = of(|k| matches!(k, PartKind::Triode { .. } | PartKind::Pentode { .. }));
    let pentodes = of(|k| matches!(k, PartKind::Pentode { .. }));
    let mut out = Vec::new();
    if !valves.is_empty() {
        out.push(format!(
            "{valves}: the capacitances between the electrodes are those of the data sheets; wiring adds none."
        ));
    }
    if !pentodes.is_empty() {
        let picofarads = 1e12 * SCREEN_FARADS;
        out.push(format!(
            "{pentodes}: {picofarads:.0} pF from screen to cathode is assumed."
        ));
    }
    out
}
