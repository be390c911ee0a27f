//! Matrix and right-hand side in plain `f64`, shared by every solve that is not in a hurry.

use super::devices::{rectifier_tangent, stamp_pentode, stamp_rectifier, stamp_triode};
use super::{Companion, DeviceValues, LEAST_SIEMENS, Network};
use crate::numeric::real::Field;

/// A matrix of `network`'s pattern with a slot more for ground, filled with zeros.
pub fn empty_matrix<T: Field>(network: &Network) -> Vec<T> {
    vec![T::ZERO; network.program().slots() + 1]
}

/// A right-hand side or solution with an entry more for ground, filled with zeros.
pub fn empty_vector<T: Field>(network: &Network) -> Vec<T> {
    vec![T::ZERO; network.unknowns() + 1]
}

/// Adds what every matrix holds besides branches and devices: the leak to ground and the jack.
pub fn stamp_fixed<T: Field>(network: &Network, leak: impl Fn(f64) -> T, matrix: &mut [T]) {
    let program = network.program();
    for position in 0..program.unknowns() {
        let unknown = program.unknown_at(position);
        let slot = program
            .slot(unknown, unknown)
            .expect("the diagonal is in the pattern");
        let jack = if position == network.input() {
            network.input_siemens()
        } else {
            0.0
        };
        matrix[slot] += leak(LEAST_SIEMENS + jack);
    }
}

/// Adds `siemens(branch number)` of every branch.
pub fn stamp_branches<T: Field>(
    network: &Network,
    siemens: impl Fn(usize) -> T,
    number: impl Fn(f64) -> T,
    matrix: &mut [T],
) {
    for (index, branch) in network.branches().iter().enumerate() {
        let g = siemens(index);
        for &(slot, coefficient) in &branch.stamp {
            matrix[slot] += g * number(coefficient);
        }
    }
}

/// The linear part for a set of companions.
pub fn linear_matrix(network: &Network, companions: &[Companion]) -> Vec<f64> {
    let mut matrix = empty_matrix(network);
    linear_matrix_into(network, companions, &mut matrix);
    matrix
}

/// [`linear_matrix`] into storage of the size of [`empty_matrix`].
///
/// # Real-time
/// Allocates nothing.
pub fn linear_matrix_into(network: &Network, companions: &[Companion], matrix: &mut [f64]) {
    matrix.fill(0.0);
    stamp_fixed(network, |g| g, matrix);
    stamp_branches(network, |index| companions[index].siemens, |c| c, matrix);
}

/// Voltage across a branch, given the solution by position.
pub fn branch_volts(network: &Network, index: usize, solution: &[f64]) -> f64 {
    network.branches()[index]
        .terminals
        .iter()
        .map(|&(at, c)| c * solution[at])
        .sum()
}

/// Port voltages of every device in the order triodes (anode, grid), pentodes (anode, screen,
/// grid), rectifiers (reservoir), three entries each, unused ones 0.
pub fn port_volts(network: &Network, solution: &[f64]) -> Vec<[f64; 3]> {
    let devices = network.devices();
    let count = devices.triodes.len() + devices.pentodes.len() + devices.rectifiers.len();
    let mut out = vec![[0.0; 3]; count];
    port_volts_into(network, solution, &mut out);
    out
}

/// [`port_volts`] into storage of its length.
///
/// # Real-time
/// Allocates nothing.
pub fn port_volts_into(network: &Network, solution: &[f64], out: &mut [[f64; 3]]) {
    let at = |position: u16| solution[position as usize];
    let devices = network.devices();
    let mut slots = out.iter_mut();
    let mut put = |ports| *slots.next().expect("one entry a device") = ports;
    for site in &devices.triodes {
        let [a, g, k] = site.at.map(at);
        put([a - k, g - k, 0.0]);
    }
    for site in &devices.pentodes {
        let [a, s, g, k] = site.at.map(at);
        put([a - k, s - k, g - k]);
    }
    for site in &devices.rectifiers {
        let [r, k] = site.at.map(at);
        put([r - k, 0.0, 0.0]);
    }
}

/// Adds the Norton equivalents of all devices at the given port voltages (see [`port_volts`]).
pub fn stamp_devices(
    network: &Network,
    values: &DeviceValues,
    ports: &[[f64; 3]],
    matrix: &mut [f64],
    right: &mut [f64],
) {
    let devices = network.devices();
    let mut ports = ports.iter();
    let mut next = || ports.next().expect("one entry a device");
    for (site, value) in devices.triodes.iter().zip(&values.triodes) {
        let &[va, vg, _] = next();
        stamp_triode(site, value, va, vg, matrix, right);
    }
    for (site, value) in devices.pentodes.iter().zip(&values.pentodes) {
        let &[va, vs, vg] = next();
        stamp_pentode(site, value, va, vs, vg, matrix, right);
    }
    for (site, value) in devices.rectifiers.iter().zip(&values.rectifiers) {
        let &[v, _, _] = next();
        stamp_rectifier(site, &rectifier_tangent(value, v), matrix, right);
    }
}
