//! Eight levels at a time through the whole circuit, and how near each valve comes to clipping.

use super::stage::How;
use crate::analysis::drive::HZ;
use crate::circuit::{PartId, PartKind};
use crate::network::Network;
use crate::network::assemble::empty_vector;
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Rate of the samples, Hz: 48 a period.
const RATE: f64 = 48_000.0;
/// Samples that the sine stands, and the last of them that are read: two periods.
const STANDS: usize = 960;
const READ: usize = 96;
/// Samples over which it is faded in.
const FADE: f64 = 240.0;
/// What of a grid's swing its current may take, of the current at rest must be left, and of the
/// anode's share may be lost (own design; a sine flattened by a twentieth on one side holds 1.6 %
/// of distortion).
const GRID_LOSS: f64 = 0.05;
const CURRENT_LEFT: f64 = 0.05;
const SHARE_LOSS: f64 = 0.2;

/// Circuits side by side.
pub const LANES: usize = 8;

/// A fitted valve and what it is like at rest.
pub struct Watched {
    /// The section.
    pub part: PartId,
    /// Positions of anode, screen (pentodes only), grid, cathode.
    anode: usize,
    screen: Option<usize>,
    grid: usize,
    cathode: usize,
    /// Place among the triodes or pentodes of the network.
    index: usize,
    /// Anode and grid current at rest, A.
    amps: f64,
    grid_amps: f64,
    /// Share of the cathode current that the anode takes.
    share: f64,
    /// What the grid sees at [`HZ`], Ω.
    source_ohms: f64,
    /// Whether another valve takes turns with it at a transformer.
    takes_turns: bool,
}

/// How near each valve is to each way of clipping, 1 being there; one entry a valve.
pub struct Tried {
    /// Level at the jack, V peak.
    pub volts: f64,
    /// In the order of [`WAYS`].
    pub near: Vec<[f64; 3]>,
}

/// The ways in which a valve may clip.
pub const WAYS: [How; 3] = [How::GridCurrent, How::CutOff, How::Knee];

/// Currents of anode, screen and grid.
fn amps(side: &SolvedCircuit, valve: &Watched, at: &impl Fn(usize) -> f64) -> [f64; 3] {
    let k = at(valve.cathode);
    let (va, vg) = (at(valve.anode) - k, at(valve.grid) - k);
    match valve.screen {
        None => {
            let i = side.values.devices.triodes[valve.index]
                .law
                .currents(va, vg);
            [i.anode, 0.0, i.grid]
        }
        Some(screen) => {
            let law = &side.values.devices.pentodes[valve.index].law;
            let i = law.currents(va, at(screen) - k, vg);
            [i.anode, i.screen, i.grid]
        }
    }
}

/// The fitted valves of one side.
pub fn valves(network: &Network, side: &SolvedCircuit) -> Vec<Watched> {
    let devices = network.devices();
    let triodes = devices.triodes.iter().enumerate();
    let triodes = triodes.map(|(index, site)| (site.part, site.at.to_vec(), index));
    let pentodes = devices.pentodes.iter().enumerate();
    let pentodes = pentodes.map(|(index, site)| (site.part, site.at.to_vec(), index));
    let linear = SmallSignal::new(network, &side.values, &side.point);
    let at_hz = linear.factored(HZ);
    let paired = paired_anodes(network, side);
    triodes
        .chain(pentodes)
        .filter(|(part, ..)| side.circuit.part(*part).fitted)
        .map(|(part, at, index)| {
            let at: Vec<usize> = at.into_iter().map(usize::from).collect();
            let (screen, [anode, grid, cathode]) = match at[..] {
                [a, s, g, k] => (Some(s), [a, g, k]),
                _ => (None, [at[0], at[1], at[2]]),
            };
            let mut current = empty_vector::<Complex64>(network);
            current[grid] += Complex64::ONE;
            current[cathode] -= Complex64::ONE;
            let volts = at_hz.driven(current);
            let mut valve = Watched {
                part,
                anode,
                screen,
                grid,
                cathode,
                index,
                amps: 0.0,
                grid_amps: 0.0,
                share: 0.0,
                source_ohms: (volts[grid] - volts[cathode]).norm(),
                takes_turns: paired.contains(&anode),
            };
            let [anode, screen, grid] = amps(side, &valve, &|p| side.point.solution[p]);
            (valve.amps, valve.grid_amps) = (anode, grid);
            valve.share = anode / (anode + screen);
            valve
        })
        .collect()
}

/// Anodes at a transformer's primary that has more than one.
fn paired_anodes(network: &Network, side: &SolvedCircuit) -> Vec<usize> {
    let parts = side.circuit.parts();
    let anodes: Vec<_> = parts
        .iter()
        .filter(|p| p.fitted)
        .filter_map(|p| match p.kind {
            PartKind::Triode { anode, .. } | PartKind::Pentode { anode, .. } => Some(anode),
            _ => None,
        })
        .collect();
    let mut paired = Vec::new();
    for part in parts {
        let PartKind::OutputTransformer(transformer) = &part.kind else {
            continue;
        };
        let taps = &transformer.primary.taps;
        let ends = [taps[0], taps[taps.len() - 1]];
        if ends.iter().all(|end| anodes.contains(end)) {
            paired.extend(ends.map(|end| network.position(end)));
        }
    }
    paired
}

/// Drives eight circuits and reads the last periods.
pub fn try_levels(
    network: &Network,
    side: &SolvedCircuit,
    valves: &[Watched],
    levels: [f64; LANES],
) -> Vec<Tried> {
    let mut processor = Processor::<LANES>::new(
        network,
        [(&side.values, side.point.solution.as_slice()); LANES],
        Settings {
            governor: None,
            ..Settings::live(RATE, 1)
        },
        Instructions::detect(),
    );
    let sine = |i: usize| (TAU * HZ * i as f64 / RATE).sin() * (i as f64 / FADE).min(1.0);
    let unread = STANDS - READ;
    let feed: [Vec<f64>; LANES] =
        levels.map(|volts| (0..unread).map(|i| volts * sine(i)).collect());
    let mut take: [Vec<f64>; LANES] = std::array::from_fn(|_| vec![0.0; unread]);
    let inputs: [&[f64]; LANES] = std::array::from_fn(|lane| feed[lane].as_slice());
    let mut outputs = take.each_mut().map(Vec::as_mut_slice);
    processor.process(&inputs, &mut outputs);
    let fresh = Extremes {
        anode: [f64::INFINITY, 0.0],
        grid_volts: [f64::INFINITY, f64::NEG_INFINITY],
        grid_amps: 0.0,
        share: f64::INFINITY,
    };
    let mut extremes = vec![vec![fresh; valves.len()]; LANES];
    for i in unread..STANDS {
        let feed = levels.map(|volts| [volts * sine(i)]);
        let mut take = [[0.0]; LANES];
        let inputs: [&[f64]; LANES] = std::array::from_fn(|lane| feed[lane].as_slice());
        let mut outputs = take.each_mut().map(|lane| lane.as_mut_slice());
        processor.process(&inputs, &mut outputs);
        for (lane, extremes) in extremes.iter_mut().enumerate() {
            let at = |position: usize| processor.volts(lane, position);
            for (valve, extremes) in valves.iter().zip(extremes) {
                extremes.take(amps(side, valve, &at), at(valve.grid));
            }
        }
    }
    let near = |extremes: &[Extremes]| {
        let pairs = valves.iter().zip(extremes);
        pairs.map(|(valve, e)| e.near(valve)).collect()
    };
    let tried = levels.iter().zip(&extremes).map(|(&volts, e)| Tried {
        volts,
        near: near(e),
    });
    tried.collect()
}

/// What a valve reached within the periods read.
#[derive(Clone, Copy)]
struct Extremes {
    anode: [f64; 2],
    grid_volts: [f64; 2],
    grid_amps: f64,
    share: f64,
}

impl Extremes {
    fn take(&mut self, [anode, screen, grid]: [f64; 3], grid_volts: f64) {
        self.anode = [self.anode[0].min(anode), self.anode[1].max(anode)];
        let [low, high] = self.grid_volts;
        self.grid_volts = [low.min(grid_volts), high.max(grid_volts)];
        self.grid_amps = self.grid_amps.max(grid);
        self.share = self.share.min(anode / (anode + screen));
    }

    fn near(&self, valve: &Watched) -> [f64; 3] {
        let [low, high] = self.grid_volts;
        let swing = (0.5 * (high - low)).max(f64::MIN_POSITIVE);
        let fresh = self.grid_amps - valve.grid_amps;
        let grid = fresh * valve.source_ohms / swing / GRID_LOSS;
        let left = self.anode[0] / valve.amps;
        let cut_off = match valve.takes_turns {
            true => 0.0,
            false => (1.0 - left) / (1.0 - CURRENT_LEFT),
        };
        let knee = match valve.screen {
            None => 0.0,
            Some(_) => (1.0 - self.share / valve.share) / SHARE_LOSS,
        };
        [grid, cut_off, knee]
    }
}
