//! Part values from a recording: which values of some parts make the amp sound as a recording of a
//! real one does, how far the recording tells them, and which parts that exist come nearest.
//!
//! Takes a circuit, the parts that may vary, and what the recording shows
//! ([`super::Target`]); gives a [`FitReport`]. The level is free: a recording's volume is
//! anybody's choice. Everything else in the amp lies within its tolerance and the valves' spread,
//! and what loudspeaker, microphone and room may do is part of the fit ([`colour`]), so that a
//! part is told as known only where neither can do the same.

mod certainty;
pub mod colour;
mod descent;
mod fitted;
mod judge;
mod mixture;
mod model;
mod parts;
mod played;
mod posterior;
mod question;
mod report;
mod rounding;
mod sampling;
mod search;
mod unknowns;
mod vectors;
mod words;

use crate::analysis::audibility::erb::erb_hz;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedAmp;
pub use certainty::Certainty;
pub use colour::Taken;
use colour::colours;
use fitted::Fitted;
use model::Model;
pub use parts::{PartEstimate, Trade};
use posterior::Data;
use question::LEAST_POINTS;
pub use question::{Behind, Dry, NoFit, Others, Question};
pub use report::{Alternative, BandResidual, FitReport, Residual};
pub use rounding::Choice;
use search::{Found, Search, Setting};
pub use unknowns::{MOST_VARIED, Unknown, UnknownKind, unknowns};

/// How far the model's own curve may be off, dB, one standard deviation: played by the plain oracle
/// and by the processor that is heard, an amp's curves agree within 0.03 dB r.m.s. up to 5 kHz
/// (`tests/recording/fit_recordings.rs`).
const MODEL_DB: f64 = 0.03;

/// Fits. `go_on` is told the share that is done and answers whether to go on; none when it says
/// no. The result does not depend on the number of cores.
///
/// # Errors
/// [`NoFit`] says what is missing.
pub fn fit(request: Question<'_>, go_on: GoOn<'_>) -> Option<Result<FitReport, NoFit>> {
    let target = request.target;
    let trusted: Vec<usize> = (0..target.hz.len())
        .filter(|&i| target.trusted[i])
        .collect();
    if trusted.len() < LEAST_POINTS {
        return Some(Err(NoFit::TooLittle(trusted.len())));
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
    let data = Data {
        db: of(&target.db),
        variance: variance
            .map(|(d, weight)| (d * d + MODEL_DB * MODEL_DB) / weight)
            .collect(),
    };
    let colours = colours(request.taken, &model.hz);
    let as_found = &amp.as_found;
    let setting = Setting {
        request,
        model: &model,
        as_found,
        data: &data,
        colours: &colours,
        trusted: &trusted,
    };
    let found = match Search::new(setting, go_on)?.run(go_on)? {
        Ok(found) => found,
        Err(fault) => return Some(Err(fault)),
    };
    let from = found.share;
    let mut fitted = fitted_amp(setting, found, weights);
    fitted.doubt(&mut |part| go_on(from + (0.9 - from) * part))?;
    report::report(fitted, as_found, go_on).map(Ok)
}

/// What the report is made from, the doubt still to be worked out.
fn fitted_amp<'a>(setting: Setting<'a>, found: Found<'a>, weights: Vec<f64>) -> Fitted<'a> {
    let request = setting.request;
    Fitted {
        request,
        trusted: setting.trusted,
        weights,
        posteriors: found.posteriors,
        colours: setting.colours,
        mixture: found.mixture,
        covariance: Vec::new(),
        widened: 1.0,
        as_found_x: request.unknowns.iter().map(|u| u.start).collect(),
        not_converged: found.not_converged,
        as_found_db: setting.model.level(setting.as_found),
        fitted: found.fitted,
        notes: found.notes,
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
