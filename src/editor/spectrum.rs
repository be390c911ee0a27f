//! The live spectrum of what is heard, computed by the window from samples that the audio thread
//! left behind.

use fourier::RealToComplex;
use std::sync::Arc;

/// Samples of one spectrum: 85 ms at 48 kHz.
const LENGTH: usize = 4096;
/// Bands a decade.
const BANDS_A_DECADE: usize = 24;
/// Fall of a band that sounds no more, dB a second (own choice).
const FALL: f32 = 40.0;
/// Range that is drawn, dB below the loudest band of late.
const RANGE: f64 = 60.0;

/// The spectrum.
pub struct Spectrum {
    transform: Arc<dyn RealToComplex<f32>>,
    window: Vec<f32>,
    samples: Vec<f32>,
    /// Level of each band, dB of full scale.
    bands: Vec<f32>,
    /// Upper end of what is drawn, dB.
    top: f32,
    last: f64,
}

impl Default for Spectrum {
    fn default() -> Self {
        // Hann's window.
        let hann = |i: usize| {
            let x = std::f32::consts::TAU * i as f32 / LENGTH as f32;
            0.5 - 0.5 * x.cos()
        };
        Spectrum {
            transform: fourier::forward_single(LENGTH),
            window: (0..LENGTH).map(hann).collect(),
            samples: Vec::new(),
            bands: vec![-200.0; 3 * BANDS_A_DECADE],
            top: -200.0,
            last: 0.0,
        }
    }
}

/// Edges of a band, Hz.
fn edges(band: usize) -> [f64; 2] {
    [band, band + 1].map(|i| 20.0 * 10f64.powf(i as f64 / BANDS_A_DECADE as f64))
}

impl Spectrum {
    /// Takes what was heard since the last time, at `rate` hertz, at `now` seconds.
    pub fn take(&mut self, rate: f64, now: f64, take: impl FnOnce(&mut Vec<f32>)) {
        let before = self.samples.len();
        take(&mut self.samples);
        let came = self.samples.len() > before;
        let surplus = self.samples.len().saturating_sub(LENGTH);
        self.samples.drain(..surplus);
        let fall = FALL * ((now - self.last) as f32).clamp(0.0, 1.0);
        self.last = now;
        for band in &mut self.bands {
            *band = (*band - fall).max(-200.0);
        }
        self.top = (self.top - 0.1 * fall).max(-200.0);
        if came && self.samples.len() == LENGTH && rate > 0.0 {
            self.compute(rate);
        }
    }

    fn compute(&mut self, rate: f64) {
        let mut input: Vec<f32> = self
            .samples
            .iter()
            .zip(&self.window)
            .map(|(s, w)| s * w)
            .collect();
        let mut output = self.transform.make_output_vec();
        if self.transform.process(&mut input, &mut output).is_err() {
            return;
        }
        // A full-scale sine under Hann's window has a peak of a quarter of the length.
        let scale = 4.0 / LENGTH as f32;
        let bin = |hz: f64| hz * LENGTH as f64 / rate;
        for (index, band) in self.bands.iter_mut().enumerate() {
            let [from, to] = edges(index).map(bin);
            let first = (from.floor() as usize).min(output.len() - 1);
            let last = (to.ceil() as usize).clamp(first + 1, output.len().max(first + 1));
            let peak = output[first..last.min(output.len())]
                .iter()
                .fold(0.0f32, |peak, c| peak.max(c.norm()));
            let level = 20.0 * (peak * scale).max(1e-10).log10();
            *band = band.max(level);
            self.top = self.top.max(level);
        }
    }

    /// Whether anything sounds.
    pub fn sounds(&self) -> bool {
        self.bands.iter().any(|&band| band > -90.0)
    }

    /// The spectrum scaled into a plot from `low` to `high`: logarithms of the frequencies, the
    /// lower edge, the levels. None in silence.
    pub fn drawn(&self, low: f64, high: f64) -> Option<(Vec<f64>, Vec<f64>, Vec<f64>)> {
        if !self.sounds() {
            return None;
        }
        let top = f64::from(self.top);
        let centre = |band: usize| edges(band).iter().product::<f64>().sqrt().log10();
        let x: Vec<f64> = (0..self.bands.len()).map(centre).collect();
        let level = |&db: &f32| {
            let share = ((f64::from(db) - top) / RANGE + 1.0).clamp(0.0, 1.0);
            low + 0.9 * share * (high - low)
        };
        let y = self.bands.iter().map(level).collect();
        Some((x, vec![low; self.bands.len()], y))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_sine_stands_in_its_band_at_its_level() {
        let mut spectrum = Spectrum::default();
        assert!(!spectrum.sounds());
        let rate = 48_000.0;
        let sine = |i: usize| 0.5 * (std::f64::consts::TAU * 1e3 * i as f64 / rate).sin() as f32;
        spectrum.take(rate, 1.0, |heard| heard.extend((0..LENGTH).map(sine)));
        let loudest = (0..spectrum.bands.len())
            .max_by(|&a, &b| spectrum.bands[a].total_cmp(&spectrum.bands[b]))
            .unwrap();
        let [from, to] = edges(loudest);
        assert!(from * 0.97 < 1e3 && 1e3 < to * 1.03);
        // Half of full scale is −6 dB; between two bins Hann's window loses up to 1.4 dB.
        let level = spectrum.bands[loudest];
        assert!((-7.5..-5.9).contains(&level), "{level}");
        spectrum.take(rate, 9.0, |_| {});
        spectrum.take(rate, 17.0, |_| {});
        assert!(spectrum.bands[loudest] < level - 70.0);
    }
}
