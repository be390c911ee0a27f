//! The model played as hard as the amp was.
//!
//! An amp that is played compresses and bends; the fit's model is for small signals. So the dry
//! track is played through the circuits that may be it and looked at in the very way that the recording
//! was, and each one's fit adds what that differs from its small-signal curve by. Whatever the way of
//! looking does to a curve, it then does to both.

use super::model::{Linearised, Model};
use super::question::Dry;
use crate::analysis::performance::{NoGauge, perform};
use crate::numeric::parallel::GoOn;
use crate::recording::{Target, one_side, played_like};
use crate::solve::solved::SolvedCircuit;
use crate::sound::Sound;

/// Longest piece of the dry track that is played, s; a longer one tells little more.
const LONGEST_SECONDS: f64 = 20.0;
/// Said when there is nothing to look at.
const NOT_PLAYED: &str =
    "The model could not be played as hard as the amp was, so the fit is for quiet playing.";
/// So far from the circuit that was played its slopes are followed, in the unknown's number: an octave
/// of a value. With half as much a driven Bradawl needed more than six rounds where this took four.
const REACH: f64 = std::f64::consts::LN_2;
/// Playing that bends no amp, as a share of the recorded one.
const SOFTLY: f64 = 0.1;
/// A value is moved by this share of its deviation to see what that does to playing, within these
/// bounds, in its number: large against what the segments' seams leave, small against what bends.
const STEP: f64 = 0.5;
const LEAST_STEP: f64 = 0.05;
const MOST_STEP: f64 = 0.25;
/// The piece is sought by tenths of a second.
const BLOCK_SECONDS: f64 = 0.1;

/// What playing changes against the small-signal level, dB by trusted frequency, up to a constant;
/// where it was asked for, with its slopes about the circuit that was played.
#[derive(Clone, Debug)]
pub struct Played {
    /// The unknowns of that circuit.
    at: Vec<f64>,
    /// The change there.
    db: Vec<f64>,
    /// By unknown, dB for one of its number; none where the change is taken not to depend on it.
    slopes: Vec<Option<Vec<f64>>>,
}

impl Played {
    /// The same change whatever the values.
    pub fn fixed(db: Vec<f64>) -> Played {
        Played {
            at: Vec::new(),
            db,
            slopes: Vec::new(),
        }
    }

    /// How far the slopes are followed, in the unknown's number.
    fn beside(&self, unknown: usize, x: f64) -> f64 {
        (x - self.at[unknown]).clamp(-REACH, REACH)
    }

    /// The change with the unknowns at these numbers, dB.
    pub fn db(&self, x: &[f64]) -> Vec<f64> {
        let mut db = self.db.clone();
        for (i, slope) in self.slopes.iter().enumerate() {
            let Some(slope) = slope else { continue };
            let off = self.beside(i, x[i]);
            db.iter_mut().zip(slope).for_each(|(db, s)| *db += off * s);
        }
        db
    }

    /// The slope by one unknown with it at this number, if there is one.
    pub fn slope(&self, unknown: usize, x: f64) -> Option<&[f64]> {
        let slope = self.slopes.get(unknown)?.as_deref()?;
        let inside = (x - self.at[unknown]).abs() < REACH;
        inside.then_some(slope)
    }
}

/// A circuit beside one that is played, with one value moved.
struct Beside {
    /// Which circuit it stands beside.
    place: usize,
    /// The unknown that was moved.
    moved: usize,
    /// By how much.
    step: f64,
    side: SolvedCircuit,
    level: Vec<f64>,
}

/// How the dry track is played into the model and looked at.
pub struct Stage<'a> {
    /// The amp.
    pub model: &'a Model<'a>,
    /// What is played.
    pub dry: Dry<'a>,
    /// What the recording shows.
    pub target: &'a Target,
    /// Places of the trusted points in it.
    pub trusted: &'a [usize],
}

impl Stage<'_> {
    /// What playing changes for each of some circuits, the slopes not asked for. None when `go_on` says
    /// no.
    ///
    /// # Errors
    /// A sentence when the sound of the model cannot be looked at.
    pub fn fixed(
        &self,
        all: &[&Linearised],
        go_on: GoOn<'_>,
    ) -> Option<Result<Vec<Played>, String>> {
        let circuits: Vec<(&SolvedCircuit, &[f64])> = all
            .iter()
            .map(|seen| (&seen.side, seen.db.as_slice()))
            .collect();
        let each = self.changes(&circuits, 1.0, go_on)?;
        Some(each.map(|each| each.into_iter().map(Played::fixed).collect()))
    }

    /// What playing changes for one circuit, and how much of that is the amp's bending: how far the
    /// same playing, a tenth as loud, shows another curve, dB r.m.s. None when `go_on` says no.
    ///
    /// # Errors
    /// A sentence when the sound of the model cannot be looked at.
    pub fn as_found(
        &self,
        seen: &Linearised,
        go_on: GoOn<'_>,
    ) -> Option<Result<(Played, f64), String>> {
        let circuit = [(&seen.side, seen.db.as_slice())];
        let mut at = [Vec::new(), Vec::new()];
        for (at, gain) in at.iter_mut().zip([1.0, SOFTLY]) {
            match self.changes(&circuit, gain, go_on)? {
                Ok(mut each) => *at = each.swap_remove(0),
                Err(why) => return Some(Err(why)),
            }
        }
        let [loud, soft] = at;
        let apart = loud.iter().zip(&soft).map(|(a, b)| (a - b).powi(2));
        let bends_db = (apart.sum::<f64>() / loud.len().max(1) as f64).sqrt();
        Some(Ok((Played::fixed(loud), bends_db)))
    }

    /// What playing changes for each of some circuits, with the slopes, from playing again with each
    /// value moved by a share of its deviation after `covariance`. None when `go_on` says no.
    ///
    /// # Errors
    /// A sentence when the sound of the model cannot be looked at.
    pub fn sloping(
        &self,
        all: &[&Linearised],
        covariance: &[Vec<f64>],
        go_on: GoOn<'_>,
    ) -> Option<Result<Vec<Played>, String>> {
        let mut beside: Vec<Beside> = Vec::new();
        for (place, seen) in all.iter().enumerate() {
            for (i, unknown) in self.model.unknowns.iter().enumerate() {
                let size = (STEP * covariance[i][i].sqrt()).clamp(LEAST_STEP, MOST_STEP);
                let inside = seen.x[i] + size <= unknown.range[1];
                let step = if inside { size } else { -size };
                let mut x = seen.x.clone();
                x[i] += step;
                // Without a solution there the change is taken not to depend on this value.
                let side = self.model.side(&x, &seen.side.point.solution);
                beside.extend(side.map(|side| Beside {
                    place,
                    moved: i,
                    step,
                    level: self.model.level(&side),
                    side,
                }));
            }
        }
        let own = all.iter().map(|seen| (&seen.side, seen.db.as_slice()));
        let others = beside.iter().map(|b| (&b.side, b.level.as_slice()));
        let circuits: Vec<(&SolvedCircuit, &[f64])> = own.chain(others).collect();
        let changes = match self.changes(&circuits, 1.0, go_on)? {
            Ok(changes) => changes,
            Err(why) => return Some(Err(why)),
        };
        let (own, others) = changes.split_at(all.len());
        let mut played: Vec<Played> = all
            .iter()
            .zip(own)
            .map(|(seen, db)| Played {
                at: seen.x.clone(),
                db: db.clone(),
                slopes: vec![None; seen.x.len()],
            })
            .collect();
        for (b, there) in beside.iter().zip(others) {
            let slope = there.iter().zip(&own[b.place]);
            let slope = slope.map(|(there, here)| (there - here) / b.step).collect();
            played[b.place].slopes[b.moved] = Some(slope);
        }
        Some(Ok(played))
    }

    /// What playing changes, dB, for circuits at rest with their small-signal levels.
    fn changes(
        &self,
        circuits: &[(&SolvedCircuit, &[f64])],
        gain: f64,
        go_on: GoOn<'_>,
    ) -> Option<Result<Vec<Vec<f64>>, String>> {
        let (model, dry, target) = (self.model, self.dry, self.target);
        let samples = one_side(dry.sound).0;
        let [start, end] = piece(&samples, dry.sound.rate, target);
        let sound = Sound {
            name: dry.sound.name.clone(),
            rate: dry.sound.rate,
            channels: vec![samples[start..end].to_vec()],
        };
        let volts = (gain * dry.full_scale_volts) as f32;
        let at_jack: Vec<f32> = sound.channels[0].iter().map(|s| s * volts).collect();
        let performed = perform(
            model.network,
            &circuits
                .iter()
                .map(|(side, _)| *side)
                .collect::<Vec<&SolvedCircuit>>(),
            &[at_jack.as_slice()],
            sound.rate,
            &NoGauge,
            go_on,
        )?;
        // The piece stands for the span.
        let narrowed = Target {
            span_seconds: [0.0, (end - start) as f64 / f64::from(sound.rate)],
            ..target.clone()
        };
        let each = circuits
            .iter()
            .zip(performed)
            .map(|((_, level), performed)| {
                let heard = performed.volts.first().ok_or(NOT_PLAYED)?;
                let heard = played_like(&narrowed, &sound, heard).ok_or(NOT_PLAYED)?;
                let small_signal = level.iter().zip(&model.behind_db);
                let small_signal = small_signal.map(|(level, behind)| level - behind);
                let change: Vec<f64> = self
                    .trusted
                    .iter()
                    .zip(small_signal)
                    .map(|(&i, level)| heard[i] - level)
                    .collect();
                let mean = change.iter().sum::<f64>() / change.len().max(1) as f64;
                let change: Vec<f64> = change.into_iter().map(|db| db - mean).collect();
                match change.iter().all(|db| db.is_finite()) {
                    true => Ok(change),
                    false => {
                        Err("The model's own sound is no measure; the fit is for quiet playing.")
                    }
                }
            });
        Some(each.collect::<Result<_, &str>>().map_err(str::to_owned))
    }
}

/// First and last frame of what is played: the span that the recording was looked at in; of a long
/// one, where most is played at the levels that were used.
fn piece(samples: &[f32], rate: u32, target: &Target) -> [usize; 2] {
    let rate = f64::from(rate);
    let frame = |seconds: f64| ((seconds.max(0.0) * rate).round() as usize).min(samples.len());
    let [from, to] = target.span_seconds.map(frame);
    let longest = (LONGEST_SECONDS * rate) as usize;
    if to.saturating_sub(from) <= longest {
        return [from.min(to), to];
    }
    let most = match &target.quiet {
        Some(quiet) => 10f64.powf(quiet.below_dbfs / 10.0),
        None => f64::INFINITY,
    };
    let block = ((BLOCK_SECONDS * rate) as usize).max(1);
    let used: Vec<f64> = samples[from..to]
        .chunks(block)
        .map(|chunk| (power(chunk) / chunk.len() as f64).min(most))
        .collect();
    let sums = used.windows(longest / block).map(|w| w.iter().sum::<f64>());
    let best = sums.enumerate().max_by(|a, b| a.1.total_cmp(&b.1));
    let start = from + best.map_or(0, |(place, _)| place * block);
    [start, (start + longest).min(to)]
}

fn power(samples: &[f32]) -> f64 {
    samples.iter().map(|&s| f64::from(s) * f64::from(s)).sum()
}
