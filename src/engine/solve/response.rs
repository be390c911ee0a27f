//! Small-signal response about an operating point.

use super::OperatingPoint;
use crate::network::assemble::{
    empty_matrix, empty_vector, port_volts, stamp_branches, stamp_devices, stamp_fixed,
};
use crate::network::{Network, Values};
use num_complex::Complex64;

/// The small-signal equations of one frequency, factored.
#[derive(Clone, Debug)]
pub struct Factored<'a> {
    network: &'a Network,
    matrix: Vec<Complex64>,
}

impl Factored<'_> {
    /// Volts at every position for given currents (A) into the positions, ground (0) last.
    pub fn driven(&self, mut current: Vec<Complex64>) -> Vec<Complex64> {
        let program = self.network.program();
        let all = 0..program.unknowns();
        program.forward(all.clone(), &self.matrix, &mut current);
        program.backward(all, &self.matrix, &mut current);
        current[program.unknowns()] = Complex64::ZERO;
        current
    }

    /// The adjoint network driven with the same kind of right-hand side: for a weighted sum of
    /// voltages, the effect on it of one ampere into each position (S. Director, R. Rohrer, IEEE
    /// Trans. Circuit Theory 16(3), 1969). Ground (0) last.
    pub fn adjoint(&self, mut weights: Vec<Complex64>) -> Vec<Complex64> {
        let program = self.network.program();
        program.solve_transposed(&self.matrix, &mut weights);
        weights[program.unknowns()] = Complex64::ZERO;
        weights
    }
}

/// The network made linear about an operating point.
#[derive(Clone, Debug)]
pub struct SmallSignal<'a> {
    network: &'a Network,
    values: &'a Values,
    fixed: Vec<f64>,
    /// Slot and slope by the flux (1/H) of each core.
    cores: Vec<(usize, f64)>,
}

impl<'a> SmallSignal<'a> {
    /// Takes the derivatives of all devices at `point`.
    pub fn new(network: &'a Network, values: &'a Values, point: &OperatingPoint) -> Self {
        let mut fixed = empty_matrix(network);
        stamp_fixed(network, |g| g, &mut fixed);
        let ports = port_volts(network, &point.solution);
        stamp_devices(
            network,
            &values.devices,
            &ports,
            &mut fixed,
            &mut empty_vector(network),
        );
        let cores = network.cores().iter().zip(&values.cores);
        SmallSignal {
            network,
            values,
            fixed,
            cores: cores
                .map(|(core, law)| {
                    let branch = &values.branches[core.branch];
                    let volts = point.solution[core.at];
                    (core.slot, core.slope_at_rest(branch, law, volts))
                })
                .collect(),
        }
    }

    /// Volts at every position for one volt in the jack at `hz`, ground (0) last.
    pub fn at(&self, hz: f64) -> Vec<Complex64> {
        let mut current = empty_vector::<Complex64>(self.network);
        current[self.network.input()] = Complex64::new(self.network.input_siemens(), 0.0);
        self.driven(hz, current)
    }

    /// Volts at every position for given currents (A) into the positions at `hz`.
    pub fn driven(&self, hz: f64, current: Vec<Complex64>) -> Vec<Complex64> {
        self.factored(hz).driven(current)
    }

    /// The equations at `hz`, ready for several sets of currents; at 0 Hz they are those of the
    /// operating point made linear.
    pub fn factored(&self, hz: f64) -> Factored<'a> {
        let omega = std::f64::consts::TAU * hz;
        let mut matrix: Vec<Complex64> = self.fixed.iter().map(|&g| g.into()).collect();
        stamp_branches(
            self.network,
            |index| self.values.branches[index].admittance(omega),
            Complex64::from,
            &mut matrix,
        );
        // At rest the inductance is a short beside the core.
        if omega != 0.0 {
            for &(slot, slope) in &self.cores {
                matrix[slot] += Complex64::new(0.0, -slope / omega);
            }
        }
        let program = self.network.program();
        program.factor(0..program.unknowns(), &mut matrix);
        Factored {
            network: self.network,
            matrix,
        }
    }

    /// Gain from the jack to what is heard at `hz`.
    pub fn gain(&self, hz: f64) -> Complex64 {
        let [positive, negative] = self.network.output();
        let volts = self.at(hz);
        volts[positive] - volts[negative]
    }
}
