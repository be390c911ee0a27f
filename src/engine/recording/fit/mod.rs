//! Part values from a recording: which values of some parts make the amp sound as a recording of a
//! real one does, how far the recording tells them, and which parts that exist come nearest.
//!
//! Takes a circuit, the parts that may vary, and what the recording shows
//! ([`super::Target`]); gives a [`FitReport`]. The level is free: a recording's volume is
//! anybody's choice. Everything else in the amp lies within its tolerance and the valves' spread,
//! and what loudspeaker, microphone and room may do is part of the fit ([`colour`]), so that a
//! part is told as known only where neither can do the same.
//!
//! # What a fit believes
//!
//! The recording is taken as a sum: the amp's level, a free level, the colour of what stands behind
//! it, the rest of the amp within its tolerances, and noise. Everything but the amp's level is Gauss
//! distributed (`posterior.rs` has the equations).
//!
//! - **The colour** is a smooth curve of unknown size and smoothness. Picking the likeliest size
//!   and believing it stated false certainty through a loudspeaker; so every size and smoothness
//!   of a small grid is fitted, and the answer is the average by evidence, with how far they are
//!   apart in its doubt.
//! - **The rest of the amp** moves the curve as much as a part may: one standard deviation of
//!   every other part and valve is a row of the covariance, from the same adjoint solve. At each
//!   outcome anew: with the rows of another outcome one of the built-in amps had a capacitor at a
//!   tenth of its value reported as certain (`tests/recording/fit.rs` holds drawn amps against
//!   the doubt).
//! - **How hard it was played**: with the dry track each outcome so far is played by the
//!   processor that is heard and looked at as the recording was; what that differs from its
//!   small-signal curve is added to its own fit. With one outcome's playing for all, a driven
//!   Bradawl settled at wrong values with too narrow a doubt (C101 2 µF for 1 µF, one deviation
//!   15 %), depending on where it began. The residual at 40 dB is 0.03 to 0.06 dB.
//! - **A driven amp** (playing as hard moves its curve by 0.2 dB r.m.s. or more against playing a
//!   tenth as loud, or the gain differs by 2 dB between loud and quiet): what playing does
//!   depends on the values within one outcome too, so each outcome is played again with each
//!   value moved by half its deviation (`played.rs`, six parts: seven plays), and those
//!   differences join the adjoint slopes, up to an octave from where it was played. Up to six
//!   rounds instead of three; where the last one still moved, by how far is added to the doubt. A
//!   Bradawl at full phrase through a known loudspeaker had R308 off by 4.7 stated deviations, a
//!   residual of 1.75 dB; with the slopes 0.6 and 0.5 dB. With half an octave the search had not
//!   converged after six rounds; with an octave some recordings still swing between two places, a
//!   deviation apart, to the end. What the rest of the amp does to distortion is still taken from
//!   its small-signal rows.
//! - **The doubt** is sampled about all outcomes, since a tone network's parts trade along
//!   curves; it is the root of the mean square distance from the best fit, and never less than
//!   the fit's own.
//! - **Rounding** searches combinations in the order of their probability (closest point in a
//!   lattice) and judges the best of them in the circuit, with the limits of parts and valves
//!   kept.

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
    let amp = match amp.fit_to_play() {
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
