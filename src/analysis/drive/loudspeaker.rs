//! What the loudspeaker takes: the impedance that watts rest on.

use crate::analysis::at_rest::Side;
use crate::circuit::PartKind;
use crate::device::Loudspeaker;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// Admittance of the loudspeaker that is heard, S by hertz; none if the output is another.
pub fn siemens(side: &Side) -> Option<impl Fn(f64) -> Complex64> {
    let part = side.circuit.output().loudspeaker?;
    let PartKind::Loudspeaker { driver, .. } = &side.circuit.part(part).kind else {
        return None;
    };
    let driver = driver.clone();
    Some(move |hz| 1.0 / impedance(&driver, hz))
}

/// Impedance of a driver, Ω, by the formula of [`Loudspeaker`].
pub fn impedance(driver: &Loudspeaker, hz: f64) -> Complex64 {
    let omega = TAU * hz;
    let coil = |henries: f64| Complex64::new(0.0, omega * henries);
    let lossy = if driver.lossy_henries > 0.0 && driver.lossy_ohms > 0.0 {
        1.0 / (1.0 / coil(driver.lossy_henries) + 1.0 / driver.lossy_ohms)
    } else {
        Complex64::ZERO
    };
    let motional = 1.0 / driver.motional_ohms()
        + Complex64::new(0.0, omega * driver.motional_farads())
        + 1.0 / coil(driver.motional_henries());
    driver.coil_ohms + coil(driver.coil_henries) + lossy + 1.0 / motional
}
