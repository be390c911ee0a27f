//! Typed readings against healthy amps, as a background task does it: what cannot be read is told
//! row by row and left out, the rest is compared; and what the next round would start from.

use crate::advice::readings::{AsFound, MeasuredReport, as_found, measured};
use crate::circuit::{self, Change, Circuit, Diagnostic, Readings};
use crate::editor::analyses::reports::Request;
use crate::editor::view::Typed;
use crate::solve::solved::SolvedAmp;
use std::sync::Arc;

/// What was asked: which side the readings are compared with, and the readings.
#[derive(Clone, Debug, PartialEq)]
pub struct ReadingsRequest {
    /// With the amp as proposed, after the work; else as found.
    pub left: bool,
    /// The readings, those without a word left out.
    pub typed: Vec<Typed>,
}

/// What came of it.
#[derive(Clone, Debug)]
pub struct Compared {
    /// What cannot be read: the point, and why, in a sentence; an empty point for all of them.
    pub faults: Vec<(String, String)>,
    /// The report; none where nothing could be read.
    pub report: Option<MeasuredReport>,
    /// The values of the next round, and the circuit file with the supplies changed to them; none
    /// where nothing could be read.
    pub next: Option<(AsFound, Option<String>)>,
}

/// Compares. None when it is called off.
///
/// # Errors
/// A sentence when the circuit has no solution.
pub fn compare(
    request: &Request,
    asked: &ReadingsRequest,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Result<Compared, String>> {
    let circuit = match request.circuits() {
        Ok(circuits) if asked.left => circuits.proposed,
        Ok(circuits) => circuits.as_found,
        Err(fault) => return Some(Err(fault)),
    };
    let (readings, faults) = read(&asked.typed, &circuit);
    let Some(readings) = readings else {
        return Some(Ok(Compared {
            faults,
            report: None,
            next: None,
        }));
    };
    let with = if asked.left { "as left" } else { "as found" };
    let network = Arc::clone(request.amp.network());
    let amp = match SolvedAmp::with_network(network, &circuit, None) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.to_string())),
    };
    let report = match measured(&circuit, &readings, with, &amp, go_on)? {
        Ok(report) => report,
        Err(fault) => return Some(Err(fault.to_string())),
    };
    let next = as_found(&amp, &readings);
    let supplies = supplies(request, &next);
    let text = (!supplies.is_empty()).then(|| {
        let amp = &request.amp;
        circuit::edit(amp.text(), &supplies, &[], amp.catalogue()).ok()
    });
    Some(Ok(Compared {
        faults,
        report: Some(report),
        next: Some((next, text.flatten())),
    }))
}

/// The changes that no adjustable of the window can take: the supplies.
fn supplies(request: &Request, next: &AsFound) -> Vec<Change> {
    let changes = next.proposal.changes.iter();
    let loose = changes.filter(|change| !request.amp.adjusts(change));
    loose.cloned().collect()
}

/// Reads what can be read; the faults beside the points that they are of.
fn read(typed: &[Typed], circuit: &Circuit) -> (Option<Readings>, Vec<(String, String)>) {
    let mut readings = Readings::none();
    let mut faults = Vec::new();
    for (index, row) in typed.iter().enumerate() {
        let added = readings.add(circuit, &row.point, row.volts.trim(), index + 1);
        let found = added.err().into_iter().flatten();
        faults.extend(found.map(|fault| (row.point.clone(), in_words(&fault, &row.point))));
    }
    ((!readings.volts.is_empty()).then_some(readings), faults)
}

/// A fault without its line, which nobody sees here, and without its point, which is told before.
fn in_words(fault: &Diagnostic, point: &str) -> String {
    let message = fault.message.as_str();
    let message = message
        .strip_prefix(point)
        .and_then(|rest| rest.strip_prefix(": "))
        .unwrap_or(message);
    match fault.remedy.as_str() {
        "" => format!("{message}."),
        remedy => format!("{message}; {remedy}."),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::device::Catalogue;

    fn typed(point: &str, volts: &str) -> Typed {
        Typed {
            point: point.into(),
            volts: volts.into(),
        }
    }

    #[test]
    fn what_cannot_be_read_is_left_out_and_told_beside_its_point() {
        let catalogue = Catalogue::built_in();
        let text = circuit::built_in_circuit("bradawl").unwrap().text;
        let circuit = circuit::read(text, &catalogue).unwrap();
        let rows = [
            typed("V3 anode", "4 kV"),
            typed("V3 cathode\"]\n[parts]\nR1", "3"),
            typed("V4 anode", " 301 "),
            typed("V4 screen", "a lot"),
        ];
        let (readings, faults) = read(&rows, &circuit);
        let readings = readings.expect("one is sound");
        assert_eq!(readings.volts.len(), 1);
        assert_eq!(readings.volts[0].volts, 301.0);
        assert!(readings.parts.is_empty());
        let of: Vec<&str> = faults.iter().map(|(point, _)| point.as_str()).collect();
        assert_eq!(of.len(), 3, "{faults:?}");
        assert!(of.contains(&"V3 anode") && of.contains(&"V4 screen"));
        let (none, faults) = read(&rows[..1], &circuit);
        assert!(none.is_none() && faults.len() == 1, "{faults:?}");
    }
}
