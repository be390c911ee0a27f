//! The transient oracle: fixed trapezoidal steps, full Newton, everything solved every time.
//!
//! Slow and obvious. Small steps make it the reference for the processor that is heard.

use super::OperatingPoint;
use crate::network::assemble::{
    branch_volts, empty_vector, linear_matrix, port_volts, stamp_devices,
};
use crate::network::{Companion, Network, Values};

/// A step that has no solution, even in a thousand parts.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Diverged;

/// A circuit moving in time.
#[derive(Clone, Debug)]
pub struct Transient<'a> {
    network: &'a Network,
    values: &'a Values,
    step: f64,
    levels: Vec<(Vec<Companion>, Vec<f64>)>,
    solution: Vec<f64>,
    volts: Vec<f64>,
    amps: Vec<f64>,
    last_input: f64,
    iterations: usize,
}

/// Newton iterations before a step is halved.
const CAP: usize = 40;
/// Times that a step may be halved.
const DEPTH: usize = 10;
/// A Newton step below this ends the iteration, V and share of the largest voltage.
const TOLERANCE: f64 = 1e-10;

impl<'a> Transient<'a> {
    /// Starts at rest with steps of `step` seconds.
    pub fn new(
        network: &'a Network,
        values: &'a Values,
        point: &OperatingPoint,
        step: f64,
    ) -> Self {
        let volts: Vec<f64> = (0..values.branches.len())
            .map(|i| branch_volts(network, i, &point.solution))
            .collect();
        let mut amps: Vec<f64> = values
            .branches
            .iter()
            .zip(&volts)
            .map(|(b, v)| {
                let rest = b.at_rest();
                rest.siemens * v - rest.constant
            })
            .collect();
        for (core, law) in network.cores().iter().zip(&values.cores) {
            let branch = &values.branches[core.branch];
            amps[core.branch] = core.amps_at_rest(branch, law, volts[core.branch]);
        }
        Transient {
            network,
            values,
            step,
            levels: Vec::new(),
            solution: point.solution.clone(),
            volts,
            amps,
            last_input: 0.0,
            iterations: 0,
        }
    }

    /// Volts by position now.
    pub fn solution(&self) -> &[f64] {
        &self.solution
    }

    /// Newton iterations so far.
    pub fn iterations(&self) -> usize {
        self.iterations
    }

    /// What is heard now, V.
    pub fn output(&self) -> f64 {
        let [positive, negative] = self.network.output();
        self.solution[positive] - self.solution[negative]
    }

    /// Moves one step on to `input` volts at the jack and returns what is heard.
    ///
    /// # Errors
    /// [`Diverged`] when the step fails although halved ten times.
    pub fn step(&mut self, input: f64) -> Result<f64, Diverged> {
        self.advance(self.last_input, input, 0)?;
        self.last_input = input;
        Ok(self.output())
    }

    fn advance(&mut self, from: f64, to: f64, level: usize) -> Result<(), Diverged> {
        if self.attempt(to, level) {
            return Ok(());
        }
        if level == DEPTH {
            return Err(Diverged);
        }
        let middle = 0.5 * (from + to);
        self.advance(from, middle, level + 1)?;
        self.advance(middle, to, level + 1)
    }

    fn attempt(&mut self, input: f64, level: usize) -> bool {
        let network = self.network;
        while self.levels.len() <= level {
            let step = self.step / (1u64 << self.levels.len()) as f64;
            let companions: Vec<Companion> = self
                .values
                .branches
                .iter()
                .map(|b| b.companion(step))
                .collect();
            let matrix = linear_matrix(network, &companions);
            self.levels.push((companions, matrix));
        }
        let (companions, base) = &self.levels[level];
        let mut sources = empty_vector::<f64>(network);
        sources[network.input()] = input * network.input_siemens();
        let history: Vec<f64> = companions
            .iter()
            .enumerate()
            .map(|(i, c)| c.from_volts * self.volts[i] + c.from_amps * self.amps[i] + c.constant)
            .collect();
        for (branch, j) in network.branches().iter().zip(&history) {
            for &(at, c) in &branch.terminals {
                sources[at] += c * j;
            }
        }
        let n = network.unknowns();
        let mut guess = self.solution.clone();
        for _ in 0..CAP {
            self.iterations += 1;
            let mut matrix = base.clone();
            let mut next = sources.clone();
            let ports = port_volts(network, &guess);
            stamp_devices(
                network,
                &self.values.devices,
                &ports,
                &mut matrix,
                &mut next,
            );
            for (core, law) in network.cores().iter().zip(&self.values.cores) {
                let at = core.branch;
                let tangent = core.tangent(
                    &self.values.branches[at],
                    law,
                    &companions[at],
                    history[at],
                    guess[core.at],
                );
                matrix[core.slot] += tangent.siemens;
                next[core.at] += tangent.amps;
            }
            next[n] = 0.0;
            network.program().solve(&mut matrix, &mut next);
            let mut moved: f64 = 0.0;
            let mut largest: f64 = 1.0;
            for (a, b) in next.iter().zip(&guess) {
                // A NaN must not pass for a small step.
                moved = if (a - b).abs() <= moved {
                    moved
                } else {
                    (a - b).abs()
                };
                largest = largest.max(a.abs());
            }
            guess = next;
            if !moved.is_finite() {
                return false;
            }
            if moved <= TOLERANCE * largest {
                for (i, c) in companions.iter().enumerate() {
                    self.volts[i] = branch_volts(network, i, &guess);
                    self.amps[i] = c.siemens * self.volts[i] - history[i];
                }
                self.solution = guess;
                return true;
            }
        }
        false
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::circuit::read;
    use crate::device::Catalogue;
    use crate::solve::operating_point;

    /// Currents of coils that have next to no resistance come of voltages far below the rounding
    /// of the others: were they wrong, the output would move by itself.
    #[test]
    fn what_rests_stays_at_rest() {
        for text in [
            include_str!("../../../presets/circuits/bradawl.toml"),
            include_str!("../../../presets/circuits/mizzle.toml"),
            include_str!("../../../presets/circuits/sluice.toml"),
            include_str!("../../../presets/circuits/spokeshave.toml"),
        ] {
            let circuit = read(text, &Catalogue::built_in()).expect("a built-in amp");
            let network = Network::new(&circuit);
            let values = network.values(&circuit);
            let point = operating_point(&network, &values).expect("an operating point");
            let mut transient = Transient::new(&network, &values, &point, 5e-6);
            let rest = transient.output();
            let mut moved: f64 = 0.0;
            for _ in 0..2000 {
                let volts = transient.step(0.0).expect("a small step");
                moved = moved.max((volts - rest).abs());
            }
            println!("{}: {moved:e} V", circuit.name());
            assert!(moved < 1e-8, "{}: {moved:e} V", circuit.name());
        }
    }
}
