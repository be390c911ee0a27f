//! What the loudspeakers take: the impedances that watts rest on.

use crate::circuit::{PartId, PartKind};
use crate::device::Loudspeaker;
use crate::network::Network;
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Watts into all fitted loudspeakers over the mean square of the volts at the output, S by hertz;
/// none where the output is no loudspeaker.
pub fn siemens<'a>(
    network: &'a Network,
    side: &'a SolvedCircuit,
) -> Option<impl Fn(f64) -> f64 + 'a> {
    side.circuit.output().loudspeaker?;
    Some(|hz| shares(network, side, hz).iter().map(|share| share.1).sum())
}

/// How the watts into all fitted loudspeakers are shared out among them; nothing where nothing is
/// known.
pub fn shared_out(network: &Network, side: &SolvedCircuit, hz: f64) -> Vec<(PartId, f64)> {
    let mut shares = shares(network, side, hz);
    let whole: f64 = shares.iter().map(|share| share.1).sum();
    for (_, share) in &mut shares {
        *share = if whole > 0.0 { *share / whole } else { 0.0 };
    }
    shares
}

/// The part of each fitted loudspeaker in these watts, S.
///
/// One across other nodes than the output has volts that follow those of the output in the ratio
/// that a small signal shows: exactly so in series, and as well as windings couple at another tap.
pub fn shares(network: &Network, side: &SolvedCircuit, hz: f64) -> Vec<(PartId, f64)> {
    let circuit = &side.circuit;
    let output = circuit.output();
    let loudspeakers = circuit.loudspeakers().into_iter();
    let mut volts: Option<Vec<Complex64>> = None;
    let fitted = loudspeakers.filter(|&id| circuit.part(id).fitted);
    let share = |id: PartId| {
        let PartKind::Loudspeaker { driver, between } = &circuit.part(id).kind else {
            return None;
        };
        let siemens = (1.0 / impedance(driver, hz)).re;
        if *between == [output.positive, output.negative] {
            return Some((id, siemens));
        }
        let volts = volts
            .get_or_insert_with(|| SmallSignal::new(network, &side.values, &side.point).at(hz));
        let across = |[a, b]: [usize; 2]| (volts[a] - volts[b]).norm_sqr();
        let ratio = across(between.map(|node| network.position(node))) / across(network.output());
        // Where nothing comes through, nothing is known.
        Some((
            id,
            if ratio.is_finite() {
                ratio * siemens
            } else {
                0.0
            },
        ))
    };
    fitted.filter_map(share).collect()
}

/// Impedance of a driver, Ω, by the formula of [`Loudspeaker`].
pub fn impedance(driver: &Loudspeaker, hz: f64) -> Complex64 {
    let omega = TAU * hz;
    let coil = |henries: f64| Complex64::new(0.0, omega * henries);
    let lossy = if driver.lossy_henries > 0.0 && driver.lossy_ohms > 0.0 {
        1.0 / (1.0 / coil(driver.lossy_henries) + 1.0 / driver.lossy_ohms)
    } else {
        Complex64::ZERO
    };
    let motional = 1.0 / driver.motional_ohms()
        + Complex64::new(0.0, omega * driver.motional_farads())
        + 1.0 / coil(driver.motional_henries());
    driver.coil_ohms + coil(driver.coil_henries) + lossy + 1.0 / motional
}
