//! Valves and parts within their ratings: idle, cold, while the guitar plays, on a steady sine.
//!
//! Takes one circuit at rest and, where known, what its parts stand while something is played
//! ([`StressGauge`] beside [`crate::analysis::performance::perform`], [`sine_stress`]); gives every limited
//! quantity beside its limit, and what is over or near it as sentences, worst first.

mod bias;
mod bias_advice;
mod bias_method;
mod bias_path;
mod bias_words;
mod capacitors;
mod discharge;
mod fail_safe;
mod finding;
mod limited;
mod lines;
mod loudspeakers;
mod passive;
mod rectifiers;
pub mod report_text;
mod resistors;
mod states;
mod valves;
mod wording;

pub use bias::{SPREAD, bias_for};
pub use bias_advice::{BiasAdvice, BiasChoice, IdlePoint, NoAdvice};
pub use bias_method::{Bias, BiasMethod, biases};
pub use bias_method::{CATHODE_BIAS_PERCENT, FIXED_BIAS_PERCENT, SINGLE_PERCENT};
pub use capacitors::{CapacitorRatings, USUAL_VOLTS};
pub use discharge::{Reservoir, SAFE_VOLTS, duration};
pub use fail_safe::{Loose, loose_parts};
pub use finding::{Finding, NEAR_PERCENT, Standing, When, sentences};
pub use limited::{LimitSource, Limited};
pub use lines::Line;
pub use loudspeakers::LoudspeakerRatings;
pub use rectifiers::RectifierRatings;
pub use resistors::{ResistorRatings, SIZES, assumed_volts};
pub use valves::ValveRatings;
pub use wording::Wording;

use crate::analysis::drive::Drive;
use crate::analysis::stress::{SineStress, Stress, StressGauge, at};
use crate::circuit::{PartId, output_sections};
use crate::network::Network;
use crate::solve::solved::SolvedCircuit;
use serde::Serialize;
use states::States;

/// What the parts stand while something is played; what is not known is left out.
#[derive(Clone, Copy, Debug, Default)]
pub struct Driven<'a> {
    /// The guitar.
    pub phrase: Option<&'a Stress>,
    /// A steady sine at full output.
    pub sine: Option<&'a SineStress>,
    /// A sine at rising levels.
    pub drive: Option<&'a Drive>,
}

/// The report for one circuit.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RatingsReport {
    /// What is over its limit, worst first.
    pub over: Vec<Finding>,
    /// What is over the limit for good, but within the one for moments, worst first.
    pub brief: Vec<Finding>,
    /// What is over 90 % of its limit, worst first.
    pub near: Vec<Finding>,
    /// Fitted valve sections in the order of the file.
    pub valves: Vec<ValveRatings>,
    /// Rectifiers.
    pub rectifiers: Vec<RectifierRatings>,
    /// Fitted resistors and pots.
    pub resistors: Vec<ResistorRatings>,
    /// Fitted loudspeakers; none where no sine was played.
    pub loudspeakers: Vec<LoudspeakerRatings>,
    /// Fitted capacitors.
    pub capacitors: Vec<CapacitorRatings>,
    /// Capacitors that stay charged, most energy first.
    pub reservoirs: Vec<Reservoir>,
    /// What a loose part of the bias path does, dangerous ones first.
    pub loose: Vec<Loose>,
    /// Input of the sine, V r.m.s. at the jack.
    pub sine_input_volts: Option<f64>,
    /// How the readings are meant.
    pub notes: Vec<&'static str>,
}

/// How the readings are meant.
pub const NOTES: [&str; 7] = [
    "Limits are the maker's, in the rating system named. Design-centre limits hold at nominal mains and allow for its swings; design-maximum limits are also held against mains 10 % high. Voltages of cold valves are judged only where a limit for them is printed.",
    "A stated supply voltage is taken as its voltage without load; everything that the mains feed rises with it.",
    "Heaters are taken to stand at ground.",
    "While the guitar plays, watts and mean currents are those of the heaviest second. The steady tone is 1 kHz at 5 % distortion: a test, not music.",
    "Anode watts leave the screen's current out; a meter in the cathode reads both, and so too much.",
    "What a resistor's body stands is assumed from its watts where the file does not state it; ask the maker's sheet.",
    "Discharge times are for valves that have gone cold; capacitors below 60 V or 45 µC are left out. A capacitor that was emptied can charge itself up again a little.",
];

/// Makes the report. Without anything driven it takes a few operating points.
pub fn ratings(network: &Network, side: &SolvedCircuit, driven: &Driven<'_>) -> RatingsReport {
    Undriven::new(network, side).ratings(driven)
}

/// What is known of a circuit before anything is played: its solutions at nominal and high mains,
/// warm and cold, and what follows from them. All reports on one circuit share it.
pub struct Undriven<'a> {
    network: &'a Network,
    side: &'a SolvedCircuit,
    states: States,
    /// What parts stand without signal, with the mains high, and with the valves cold.
    standing: [Option<Stress>; 3],
    biases: Vec<Bias>,
    output: Vec<PartId>,
    loose: Vec<Loose>,
}

impl<'a> Undriven<'a> {
    /// Solves a circuit in all these states.
    pub fn new(network: &'a Network, side: &'a SolvedCircuit) -> Self {
        let gauge = StressGauge::new(network, &side.circuit);
        let states = States::new(network, side);
        // Rectifiers and valves read by their own laws in each state.
        let raised = states::with_mains(&side.values, states::MAINS_HIGH);
        let with = |values| SolvedCircuit {
            values,
            ..side.clone()
        };
        let cold = with(states::without_valves(&raised));
        let high = with(raised);
        let standing = [
            Some(at(&gauge, side, &states.nominal)),
            states.high.as_ref().map(|s| at(&gauge, &high, s)),
            states.cold.as_ref().map(|s| at(&gauge, &cold, s)),
        ];
        Undriven {
            network,
            side,
            states,
            standing,
            biases: biases(network, side),
            output: output_sections(&side.circuit),
            loose: loose_parts(network, side),
        }
    }

    /// The report with what was played.
    pub fn ratings(&self, driven: &Driven<'_>) -> RatingsReport {
        let side = self.side;
        let seen = valves::Seen {
            network: self.network,
            side,
            states: &self.states,
            standing: &self.standing,
            phrase: driven.phrase,
            sine: driven.sine.map(|sine| &sine.stress),
        };
        let mut found = Vec::new();
        let mut report = RatingsReport {
            over: Vec::new(),
            brief: Vec::new(),
            near: Vec::new(),
            valves: Vec::new(),
            rectifiers: Vec::new(),
            resistors: Vec::new(),
            capacitors: Vec::new(),
            loudspeakers: Vec::new(),
            reservoirs: discharge::reservoirs(&seen),
            loose: self.loose.clone(),
            sine_input_volts: driven.sine.map(|sine| sine.input_volts),
            notes: NOTES.to_vec(),
        };
        for bias in &self.biases {
            let of_output = self.output.contains(&bias.part);
            let (valve, findings) =
                valves::valve(&seen, bias, of_output.then_some(self.output.len()));
            report.valves.push(valve);
            found.extend(findings);
        }
        for id in (0..side.circuit.parts().len()).map(|i| PartId(i as u16)) {
            if let Some((rectifier, findings)) = rectifiers::rectifier(&seen, id) {
                report.rectifiers.push(rectifier);
                found.extend(findings);
            }
            if let Some((resistor, findings)) = resistors::resistor(&seen, id) {
                report.resistors.push(resistor);
                found.extend(findings);
            }
            if let Some((capacitor, finding)) = capacitors::capacitor(&seen, id) {
                report.capacitors.push(capacitor);
                found.extend(finding);
            }
        }
        if let Some(drive) = driven.drive {
            let (all, findings) = loudspeakers::loudspeakers(self.network, side, drive);
            report.loudspeakers = all;
            found.extend(findings);
        }
        report.sort_in(found);
        report
    }
}

impl RatingsReport {
    /// Sorts findings by how they stand, the worst first.
    fn sort_in(&mut self, mut found: Vec<Finding>) {
        // Twins differ by rounding only: they keep the order of the file.
        let rounded = |finding: &Finding| (1e3 * finding.percent).round();
        found.sort_by(|a, b| rounded(b).total_cmp(&rounded(a)));
        for finding in found {
            match finding.standing {
                Standing::Over => self.over.push(finding),
                Standing::Brief => self.brief.push(finding),
                Standing::Near | Standing::Within => self.near.push(finding),
            }
        }
    }

    /// What is over its limit, a sentence each, worst first.
    pub fn over_sentences(&self) -> Vec<String> {
        sentences(&self.over)
    }

    /// What is within a limit for moments only.
    pub fn brief_sentences(&self) -> Vec<String> {
        sentences(&self.brief)
    }

    /// How hot the output valves idle, beside common practice.
    pub fn idle_sentences(&self) -> Vec<String> {
        let valves = self.valves.iter();
        let each = valves.filter_map(|v| Some((v.designator.as_str(), v.idle.clone()?.into())));
        finding::together(each)
    }

    /// What is near its limit.
    pub fn near_sentences(&self) -> Vec<String> {
        sentences(&self.near)
    }
}
