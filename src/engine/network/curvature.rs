//! How the conductances of devices move with their voltages: what a shift of the operating point
//! does to the small-signal equations.
//!
//! Takes laws and port voltages (see [`super::assemble::port_volts`]); gives, a device, its
//! terminals and the second derivatives of its currents.

use super::{DeviceValues, Network};

/// Step of the central differences, V and share of the port's voltage: with first derivatives
/// exact to rounding, the error of the difference is some 10⁻⁹ of the second derivative at either
/// end (rounding ε/h, bends of a few tenths of a volt h²).
const STEP: f64 = 1e-5;

/// A device of at most three ports, as the equations see it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Curvature {
    /// How many ports it has; entries beyond are 0.
    pub ports: usize,
    /// Position of each port's electrode in the solution.
    pub at: [usize; 3],
    /// Position of the electrode that port voltages are referred to.
    pub reference: usize,
    /// `[i][j][k]`: derivative, by the voltage of port `k`, of the conductance from the voltage of
    /// port `j` to the current into port `i`, A/V².
    pub by_port: [[[f64; 3]; 3]; 3],
}

type Conductances = [[f64; 3]; 3];

fn curvature<const N: usize>(
    at: &[u16; N],
    ports: &[f64; 3],
    conductances: impl Fn([f64; 3]) -> Conductances,
) -> Curvature {
    let count = N - 1;
    let mut by_port = [[[0.0; 3]; 3]; 3];
    for k in 0..count {
        let step = STEP * (1.0 + ports[k].abs());
        let moved = |by: f64| {
            let mut ports = *ports;
            ports[k] += by;
            conductances(ports)
        };
        let (above, below) = (moved(step), moved(-step));
        for (i, row) in by_port.iter_mut().enumerate() {
            for (j, entry) in row.iter_mut().enumerate() {
                entry[k] = (above[i][j] - below[i][j]) / (2.0 * step);
            }
        }
    }
    Curvature {
        ports: count,
        at: std::array::from_fn(|k| if k < count { at[k] as usize } else { 0 }),
        reference: at[count] as usize,
        by_port,
    }
}

/// The curvatures of all devices, in the order of [`super::assemble::port_volts`].
pub fn curvatures(network: &Network, values: &DeviceValues, ports: &[[f64; 3]]) -> Vec<Curvature> {
    let devices = network.devices();
    let mut ports = ports.iter();
    let mut next = || ports.next().expect("one entry a device");
    let mut out = Vec::new();
    for (site, value) in devices.triodes.iter().zip(&values.triodes) {
        out.push(curvature(&site.at, next(), |[va, vg, _]| {
            let (i, p) = (value.law.currents(va, vg), value.present);
            [
                [p * i.anode_by_anode, p * i.anode_by_grid, 0.0],
                [0.0, p * i.grid_by_grid, 0.0],
                [0.0; 3],
            ]
        }));
    }
    for (site, value) in devices.pentodes.iter().zip(&values.pentodes) {
        out.push(curvature(&site.at, next(), |[va, vs, vg]| {
            let (i, p) = (value.law.currents(va, vs, vg), value.present);
            [
                [i.anode_by_anode, i.anode_by_screen, i.anode_by_grid],
                [i.screen_by_anode, i.screen_by_screen, i.screen_by_grid],
                [0.0, 0.0, i.grid_by_grid],
            ]
            .map(|row| row.map(|g| p * g))
        }));
    }
    for (site, value) in devices.rectifiers.iter().zip(&values.rectifiers) {
        out.push(curvature(&site.at, next(), |[v, ..]| {
            let siemens = -value.law.current(v).by_voltage * value.present;
            [[siemens, 0.0, 0.0], [0.0; 3], [0.0; 3]]
        }));
    }
    out
}
