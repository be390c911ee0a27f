//! One way of connecting loudspeakers: what it does.

use super::behind::{DAMPING_HZ, behind_loudspeaker};
use super::ways::{Way, nominal};
use crate::analysis::drive::{
    self, DriveOptions, Pace, drive_with, full_output, full_output_volts,
};
use crate::analysis::stress::{Stress, sine_stress};
use crate::circuit::{PartId, PartKind, output_sections};
use crate::network::Network;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::units::{decibels_from_ratio, ratio_from_decibels};
use serde::Serialize;

/// Shares of the work of a case: the sweep of the sine, then the two steady tones.
const SWEEP_SHARE: f64 = 0.4;

/// The load by rated impedances and turns.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Nominal {
    /// Of all that is connected, at the taps in use, Ω.
    pub ohms: f64,
    /// What those taps are meant for, Ω.
    pub meant_ohms: f64,
    /// What the valves see across the whole primary, Ω.
    pub primary_ohms: f64,
    /// What they are meant to see, Ω.
    pub meant_primary_ohms: f64,
    /// The first over the second: 2 for a load of twice the ohms.
    pub ratio: f64,
}

/// What the output valves do on a steady tone.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Driven {
    /// At the jack, V r.m.s.
    pub input_volts: f64,
    /// Anode dissipation of the hottest, W.
    pub anode_watts: f64,
    /// The same against its limit, per cent; none where none is printed.
    pub anode_percent: Option<f64>,
    /// Screen dissipation of the hottest, W; none of triodes.
    pub screen_watts: Option<f64>,
    /// The same against its limit, at full signal where one is printed for that, per cent.
    pub screen_percent: Option<f64>,
    /// Highest moment of a cathode's current, A.
    pub peak_amps: f64,
    /// Lowest moment from anode to cathode, V.
    pub anode_low_volts: f64,
    /// Highest moment, V.
    pub anode_high_volts: f64,
}

/// One loudspeaker's share.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoudspeakerLoad {
    /// Designator.
    pub designator: String,
    /// Name.
    pub name: String,
    /// Rated impedance, Ω.
    pub rated_ohms: f64,
    /// What it is rated for, W.
    pub rated_watts: f64,
    /// At clean power, W.
    pub clean_watts: f64,
    /// When the amp is driven hard, W; none where that did not come to stand.
    pub hard_watts: Option<f64>,
    /// Sound level at 1 m for 2.83 V, dB; none where its file does not say.
    pub sensitivity_db: Option<f64>,
}

/// One way of connecting loudspeakers.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct LoadCase {
    /// How.
    pub way: Way,
    /// The same in words.
    pub name: String,
    /// What is connected then.
    pub loudspeakers: Vec<LoudspeakerLoad>,
    /// By rated impedances; none with nothing connected.
    pub nominal: Option<Nominal>,
    /// Input for clean power, V r.m.s. at the jack.
    pub clean_input_volts: f64,
    /// Clean power into all loudspeakers, W.
    pub clean_watts: f64,
    /// Sound level of all loudspeakers at 1 m at clean power, dB: their powers added. None where a
    /// file does not state the sensitivity.
    pub clean_sound_db: Option<f64>,
    /// Whether 5 % distortion are reached; else the clean figures are those of the highest level
    /// that was tried.
    pub reaches_5_percent: bool,
    /// Power into all loudspeakers when driven hard, W.
    pub hard_watts: Option<f64>,
    /// Output valves at clean power.
    pub clean: Driven,
    /// Output valves driven hard.
    pub hard: Driven,
    /// Impedance that the loudspeaker finds behind it at 400 Hz, Ω.
    pub behind_ohms: Option<f64>,
    /// Rated impedance of the loudspeaker that is heard over that: the damping factor.
    pub damping: Option<f64>,
    /// Steps without a solution; more than none means that the figures are not to be relied on.
    pub unsolved: u64,
    /// What to know about it, a sentence each.
    pub sentences: Vec<String>,
}

impl LoadCase {
    /// The most of its limit that an anode, a screen or a loudspeaker takes on either tone, per
    /// cent; 0 where no limit is known.
    pub fn most_percent(&self) -> f64 {
        let valves = [&self.clean, &self.hard];
        let valves = valves.map(|driven| [driven.anode_percent, driven.screen_percent]);
        let loudspeakers = self.loudspeakers.iter().map(LoudspeakerLoad::percent);
        let valves = valves.into_iter().flatten().flatten();
        valves.chain(loudspeakers).fold(0.0, f64::max)
    }
}

impl LoudspeakerLoad {
    /// The most watts that it gets.
    pub fn most_watts(&self) -> f64 {
        self.hard_watts.unwrap_or(0.0).max(self.clean_watts)
    }

    /// The same against what it is rated for, per cent.
    pub fn percent(&self) -> f64 {
        100.0 * self.most_watts() / self.rated_watts
    }
}

/// The input at which an amp gives full output, V r.m.s.
pub fn full_input(amp: &SolvedAmp, go_on: GoOn<'_>) -> Option<f64> {
    let drive = drive_with(&amp.network, &amp.as_found, DriveOptions::default(), go_on)?;
    Some(full_output_volts(&drive))
}

/// Works out one way; `amp` is the circuit with it, `hard_volts` the input of the hard drive.
pub fn case(way: &Way, amp: &SolvedAmp, hard_volts: f64, go_on: GoOn<'_>) -> Option<LoadCase> {
    let (network, side) = (&amp.network, &amp.as_found);
    let options = DriveOptions {
        played_volts: Some(hard_volts),
        pace: Pace::Quick,
    };
    let drive = drive_with(network, side, options, &mut |share| {
        go_on(SWEEP_SHARE * share)
    })?;
    let full = full_output_volts(&drive);
    let half = 0.5 * (1.0 - SWEEP_SHARE);
    let clean = sine_stress(network, side, full, &mut |share| {
        go_on(SWEEP_SHARE + half * share)
    })?;
    let hard = sine_stress(network, side, hard_volts, &mut |share| {
        go_on(SWEEP_SHARE + half + half * share)
    })?;
    let level = full_output(&drive);
    let hard_watts = drive.harmonics_played.as_ref().and_then(|h| h.level.watts);
    let behind = behind_loudspeaker(network, side, DAMPING_HZ).map(|z| z.norm());
    let clean_watts = level.and_then(|l| l.watts).unwrap_or(0.0);
    let loudspeakers = loudspeakers(network, side, clean_watts, hard_watts);
    let connected = !loudspeakers.is_empty();
    let heard = loudspeakers.first().map(|l| l.rated_ohms);
    Some(LoadCase {
        way: way.clone(),
        name: way.to_string(),
        nominal: nominal(&side.circuit)
            .filter(|n| n.ohms.is_finite())
            .map(|n| Nominal {
                ohms: n.ohms,
                meant_ohms: n.meant_ohms,
                primary_ohms: n.primary_ohms,
                meant_primary_ohms: n.meant_primary_ohms,
                ratio: n.ratio(),
            }),
        clean_input_volts: full,
        clean_watts,
        clean_sound_db: sound_db(&loudspeakers),
        reaches_5_percent: drive.limit(5.0).is_some_and(|limit| limit.at.is_some()),
        hard_watts: hard_watts.filter(|_| connected),
        clean: driven(side, clean.input_volts, &clean.stress),
        hard: driven(side, hard.input_volts, &hard.stress),
        behind_ohms: behind.filter(|_| connected),
        damping: behind.zip(heard).map(|(behind, heard)| heard / behind),
        unsolved: drive.unsolved,
        sentences: Vec::new(),
        loudspeakers,
    })
}

/// How the watts are shared out, by the fundamental.
fn loudspeakers(
    network: &Network,
    side: &SolvedCircuit,
    clean_watts: f64,
    hard_watts: Option<f64>,
) -> Vec<LoudspeakerLoad> {
    let load = |(id, share): (PartId, f64)| {
        let part = side.circuit.part(id);
        let PartKind::Loudspeaker { driver, .. } = &part.kind else {
            return None;
        };
        Some(LoudspeakerLoad {
            designator: part.designator.clone(),
            name: driver.name.clone(),
            rated_ohms: driver.rated_ohms,
            rated_watts: driver.rated_watts,
            clean_watts: share * clean_watts,
            hard_watts: hard_watts.map(|watts| share * watts),
            sensitivity_db: driver.sensitivity_db,
        })
    };
    let shares = drive::shared_out(network, side, drive::HZ);
    shares.into_iter().filter_map(load).collect()
}

/// Volts that a sensitivity is stated for.
const SENSITIVITY_VOLTS: f64 = 2.83;

/// Sound level of loudspeakers at clean power, dB; the volts of each are those of its watts in its
/// rated impedance.
fn sound_db(loudspeakers: &[LoudspeakerLoad]) -> Option<f64> {
    let of = |load: &LoudspeakerLoad| {
        let volts = (load.clean_watts * load.rated_ohms).sqrt();
        let pressure = ratio_from_decibels(load.sensitivity_db?) * volts / SENSITIVITY_VOLTS;
        Some(pressure * pressure)
    };
    let power: Option<f64> = loudspeakers.iter().map(of).sum();
    let power = power.filter(|power| *power > 0.0);
    power.map(|power| decibels_from_ratio(power.sqrt()))
}

/// The hottest of the output valves, in each respect.
fn driven(side: &SolvedCircuit, input_volts: f64, stress: &Stress) -> Driven {
    let mut most = Driven {
        input_volts,
        anode_low_volts: f64::INFINITY,
        ..Driven::default()
    };
    for id in output_sections(&side.circuit) {
        let (valve, pentode) = match &side.circuit.part(id).kind {
            PartKind::Pentode { valve, .. } => (valve, true),
            PartKind::Triode { valve, .. } => (valve, false),
            _ => continue,
        };
        let ratings = valve.ratings.first();
        let of = stress.of(id);
        let percent = |watts: f64, limit: Option<f64>| limit.map(|limit| 100.0 * watts / limit);
        if of.watts > most.anode_watts {
            most.anode_watts = of.watts;
            most.anode_percent = percent(of.watts, ratings.and_then(|r| r.anode_watts));
        }
        if pentode && of.screen_watts >= most.screen_watts.unwrap_or(0.0) {
            most.screen_watts = Some(of.screen_watts);
            let limit = ratings.and_then(|r| r.screen_peak_watts.or(r.screen_watts));
            most.screen_percent = percent(of.screen_watts, limit);
        }
        most.peak_amps = most.peak_amps.max(of.peak_amps);
        most.anode_low_volts = most.anode_low_volts.min(of.anode_volts[0]);
        most.anode_high_volts = most.anode_high_volts.max(of.anode_volts[1]);
    }
    most
}
