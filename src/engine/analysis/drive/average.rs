//! Where a driven circuit is bound for: the mean voltages at which no capacitor charges further and
//! no coil takes more volts.
//!
//! Takes readings of a lane over whole periods of the sine. Each device is replaced by its mean
//! current and its mean slopes over the period, which are those of a Newton step for a shift of
//! all voltages (the direct-current block of the conversion matrix of a periodically driven
//! network: S. Egami, IEEE Trans. Microwave Theory Tech. 22(3), 1974; from memory); with them the
//! equations of rest give the mean voltages. What the shift does to the waveform, and that to the
//! mean currents, is left out: the caller plays on and does it again.

use crate::network::assemble::{empty_matrix, empty_vector, linear_matrix_into};
use crate::network::{Companion, Network};
use crate::realtime::Processor;
use crate::solve::solved::SolvedCircuit;

/// Circuits side by side.
pub const LANES: usize = 8;

/// One device: where it stands, and sums of its currents and slopes.
#[derive(Clone, Debug)]
struct Device {
    at: Vec<usize>,
    slots: Vec<usize>,
    amps: [f64; 3],
    slopes: [[f64; 3]; 3],
    /// The largest of each current.
    most_amps: [f64; 3],
}

/// Sums over the readings of one lane.
#[derive(Clone, Debug)]
pub struct Average {
    devices: Vec<Device>,
    volts: Vec<f64>,
    stored_amps: Vec<f64>,
    readings: f64,
}

impl Average {
    /// Nothing read yet. `storing`: how much stores.
    pub fn new(network: &Network, storing: usize) -> Self {
        fn device(at: &[u16], slots: &[u16]) -> Device {
            let wide = |list: &[u16]| list.iter().map(|&i| i.into()).collect();
            Device {
                at: wide(at),
                slots: wide(slots),
                amps: [0.0; 3],
                slopes: [[0.0; 3]; 3],
                most_amps: [f64::NEG_INFINITY; 3],
            }
        }
        let sites = network.devices();
        let triodes = sites.triodes.iter().map(|s| device(&s.at, &s.slots));
        let pentodes = sites.pentodes.iter().map(|s| device(&s.at, &s.slots));
        let rectifiers = sites.rectifiers.iter().map(|s| device(&s.at, &s.slots));
        Average {
            devices: triodes.chain(pentodes).chain(rectifiers).collect(),
            volts: empty_vector(network),
            stored_amps: vec![0.0; storing],
            readings: 0.0,
        }
    }

    /// Forgets.
    pub fn clear(&mut self) {
        for device in &mut self.devices {
            device.amps = [0.0; 3];
            device.slopes = [[0.0; 3]; 3];
            device.most_amps = [f64::NEG_INFINITY; 3];
        }
        self.volts.fill(0.0);
        self.stored_amps.fill(0.0);
        self.readings = 0.0;
    }

    /// Adds the present state of one lane.
    pub fn read(&mut self, side: &SolvedCircuit, processor: &Processor<LANES>, lane: usize) {
        self.readings += 1.0;
        let last = self.volts.len() - 1;
        for (position, sum) in self.volts[..last].iter_mut().enumerate() {
            *sum += processor.volts(lane, position);
        }
        for (place, sum) in self.stored_amps.iter_mut().enumerate() {
            *sum += processor.stored_amps(lane, place);
        }
        let volts = |position: usize| match position == last {
            true => 0.0,
            false => processor.volts(lane, position),
        };
        let values = &side.values.devices;
        let triodes = values.triodes.len();
        let valves = triodes + values.pentodes.len();
        for (index, device) in self.devices.iter_mut().enumerate() {
            let reference = volts(device.at[device.at.len() - 1]);
            let port = |port: usize| volts(device.at[port]) - reference;
            let (amps, slopes, present) = if index < triodes {
                let value = &values.triodes[index];
                let i = value.law.currents(port(0), port(1));
                let anode = [i.anode_by_anode, i.anode_by_grid, 0.0];
                let grid = [0.0, i.grid_by_grid, 0.0];
                (
                    [i.anode, i.grid, 0.0],
                    [anode, grid, [0.0; 3]],
                    value.present,
                )
            } else if index < valves {
                let value = &values.pentodes[index - triodes];
                let i = value.law.currents(port(0), port(1), port(2));
                let anode = [i.anode_by_anode, i.anode_by_screen, i.anode_by_grid];
                let screen = [i.screen_by_anode, i.screen_by_screen, i.screen_by_grid];
                let grid = [0.0, 0.0, i.grid_by_grid];
                (
                    [i.anode, i.screen, i.grid],
                    [anode, screen, grid],
                    value.present,
                )
            } else {
                let value = &values.rectifiers[index - valves];
                let i = value.law.current(port(0));
                // Counted into the electrode, the current is the negative of what it delivers.
                let into = [-i.current, 0.0, 0.0];
                let slope = [-i.by_voltage, 0.0, 0.0];
                (into, [slope, [0.0; 3], [0.0; 3]], value.present)
            };
            for row in 0..3 {
                device.amps[row] += present * amps[row];
                device.most_amps[row] = device.most_amps[row].max(present * amps[row]);
                for (sum, slope) in device.slopes[row].iter_mut().zip(&slopes[row]) {
                    *sum += present * slope;
                }
            }
        }
    }

    /// Mean volts by position, ground last.
    pub fn volts(&self) -> Vec<f64> {
        self.volts.iter().map(|sum| sum / self.readings).collect()
    }

    /// Largest grid currents, A: triodes, then pentodes.
    pub fn grid_amps(&self) -> Vec<f64> {
        let valves = self.devices.iter().filter(|d| d.at.len() > 2);
        valves.map(|d| d.most_amps[d.at.len() - 2]).collect()
    }

    /// The mean voltages that the lane is bound for, ground last; none where the equations have no
    /// finite solution.
    pub fn target(&self, network: &Network, companions: &[Companion]) -> Option<Vec<f64>> {
        let mut matrix = empty_matrix::<f64>(network);
        linear_matrix_into(network, companions, &mut matrix);
        let mut right = empty_vector::<f64>(network);
        for (branch, companion) in network.branches().iter().zip(companions) {
            for &(at, c) in &branch.terminals {
                right[at] += c * companion.constant;
            }
        }
        let mean = self.volts();
        for device in &self.devices {
            let ports = device.at.len() - 1;
            let reference = device.at[ports];
            let mut last = [0.0; 4];
            for row in 0..ports {
                let mut into = -device.amps[row] / self.readings;
                let mut sum = 0.0;
                for column in 0..ports {
                    let g = device.slopes[row][column] / self.readings;
                    matrix[device.slots[row * (ports + 1) + column]] += g;
                    into += g * (mean[device.at[column]] - mean[reference]);
                    last[column] += g;
                    sum += g;
                }
                matrix[device.slots[row * (ports + 1) + ports]] -= sum;
                last[ports] -= sum;
                right[device.at[row]] += into;
                right[reference] -= into;
            }
            for (column, g) in last.iter().enumerate().take(ports + 1) {
                matrix[device.slots[ports * (ports + 1) + column]] -= g;
            }
        }
        let ground = network.unknowns();
        right[ground] = 0.0;
        network.program().solve(&mut matrix, &mut right);
        right[ground] = 0.0;
        right.iter().all(|v| v.is_finite()).then_some(right)
    }

    /// Mean currents of what stores, A.
    pub fn stored_amps(&self) -> impl Iterator<Item = f64> + '_ {
        self.stored_amps.iter().map(|sum| sum / self.readings)
    }
}
