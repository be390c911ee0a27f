//! What a change does besides the response: valves that draw another current at rest, another
//! source resistance behind the loudspeaker.

use crate::analysis::load::{DAMPING_HZ, behind_loudspeaker};
use crate::analysis::voltages::reading;
use crate::circuit::{NodeId, PartId};
use crate::network::Network;
use crate::network::assemble::port_volts;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::text::digits::{percent, significant};

/// A current that moves by less than this share is not worth a word: meters and valves differ by
/// more.
const LEAST_CURRENT_SHARE: f64 = 0.03;
/// The same for what stands behind the loudspeaker.
const LEAST_DAMPING_SHARE: f64 = 0.2;

/// Anode current of each valve, A, in the order of the network's positions.
fn anode_amps(network: &Network, side: &SolvedCircuit) -> Vec<(PartId, f64)> {
    let devices = network.devices();
    let ports = port_volts(network, &side.point.solution);
    let laws = &side.values.devices;
    let triodes = devices.triodes.iter().zip(&laws.triodes).zip(&ports);
    let triodes =
        triodes.map(|((site, v), p)| (site.part, v.present * v.law.currents(p[0], p[1]).anode));
    let behind = &ports[devices.triodes.len()..];
    let pentodes = devices.pentodes.iter().zip(&laws.pentodes).zip(behind);
    let pentodes = pentodes.map(|((site, v), p)| {
        let amps = v.law.currents(p[0], p[1], p[2]).anode;
        (site.part, v.present * amps)
    });
    triodes.chain(pentodes).collect()
}

/// "V3 and V4 draw 33 mA instead of 41 mA": the valves whose anode current moves most, if by
/// enough.
pub fn currents(amp: &SolvedAmp, other: &SolvedCircuit) -> Option<String> {
    let before = anode_amps(&amp.network, &amp.as_found);
    let after = anode_amps(&amp.network, other);
    let moved = |(a, b): (&(_, f64), &(_, f64))| ((b.1 - a.1) / a.1.abs().max(1e-6)).abs();
    let pairs = before.iter().zip(&after);
    let (most, share) = pairs
        .clone()
        .map(moved)
        .enumerate()
        .max_by(|a, b| a.1.total_cmp(&b.1))?;
    if share < LEAST_CURRENT_SHARE {
        return None;
    }
    let shown = |amps: f64| format!("{} mA", significant(1e3 * amps, 2));
    let texts = [before[most].1, after[most].1].map(shown);
    if texts[0] == texts[1] {
        return None;
    }
    // Others that read alike move with it.
    let names: Vec<&str> = pairs
        .filter(|(a, b)| [a.1, b.1].map(shown) == texts)
        .map(|(a, _)| amp.as_found.circuit.part(a.0).designator.as_str())
        .collect();
    let (names, verb) = match &names[..] {
        [one] => ((*one).to_string(), "draws"),
        [rest @ .., last] => (format!("{} and {last}", rest.join(", ")), "draw"),
        [] => return None,
    };
    let [was, is] = texts;
    let limit = over_limit(amp, other, after[most].0);
    Some(format!("{names} {verb} {is} instead of {was}{limit}"))
}

/// " (190 % of the anode limit, as found 107 %)", if it is exceeded.
fn over_limit(amp: &SolvedAmp, other: &SolvedCircuit, valve: PartId) -> String {
    let share = |side: &SolvedCircuit| {
        let at = |node: NodeId| side.point.solution[amp.network.position(node)];
        reading(side.circuit.part(valve), &at)?.anode_percent
    };
    match (share(&amp.as_found), share(other)) {
        (Some(was), Some(is)) if is > 100.0 => format!(
            " ({} of the anode limit, as found {})",
            percent(is),
            percent(was)
        ),
        _ => String::new(),
    }
}

/// "less damping (12 Ω behind the loudspeaker instead of 6 Ω)", if it moves by enough.
pub fn damping(amp: &SolvedAmp, other: &SolvedCircuit) -> Option<String> {
    let ohms = |side| Some(behind_loudspeaker(&amp.network, side, DAMPING_HZ)?.norm());
    let was: f64 = ohms(&amp.as_found)?;
    let is: f64 = ohms(other)?;
    let shown = |ohms: f64| format!("{} Ω", significant(ohms, 2));
    let more = if is < was { "more" } else { "less" };
    ((is / was - 1.0).abs() >= LEAST_DAMPING_SHARE).then(|| {
        format!(
            "{more} damping ({} behind the loudspeaker instead of {})",
            shown(is),
            shown(was)
        )
    })
}
