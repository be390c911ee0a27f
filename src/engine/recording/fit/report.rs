//! The report of a fit.

use super::certainty::Certainty;
use super::colour::Taken;
use super::fitted::Fitted;
use super::judge::Judged;
use super::parts::{PartEstimate, Trade};
use super::question::Others;
use super::unknowns::{UnknownKind, setting};
use super::vectors::{dot, quadratic_form};
use super::words::{in_words, peaks};
use crate::analysis::third_octave::{NOMINAL_HZ, edges_hz};
use crate::circuit::{Change, PartValue, Proposal};
use crate::numeric::parallel::GoOn;
use crate::recording::Method;
use crate::solve::solved::SolvedCircuit;
use crate::text::digits::fixed;
use serde::Serialize;

/// A value that moves by less than this share is the one that was there.
const SAME: f64 = 1e-6;
/// A position that moves by less than this on a scale of 0 to 1 stays where it is.
const SAME_ROTATION: f64 = 0.01;
/// An outcome with less than this share of the belief does not show in the curve of the colour.
const SHOWN_SHARE: f64 = 0.01;
/// From this factor of widening on it is worth a sentence: deviations 1.4 times as large.
const WIDENED: f64 = 2.0;

/// The residual in a third-octave band, dB, the level being free.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct BandResidual {
    /// Nominal frequency, Hz.
    pub hz: f64,
    /// Recording less the amp as found.
    pub as_found_db: f64,
    /// Recording less the amp with the values that fit.
    pub fitted_db: f64,
    /// Recording less the amp with the parts that exist.
    pub rounded_db: Option<f64>,
    /// What of it no part explains: loudspeaker, microphone, room.
    pub unexplained_db: f64,
    /// One standard deviation of that.
    pub unexplained_deviation_db: f64,
    /// Coherence of recording and dry track, 0 to 1; none without a dry track.
    pub coherence: Option<f64>,
}

/// The residual over all, r.m.s. over the trusted frequencies with the ear's weight, dB.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Residual {
    /// Recording less amp.
    pub db: f64,
    /// The same with the estimate of loudspeaker, microphone and room taken away.
    pub beyond_colour_db: f64,
}

/// Another combination that is nearly as good.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Alternative {
    /// Where it differs from the choice: name and value in words.
    pub differs: Vec<[String; 2]>,
    /// Its residual.
    pub residual: Residual,
    /// How many times less likely it is than the choice.
    pub times_less_likely: f64,
    /// As a proposal lists it.
    #[serde(skip)]
    pub proposal: Proposal,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FitReport {
    /// Name of the amp.
    pub amp: String,
    /// Name of the recording.
    pub recording: String,
    /// Name of the dry track.
    pub dry_track: Option<String>,
    /// How the recording was looked at.
    pub method: Method,
    /// How it was taken.
    pub taken: Taken,
    /// The loudspeaker or cabinet in the model.
    pub behind: Option<String>,
    /// Third-octave bands with a trusted frequency in them.
    pub bands: Vec<BandResidual>,
    /// Residual of the amp as found.
    pub as_found: Residual,
    /// Residual of the values that fit.
    pub fitted: Residual,
    /// Residual of the parts that exist; none where no combination stays within its limits.
    pub rounded: Option<Residual>,
    /// What the residual would be with each part rounded by itself.
    pub each_alone: Option<Residual>,
    /// What noise alone leaves over at half of the trusted frequencies at most, dB.
    pub noise_db: f64,
    /// The parts that were varied.
    pub parts: Vec<PartEstimate>,
    /// Pairs that are told only together.
    pub trades: Vec<Trade>,
    /// What no part explains, in words.
    pub unexplained: String,
    /// The next best combinations.
    pub alternatives: Vec<Alternative>,
    /// Combinations that were left out for a limit.
    pub left_out: Vec<String>,
    /// How it is meant, and what to beware of.
    pub notes: Vec<String>,
    /// What is to be soldered and turned.
    #[serde(skip)]
    pub proposal: Proposal,
}

/// Makes the report; none when `go_on` says no.
pub fn report(fitted: Fitted<'_>, as_found: &SolvedCircuit, go_on: GoOn<'_>) -> Option<FitReport> {
    let verdict = fitted.judged(as_found, &mut |part| go_on(0.9 + 0.1 * part))?;
    let chosen = verdict.kept.first();
    let target = fitted.request.target;
    let colour = fitted.colour();
    let stage = |x: &[f64], db: &[f64]| fitted.residual(x, db, &colour);
    let bands = fitted.bands(chosen, &colour);
    let alternatives = verdict.kept.iter().skip(1).filter_map(|other| {
        let chosen = chosen?;
        Some(Alternative {
            differs: fitted.differences(chosen, other),
            residual: stage(&other.x, &other.db),
            times_less_likely: (chosen.score - other.score).exp(),
            proposal: fitted.proposal(Some(other)),
        })
    });
    let noise_db = target_deviation(&fitted);
    Some(FitReport {
        amp: fitted.request.circuit.name().into(),
        recording: target.name.clone(),
        dry_track: target.dry_name.clone(),
        method: target.method,
        taken: fitted.request.taken,
        behind: fitted.request.behind.map(|b| b.name.clone()),
        as_found: stage(&fitted.as_found_x, &fitted.as_found_db),
        fitted: stage(&fitted.fitted.x, &fitted.fitted.db),
        rounded: chosen.map(|c| stage(&c.x, &c.db)),
        each_alone: verdict.each_alone.as_ref().map(|c| stage(&c.x, &c.db)),
        noise_db,
        parts: fitted.parts(chosen),
        trades: fitted.trades(),
        unexplained: fitted.unexplained(&bands),
        alternatives: alternatives.collect(),
        notes: fitted.all_notes(chosen.is_some()),
        left_out: verdict.left_out,
        proposal: fitted.proposal(chosen),
        bands,
    })
}

/// What noise leaves over at half of the trusted frequencies at most, dB. A mean would tell of the
/// few that the playing hardly touched.
fn target_deviation(fitted: &Fitted<'_>) -> f64 {
    let deviations = fitted.trusted.iter();
    let mut deviations: Vec<f64> = deviations
        .map(|&i| fitted.request.target.deviation_db[i])
        .collect();
    deviations.sort_by(f64::total_cmp);
    deviations[deviations.len() / 2]
}

fn rms(x: &[f64], weights: &[f64]) -> f64 {
    let sum: f64 = x.iter().zip(weights).map(|(x, w)| w * x * x).sum();
    (sum / weights.iter().sum::<f64>()).sqrt()
}

/// The estimate of what no part explains.
struct ColourSeen {
    db: Vec<f64>,
    deviation: Vec<f64>,
}

impl Fitted<'_> {
    /// The colour most likely at each trusted frequency, averaged over the outcomes, with what
    /// neither the outcomes nor the values of the parts leave certain.
    fn colour(&self) -> ColourSeen {
        let count = self.trusted.len();
        let residual = self.posterior().residual(&self.fitted.x, &self.fitted.db);
        let slopes = self.posterior().slopes(&self.fitted);
        let mut mean = vec![0.0; count];
        let mut square = vec![0.0; count];
        let mut sum = 0.0;
        let outcomes = self.mixture.outcomes.iter();
        for outcome in outcomes.filter(|o| o.share >= SHOWN_SHARE) {
            let whitener = &self.posteriors[outcome.posterior].whiteners[outcome.colour];
            let prior = &self.colours[outcome.colour].covariance;
            let pulled = whitener.solve(&residual);
            let db = self.centred(prior.iter().map(|row| dot(row, &pulled)).collect());
            // Covariance of the curve by itself, both sides of it without their means.
            let own = prior.iter().map(|row| {
                let known = whitener.solve(row);
                let left = row.iter().zip(prior).map(|(p, row)| p - dot(row, &known));
                self.centred(left.collect())
            });
            let own: Vec<Vec<f64>> = own.collect();
            let column = |j: usize| self.centred(own.iter().map(|row| row[j]).collect());
            let of_parts = slopes.iter().map(|slope| {
                let pulled = whitener.solve(slope);
                self.centred(prior.iter().map(|row| dot(row, &pulled)).collect())
            });
            let of_parts: Vec<Vec<f64>> = of_parts.collect();
            for i in 0..count {
                let along: Vec<f64> = of_parts.iter().map(|row| row[i]).collect();
                let variance = column(i)[i].max(0.0) + quadratic_form(&outcome.covariance, &along);
                mean[i] += outcome.share * db[i];
                square[i] += outcome.share * (db[i] * db[i] + variance);
            }
            sum += outcome.share;
        }
        let db: Vec<f64> = mean.iter().map(|m| m / sum).collect();
        let deviation = square.iter().zip(&db);
        let deviation = deviation.map(|(s, m)| (s / sum - m * m).max(0.0).sqrt());
        ColourSeen {
            deviation: deviation.collect(),
            db,
        }
    }

    /// Without its mean by the ear's weight: the level is free.
    fn centred(&self, db: Vec<f64>) -> Vec<f64> {
        let mean = dot(&db, &self.weights) / self.weights.iter().sum::<f64>();
        db.into_iter().map(|db| db - mean).collect()
    }

    fn residual(&self, x: &[f64], level: &[f64], colour: &ColourSeen) -> Residual {
        let residual = self.centred(self.posterior().residual(x, level));
        let beyond = residual
            .iter()
            .zip(&colour.db)
            .map(|(r, c)| r - c)
            .collect();
        Residual {
            db: rms(&residual, &self.weights),
            beyond_colour_db: rms(&self.centred(beyond), &self.weights),
        }
    }

    fn bands(&self, chosen: Option<&Judged>, colour: &ColourSeen) -> Vec<BandResidual> {
        let hz = &self.posterior().model.hz;
        let rest = |x: &[f64], level: &[f64]| self.centred(self.posterior().residual(x, level));
        let as_found = rest(&self.as_found_x, &self.as_found_db);
        let fitted = rest(&self.fitted.x, &self.fitted.db);
        let rounded = chosen.map(|c| rest(&c.x, &c.db));
        let coherence = self.request.target.coherence.as_ref();
        let coherence: Option<Vec<f64>> =
            coherence.map(|all| self.trusted.iter().map(|&i| all[i]).collect());
        let band = |(band, &nominal): (usize, &f64)| {
            let [low, high] = edges_hz(band);
            let inside: Vec<usize> = (0..hz.len())
                .filter(|&i| (low..high).contains(&hz[i]))
                .collect();
            let mean = |x: &[f64]| inside.iter().map(|&i| x[i]).sum::<f64>() / inside.len() as f64;
            (!inside.is_empty()).then(|| BandResidual {
                hz: nominal,
                as_found_db: mean(&as_found),
                fitted_db: mean(&fitted),
                rounded_db: rounded.as_deref().map(mean),
                unexplained_db: mean(&colour.db),
                unexplained_deviation_db: mean(&colour.deviation),
                coherence: coherence.as_deref().map(mean),
            })
        };
        NOMINAL_HZ.iter().enumerate().filter_map(band).collect()
    }

    /// Where another combination differs from the choice.
    fn differences(&self, chosen: &Judged, other: &Judged) -> Vec<[String; 2]> {
        let each = self
            .request
            .unknowns
            .iter()
            .zip(chosen.x.iter().zip(&other.x));
        each.filter(|(unknown, (a, b))| !unknown.is_position() && (*a - *b).abs() > SAME)
            .map(|(unknown, (_, b))| {
                let value = in_words(unknown.kind, unknown.value(*b));
                [unknown.name.clone(), value]
            })
            .collect()
    }

    /// What is to be soldered and turned for a combination.
    fn proposal(&self, chosen: Option<&Judged>) -> Proposal {
        let circuit = self.request.circuit;
        let mut proposal = Proposal {
            name: "Match".into(),
            about: format!("Fitted to the recording {}.", self.request.target.name),
            for_amp: circuit.name().into(),
            ..Proposal::default()
        };
        let Some(chosen) = chosen else {
            return proposal;
        };
        for (unknown, &x) in self.request.unknowns.iter().zip(&chosen.x) {
            let (was, is) = (unknown.value(unknown.start), unknown.value(x));
            match unknown.kind {
                UnknownKind::Value(_) if (is / was - 1.0).abs() > SAME => {
                    proposal.changes.push(Change {
                        parts: unknown.parts.clone(),
                        value: PartValue::Quantity(is),
                    });
                }
                UnknownKind::Rotation(_) if (is - was).abs() >= SAME_ROTATION => {
                    proposal.settings.push(setting(circuit, unknown, is));
                }
                _ => {}
            }
        }
        proposal
    }

    fn unexplained(&self, bands: &[BandResidual]) -> String {
        let of = |value: fn(&BandResidual) -> f64| bands.iter().map(value).collect::<Vec<f64>>();
        let told = peaks(
            &of(|b| b.hz),
            &of(|b| b.unexplained_db),
            &of(|b| b.unexplained_deviation_db),
        );
        let cause = match self.request.taken {
            Taken::Line => "the interface, the load, or a part that was not varied",
            Taken::Microphone => "loudspeaker, microphone or room",
            Taken::KnownLoudspeaker => {
                "microphone, room, or a loudspeaker that differs from the one in the model"
            }
        };
        if told.is_empty() {
            return "Nothing stands out that no part explains.".into();
        }
        format!("None of these parts explains {}: {cause}.", told.join(", "))
    }

    fn all_notes(&self, found: bool) -> Vec<String> {
        let request = &self.request;
        let mut notes = request.target.notes.clone();
        notes.extend(self.notes.clone());
        if !found {
            notes.push("No combination of parts that exist keeps every valve and part within its limits; nothing is proposed. Vary other parts, or allow a finer series.".into());
        }
        if self.widened >= WIDENED {
            notes.push(format!(
                "More is left over than chance, tolerances and {} explain: another part or valve differs, or the recording was taken in another way. The doubt of every value was widened by {}.",
                match request.taken {
                    Taken::Line => "a flat line",
                    _ => "loudspeaker and microphone",
                },
                fixed(self.widened.sqrt(), 1)
            ));
        }
        if request.taken == Taken::Microphone {
            notes.push("Taken to be recorded with a microphone before a loudspeaker that is not known, which can hide much of what parts do. A recording of the voltage at the loudspeaker, or of a dummy load, tells far more.".into());
        }
        if request.dry.is_none() {
            notes.push("Without the dry track the amp in the model is not played as hard as the real one was: the match is of the tone of quiet playing.".into());
        }
        notes.push(match request.others {
            Others::WithinTolerance => "Parts that were not varied are taken to lie within their tolerances, valves to spread as new ones do, controls to stand as the circuit says.".into(),
            Others::AsStated => "Parts that were not varied, valves and controls are taken to be exactly as the circuit says. Where they are not, the doubt of every value is greater than stated.".into(),
        });
        notes
    }
}

impl FitReport {
    /// Names of the parts that the recording tells as far as this.
    pub fn with_certainty(&self, certainty: Certainty) -> Vec<&str> {
        let parts = self.parts.iter().filter(|p| p.certainty == certainty);
        parts.map(|p| p.name.as_str()).collect()
    }
}
