//! Through what the amp is heard: the voltage itself, or the loudspeaker with a microphone before
//! it. Gains by frequency, each circuit with its own loudspeaker.

use crate::circuit::{Circuit, PartKind};
use crate::device::Loudspeaker;
use crate::solve::solved::SolvedCircuit;
use num_complex::Complex64;
use std::sync::Arc;

/// A gain that follows the amp's own, by circuit and hertz.
pub type TransferFunction<'a> = dyn Fn(&SolvedCircuit, f64) -> Complex64 + 'a;

/// The loudspeaker that is heard: the one that the file names as its output or, with that one
/// taken out, the first fitted one across the same nodes. None where the output is a node.
pub fn loudspeaker_of(circuit: &Circuit) -> Option<Arc<Loudspeaker>> {
    let named = circuit.part(circuit.output().loudspeaker?);
    let PartKind::Loudspeaker { between, .. } = named.kind else {
        return None;
    };
    let beside = circuit.parts().iter();
    let mut heard = std::iter::once(named).chain(beside).filter(|p| p.fitted);
    heard.find_map(|part| match &part.kind {
        PartKind::Loudspeaker { driver, between: b } if *b == between => Some(driver.clone()),
        _ => None,
    })
}

/// The voltage itself, as a line output gives it.
pub fn line(_: &SolvedCircuit, _: f64) -> Complex64 {
    Complex64::ONE
}

/// The loudspeaker of the circuit, as a microphone hears it; 1 where there is none.
pub fn loudspeaker(side: &SolvedCircuit, hz: f64) -> Complex64 {
    loudspeaker_of(&side.circuit).map_or(Complex64::ONE, |driver| driver.acoustic.at(hz))
}
