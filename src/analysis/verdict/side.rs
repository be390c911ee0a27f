//! What one side of an amp gives by itself: the half of a verdict that stays when only the other
//! side is edited.
//!
//! Takes an amp at rest and what is played; works on all cores.

use super::{NoVerdict, Sound, peak};
use crate::analysis::at_rest::Side;
use crate::analysis::drive::{Drive, HZ, drive};
use crate::analysis::loudness::integrated_lufs;
use crate::analysis::performance::{Gauge, GoOn, Performed, perform};
use crate::analysis::response::{Path, curve_of, gains};
use crate::analysis::third_octave::{Band, bands_of_curve};
use crate::analysis::voltages::{VoltageChart, chart};
use crate::network::Network;

/// The figures of one side.
#[derive(Clone, Debug)]
pub struct SideFigures {
    /// Voltages, currents and dissipation at rest.
    pub voltages: VoltageChart,
    /// Gain at 1 kHz for a small signal, dB.
    pub gain_db: f64,
    /// Response by third octaves.
    pub bands: Vec<Band>,
    /// A sine at 1 kHz.
    pub drive: Drive,
    /// What was heard of the sound, V, and what the gauge read.
    pub performed: Performed,
    /// Integrated loudness of what was heard, LUFS; none for silence.
    pub lufs: Option<f64>,
    /// Highest peak of what was heard, decibels of full scale; none for silence.
    pub peak_db: Option<f64>,
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
    side: &Side,
    sound: &Sound<'_>,
    gauge: &dyn Gauge,
    go_on: GoOn<'_>,
) -> Option<Result<SideFigures, NoVerdict>> {
    let volts: Vec<Vec<f32>> = sound.in_volts();
    let channels: Vec<&[f32]> = volts.iter().map(Vec::as_slice).collect();
    // The sound and the sine do not depend on each other.
    let (performed, drive) = std::thread::scope(|scope| {
        let sine = scope.spawn(|| drive(network, side, &mut |_| {}));
        let performed = perform(
            network,
            &[side],
            &channels,
            sound.rate,
            gauge,
            &mut |share| go_on(SOUND * share),
        );
        let sine = sine.join();
        let sine = sine.unwrap_or_else(|fault| std::panic::resume_unwind(fault));
        (performed, sine)
    });
    let performed = performed?.remove(0);
    let samples = performed.volts.iter().flatten();
    let odd = samples.filter(|sample| !sample.is_finite()).count() as u64;
    if odd > 0 {
        return Some(Err(NoVerdict::NotFinite(odd)));
    }
    let scale = (1.0 / sound.output_volts) as f32;
    let scaled = |channel: &Vec<f32>| channel.iter().map(|s| s * scale).collect();
    let heard: Vec<Vec<f32>> = performed.volts.iter().map(scaled).collect();
    let heard: Vec<&[f32]> = heard.iter().map(Vec::as_slice).collect();
    let highest = peak(&heard);
    let response = curve_of(network, side, Path::default());
    Some(Ok(SideFigures {
        voltages: chart(network, side),
        gain_db: 20.0
            * gains(network, side, Path::default(), &[HZ])[0]
                .norm()
                .log10(),
        bands: bands_of_curve(&crate::analysis::response::axis(), &response.db),
        drive,
        lufs: integrated_lufs(&heard, sound.rate),
        peak_db: (highest > 0.0).then(|| 20.0 * highest.log10()),
        performed,
    }))
}
