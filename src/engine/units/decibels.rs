//! Ratios and levels in decibels, volts at 0 dBu, and peaks of sines.

/// Decibels of an amplitude ratio.
pub fn decibels_from_ratio(ratio: f64) -> f64 {
    20.0 * ratio.log10()
}

/// Amplitude ratio of decibels.
pub fn ratio_from_decibels(decibels: f64) -> f64 {
    10f64.powf(decibels / 20.0)
}

/// Peak of a sine of this r.m.s. value.
pub fn peak_from_rms(rms: f64) -> f64 {
    std::f64::consts::SQRT_2 * rms
}

/// R.m.s. value of a sine of this peak.
pub fn rms_from_peak(peak: f64) -> f64 {
    std::f64::consts::FRAC_1_SQRT_2 * peak
}

/// R.m.s. volts of 0 dBu: the voltage of 1 mW in 600 Ω.
pub const DBU_VOLTS: f64 = 0.774_596_669_241_483_4;

/// R.m.s. volts of a level in dBu.
pub fn volts_from_dbu(dbu: f64) -> f64 {
    DBU_VOLTS * ratio_from_decibels(dbu)
}

/// Peak volts of a sine whose level is given in dBu: what a sample of 1 stands for where a full-scale
/// sine has that level.
pub fn peak_volts_from_dbu(dbu: f64) -> f64 {
    peak_from_rms(volts_from_dbu(dbu))
}

/// Level in dBu of r.m.s. volts.
pub fn dbu_from_volts(volts: f64) -> f64 {
    decibels_from_ratio(volts / DBU_VOLTS)
}
