//! The search for the values: rounds of fits, what playing and the rest of the amp do being worked out
//! anew in between.
//!
//! A round goes through three steps. Each start gets a posterior of its own; the descents lead to the
//! outcomes that differ, and these to their average over the colours; then the dry track is played
//! into the amps that came out, which are the next round's starts. The search ends when the values
//! have converged, or with the last round.

use super::colour::Colour;
use super::descent::{HOPELESS, mixture, modes};
use super::mixture::Mixture;
use super::model::{Linearised, Model};
use super::played::{Played, Stage};
use super::posterior::{Data, Posterior};
use super::question::{NoFit, Others, Question};
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedCircuit;

/// Fits, with what playing and the rest of the amp do worked out anew in between: the third only
/// where the second moved.
const ROUNDS: usize = 3;
/// The same of an amp that was driven, whose distortion is followed with the values.
const DRIVEN_ROUNDS: usize = 6;
/// From this change of the curve by bending on, dB r.m.s., the amp counts as driven: what the model may
/// be off by anyhow is a few times less ([`MODEL_DB`]; own choice).
const BENDS_DB: f64 = 0.2;
/// So does one whose gain differs by more than this between loud and quiet playing, dB (own choice).
const DRIVEN_DB: f64 = 2.0;
/// What is said where its distortion was followed.
const FOLLOWED: &str = "The amp was driven. The amp in the model was played again with each value moved, so \
                        that what its distortion does to the curve is in the values and in their doubt. A \
                        recording that is played softly is quicker to match.";
/// What is said where it could not be: without the dry track, or when the model could not be played.
const DRIVEN: &str = "The amp was driven hard, even where it is quiet, and its distortion is part of \
                      the curve: the true values may lie further off than stated here. A recording \
                      that is played softly tells more.";
/// What is said where a driven amp's values still moved in the last round.
const NOT_CONVERGED: &str = "The values had not come to rest when the search ended; how far they still moved \
                         is part of the doubt. Vary fewer parts, or record it played softly.";
/// Values that move by less than this share of their standard deviation have converged.
const CONVERGED: f64 = 0.3;

/// What stays the same in all rounds.
#[derive(Clone, Copy)]
pub struct Setting<'a> {
    /// What is asked.
    pub request: Question<'a>,
    /// The amp, and what of it is unknown.
    pub model: &'a Model<'a>,
    /// As found, at rest.
    pub as_found: &'a SolvedCircuit,
    /// The recording.
    pub data: &'a Data,
    /// What loudspeaker, microphone and room may do.
    pub colours: &'a [Colour],
    /// Places of the trusted points in the target.
    pub trusted: &'a [usize],
}

/// A search between two rounds.
pub struct Search<'a> {
    setting: Setting<'a>,
    /// How the dry track is played into the model; none without one, or where that failed.
    stage: Option<Stage<'a>>,
    /// Whether the recorded amp compresses.
    compresses: bool,
    /// Whether its distortion is followed with the values.
    driven: bool,
    /// The round that comes next, from 0.
    round: usize,
    /// Where its descents begin.
    starts: Vec<Linearised>,
    /// What playing changes, for each of them.
    played: Vec<Played>,
    /// What the round before came to.
    previous: Option<Mixture>,
    /// What went otherwise than it should.
    notes: Vec<String>,
}

/// What a round came to.
struct Round<'a> {
    posteriors: Vec<Posterior<'a>>,
    /// The outcomes that differ under the middle colour, the likeliest first.
    modes: Vec<Linearised>,
    mixture: Mixture,
    /// The amp with the likeliest values.
    fitted: Linearised,
    /// By how much the values moved against the round before.
    moved: Option<Vec<f64>>,
    converged: bool,
}

/// Where the search ended.
pub struct Found<'a> {
    /// The posteriors of the last round.
    pub posteriors: Vec<Posterior<'a>>,
    /// The average over their outcomes.
    pub mixture: Mixture,
    /// The amp with the values that fit best.
    pub fitted: Linearised,
    /// By how much the last round moved the values, where that is too far to be neglected.
    pub not_converged: Option<Vec<f64>>,
    /// What went otherwise than it should.
    pub notes: Vec<String>,
    /// Share of the work that is done.
    pub share: f64,
}

impl<'a> Search<'a> {
    /// Before the first round; none when `go_on` says no.
    pub fn new(setting: Setting<'a>, go_on: GoOn<'_>) -> Option<Search<'a>> {
        let target = setting.request.target;
        let mut starts = setting.model.starts(setting.as_found);
        let quietly = Played::fixed(vec![0.0; setting.trusted.len()]);
        // As if it were played quietly, and as hard as the amp as found would take it: what playing
        // does depends on the values sought, so each way leads to values of its own that may be the
        // right ones.
        let mut played = vec![quietly; starts.len()];
        let mut notes = Vec::new();
        let mut stage = setting.request.dry.map(|dry| Stage {
            model: setting.model,
            dry,
            target,
            trusted: setting.trusted,
        });
        let mut bends_db = 0.0;
        if let (Some(playing), Some(first)) = (&stage, starts.first()) {
            match playing.as_found(first, &mut |_| go_on(0.0))? {
                Ok((as_found, db)) => {
                    bends_db = db;
                    played.extend(vec![as_found; starts.len()]);
                    starts.extend(starts.clone());
                }
                Err(why) => {
                    notes.push(why);
                    stage = None;
                }
            }
        }
        // The amp as found may stay clean where the recorded one did not.
        let dependence = target.level_dependence.as_ref();
        let compresses = dependence.is_some_and(|d| d.gain_db.abs() > DRIVEN_DB);
        Some(Search {
            setting,
            driven: stage.is_some() && (bends_db > BENDS_DB || compresses),
            stage,
            compresses,
            round: 0,
            starts,
            played,
            previous: None,
            notes,
        })
    }

    /// Goes through the rounds; none when `go_on` says no.
    ///
    /// # Errors
    /// [`NoFit::NoSolution`] where no values lead to a solution.
    pub fn run(mut self, go_on: GoOn<'_>) -> Option<Result<Found<'a>, NoFit>> {
        loop {
            if !go_on(self.share(0.0)) {
                return None;
            }
            let round = match self.fit_once(go_on)? {
                Ok(round) => round,
                Err(fault) => return Some(Err(fault)),
            };
            if round.converged || self.round + 1 == self.rounds() {
                return Some(Ok(self.end(round)));
            }
            self.play_again(round, go_on)?;
        }
    }

    fn rounds(&self) -> usize {
        match self.driven {
            true => DRIVEN_ROUNDS,
            false => ROUNDS,
        }
    }

    /// Share of the work that is done when a part of this round is.
    fn share(&self, part: f64) -> f64 {
        0.9 * (self.round as f64 + part) / self.rounds() as f64
    }

    /// A posterior for every start. Neither the rest of the amp nor playing does the same at all of
    /// them.
    fn posteriors(&self) -> Option<Vec<Posterior<'a>>> {
        let setting = self.setting;
        let each = self.starts.iter().zip(&self.played).map(|(start, played)| {
            let side = match self.round {
                0 => setting.as_found,
                _ => &start.side,
            };
            let others = match setting.request.others {
                Others::AsStated => Vec::new(),
                Others::WithinTolerance => setting.model.others(side),
            };
            let (model, data) = (setting.model, setting.data);
            Posterior::new(model, data, played.clone(), &others, setting.colours)
        });
        each.collect()
    }

    /// The descents of this round and their average.
    fn fit_once(&self, go_on: GoOn<'_>) -> Option<Result<Round<'a>, NoFit>> {
        let Some(posteriors) = self.posteriors() else {
            return Some(Err(NoFit::NoSolution));
        };
        // At first none is compared with its own playing, so none is given up yet.
        let hopeless = if self.round == 0 {
            f64::INFINITY
        } else {
            HOPELESS
        };
        let modes = modes(&posteriors, &self.starts, hopeless);
        if modes.is_empty() {
            return Some(Err(NoFit::NoSolution));
        }
        let mut on = |part: f64| go_on(self.share(0.8 * part));
        let Some(mixture) = mixture(&posteriors, &modes, &mut on) else {
            // Either called off, or nothing had a solution; the first is told by asking again.
            return go_on(self.share(0.8)).then_some(Err(NoFit::NoSolution));
        };
        let near = &modes[0].1.side.point.solution;
        let Some(fitted) = self.setting.model.linearised(&mixture.best().x, near) else {
            return Some(Err(NoFit::NoSolution));
        };
        let moved = self.moved(&mixture);
        Some(Ok(Round {
            converged: moved.as_ref().is_some_and(|moved| {
                let each = moved.iter().enumerate();
                each.map(|(i, moved)| moved.abs() / mixture.covariance[i][i].sqrt())
                    .all(|share| share < CONVERGED)
            }),
            moved,
            posteriors,
            modes: modes.into_iter().map(|(_, mode)| mode).collect(),
            mixture,
            fitted,
        }))
    }

    /// By how much the values moved against the round before, if there was one.
    fn moved(&self, mixture: &Mixture) -> Option<Vec<f64>> {
        let previous = self.previous.as_ref()?;
        let each = mixture.mean.iter().zip(&previous.mean);
        Some(each.map(|(is, was)| is - was).collect())
    }

    /// Plays the amps that a round came to: the starts of the next one. None when `go_on` says no.
    fn play_again(&mut self, round: Round<'a>, go_on: GoOn<'_>) -> Option<()> {
        self.starts = round.modes;
        let quietly = Played::fixed(vec![0.0; self.setting.trusted.len()]);
        self.played = vec![quietly; self.starts.len()];
        if let Some(playing) = &self.stage {
            let mut on = |part: f64| go_on(self.share(0.8 + 0.2 * part));
            let all: Vec<&Linearised> = self.starts.iter().collect();
            let each = match self.driven {
                true => playing.sloping(&all, &round.mixture.covariance, &mut on),
                false => playing.fixed(&all, &mut on),
            };
            match each? {
                Ok(each) => self.played = each,
                Err(why) => {
                    self.notes.push(why);
                    self.stage = None;
                }
            }
        }
        self.previous = Some(round.mixture);
        self.round += 1;
        Some(())
    }

    /// Ends with what a round came to.
    fn end(mut self, round: Round<'a>) -> Found<'a> {
        let share = self.share(0.8);
        let not_converged = round.moved.filter(|_| self.driven && !round.converged);
        match &self.stage {
            Some(_) if self.driven => self.notes.push(FOLLOWED.to_owned()),
            _ if self.compresses => self.notes.push(DRIVEN.to_owned()),
            _ => {}
        }
        if not_converged.is_some() {
            self.notes.push(NOT_CONVERGED.to_owned());
        }
        Found {
            posteriors: round.posteriors,
            mixture: round.mixture,
            fitted: round.fitted,
            not_converged,
            notes: self.notes,
            share,
        }
    }
}
