//! The points of an amp that a meter can be held to: a row a node, with the names under which one
//! finds it and the volts that healthy amps read there.

use crate::advice::job::{Expected, pins, supply_nodes};
use crate::advice::readings::{AMPS, MAINS};
use crate::advice::spread::{SideSpread, SpreadReport, SpreadSettings, spread};
use crate::circuit::GROUND;
use crate::editor::analyses::reports::Request;
use crate::solve::solved::Both;
use crate::text::digits::fixed;

/// One point.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// What it is called in a file of readings: "V3 anode", or the node.
    pub point: String,
    /// Every name of it: "V3 anode (pin 7)".
    pub name: String,
    /// What it does there, or the type of the valve; may be empty.
    pub what: String,
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
    let amp = match request.solved_as_asked() {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault)),
    };
    let settings = SpreadSettings {
        amps: AMPS,
        mains: MAINS,
        ..SpreadSettings::default()
    };
    let drawn = spread(&amp, settings, go_on)?;
    let ground = &amp.as_found.circuit.nodes()[GROUND.0 as usize];
    let (supply, pins) = (supply_nodes(&amp, None), pins(&amp, None));
    let mut places: Vec<Vec<&Expected>> = Vec::new();
    for expected in supply.iter().chain(&pins) {
        if expected.node == *ground {
            continue;
        }
        match places.iter_mut().find(|p| p[0].node == expected.node) {
            Some(place) => place.push(expected),
            None => places.push(vec![expected]),
        }
    }
    let rows = places.iter().filter_map(|place| row(place, &drawn));
    Some(Ok(rows.collect()))
}

/// The row of one node.
fn row(place: &[&Expected], drawn: &SpreadReport) -> Option<Row> {
    let expected = *place.first()?;
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
        name: named(place),
        what: expected.what.clone(),
        node: expected.node.clone(),
        expected: Both {
            as_found: band(&drawn.as_found)?,
            proposed: band(proposed)?,
        },
    })
}

/// "V3 anode (pin 7)", "V2a, V2b cathode (pin 3 or 8)", "ht2 at C502; V5 cathode (pin 8)".
fn named(place: &[&Expected]) -> String {
    // Designators by what they have at this node: an electrode and its pin, or a clip.
    let mut groups: Vec<(String, Vec<&str>)> = Vec::new();
    for expected in place {
        let pin = expected.pin.map(|pin| format!(" (pin {pin})"));
        let electrode = expected.electrode.map(|electrode| electrode.name());
        let of = electrode.map_or(String::new(), |e| format!("{e}{}", pin.unwrap_or_default()));
        match groups.iter_mut().find(|(known, _)| *known == of) {
            Some((_, names)) => names.push(&expected.at),
            None => groups.push((of, vec![&expected.at])),
        }
    }
    let words = groups.iter().map(|(of, names)| match of.as_str() {
        "" => format!("{} at {}", place[0].node, names.join(", ")),
        of => format!("{} {of}", names.join(", ")),
    });
    words.collect::<Vec<_>>().join("; ")
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
