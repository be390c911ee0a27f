//! Valves and supplies while a sound is played: dissipation in its heaviest second, and how far
//! the supplies sag.
//!
//! Takes an amp at rest and samples at the jack; plays them through the processor that is heard,
//! both sides at once, without its governor, and reads the valves' voltages every fourth sample.
//! Their currents follow from their laws.

use crate::analysis::performance::{BIN_SECONDS, heaviest_second};
use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind};
use crate::network::Network;
use crate::realtime::dispatch::Instructions;
use crate::realtime::{Processor, Settings};
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use serde::Serialize;

/// Samples between two readings: a mean power does not need its highest frequencies.
const READ_EVERY: usize = 4;
/// Samples after which the caller is asked whether to go on.
const ASK_EVERY: usize = 4096;

/// One valve section.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ValvePlaying {
    /// Designator.
    pub designator: String,
    /// Anode dissipation in its heaviest second, W.
    pub anode_watts: f64,
    /// Screen dissipation in its own heaviest second, W; none for a triode.
    pub screen_watts: Option<f64>,
}

/// One supply node.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SupplyPlaying {
    /// Its name.
    pub node: String,
    /// At rest, V to ground.
    pub idle_volts: f64,
    /// The average over a tenth of a second that is nearest to ground, V.
    pub lowest_volts: f64,
}

/// One side of an amp while it plays.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct SidePlaying {
    /// Valve sections: triodes, then pentodes, each in the order of the file.
    pub valves: Vec<ValvePlaying>,
    /// Supply nodes in the order of the file.
    pub supplies: Vec<SupplyPlaying>,
}

/// Both sides while they play.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Playing {
    /// As found.
    pub as_found: SidePlaying,
    /// As proposed; only when something is.
    pub proposed: Option<SidePlaying>,
    /// Steps without a solution.
    pub unsolved: u64,
}

/// Plays a sound. `samples`: volts at the jack, `rate` in hertz. `go_on` is told the share that is
/// done and answers whether to go on; none when it says no.
pub fn valves_playing(
    amp: &SolvedAmp,
    samples: &[f32],
    rate: u32,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Playing> {
    let sides: Vec<&SolvedCircuit> = std::iter::once(&amp.as_found)
        .chain(&amp.proposed)
        .collect();
    let (played, unsolved) = run(&amp.network, &sides, samples, rate, go_on)?;
    let mut played = played.into_iter();
    Some(Playing {
        as_found: played.next()?,
        proposed: played.next(),
        unsolved,
    })
}

/// Circuits side by side: four fill the widest registers that most machines have, and take no
/// longer than one or two. Those that nobody asked for repeat the others.
const LANES: usize = 4;

/// Sums of one lane: a row of averages a figure.
struct Lane {
    sums: Vec<f64>,
    bins: Vec<Vec<f64>>,
}

fn run(
    network: &Network,
    sides: &[&SolvedCircuit],
    samples: &[f32],
    rate: u32,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<(Vec<SidePlaying>, u64)> {
    let lanes: [&SolvedCircuit; LANES] = std::array::from_fn(|lane| sides[lane % sides.len()]);
    let settings = Settings {
        governor: None,
        ..Settings::live(f64::from(rate), 1)
    };
    let mut processor = Processor::<LANES>::new(
        network,
        lanes.map(|side| (&side.values, side.point.solution.as_slice())),
        settings,
        Instructions::detect(),
    );
    let supplies = supply_nodes(&lanes[0].circuit);
    let devices = network.devices();
    let figures = devices.triodes.len() + 2 * devices.pentodes.len() + supplies.len();
    let fresh = || Lane {
        sums: vec![0.0; figures],
        bins: vec![Vec::new(); figures],
    };
    let mut sums: Vec<Lane> = sides.iter().map(|_| fresh()).collect();
    let reads_a_bin = (BIN_SECONDS * f64::from(rate) / READ_EVERY as f64).round() as usize;
    let mut reads = 0;
    let mut feed = [0.0; READ_EVERY];
    let mut take = [[0.0; READ_EVERY]; LANES];
    for (index, chunk) in samples.chunks_exact(READ_EVERY).enumerate() {
        for (slot, &sample) in feed.iter_mut().zip(chunk) {
            *slot = f64::from(sample);
        }
        let mut outputs = take.each_mut().map(|lane| lane.as_mut_slice());
        processor.process(&[&feed; LANES], &mut outputs);
        reads += 1;
        for (lane, sums) in sums.iter_mut().enumerate() {
            let at = |position: usize| processor.volts(lane, position);
            add_figures(network, lanes[lane], &supplies, &at, &mut sums.sums);
            if reads == reads_a_bin {
                for (bins, sum) in sums.bins.iter_mut().zip(&mut sums.sums) {
                    bins.push(*sum / reads_a_bin as f64);
                    *sum = 0.0;
                }
            }
        }
        if reads == reads_a_bin {
            reads = 0;
        }
        let done = (index + 1) * READ_EVERY;
        if done.is_multiple_of(ASK_EVERY) && !go_on(done as f64 / samples.len() as f64) {
            return None;
        }
    }
    // A sound of less than a tenth of a second is one average; silence of no length is rest.
    for (lane, sums) in sums.iter_mut().enumerate() {
        if sums.bins.iter().all(Vec::is_empty) {
            let at = |position: usize| processor.volts(lane, position);
            add_figures(network, lanes[lane], &supplies, &at, &mut sums.sums);
            for (bins, sum) in sums.bins.iter_mut().zip(&sums.sums) {
                bins.push(sum / (reads + 1) as f64);
            }
        }
    }
    let played = sides.iter().zip(&sums);
    let played = played.map(|(&of, sums)| side(network, of, &supplies, &sums.bins));
    Some((played.collect(), processor.counts().unsolved))
}

/// Adds the present figures: watts of triodes' anodes, of pentodes' anodes and screens, volts of
/// supply nodes.
fn add_figures(
    network: &Network,
    side: &SolvedCircuit,
    supplies: &[NodeId],
    at: &impl Fn(usize) -> f64,
    sums: &mut [f64],
) {
    let devices = network.devices();
    let mut sums = sums.iter_mut();
    let mut add = |figure: f64| {
        if let Some(sum) = sums.next() {
            *sum += figure;
        }
    };
    for (site, value) in devices.triodes.iter().zip(&side.values.devices.triodes) {
        let [a, g, k] = site.at.map(|p| at(p as usize));
        let i = value.law.currents(a - k, g - k);
        add(value.present * i.anode * (a - k));
    }
    for (site, value) in devices.pentodes.iter().zip(&side.values.devices.pentodes) {
        let [a, s, g, k] = site.at.map(|p| at(p as usize));
        let i = value.law.currents(a - k, s - k, g - k);
        add(value.present * i.anode * (a - k));
        add(value.present * i.screen * (s - k));
    }
    for &node in supplies {
        add(at(network.position(node)));
    }
}

fn side(
    network: &Network,
    side: &SolvedCircuit,
    supplies: &[NodeId],
    bins: &[Vec<f64>],
) -> SidePlaying {
    let devices = network.devices();
    let mut bins = bins.iter();
    let mut next = || bins.next().map_or(&[][..], Vec::as_slice);
    let name = |id: PartId| side.circuit.part(id).designator.clone();
    let mut valves = Vec::new();
    for site in &devices.triodes {
        valves.push(ValvePlaying {
            designator: name(site.part),
            anode_watts: heaviest_second(next()),
            screen_watts: None,
        });
    }
    for site in &devices.pentodes {
        valves.push(ValvePlaying {
            designator: name(site.part),
            anode_watts: heaviest_second(next()),
            screen_watts: Some(heaviest_second(next())),
        });
    }
    let supply = |&node: &NodeId| {
        let idle_volts = side.point.solution[network.position(node)];
        let nearest = |low: f64, &volts: &f64| if volts.abs() < low.abs() { volts } else { low };
        SupplyPlaying {
            node: side.circuit.nodes()[node.0 as usize].clone(),
            idle_volts,
            lowest_volts: next().iter().fold(idle_volts, nearest),
        }
    };
    let supplies = supplies.iter().map(supply).collect();
    SidePlaying { valves, supplies }
}

/// The nodes that a supply or a rectifier feeds, and those behind resistors and chokes that a
/// capacitor holds to ground, in the order of the file.
pub fn supply_nodes(circuit: &Circuit) -> Vec<NodeId> {
    let mut found = vec![false; circuit.nodes().len()];
    let decoupled = |node: NodeId| {
        circuit.parts().iter().any(|part| {
            matches!(part.kind, PartKind::Capacitor { between: [a, b], .. }
                if part.fitted && ((a, b) == (node, GROUND) || (a, b) == (GROUND, node)))
        })
    };
    for part in circuit.parts() {
        match part.kind {
            PartKind::Supply { node, .. } | PartKind::BiasSupply { node, .. } => {
                found[node.0 as usize] = true;
            }
            PartKind::Rectifier { to, .. } => found[to.0 as usize] = true,
            _ => {}
        }
    }
    loop {
        let mut grew = false;
        for part in circuit.parts().iter().filter(|p| p.fitted) {
            let (PartKind::Resistor { between, .. } | PartKind::Inductor { between, .. }) =
                part.kind
            else {
                continue;
            };
            for [from, to] in [between, [between[1], between[0]]] {
                let new = found[from.0 as usize] && !found[to.0 as usize];
                if new && to != GROUND && decoupled(to) {
                    found[to.0 as usize] = true;
                    grew = true;
                }
            }
        }
        if !grew {
            break;
        }
    }
    (1..found.len())
        .filter(|&i| found[i])
        .map(|i| NodeId(i as u16))
        .collect()
}
