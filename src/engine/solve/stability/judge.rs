//! The judgements that the rest of the program asks for.

use super::cause::howl;
use super::count::walk;
use super::gm::transconductances;
use super::howl::Stability;
use super::margin::{Marginal, stages_near};
use super::pencil::Pencil;
use super::poles::poles;
use crate::circuit::Circuit;
use crate::network::{Network, Values};
use crate::solve::OperatingPoint;
use num_complex::Complex64;

/// The number of natural frequencies in the right half-plane, those of a complex pair counted singly;
/// none when it is in doubt. A few hundred factorings.
pub fn growing(network: &Network, values: &Values, point: &OperatingPoint) -> Option<usize> {
    walk(&Pencil::new(network, values, point)).inside
}

/// The natural frequencies in the right half-plane, rad/s, one of each complex pair, the fastest
/// growing first; none when their number is in doubt.
pub fn growing_at(
    network: &Network,
    values: &Values,
    point: &OperatingPoint,
) -> Option<Vec<Complex64>> {
    let pencil = Pencil::new(network, values, point);
    let walk = walk(&pencil);
    walk.inside.map(|inside| match inside {
        0 => Vec::new(),
        inside => poles(&pencil, &walk, inside),
    })
}

/// Whether the amp stays at rest, and if not, why. `values` and `point` belong to `circuit`.
pub fn stability(
    circuit: &Circuit,
    network: &Network,
    values: &Values,
    point: &OperatingPoint,
) -> Stability {
    let pencil = Pencil::new(network, values, point);
    let walk = walk(&pencil);
    let inside = match walk.inside {
        None => return Stability::InDoubt,
        Some(0) => return Stability::Stable,
        Some(inside) => inside,
    };
    let found = poles(&pencil, &walk, inside);
    let valves = transconductances(network, values, point);
    Stability::Unstable(howl(circuit, &pencil, &valves, found.first().copied()))
}

/// Stages whose loop is so near to oscillation that 3 dB or 15° more in them would start it; none for
/// an amp that does not stay at rest as it is.
pub fn marginal(
    circuit: &Circuit,
    network: &Network,
    values: &Values,
    point: &OperatingPoint,
) -> Vec<Marginal> {
    let pencil = Pencil::new(network, values, point);
    let valves = transconductances(network, values, point);
    stages_near(circuit, &pencil, &valves)
}
