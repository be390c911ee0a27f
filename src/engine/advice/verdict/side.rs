//! What one side of an amp gives by itself: the half of a verdict that stays when only the other
//! side is edited.
//!
//! Takes an amp at rest and what is played; works on all cores.

use super::calibrated::CalibratedSound;
use super::question::NoVerdict;
use crate::advice::changes::{Figures, figures_with};
use crate::advice::ratings::{Driven, RatingsReport, Undriven};
use crate::advice::voltages::{LimitedChart, limited_chart};
use crate::analysis::drive::{HZ, full_output_volts};
use crate::analysis::headroom::recovery::{Recovery, recovery};
use crate::analysis::headroom::volume::{POSITIONS, VolumeHeadroom, volume_headroom};
use crate::analysis::headroom::{CleanHeadroom, PLAYED_VOLTS, clean_headroom};
use crate::analysis::listening::loudspeaker;
use crate::analysis::performance::perform;
use crate::analysis::response::{Path, axis, curve_of, gains};
use crate::analysis::stress::{SineStress, StressGauge, sine_stress};
use crate::analysis::third_octave::{Band, bands_of_curve};
use crate::analysis::valves_playing::SidePlaying;
use crate::network::Network;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedCircuit;
use crate::sound::loudness::{integrated_lufs, peak};
use crate::units::decibels_from_ratio;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

/// The figures of one side.
#[derive(Clone, Debug)]
pub struct SideFigures {
    /// Voltages, currents and dissipation at rest.
    pub voltages: LimitedChart,
    /// Gain at 1 kHz for a small signal, dB.
    pub gain_db: f64,
    /// Response by third octaves.
    pub bands: Vec<Band>,
    /// What the loudspeaker radiates by third octaves, dB, itself being 0 dB at 1 kHz.
    pub radiated_bands: Vec<Band>,
    /// A sine at 1 kHz: limits, harmonics, where each stage clips.
    pub clean: CleanHeadroom,
    /// Valves and parts against their limits.
    pub ratings: RatingsReport,
    /// Valves and supplies while the sound is played.
    pub playing: SidePlaying,
    /// Integrated loudness of what was heard, LUFS; none for silence.
    pub lufs: Option<f64>,
    /// Highest peak of what was heard, decibels of full scale; none for silence.
    pub peak_db: Option<f64>,
    /// Steps without a solution while the sound was played.
    pub unsolved: u64,
    /// What a change is judged by.
    pub of_changes: Arc<Figures>,
}

/// What the sine showed.
struct Sine {
    clean: CleanHeadroom,
    stress: SineStress,
}

/// What takes a second by itself and changes no other figure.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Thorough {
    /// The clean limits as the volume control is turned; none without one.
    pub volume: Option<VolumeHeadroom>,
    /// How long a burst is felt; none where nothing clips.
    pub recovery: Option<Recovery>,
}

/// Turns the volume control and gives a burst. `go_on` is told the share that is done and answers
/// whether to go on; none when it says no.
pub fn thorough(
    network: &Network,
    side: &SolvedCircuit,
    clean: &CleanHeadroom,
    go_on: GoOn<'_>,
) -> Option<Thorough> {
    let mut given_up = false;
    let mut on = |share: f64| {
        let on = go_on(share);
        given_up |= !on;
        on
    };
    let volume = volume_headroom(network, side, &POSITIONS, &mut |share| on(0.5 * share))?;
    let clip = clean.clip_volts();
    let recovery =
        clip.and_then(|clip| recovery(network, side, clip, &mut |share| on(0.5 + 0.5 * share)));
    (!given_up).then_some(Thorough { volume, recovery })
}

/// Share of the work that the sound takes, for the progress; the sine runs beside it.
const SOUND: f64 = 0.9;

/// Works out one side. `go_on` is told the share that is done and answers whether to go on; none
/// when it says no.
///
/// # Errors
/// When what comes out is not made of numbers.
pub fn side_figures(
    network: &Network,
    side: &SolvedCircuit,
    played: &CalibratedSound,
    go_on: GoOn<'_>,
) -> Option<Result<SideFigures, NoVerdict>> {
    let volts: Vec<Vec<f32>> = played.in_volts();
    let channels: Vec<&[f32]> = volts.iter().map(Vec::as_slice).collect();
    let gauge = StressGauge::new(network, &side.circuit);
    let given_up = AtomicBool::new(false);
    // The sound and the sine do not depend on each other.
    let (performed, sine) = std::thread::scope(|scope| {
        let sine = scope.spawn(|| sine(network, side, &given_up));
        let mut on = |share| {
            let on = go_on(SOUND * share);
            given_up.store(!on, Ordering::Relaxed);
            on
        };
        let performed = perform(
            network,
            &[side],
            &channels,
            played.sound.rate,
            &gauge,
            &mut on,
        );
        let sine = sine.join();
        let sine = sine.unwrap_or_else(|fault| std::panic::resume_unwind(fault));
        (performed, sine)
    });
    let (performed, sine) = (performed?.remove(0), sine?);
    let samples = performed.volts.iter().flatten();
    let odd = samples.filter(|sample| !sample.is_finite()).count() as u64;
    if odd > 0 {
        return Some(Err(NoVerdict::NotFinite(odd)));
    }
    let heard: Vec<&[f32]> = performed.volts.iter().map(Vec::as_slice).collect();
    let undriven = Undriven::new(network, side);
    let over = undriven.ratings(&Driven::default()).over;
    let (rate, stages) = (played.sound.rate, &sine.clean.stages);
    let of_changes = figures_with(network, side, &heard, rate, stages, over);
    let scale = (1.0 / played.output_volts) as f32;
    let scaled = |channel: &Vec<f32>| channel.iter().map(|s| s * scale).collect();
    let scaled: Vec<Vec<f32>> = performed.volts.iter().map(scaled).collect();
    let scaled: Vec<&[f32]> = scaled.iter().map(Vec::as_slice).collect();
    let highest = peak(&scaled);
    let response = curve_of(network, side, Path::default());
    let stress = gauge.stress(&performed.bins);
    let driven = Driven {
        phrase: Some(&stress),
        sine: Some(&sine.stress),
        drive: Some(&sine.clean.drive),
    };
    let gain = gains(network, side, Path::default(), &[HZ])[0];
    let hz = axis();
    let radiated = response.db.iter().zip(&hz);
    let radiated: Vec<f64> = radiated
        .map(|(db, &hz)| db + decibels_from_ratio(loudspeaker(side, hz).norm()))
        .collect();
    Some(Ok(SideFigures {
        voltages: limited_chart(network, side),
        gain_db: decibels_from_ratio(gain.norm()),
        bands: bands_of_curve(&hz, &response.db),
        radiated_bands: bands_of_curve(&hz, &radiated),
        ratings: undriven.ratings(&driven),
        clean: sine.clean,
        playing: gauge.playing(side, &performed.bins),
        lufs: integrated_lufs(&scaled, played.sound.rate),
        peak_db: (highest > 0.0).then(|| decibels_from_ratio(highest)),
        unsolved: performed.unsolved,
        of_changes: Arc::new(of_changes),
    }))
}

/// Everything that is told by a sine; none when the rest was given up.
fn sine(network: &Network, side: &SolvedCircuit, given_up: &AtomicBool) -> Option<Sine> {
    let mut on = |_: f64| !given_up.load(Ordering::Relaxed);
    let clean = clean_headroom(network, side, PLAYED_VOLTS, &mut on)?;
    let full = full_output_volts(&clean.drive);
    let stress = sine_stress(network, side, full, &mut on)?;
    Some(Sine { clean, stress })
}
