//! The whole verdict: as found against proposed in every respect that is computed.
//!
//! [`verdict`] takes a [`Question`] and keeps in a [`Cache`] what it works out, so that a window
//! pays only for the circuits that an edit makes; [`recordings`] are for listening.
//!
//! # What it costs
//!
//! The cache keeps figures by circuit, so an edit solves and plays the circuits that it makes and
//! no others. Bradawl 15, cooler bias, after an edit: 0.21 to 0.24 s on two cores, the first
//! verdict 0.44 s (`cargo xtask bench --verdict`).
//!
//! - A sound is played in 16 segments side by side, eight lanes to a core, each after 0.2 s of
//!   run-in (`analysis::performance`): 9.6 s of guitar in 0.13 s. Difference from the sound in
//!   one piece: 0.03 LU, 0.3 % of a valve's dissipation, 42 to 72 dB below the sound in the
//!   samples (`tests/analysis/performance.rs`).
//! - The sine sweep moves the slow voltages (supplies, bypasses) to where the mean currents point
//!   instead of waiting for them (`analysis::drive::average`): 30 to 60 ms a side where waiting
//!   took 0.8 s; inputs within 0.04 % of waiting (`tests/analysis/drive_pace.rs`).
//! - What takes a second by itself (the volume control at ten positions, the burst) follows when
//!   the rest is shown.
//! - A thousand drawn amps, both sides: 2.4 s (`cargo xtask bench --spread`). An amp's draw
//!   depends on the seed and its number alone.

mod cache;
mod calibrated;
mod in_front;
mod over;
mod pieces;
mod question;
mod recordings;
mod report;
mod side;
mod stability;
mod words;

use super::changes::{ChangesReport, Plan};
use super::ratings::bias_for;
use crate::analysis::parts_list::parts_list;
use crate::analysis::third_octave::Band;
use crate::analysis::valves_playing::Playing;
use crate::analysis::voltages::NOTES;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};
pub use cache::Cache;
pub use calibrated::CalibratedSound;
pub use in_front::{Boost, guitar_in_words};
pub use over::over_first;
use pieces::{both_thorough, each_change};
pub use question::{NoVerdict, Question};
pub use recordings::{Hear, Recordings, recordings};
pub use report::{BandDifference, Loudness, Radiated, Verdict};
pub use side::{SideFigures, Thorough, side_figures, thorough};
use stability::new_dangers;
use std::sync::Arc;
pub use words::files_alike;

/// The answer.
#[derive(Clone, Debug)]
pub struct Answer {
    /// The report.
    pub verdict: Verdict,
    /// The amp at rest, both sides.
    pub amp: SolvedAmp,
    /// All figures of each side.
    pub figures: Both<Arc<SideFigures>>,
}

impl Answer {
    /// Valves and supplies while the sound is played.
    pub fn playing(&self) -> Playing {
        let Both { as_found, proposed } = &self.figures;
        Playing {
            as_found: as_found.playing.clone(),
            proposed: Some(proposed.playing.clone()),
            unsolved: as_found.unsolved + proposed.unsolved,
        }
    }
}

/// Shares of the work, for the progress: each side, then the changes one by one.
const SIDE: f64 = 0.35;

/// Answers. `go_on` is told the share that is done and answers whether to go on; none when it says
/// no.
///
/// # Errors
/// [`NoVerdict`] when the proposal does not fit or a circuit has no solution.
pub fn verdict(
    question: &Question<'_>,
    cache: &mut Cache,
    go_on: GoOn<'_>,
) -> Option<Result<Answer, NoVerdict>> {
    let plan = match Plan::new(&question.amp.as_found.circuit, question.proposal) {
        Ok(plan) => plan,
        Err(faults) => return Some(Err(NoVerdict::Faults(faults))),
    };
    let amp = match question.amp.proposing(&plan.circuits[plan.proposed]) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.into())),
    };
    let amp = match amp.fit_to_play() {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.into())),
    };
    cache.of_sound(question.played);
    let mut before = 0.0;
    let mut figures_of = |side: &SolvedCircuit, go_on: GoOn<'_>| {
        let known = cache.side(&side.circuit);
        let found = match known {
            Some(figures) => Ok(figures),
            None => {
                let mut on = |share: f64| go_on(before + SIDE * share);
                side_figures(&amp.network, side, question.played, &mut on)?.map(Arc::new)
            }
        };
        before += SIDE;
        if let Ok(figures) = &found {
            cache.put_side(&side.circuit, Arc::clone(figures));
        }
        Some(found)
    };
    let sides = amp.both().expect("two circuits were given");
    let found = match figures_of(sides.as_found, go_on)? {
        Ok(figures) => figures,
        Err(fault) => return Some(Err(fault)),
    };
    let changed = match figures_of(sides.proposed, go_on)? {
        Ok(figures) => figures,
        Err(fault) => return Some(Err(fault)),
    };
    let each_change = each_change(&plan, &amp, question, cache, &mut |share| {
        go_on(2.0 * SIDE + (1.0 - 2.0 * SIDE) * share)
    })?;
    let figures = Both {
        as_found: found,
        proposed: changed,
    };
    let slow = match question.thorough {
        false => None,
        true => Some(both_thorough(&amp, &figures, cache, &mut |_| go_on(1.0))?),
    };
    let mut verdict = judge(&amp, &figures, each_change, slow, question);
    if question.thorough {
        let dangers = new_dangers(&amp, &mut |_| go_on(1.0))?;
        verdict.warnings.extend(dangers);
    }
    Some(Ok(Answer {
        verdict,
        amp,
        figures,
    }))
}

/// Puts two sides together. `amp` has both.
fn judge(
    amp: &SolvedAmp,
    figures: &Both<Arc<SideFigures>>,
    each_change: ChangesReport,
    slow: Option<Both<Arc<Thorough>>>,
    question: &Question<'_>,
) -> Verdict {
    let as_found = &amp.as_found.circuit;
    let list = parts_list(as_found, amp.proposed.as_ref().map(|side| &side.circuit));
    let parts = list.stages.into_iter().flat_map(|stage| stage.parts);
    let played = question.played;
    let ratings = figures.map(|f| f.ratings.clone());
    let peak_volts = f64::from(played.sound.peak()) * played.input_volts;
    let bias = bias_for(&amp.network, &amp.as_found, question.idle_percent);
    let mut verdict = Verdict {
        amp: as_found.name().into(),
        proposal: question.proposal.name.clone(),
        over_rated: over_first(&ratings),
        changes: parts.filter(|part| part.proposed.is_some()).collect(),
        controls: list.controls,
        voltages: figures.map(|f| f.voltages.clone()),
        gain_db: figures.map(|f| f.gain_db),
        clean: figures.map(|f| f.clean.clone()),
        volume: slow.as_ref().and_then(|both| {
            Some(Both {
                as_found: both.as_found.volume.clone()?,
                proposed: both.proposed.volume.clone()?,
            })
        }),
        recovery: slow.as_ref().and_then(|both| {
            Some(Both {
                as_found: both.as_found.recovery.clone()?,
                proposed: both.proposed.recovery.clone()?,
            })
        }),
        ratings,
        each_change,
        bias_in_words: match &bias {
            Ok(advice) => advice.sentences.clone(),
            Err(why) => vec![why.to_string()],
        },
        bias: bias.ok(),
        sound: played.sound.name.clone(),
        input_peak_volts: peak_volts,
        guitar: as_found.guitar().cloned(),
        boost: question
            .boost_db
            .map(|db| Boost::of(db, &figures.map(|f| &f.clean), peak_volts)),
        loudness: Loudness {
            lufs: figures.map(|f| f.lufs),
            peak_db: figures.map(|f| f.peak_db),
        },
        third_octaves: third_octaves(figures, |side| &side.bands),
        radiated: radiated(figures),
        sentences: Vec::new(),
        warnings: warnings(figures),
        notes: NOTES.to_vec(),
    };
    verdict.sentences = words::sentences(&verdict);
    verdict
}

fn warnings(figures: &Both<Arc<SideFigures>>) -> Vec<String> {
    let sum = |of: fn(&SideFigures) -> u64| of(&figures.as_found) + of(&figures.proposed);
    let sound = sum(|f| f.unsolved);
    let sweep = sum(|f| f.clean.drive.unsolved);
    let sound = (sound > 0).then(|| {
        format!(
            "While the sound was played the equations had no solution at {sound} moments; figures \
             of loud passages may be off."
        )
    });
    let sweep = (sweep > 0).then(|| {
        format!(
            "In the sine sweep the equations had no solution in {sweep} steps; the limits at high \
             drive may be off."
        )
    });
    sound.into_iter().chain(sweep).collect()
}

fn radiated(figures: &Both<Arc<SideFigures>>) -> Option<Radiated> {
    let heard = figures.map(|side| side.of_changes.loudspeaker.as_ref());
    if heard.as_found == heard.proposed {
        return None;
    }
    Some(Radiated {
        loudspeakers: Both {
            as_found: heard.as_found?.name.clone(),
            proposed: heard.proposed?.name.clone(),
        },
        louder_db: {
            let [was, is] = [heard.as_found?, heard.proposed?].map(|driver| driver.sensitivity_db);
            was.zip(is).map(|(was, is)| is - was)
        },
        third_octaves: third_octaves(figures, |side| &side.radiated_bands),
    })
}

fn third_octaves(
    figures: &Both<Arc<SideFigures>>,
    of: fn(&SideFigures) -> &Vec<Band>,
) -> Vec<BandDifference> {
    let pairs = of(&figures.as_found).iter().zip(of(&figures.proposed));
    pairs
        .map(|(a, p)| BandDifference {
            hz: a.hz,
            as_found_db: a.db,
            proposed_db: p.db,
            difference_db: p.db - a.db,
        })
        .collect()
}
