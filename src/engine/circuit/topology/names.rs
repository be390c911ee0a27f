//! Roles and stages in the words of the trade, for parts of which a file says nothing.

use super::types::{InverterKind, Role, Stage, StageKind};
use crate::circuit::Circuit;

impl Role {
    /// What it is called; empty for what is not recognised.
    pub fn name(self) -> &'static str {
        match self {
            Role::Supply => "supply",
            Role::Reservoir => "reservoir",
            Role::RailFeed => "supply feed",
            Role::Decoupling => "decoupling",
            Role::Bleeder => "bleeder",
            Role::BiasSupply => "bias supply",
            Role::BiasFeed => "bias feed",
            Role::BiasLoad => "bias load",
            Role::BiasDecoupling => "bias decoupling",
            Role::InputLoad => "input load",
            Role::Gain => "gain",
            Role::Follower => "follower",
            Role::InverterDriven => "inverter, driven half",
            Role::InverterOther => "inverter, other half",
            Role::OutputValve => "output",
            Role::AnodeLoad => "anode load",
            Role::CathodeBias => "cathode bias",
            Role::CathodeBypass => "cathode bypass",
            Role::Tail => "tail",
            Role::CathodeLoad => "cathode load",
            Role::GridLeak => "grid leak",
            Role::GridStopper => "grid stopper",
            Role::ScreenStopper => "screen stopper",
            Role::ScreenFeed => "screen feed",
            Role::ScreenBypass => "screen bypass",
            Role::Coupling => "coupling",
            Role::Series => "series",
            Role::DividerUpper => "divider, upper",
            Role::DividerLower => "divider, lower",
            Role::Paraphase => "paraphase",
            Role::Volume => "volume",
            Role::Bright => "bright",
            Role::Treble => "treble",
            Role::Middle => "middle",
            Role::Bass => "bass",
            Role::Tone => "tone",
            Role::ToneNetwork => "tone network",
            Role::Feedback => "feedback",
            Role::FeedbackShunt => "feedback shunt",
            Role::FeedbackSwitch => "feedback switch",
            Role::Presence => "presence",
            Role::Snubber => "snubber",
            Role::OutputTransformer => "output transformer",
            Role::Loudspeaker => "loudspeaker",
            Role::LoudspeakerNetwork => "across the loudspeaker",
            Role::Unknown => "",
        }
    }
}

/// "First", "second" and so on.
const COUNTED: [&str; 8] = [
    "First", "Second", "Third", "Fourth", "Fifth", "Sixth", "Seventh", "Eighth",
];

impl Stage {
    /// What it is called; of several of a kind with its number. Empty for what is not recognised.
    pub fn name(&self, several: bool) -> String {
        let plain = match self.kind {
            StageKind::Input => "Input",
            StageKind::Gain => "Gain stage",
            StageKind::Follower => "Cathode follower",
            StageKind::Tone => "Tone and volume",
            StageKind::Inverter(InverterKind::LongTailedPair) => "Long-tailed pair",
            StageKind::Inverter(InverterKind::Cathodyne) => "Cathodyne",
            StageKind::Inverter(_) => "Paraphase",
            StageKind::Output(_) => "Output stage",
            StageKind::Feedback => "Feedback",
            StageKind::Loudspeaker => "Loudspeaker",
            StageKind::Supply => "Supply",
            StageKind::Bias => "Bias supply",
            StageKind::Unknown => "",
        };
        match COUNTED.get(self.number.saturating_sub(1)) {
            Some(counted) if several => {
                let mut letters = plain.chars();
                let first: String = letters
                    .next()
                    .into_iter()
                    .flat_map(char::to_lowercase)
                    .collect();
                format!("{counted} {first}{}", letters.as_str())
            }
            _ => plain.to_string(),
        }
    }
}

impl Circuit {
    /// Gives every part of which the file does not say its stage or its role the name that the topology
    /// has for it.
    pub(crate) fn name_parts(&mut self) {
        let said = |part: &crate::circuit::Part| {
            !part.particulars.stage.is_empty() && !part.particulars.role.is_empty()
        };
        if self.parts().iter().all(said) {
            return;
        }
        let topology = self.topology();
        let same =
            |a: StageKind, b: StageKind| std::mem::discriminant(&a) == std::mem::discriminant(&b);
        let names: Vec<String> = topology
            .stages
            .iter()
            .map(|stage| {
                let alike = topology.stages.iter().filter(|s| same(s.kind, stage.kind));
                stage.name(alike.count() > 1)
            })
            .collect();
        for (part, place) in self.parts_mut().iter_mut().zip(&topology.parts) {
            part.particulars.found_stage = names[place.stage].clone();
            part.particulars.found_role = place.role.name().to_string();
        }
    }
}
