//! Equivalent rectangular bandwidths of the ear's filters, and the bands that the comparisons use.
//!
//! B. R. Glasberg, B. C. J. Moore, "Derivation of auditory filter shapes from notched-noise data",
//! Hearing Research 47, 103 to 138, 1990: bandwidth and ERB-number against frequency.

/// Bandwidth of the ear's filter about a frequency, Hz, for a frequency in hertz:
/// 24.7·(4.37·f/1000 + 1).
pub fn erb_hz(hz: f64) -> f64 {
    24.7 * (4.37 * hz / 1000.0 + 1.0)
}

/// How many such bandwidths lie below a frequency in hertz: 21.4·lg(4.37·f/1000 + 1).
pub fn erb_number(hz: f64) -> f64 {
    21.4 * (4.37 * hz / 1000.0 + 1.0).log10()
}

/// The frequency of an ERB-number, Hz.
pub fn hz_of_erb_number(number: f64) -> f64 {
    1000.0 / 4.37 * (10f64.powf(number / 21.4) - 1.0)
}

/// The lowest and the highest band, by the ERB-number in its middle: 55 Hz and 9.7 kHz.
const FIRST: u32 = 2;
const LAST: u32 = 35;

/// Number of bands.
pub const BANDS: usize = (LAST - FIRST + 1) as usize;

/// One band, an ERB-number wide.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Band {
    /// Lower edge, Hz.
    pub low_hz: f64,
    /// Middle on the scale of ERB-numbers, Hz.
    pub hz: f64,
    /// Upper edge, Hz.
    pub high_hz: f64,
}

/// The bands from 40 Hz to 10.2 kHz, touching one another: the low E of a guitar lies in the
/// second, and its loudspeaker gives little above the last.
pub fn bands() -> [Band; BANDS] {
    std::array::from_fn(|i| {
        let number = f64::from(FIRST) + i as f64;
        Band {
            low_hz: hz_of_erb_number(number - 0.5),
            hz: hz_of_erb_number(number),
            high_hz: hz_of_erb_number(number + 0.5),
        }
    })
}
