//! Whether an amp stays at rest however its controls stand and whatever loudspeaker is plugged in, and
//! how near it is to oscillation as it stands.

use crate::circuit::{
    Change, Circuit, ControlValue, PartId, PartKind, PartType, PartValue, Setting,
};
use crate::device::Catalogue;
use crate::network::Network;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::solved::SolvedCircuit;
use crate::solve::stability::{Howl, Marginal, Stability, marginal};
use crate::text::digits::fixed;
use crate::text::list::listed;
use serde::Serialize;
use std::fmt;

/// How an amp was set when it was looked at.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub enum Stands {
    /// One control at an end of its way, the others as they stand.
    Control {
        /// Its name.
        control: String,
        /// Whether at the upper end, or closed.
        up: bool,
    },
    /// All pots at the same end.
    AllControls {
        /// Whether at the upper end.
        up: bool,
    },
    /// Another loudspeaker.
    Loudspeaker {
        /// Its name.
        name: String,
    },
}

impl fmt::Display for Stands {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Stands::Control { control, up: true } => write!(f, "With {control} fully up"),
            Stands::Control { control, up: false } => write!(f, "With {control} fully down"),
            Stands::AllControls { up: true } => f.write_str("With all controls fully up"),
            Stands::AllControls { up: false } => f.write_str("With all controls fully down"),
            Stands::Loudspeaker { name } => write!(f, "With {name} plugged in"),
        }
    }
}

/// A setting with which the amp does not stay at rest.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct HowlsWith {
    /// How it is set.
    pub stands: Stands,
    /// What it does.
    pub howl: Howl,
}

/// What was found of one circuit.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
pub struct StabilitySurvey {
    /// Settings that were looked at.
    pub looked_at: usize,
    /// Settings without an operating point, or with a count in doubt.
    pub unknown: usize,
    /// Settings with which it does not stay at rest.
    pub howls: Vec<HowlsWith>,
    /// Stages that are near to oscillation as the amp stands.
    pub near: Vec<Marginal>,
}

impl StabilitySurvey {
    /// What is to be said, a sentence an item; nothing of an amp that is in order.
    pub fn sentences(&self) -> Vec<String> {
        let howls = self.howls.iter();
        let howls = howls.map(|with| format!("{} the amp {}", with.stands, with.howl));
        howls.chain(self.near.iter().map(near_in_words)).collect()
    }
}

fn near_in_words(near: &Marginal) -> String {
    let names: Vec<&str> = near.valves.iter().map(String::as_str).collect();
    let decibels = near.decibels.map(|db| format!("{} dB", fixed(db, 1)));
    let degrees = near.degrees.map(|by| format!("{}°", fixed(by, 0)));
    let margins: Vec<String> = decibels.into_iter().chain(degrees).collect();
    let margins: Vec<&str> = margins.iter().map(String::as_str).collect();
    format!(
        "Close to oscillation: the loop through {} has a margin of only {}.",
        listed(&names),
        listed(&margins)
    )
}

/// Looks at a circuit in every setting. `go_on` is told the share that is done and answers whether to
/// go on; none when it says no.
pub fn stability_survey(
    network: &Network,
    side: &SolvedCircuit,
    catalogue: &Catalogue,
    go_on: GoOn<'_>,
) -> Option<StabilitySurvey> {
    let settings = settings(&side.circuit, catalogue);
    // The margins of the amp as it stands are a piece of work like the others.
    let found = on_all_cores(settings.len() + 1, go_on, &|index, _| {
        let Some((_, circuit)) = index.checked_sub(1).map(|index| &settings[index]) else {
            let near = marginal(&side.circuit, network, &side.values, &side.point);
            return Some((near, None));
        };
        let solved = SolvedCircuit::new(network, circuit.clone());
        let stability = solved.map_or(Stability::InDoubt, |solved| solved.stability(network));
        Some((Vec::new(), Some(stability)))
    })?;
    let mut survey = StabilitySurvey {
        looked_at: settings.len(),
        ..StabilitySurvey::default()
    };
    let (near, found): (Vec<_>, Vec<_>) = found.into_iter().unzip();
    survey.near = near.into_iter().flatten().collect();
    for ((stands, _), stability) in settings.into_iter().zip(found.into_iter().flatten()) {
        match stability {
            Stability::Stable => {}
            Stability::InDoubt => survey.unknown += 1,
            Stability::Unstable(howl) => survey.howls.push(HowlsWith { stands, howl }),
        }
    }
    Some(survey)
}

/// Every setting with its circuit.
fn settings(circuit: &Circuit, catalogue: &Catalogue) -> Vec<(Stands, Circuit)> {
    let mut out = Vec::new();
    let controls = circuit.controls();
    let setting = |control: &str, up: bool| {
        let parts = circuit.parts_of_control(control);
        let kind = &circuit.part(*parts.first()?).kind;
        let value = match kind {
            PartKind::Pot { .. } => ControlValue::Rotation(if up { 1.0 } else { 0.0 }),
            _ => ControlValue::Closed(up),
        };
        Some(Setting { parts, value })
    };
    for up in [false, true] {
        for control in &controls {
            let made = setting(control, up).and_then(|s| circuit.with_controls(&[s]).ok());
            let control = (*control).to_owned();
            out.extend(made.map(|made| (Stands::Control { control, up }, made)));
        }
        let pots = controls.iter().filter_map(|control| setting(control, up));
        let pots: Vec<Setting> = pots
            .filter(|s| matches!(s.value, ControlValue::Rotation(_)))
            .collect();
        if pots.len() > 1
            && let Ok(made) = circuit.with_controls(&pots)
        {
            out.push((Stands::AllControls { up }, made));
        }
    }
    let loudspeaker = |part: &crate::circuit::Part| {
        matches!(part.kind, PartKind::Loudspeaker { .. }) && part.fitted
    };
    if let Some(index) = circuit.parts().iter().position(loudspeaker) {
        for driver in circuit.known_loudspeakers(catalogue).all() {
            let name = driver.name.clone();
            let change = Change {
                parts: vec![PartId(index as u16)],
                value: PartValue::Type(PartType::Loudspeaker(driver.clone())),
            };
            if let Ok(made) = circuit.with_changes(&[change]) {
                out.push((Stands::Loudspeaker { name }, made));
            }
        }
    }
    out
}
