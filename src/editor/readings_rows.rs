//! The points of an amp that a meter can be held to: a row a node, with the names under which one
//! finds it and the volts that healthy amps read there.

use super::panels::anything_proposed;
use super::work::Request;
use crate::analysis::at_rest::{AtRest, Both};
use crate::analysis::digits::fixed;
use crate::analysis::job::{Expected, pins, supply_nodes};
use crate::analysis::measured::{AMPS, MAINS};
use crate::analysis::spread::{SideSpread, SpreadReport, SpreadSettings, spread};
use crate::circuit::GROUND;

/// One point.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is called in a file of readings: "V3 anode", or the node.
    pub point: String,
    /// Every name of it: "V3 anode (pin 7)".
    pub name: String,
    /// Node of the circuit file.
    pub node: String,
    /// Lowest and highest volts that 98 of 100 healthy amps read there.
    pub expected: Both<[f64; 2]>,
}

/// All of them: the supply first, then the valves. None when it is called off.
///
/// # Errors
/// A sentence when the circuit has no solution.
pub fn rows(
    request: &Request,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Result<Vec<Row>, String>> {
    let circuits = match request.circuits() {
        Ok(circuits) => circuits,
        Err(fault) => return Some(Err(fault)),
    };
    let proposed = anything_proposed(request).then_some(&circuits.proposed);
    let settings = SpreadSettings {
        amps: AMPS,
        mains: MAINS,
        ..SpreadSettings::default()
    };
    let drawn = match spread(&circuits.as_found, proposed, settings, go_on)? {
        Ok(drawn) => drawn,
        Err(fault) => return Some(Err(fault.to_string())),
    };
    let amp = match AtRest::new(&circuits.as_found, proposed) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.to_string())),
    };
    let ground = &circuits.as_found.nodes()[GROUND.0 as usize];
    let mut rows: Vec<Row> = Vec::new();
    for expected in supply_nodes(&amp, None).iter().chain(&pins(&amp, None)) {
        if expected.node == *ground {
            continue;
        }
        let name = named(expected);
        match rows.iter_mut().find(|row| row.node == expected.node) {
            Some(row) => row.name = format!("{}; {name}", row.name),
            None => rows.extend(row(expected, name, &drawn)),
        }
    }
    Some(Ok(rows))
}

fn row(expected: &Expected, name: String, drawn: &SpreadReport) -> Option<Row> {
    let band = |side: &SideSpread| {
        let band = side.nodes.get(&expected.node)?;
        Some([band.p1, band.p99])
    };
    let proposed = drawn.proposed.as_ref().unwrap_or(&drawn.as_found);
    Some(Row {
        point: match expected.electrode {
            // A rectifier's cathode is known by its node.
            Some(electrode) if drawn.as_found.valves.get(&expected.at).is_some() => {
                format!("{} {}", expected.at, electrode.name())
            }
            _ => expected.node.clone(),
        },
        name,
        node: expected.node.clone(),
        expected: Both {
            as_found: band(&drawn.as_found)?,
            proposed: band(proposed)?,
        },
    })
}

fn named(expected: &Expected) -> String {
    let pin = expected.pin.map(|pin| format!(" (pin {pin})"));
    let pin = pin.unwrap_or_default();
    match expected.electrode {
        Some(electrode) => format!("{} {}{pin}", expected.at, electrode.name()),
        None if expected.what.is_empty() => format!("{} at {}", expected.node, expected.at),
        None => format!("{} at {}, {}", expected.node, expected.at, expected.what),
    }
}

/// A band as a meter shows it: "285 to 310", "−12.1 to −10.4".
pub fn band_in_words([low, high]: [f64; 2]) -> String {
    let places = match low.abs().max(high.abs()) {
        most if most < 9.95 => 2,
        most if most < 99.5 => 1,
        _ => 0,
    };
    let (low, high) = (fixed(low, places), fixed(high, places));
    match low == high {
        true => low,
        false => format!("{low} to {high}"),
    }
}

#[cfg(test)]
mod tests {
    use super::band_in_words;

    #[test]
    fn bands_have_the_digits_of_a_meter() {
        assert_eq!(band_in_words([284.6, 310.2]), "285 to 310");
        assert_eq!(band_in_words([-12.13, -10.42]), "−12.1 to −10.4");
        assert_eq!(band_in_words([1.2, 1.567]), "1.20 to 1.57");
        assert_eq!(band_in_words([-0.0001, 0.0002]), "0.00");
    }
}
