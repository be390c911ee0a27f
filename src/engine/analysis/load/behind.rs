//! What stands behind the loudspeaker: the impedance of the amp as it sees it.

use crate::analysis::drive::impedance;
use crate::circuit::PartKind;
use crate::network::Network;
use crate::network::assemble::empty_vector;
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;
use num_complex::Complex64;

/// Where damping is taken, Hz: above the resonance of loudspeakers, below their coil's rise.
pub const DAMPING_HZ: f64 = 400.0;

/// Impedance that the loudspeaker which is heard finds behind it, Ω: the amp and whatever else is
/// connected. None where the output is no loudspeaker.
pub fn behind_loudspeaker(network: &Network, side: &SolvedCircuit, hz: f64) -> Option<Complex64> {
    let part = side.circuit.part(side.circuit.output().loudspeaker?);
    let PartKind::Loudspeaker { driver, .. } = &part.kind else {
        return None;
    };
    let [positive, negative] = network.output();
    let mut current = empty_vector::<Complex64>(network);
    current[positive] += Complex64::ONE;
    current[negative] -= Complex64::ONE;
    let linear = SmallSignal::new(network, &side.values, &side.point);
    let volts = linear.driven(hz, current);
    let all = (volts[positive] - volts[negative]).inv();
    let own = match part.fitted {
        true => impedance(driver, hz).inv(),
        false => Complex64::ZERO,
    };
    Some((all - own).inv())
}
