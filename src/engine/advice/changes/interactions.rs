//! Where changes do together what the sum of each alone does not tell.

use super::effect::{Effect, NOTICEABLE_DB, NOTICEABLE_WATTS, effect};
use super::figures::Figures;
use super::plan::Plan;
use crate::analysis::audibility::{Audibility, HEARD_DB, Profile, compare_responses};
use crate::device::Electrode;
use crate::text::digits::{fixed, hertz, signed_db};
use crate::text::list::listed;
use serde::Serialize;
use std::sync::Arc;

/// Some changes that act upon one another.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Interaction {
    /// Names of the changes.
    pub changes: Vec<String>,
    /// Of more than three, the three whose sound differs most beside the others from alone.
    pub most: Vec<String>,
    /// Largest difference of the sound in a band beyond the sum, dB, and the band, Hz; none where
    /// it is below what is heard.
    pub band_db: Option<f64>,
    /// Middle of that band, Hz.
    pub band_hz: Option<f64>,
    /// Headroom beyond the sum, dB; none where it is little.
    pub headroom_db: Option<f64>,
    /// Idle dissipation of an output valve's anode beyond the sum, W; none where it is little.
    pub watts: Option<f64>,
    /// In words.
    pub sentence: String,
}

/// So many changes can be named in a sentence; of more, those that do most beside the others what
/// they do not alone.
const NAMED: usize = 3;

/// The interactions: pairs where their circuits are known (two or three changes), else all together.
pub fn interactions(plan: &Plan, figures: &[Option<Arc<Figures>>]) -> Vec<Interaction> {
    let count = plan.items.len();
    let at = |place: Option<usize>| figures.get(place?)?.as_deref();
    let Some(found) = at(Some(0)) else {
        return Vec::new();
    };
    let of = |some: &[usize], together: Option<usize>| {
        let alone: Option<Vec<Effect>> = some
            .iter()
            .map(|&i| Some(effect(found, at(plan.alone[i])?, found)))
            .collect();
        let together = effect(found, at(together)?, found);
        let names = some.iter().map(|&i| plan.items[i].name()).collect();
        interaction(names, &alone?, &together, &found.heard)
    };
    let all: Vec<usize> = (0..count).collect();
    let mut found_ones = Vec::new();
    if count == 3 {
        // All but one are the other two.
        for left_out in all.iter().rev() {
            let pair: Vec<usize> = all.iter().copied().filter(|i| i != left_out).collect();
            found_ones.extend(of(&pair, plan.without[*left_out]));
        }
    }
    if count >= 2 && found_ones.is_empty() {
        found_ones.extend(of(&all, Some(plan.proposed)));
    }
    if let ([one], true) = (&mut found_ones[..], count > NAMED) {
        let proposed = at(Some(plan.proposed));
        let mut moved: Vec<(f64, usize)> = all
            .iter()
            .filter_map(|&i| {
                let alone = effect(found, at(plan.alone[i])?, found);
                let beside = effect(at(plan.without[i])?, proposed?, found);
                let beyond = bands_beyond(&[alone], &beside, &found.heard)?;
                Some((beyond.summary.rms_db, i))
            })
            .collect();
        moved.sort_by(|a, b| b.0.total_cmp(&a.0));
        moved.truncate(NAMED);
        moved.sort_by_key(|&(_, i)| i);
        one.most = moved.iter().map(|&(_, i)| plan.items[i].name()).collect();
        one.sentence = in_words(one).unwrap_or_default();
    }
    found_ones
}

fn interaction(
    changes: Vec<String>,
    alone: &[Effect],
    together: &Effect,
    played: &Profile,
) -> Option<Interaction> {
    let band = bands_beyond(alone, together, played)
        .map(|a| a.summary)
        .filter(|s| s.largest_db.abs() > HEARD_DB);
    let headroom = alone
        .iter()
        .map(|e| e.headroom.change_db)
        .sum::<Option<f64>>()
        .zip(together.headroom.change_db)
        .map(|(sum, together)| together - sum)
        .filter(|db| db.abs() > NOTICEABLE_DB);
    let watts = watts_beyond(alone, together).filter(|w| w.abs() > NOTICEABLE_WATTS);
    let mut interaction = Interaction {
        changes,
        most: Vec::new(),
        band_db: band.map(|s| s.largest_db),
        band_hz: band.map(|s| s.largest_hz),
        headroom_db: headroom,
        watts,
        sentence: String::new(),
    };
    interaction.sentence = in_words(&interaction)?;
    Some(interaction)
}

/// What the sum of the band differences leaves over, both equally loud.
fn bands_beyond(alone: &[Effect], together: &Effect, played: &Profile) -> Option<Audibility> {
    let together = together.played.as_ref()?;
    let mut sum = vec![0.0; together.bands.len()];
    for effect in alone {
        for (sum, band) in sum.iter_mut().zip(&effect.played.as_ref()?.bands) {
            *sum += band.difference_db.unwrap_or(0.0);
        }
    }
    let whole: Vec<f64> = together
        .bands
        .iter()
        .map(|b| b.difference_db.unwrap_or(0.0))
        .collect();
    compare_responses(&sum, &whole, played)
}

/// The valves' anodes, the one that is farthest from the sum.
fn watts_beyond(alone: &[Effect], together: &Effect) -> Option<f64> {
    let change = |effect: &Effect, valve: &str| {
        let mut anodes = effect
            .dissipation
            .iter()
            .filter(|d| d.electrode == Electrode::Anode);
        let group = anodes.find(|d| d.valves.iter().any(|v| v == valve));
        group.map(|d| d.change())
    };
    let anodes = together
        .dissipation
        .iter()
        .filter(|d| d.electrode == Electrode::Anode);
    let beyond = anodes.filter_map(|group| {
        let valve = group.valves.first()?;
        let sum: Option<f64> = alone.iter().map(|e| change(e, valve)).sum();
        Some(group.change() - sum?)
    });
    beyond.max_by(|a, b| a.abs().total_cmp(&b.abs()))
}

fn in_words(interaction: &Interaction) -> Option<String> {
    let mut out = Vec::new();
    if let (Some(db), Some(hz)) = (interaction.band_db, interaction.band_hz) {
        out.push(format!("{} dB at {}", signed_db(db), hertz(hz)));
    }
    if let Some(db) = interaction.headroom_db {
        out.push(format!("{} dB of headroom", signed_db(db)));
    }
    if let Some(watts) = interaction.watts {
        let sign = if watts > 0.0 { "+" } else { "" };
        out.push(format!("{sign}{} W at each output valve", fixed(watts, 1)));
    }
    let list = |names: &[String]| {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        listed(&names)
    };
    let who = match interaction.most.is_empty() {
        true => format!("{} act upon one another", list(&interaction.changes)),
        false => format!(
            "The changes act upon one another, most of all {}",
            list(&interaction.most)
        ),
    };
    (!out.is_empty()).then(|| {
        format!(
            "{who}: done together they differ from the sum of each alone by {}.",
            out.join(", ")
        )
    })
}
