//! Part values from a recording: which values of some parts make the amp sound as a recording of a
//! real one does, how far the recording tells them, and which parts that exist come nearest.
//!
//! Takes a circuit, the parts that may vary, and what the recording shows
//! ([`super::Target`]); gives a [`Match`]. The level is free: a recording's volume is
//! anybody's choice. Everything else in the amp lies within its tolerance and the valves' spread,
//! and what loudspeaker, microphone and room may do is part of the fit ([`colour`]), so that a
//! part is told as known only where neither can do the same.

pub mod colour;
mod judge;
mod model;
mod parts;
mod played;
mod report;
mod rounding;
mod sampling;
mod steps;
mod unknowns;
mod words;

use super::{Sound, Target};
use crate::analysis::audibility::erb::erb_hz;
use crate::circuit::Circuit;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{NoOperatingPoint, SolvedAmp};
pub use colour::Taken;
use colour::{Colour, colours};
use model::{Model, Seen};
pub use parts::{PartTold, Told, Trade};
use played::{Played, Stage};
pub use report::{Alternative, BandLeft, Left, Match};
pub use rounding::Choice;
use std::fmt;
use steps::{Data, Fit, HOPELESS, Mixture, mixture, modes};
pub use unknowns::{MOST_VARIED, Unknown, What, unknowns};

/// How far the model's own curve may be off, dB, one standard deviation: played by the plain oracle
/// and by the processor that is heard, an amp's curves agree within 0.03 dB r.m.s. up to 5 kHz
/// (`tests/recording/fit_recordings.rs`).
const MODEL_DB: f64 = 0.03;
/// Fewest points that a fit is tried on: two octaves of the recording's twelve an octave.
const LEAST_POINTS: usize = 24;
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
const UNSETTLED: &str = "The values had not come to rest when the search ended; how far they still moved \
                         is part of the doubt. Vary fewer parts, or record it played softly.";
/// Values that move by less than this share of their standard deviation have settled.
const SETTLED: f64 = 0.3;

/// The dry track that was played into the amp.
#[derive(Clone, Copy, Debug)]
pub struct Dry<'a> {
    /// The sound.
    pub sound: &'a Sound,
    /// Volts at the jack for a sample of 1.
    pub full_scale_volts: f64,
}

/// What stands behind the amp in the recording and is known.
#[derive(Clone, Debug, PartialEq)]
pub struct Behind {
    /// Its name.
    pub name: String,
    /// Its level at the frequencies of the target, dB.
    pub db: Vec<f64>,
}

/// How well the rest of the amp is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Others {
    /// Parts that are not varied lie within their tolerances, and valves spread as new ones do.
    #[default]
    WithinTolerance,
    /// They are as the circuit says, as after they were measured.
    AsStated,
}

/// What is asked.
#[derive(Clone, Copy)]
pub struct Request<'a> {
    /// As found.
    pub circuit: &'a Circuit,
    /// What may vary.
    pub unknowns: &'a [Unknown],
    /// What the recording shows.
    pub target: &'a Target,
    /// How it was taken.
    pub taken: Taken,
    /// Known loudspeaker or cabinet.
    pub behind: Option<&'a Behind>,
    /// The dry track, with which the model is played as hard as the amp was.
    pub dry: Option<Dry<'a>>,
    /// How well the rest of the amp is known.
    pub others: Others,
    /// Which parts there are.
    pub choice: Choice<'a>,
}

/// Why there is no match.
#[derive(Clone, Debug, PartialEq)]
pub enum NoMatch {
    /// The amp as found has no operating point.
    NoOperatingPoint(NoOperatingPoint),
    /// The recording shows too little.
    TooLittle(usize),
    /// No values led to a solution.
    NoFit,
}

impl fmt::Display for NoMatch {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            NoMatch::NoOperatingPoint(fault) => write!(f, "{fault}"),
            NoMatch::TooLittle(points) => write!(
                f,
                "The recording can be trusted at {points} of its frequencies; a match needs {LEAST_POINTS}. Record more playing over the whole neck, with less noise."
            ),
            NoMatch::NoFit => write!(
                f,
                "No values of these parts led to an amp that works. Vary fewer parts, or others."
            ),
        }
    }
}

impl std::error::Error for NoMatch {}

impl From<NoOperatingPoint> for NoMatch {
    fn from(fault: NoOperatingPoint) -> Self {
        NoMatch::NoOperatingPoint(fault)
    }
}

/// Everything that the report is made from.
struct Matched<'a> {
    request: Request<'a>,
    /// Places of the trusted points in the target.
    trusted: Vec<usize>,
    /// The ear's weight of each, at most 1.
    weights: Vec<f64>,
    /// The fits of the last round.
    fits: Vec<Fit<'a>>,
    colours: &'a [Colour],
    mixture: Mixture,
    /// Mean square distance of the values from those that fit best.
    covariance: Vec<Vec<f64>>,
    /// By what factor the covariances were widened, since more is left over than chance leaves.
    widened: f64,
    /// The unknowns as found.
    as_found_x: Vec<f64>,
    /// By how much the last round moved the values, where that is too far to be neglected.
    unsettled: Option<Vec<f64>>,
    /// Level of the amp as found, dB.
    as_found_db: Vec<f64>,
    /// The amp with the values that fit best.
    fitted: Seen,
    /// What went otherwise than it should.
    notes: Vec<String>,
}

/// Matches. `go_on` is told the share that is done and answers whether to go on; none when it says
/// no. The result does not depend on the number of cores.
///
/// # Errors
/// [`NoMatch`] says what is missing.
pub fn matching(request: Request<'_>, go_on: GoOn<'_>) -> Option<Result<Match, NoMatch>> {
    let target = request.target;
    let trusted: Vec<usize> = (0..target.hz.len())
        .filter(|&i| target.trusted[i])
        .collect();
    if trusted.len() < LEAST_POINTS {
        return Some(Err(NoMatch::TooLittle(trusted.len())));
    }
    let amp = match SolvedAmp::new(request.circuit, None) {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault.into())),
    };
    let of = |values: &[f64]| -> Vec<f64> { trusted.iter().map(|&i| values[i]).collect() };
    let hz = of(&target.hz);
    let model = Model {
        network: &amp.network,
        circuit: request.circuit,
        unknowns: request.unknowns,
        behind_db: match request.behind {
            Some(behind) => of(&behind.db),
            None => vec![0.0; hz.len()],
        },
        hz,
    };
    let weights = by_ear(&model.hz);
    let deviations = of(&target.deviation_db);
    let variance = deviations.iter().zip(&weights);
    let quietly = Played::fixed(vec![0.0; weights.len()]);
    let mut data = Data {
        db: of(&target.db),
        variance: variance
            .map(|(d, weight)| (d * d + MODEL_DB * MODEL_DB) / weight)
            .collect(),
        played: quietly.clone(),
    };
    let colours = colours(request.taken, &model.hz);
    let as_found = &amp.as_found;
    let mut notes = Vec::new();
    let dependence = target.level_dependence.as_ref();
    let mut stage = request.dry.map(|dry| Stage {
        model: &model,
        dry,
        target,
        trusted: &trusted,
    });
    let mut bends_db = 0.0;
    let mut starts = model.starts(as_found);
    // As if it were played quietly, and as hard as the amp as found would take it: what playing does
    // depends on the values sought, so each way leads to values of its own that may be the right
    // ones.
    let mut played = vec![quietly.clone(); starts.len()];
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
    let compresses = dependence.is_some_and(|d| d.gain_db.abs() > DRIVEN_DB);
    let driven = stage.is_some() && (bends_db > BENDS_DB || compresses);
    let rounds = if driven { DRIVEN_ROUNDS } else { ROUNDS };
    let mut before: Option<Mixture> = None;
    for round in 0..rounds {
        let share = |part: f64| 0.9 * (round as f64 + part) / rounds as f64;
        if !go_on(share(0.0)) {
            return None;
        }
        // Neither the rest of the amp nor playing does the same at every outcome: each has its own.
        let fits = starts.iter().zip(&played).map(|(seen, played)| {
            let side = if round == 0 { as_found } else { &seen.side };
            let others = match request.others {
                Others::AsStated => Vec::new(),
                Others::WithinTolerance => model.others(side),
            };
            data.played.clone_from(played);
            Fit::new(&model, &data, &others, &colours)
        });
        let Some(fits) = fits.collect::<Option<Vec<Fit<'_>>>>() else {
            return Some(Err(NoMatch::NoFit));
        };
        // At first none is compared with its own playing, so none is given up yet.
        let hopeless = if round == 0 { f64::INFINITY } else { HOPELESS };
        let modes = modes(&fits, &starts, hopeless);
        if modes.is_empty() {
            return Some(Err(NoMatch::NoFit));
        }
        let mut told = |part: f64| go_on(share(0.8 * part));
        let Some(mixture) = mixture(&fits, &modes, &mut told) else {
            // Either called off, or nothing had a solution; the first is told by asking again.
            return go_on(share(0.8)).then_some(Err(NoMatch::NoFit));
        };
        let near = &modes[0].1.side.point.solution;
        let Some(fitted) = model.seen(&mixture.best().x, near) else {
            return Some(Err(NoMatch::NoFit));
        };
        let moved: Option<Vec<f64>> = before.as_ref().map(|before| {
            let each = mixture.mean.iter().zip(&before.mean);
            each.map(|(is, was)| is - was).collect()
        });
        let settled = moved.as_ref().is_some_and(|moved| {
            let shares = moved.iter().enumerate();
            shares
                .map(|(i, moved)| moved.abs() / mixture.covariance[i][i].sqrt())
                .all(|share| share < SETTLED)
        });
        if settled || round + 1 == rounds {
            let unsettled = moved.filter(|_| driven && !settled);
            match &stage {
                Some(_) if driven => notes.push(FOLLOWED.to_owned()),
                _ if compresses => notes.push(DRIVEN.to_owned()),
                _ => {}
            }
            if unsettled.is_some() {
                notes.push(UNSETTLED.to_owned());
            }
            let mut matched = Matched {
                request,
                as_found_x: request.unknowns.iter().map(|u| u.start).collect(),
                as_found_db: model.level(as_found),
                widened: 1.0,
                unsettled,
                covariance: Vec::new(),
                fits,
                colours: &colours,
                mixture,
                fitted,
                trusted,
                weights,
                notes,
            };
            let from = share(0.8);
            matched.doubt(&mut |part| go_on(from + (0.9 - from) * part))?;
            return report::report(matched, as_found, go_on).map(Ok);
        };
        starts = modes.into_iter().map(|(_, seen)| seen).collect();
        played = vec![quietly.clone(); starts.len()];
        if let Some(playing) = &stage {
            let mut told = |part: f64| go_on(share(0.8 + 0.2 * part));
            let all: Vec<&Seen> = starts.iter().collect();
            let each = match driven {
                true => playing.sloping(&all, &mixture.covariance, &mut told),
                false => playing.fixed(&all, &mut told),
            };
            match each? {
                Ok(each) => played = each,
                Err(why) => {
                    notes.push(why);
                    stage = None;
                }
            }
        }
        before = Some(mixture);
    }
    Some(Err(NoMatch::NoFit))
}

impl<'a> Matched<'a> {
    /// The fit of the likeliest outcome.
    fn fit(&self) -> &Fit<'a> {
        &self.fits[self.mixture.best().fit]
    }

    /// Works out how far the values may be off; none when `go_on` says no.
    ///
    /// Where more is left over than everything that was thought of explains, the doubt grows with
    /// it: the variances by what is left of `rᵀC⁻¹r` for each point (R. T. Birge, Physical Review
    /// 40, 207, 1932, from memory).
    fn doubt(&mut self, go_on: GoOn<'_>) -> Option<()> {
        let rest = self.fit().rest(&self.fitted.x, &self.fitted.db);
        let free = rest.len().saturating_sub(self.fitted.x.len() + 1);
        let lost: f64 = self
            .mixture
            .outcomes
            .iter()
            .map(|o| o.share * self.fits[o.fit].whiteners[o.colour].distance(&rest))
            .sum();
        self.widened = (lost / free.max(1) as f64).max(1.0);
        let widened = self.widened;
        let spread =
            sampling::spread_about(&self.fits, &self.mixture, &self.fitted, widened, go_on)?;
        self.covariance = spread;
        if let Some(moved) = &self.unsettled {
            for (row, a) in self.covariance.iter_mut().zip(moved) {
                row.iter_mut().zip(moved).for_each(|(c, b)| *c += a * b);
            }
        }
        Some(())
    }
}

/// The ear's weight of points on a logarithmic axis: how many of its bandwidths lie between one and
/// the next (B. R. Glasberg, B. C. J. Moore 1990), the most being 1, so that no point counts for
/// more than it tells.
fn by_ear(hz: &[f64]) -> Vec<f64> {
    let density: Vec<f64> = hz.iter().map(|&f| f / erb_hz(f)).collect();
    let most = density.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
    density.into_iter().map(|d| d / most).collect()
}
