//! Making an engine from a network and the values of its lanes.

use super::capacitors::Capacitors;
use super::coils::{CoilState, Inflow, Weights, coils};
use super::live_core::cores;
use super::watched::watched;
use super::{Engine, Level};
use crate::device::{PentodeLaw, RectifierLaw, TriodeLaw};
use crate::network::devices::Tangent;
use crate::network::{Fitted, Network, Values};
use crate::numeric::real::Real;

/// Error of a device current that ends an iteration, A. A quarter of it raises the demo amp's cost
/// on the chord by 9 % and changes no error in band by more than 0.7 dB; twice and a half of it
/// costs 3 dB at the hardest drive.
const TOLERANCE_AMPS: f64 = 2e-6;

impl<T: Real> Engine<T> {
    /// Builds the engine at rest.
    ///
    /// `lanes`: the values of each lane's circuit, all of `network`'s topology, with its
    /// operating point (volts by position). `step`: the coarsest step, s; `finest`: the number
    /// of halvings allowed.
    pub fn new(network: &Network, lanes: &[(&Values, &[f64])], step: f64, finest: usize) -> Self {
        assert_eq!(lanes.len(), T::LANES, "one set of values a lane");
        let n = network.unknowns();
        let program = network.program().clone();
        let coils = coils(network);
        let watched = watched(network);
        let count = coils.len();
        let devices = network.devices();
        let device_count =
            devices.triodes.len() + devices.pentodes.len() + devices.rectifiers.len();
        let zero = |len: usize| vec![T::ZERO; len];
        let nothing = Weights {
            siemens: T::ZERO,
            from_volts: T::ZERO,
            from_amps: T::ZERO,
        };
        let levels = (0..=finest)
            .map(|level| Level {
                step: step / (1u64 << level) as f64,
                rate: (1u64 << level) as f64 / step,
                stale: true,
                weights: vec![nothing; count],
                matrix: zero(program.slots() + 1),
            })
            .collect();
        let (values, _) = lanes[0];
        let untouched = Tangent {
            volts: T::splat(f64::INFINITY),
            siemens: T::ZERO,
            amps: T::ZERO,
        };
        let mut engine = Engine {
            devices: network.devices().clone(),
            triodes: in_all_lanes(&values.devices.triodes, TriodeLaw::splat),
            pentodes: in_all_lanes(&values.devices.pentodes, PentodeLaw::splat),
            rectifiers: in_all_lanes(&values.devices.rectifiers, RectifierLaw::splat),
            lanes: lanes.iter().map(|(v, _)| v.branches.clone()).collect(),
            stamps: network.branches().iter().map(|b| b.stamp.clone()).collect(),
            terminals: network
                .branches()
                .iter()
                .map(|b| b.terminals.clone())
                .collect(),
            fresh_slopes: zero(watched.len()),
            watched,
            cores: cores(network, lanes, |branch| {
                let mut all = coils.iter();
                all.position(|c| c.branch == branch)
                    .expect("an inductance stores")
            }),
            levels,
            resistive: zero(program.slots() + 1),
            resistive_stale: true,
            sources: zero(n + 1),
            input: network.input(),
            input_siemens: network.input_siemens(),
            output: network.output(),
            tolerance_amps: TOLERANCE_AMPS,
            memory: vec![
                CoilState {
                    volts: T::ZERO,
                    amps: T::ZERO
                };
                count
            ],
            solution: zero(n + 1),
            previous: zero(n + 1),
            earlier: zero(n + 1),
            last_step: step,
            even: 0,
            history: zero(count),
            right: zero(n + 1),
            base: zero(program.slots() + 1),
            work: zero(program.slots() + 1),
            guess: zero(n + 1),
            ports: vec![[T::ZERO; 3]; device_count],
            steps: vec![[T::ZERO; 3]; device_count],
            calm: true,
            tangents: vec![untouched; network.devices().rectifiers.len()],
            curvatures: vec![[T::ZERO; 3]; device_count],
            anode_shares: zero(network.devices().triodes.len()),
            iterations: 0,
            attempts: 0,
            inflow: Inflow::new(&coils, n),
            capacitors: Capacitors::new(network),
            coils,
            program,
        };
        for (lane, (values, point)) in lanes.iter().enumerate() {
            engine.set_devices(lane, &values.devices);
            engine.settle(network, lane, point);
        }
        engine
    }
}

/// Devices with the same law in every lane.
fn in_all_lanes<T: Real, L, M>(
    devices: &[Fitted<L, f64>],
    splat: impl Fn(&L) -> M,
) -> Vec<Fitted<M, T>> {
    let device = |one: &Fitted<L, f64>| Fitted {
        law: splat(&one.law),
        present: T::splat(one.present),
    };
    devices.iter().map(device).collect()
}
