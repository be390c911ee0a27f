//! Positions that take one of several types, and what each type writes into a side's values.

use super::adjustable::AdjustableKind;
use super::amp::LiveAmp;
use crate::circuit::{Circuit, PartId};
use crate::network::{DeviceValues, Network, Values};
use std::ops::Range;

/// A position that takes one of several types: a valve's bottle, a rectifier, a loudspeaker.
#[derive(Clone, Debug)]
pub struct Typed {
    pub parts: Vec<PartId>,
    pub branches: Vec<Range<usize>>,
    /// Values with each type in place, of these parts only.
    pub options: Vec<Values>,
    pub wanted: usize,
    pub now: usize,
}

/// The amp with every part of the file in its place.
pub fn all_in(amp: &LiveAmp, otherwise: &Circuit) -> Circuit {
    let mut numbers = amp.filed();
    for (adjustable, value) in amp.adjustables().iter().zip(&mut numbers) {
        if adjustable.kind == AdjustableKind::Fitted {
            *value = 1.0;
        }
    }
    amp.circuit_with(&numbers)
        .unwrap_or_else(|_| otherwise.clone())
}

/// Values of a typed position with each of its types.
pub fn typed(
    amp: &LiveAmp,
    network: &Network,
    adjustable: usize,
    count: usize,
    circuit: &Circuit,
) -> Typed {
    let parts = amp.adjustables()[adjustable].parts.clone();
    let options: Vec<Values> = (0..count)
        .map(|option| {
            let mut numbers = amp.filed();
            numbers[adjustable] = option as f64;
            // A valve left out keeps its law here; whether it is fitted is told apart.
            for (other, value) in amp.adjustables().iter().zip(&mut numbers) {
                if other.kind == AdjustableKind::Fitted && other.parts == parts {
                    *value = 1.0;
                }
            }
            let fitted = amp.circuit_with(&numbers);
            network.values(fitted.as_ref().unwrap_or(circuit))
        })
        .collect();
    let now = amp.as_found(adjustable) as usize;
    Typed {
        branches: parts.iter().map(|&id| network.branches_of(id)).collect(),
        parts,
        options,
        wanted: now,
        now,
    }
}

pub fn copy_device(
    positions: &[Vec<PartId>; 3],
    part: PartId,
    from: &DeviceValues,
    to: &mut DeviceValues,
) {
    let at = |kind: usize| positions[kind].iter().position(|&p| p == part);
    if let Some(index) = at(0) {
        to.triodes[index].law = from.triodes[index].law;
    }
    if let Some(index) = at(1) {
        to.pentodes[index].law = from.pentodes[index].law;
    }
    if let Some(index) = at(2) {
        to.rectifiers[index].law = from.rectifiers[index].law;
    }
}

pub fn set_present(
    positions: &[Vec<PartId>; 3],
    part: PartId,
    present: f64,
    to: &mut DeviceValues,
) {
    let at = |kind: usize| positions[kind].iter().position(|&p| p == part);
    if let Some(index) = at(0) {
        to.triodes[index].present = present;
    }
    if let Some(index) = at(1) {
        to.pentodes[index].present = present;
    }
}
