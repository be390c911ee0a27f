//! The linearised network at any complex frequency, with pieces of it left out or turned round.

use super::gm::Gm;
use crate::circuit::PartId;
use crate::network::assemble::{
    empty_matrix, empty_vector, port_volts, stamp_devices, stamp_fixed,
};
use crate::network::{BranchValue, Network, Piece, Values};
use crate::solve::OperatingPoint;
use num_complex::Complex64;

/// Nodal equations `Y(s)·v = 0` about an operating point.
#[derive(Clone)]
pub(super) struct Pencil<'a> {
    pub network: &'a Network,
    /// What does not go with frequency: leak, jack, valves.
    fixed: Vec<Complex64>,
    /// Linear branches, the inductance of each core as it is at rest.
    branches: Vec<BranchValue>,
    /// Slot, coefficient and branch.
    stamps: Vec<(usize, f64, usize)>,
    pivots: Vec<usize>,
}

impl<'a> Pencil<'a> {
    pub fn new(network: &'a Network, values: &Values, point: &OperatingPoint) -> Self {
        let mut fixed = empty_matrix(network);
        stamp_fixed(network, |g| g, &mut fixed);
        let ports = port_volts(network, &point.solution);
        let mut unused = empty_vector(network);
        stamp_devices(network, &values.devices, &ports, &mut fixed, &mut unused);
        let mut branches = values.branches.clone();
        for (core, law) in network.cores().iter().zip(&values.cores) {
            let slope = core.slope_at_rest(&branches[core.branch], law, point.solution[core.at]);
            if let BranchValue::Coil { henries, .. } = &mut branches[core.branch] {
                *henries /= 1.0 + *henries * slope;
            }
        }
        let every = network.branches().iter().enumerate();
        let stamps = every.flat_map(|(index, branch)| {
            let stamp = branch.stamp.iter();
            stamp.map(move |&(slot, coefficient)| (slot, coefficient, index))
        });
        Pencil {
            network,
            fixed: fixed.into_iter().map(Complex64::from).collect(),
            branches,
            stamps: stamps.collect(),
            pivots: network.program().pivot_slots().collect(),
        }
    }

    /// The same without a part's linear branches.
    pub fn without(&self, part: PartId) -> Self {
        let gone = self.network.branches_of(part);
        let mut other = self.clone();
        other.stamps.retain(|(_, _, branch)| !gone.contains(branch));
        other
    }

    /// The same with the ends of a transformer's secondary swapped.
    pub fn turned_round(&self, part: PartId) -> Self {
        let mut other = self.clone();
        let of_part = |core: &&crate::network::Core| core.part == part;
        let Some(core) = self.network.cores().iter().find(of_part) else {
            return other;
        };
        for index in self.network.branches_of(part) {
            let branch = &self.network.branches()[index];
            if !matches!(branch.piece, Piece::SecondarySection(_)) {
                continue;
            }
            // A stamp lies row by row; what ties the core to a winding's end changes its sign.
            let at_core: Vec<bool> = branch.terminals.iter().map(|t| t.0 == core.at).collect();
            let many = at_core.len();
            let stamp = other.stamps.iter_mut().filter(|entry| entry.2 == index);
            for (place, entry) in stamp.enumerate() {
                if at_core[place / many] != at_core[place % many] {
                    entry.1 = -entry.1;
                }
            }
        }
        other
    }

    /// The same with these transconductances `factor` times as large.
    pub fn stronger(&self, valves: &[&Gm], factor: Complex64) -> Self {
        let mut other = self.clone();
        let program = self.network.program();
        let ground = self.network.unknowns();
        for gm in valves {
            let [a, g, k] = gm.at;
            let more = (factor - 1.0) * gm.siemens;
            for (row, column, sign) in [(a, g, 1.0), (a, k, -1.0), (k, g, -1.0), (k, k, 1.0)] {
                if row != ground && column != ground {
                    let [row, column] = [row, column].map(|place| program.unknown_at(place));
                    let slot = program.slot(row, column).expect("in the pattern");
                    other.fixed[slot] += more * sign;
                }
            }
        }
        other
    }

    /// Conductance of a branch at `s`.
    pub fn admittance(&self, branch: usize, s: Complex64) -> Complex64 {
        self.branches[branch].admittance_at(s)
    }

    /// The factored equations at `s`.
    pub fn factors(&self, s: Complex64) -> Vec<Complex64> {
        let mut matrix = self.fixed.clone();
        let admittances: Vec<Complex64> =
            self.branches.iter().map(|b| b.admittance_at(s)).collect();
        for &(slot, coefficient, branch) in &self.stamps {
            matrix[slot] += admittances[branch] * coefficient;
        }
        let program = self.network.program();
        program.factor(0..program.unknowns(), &mut matrix);
        matrix
    }

    /// Logarithm of the determinant at `s`, its imaginary part within ±π.
    pub fn log_determinant(&self, s: Complex64) -> Complex64 {
        let factors = self.factors(s);
        let (mut size, mut turn) = (0.0, Complex64::ONE);
        for &slot in &self.pivots {
            let norm = factors[slot].norm();
            size -= norm.ln();
            turn *= factors[slot].conj() / norm;
        }
        Complex64::new(size, turn.arg())
    }

    /// Volts by position, ground last, for currents (A) at `s`.
    pub fn driven(&self, s: Complex64, mut current: Vec<Complex64>) -> Vec<Complex64> {
        let program = self.network.program();
        let factors = self.factors(s);
        let all = 0..program.unknowns();
        program.forward(all.clone(), &factors, &mut current);
        program.backward(all, &factors, &mut current);
        current[program.unknowns()] = Complex64::ZERO;
        current
    }

    /// The same of the transposed equations.
    pub fn driven_transposed(&self, s: Complex64, mut current: Vec<Complex64>) -> Vec<Complex64> {
        let program = self.network.program();
        program.solve_transposed(&self.factors(s), &mut current);
        current[program.unknowns()] = Complex64::ZERO;
        current
    }

    /// Gain from jack to output at `hz`.
    pub fn gain(&self, hz: f64) -> f64 {
        let mut current = empty_vector::<Complex64>(self.network);
        current[self.network.input()] = Complex64::new(self.network.input_siemens(), 0.0);
        let volts = self.driven(Complex64::new(0.0, std::f64::consts::TAU * hz), current);
        let [positive, negative] = self.network.output();
        (volts[positive] - volts[negative]).norm()
    }
}
