//! The amp of one instance: which host parameter moves which adjustable, and how a
//! parameter's position becomes a value.
//!
//! A host knows numbers from 0 to 1. Where a value was typed or chosen exactly, the map remembers
//! it beside the position that the host was given for it, so that 4k35 stays 4k35 although the
//! host's numbers are coarse and its steps go through preferred values.

use super::adjustable::{Adjustable, AdjustableKind};
use super::amp::LiveAmp;
use super::own_slots::bindings;
pub use super::own_slots::{Binding, OWN_CONTROLS, OWN_PARTS};
use super::preferred_values::{four_digits, position, preferred};
use crate::circuit::Guitar;
use crate::solve::solved::NoOperatingPoint;
use atomic_float::{AtomicF32, AtomicF64};
use std::sync::Arc;
use std::sync::atomic::Ordering::{Acquire, Relaxed, Release};
use std::sync::atomic::{AtomicBool, AtomicU64};

/// Positions below this mean that the part is left out.
const OUT_BELOW: f64 = 0.01;
/// The least position of a part that is in.
const IN_FROM: f64 = 0.02;
/// Positions this near are the same to a host, which may keep them in 32 bits and as shares of a
/// range: sixteen times the spacing of such numbers below 1.
const SAME_POSITION: f32 = 1e-6;

/// A value and the position that stands for it.
#[derive(Debug)]
struct Exact {
    position: AtomicF32,
    value: AtomicF64,
}

/// See the module.
#[derive(Debug)]
pub struct ParameterMap {
    amp: Arc<LiveAmp>,
    bindings: Vec<Option<Binding>>,
    /// Whether it is of one's own file, where [`ParameterMap::AS_FILED`] has its meaning.
    own: bool,
    /// Shared, with all that is set later, by the maps of one file with other guitars.
    exact: Arc<[Exact]>,
    loose: Arc<[AtomicF64]>,
    /// Preferred values in each adjustable's range, rising; none where an adjustable has no value.
    preferred: Vec<Vec<f64>>,
    unbound: Vec<usize>,
    stepped: AtomicBool,
    generation: Arc<AtomicU64>,
    serial: u64,
}

/// Counts the maps made, so that each has a number of its own.
static MADE: AtomicU64 = AtomicU64::new(1);

impl ParameterMap {
    /// An amp whose adjustables are moved by parameters of the same ids, in their order.
    pub fn for_parameters(amp: LiveAmp, ids: &[String]) -> Self {
        let bindings = ids
            .iter()
            .map(|id| {
                amp.find(id).map(|adjustable| Binding {
                    adjustable,
                    fitted: None,
                })
            })
            .collect();
        Self::new(amp, bindings)
    }

    /// An amp whose adjustables are moved by [`OWN_PARTS`] and [`OWN_CONTROLS`] parameters, in the
    /// order of the file.
    pub fn for_own_file(amp: LiveAmp) -> Self {
        Self::for_slots(amp, &[])
    }

    /// The same with these ids in their slots, as far as the amp has them; what is not among them
    /// follows in the slots that are left.
    pub fn for_slots(amp: LiveAmp, ids: &[Option<String>]) -> Self {
        let bindings = bindings(amp.adjustables(), ids);
        let mut map = Self::new(amp, bindings);
        map.own = true;
        map
    }

    /// Id of the adjustable that each parameter moves.
    pub fn slots(&self) -> Vec<Option<String>> {
        let adjustables = self.amp.adjustables();
        let id = |binding: &Binding| adjustables[binding.adjustable].id.clone();
        self.bindings
            .iter()
            .map(|binding| binding.as_ref().map(id))
            .collect()
    }

    fn new(amp: LiveAmp, bindings: Vec<Option<Binding>>) -> Self {
        let mut bound = vec![false; amp.adjustables().len()];
        for binding in bindings.iter().flatten() {
            bound[binding.adjustable] = true;
            if let Some(fitted) = binding.fitted {
                bound[fitted] = true;
            }
        }
        let filed = amp.filed();
        let exact = filed
            .iter()
            .map(|&value| Exact {
                position: AtomicF32::new(f32::NAN),
                value: AtomicF64::new(value),
            })
            .collect();
        let map = ParameterMap {
            exact,
            preferred: amp.adjustables().iter().map(preferred).collect(),
            loose: filed.iter().map(|&value| AtomicF64::new(value)).collect(),
            unbound: (0..bound.len())
                .filter(|&adjustable| !bound[adjustable])
                .collect(),
            bindings,
            own: false,
            amp: Arc::new(amp),
            stepped: AtomicBool::new(true),
            generation: Arc::default(),
            serial: MADE.fetch_add(1, Relaxed),
        };
        for parameter in 0..map.bindings.len() {
            if let Some(binding) = map.bindings[parameter] {
                map.remember(parameter, filed[binding.adjustable]);
            }
        }
        map
    }

    /// A map of the same amp with another guitar, or none, in its jack: the same slots, the same
    /// numbers, also those to come.
    ///
    /// # Errors
    /// [`NoOperatingPoint`] when the file's circuit has none so.
    pub fn with_guitar(&self, guitar: Option<Arc<Guitar>>) -> Result<Self, NoOperatingPoint> {
        Ok(ParameterMap {
            amp: Arc::new(self.amp.with_guitar(guitar)?),
            bindings: self.bindings.clone(),
            own: self.own,
            exact: Arc::clone(&self.exact),
            loose: Arc::clone(&self.loose),
            preferred: self.preferred.clone(),
            unbound: self.unbound.clone(),
            stepped: AtomicBool::new(self.stepped.load(Relaxed)),
            generation: Arc::clone(&self.generation),
            serial: MADE.fetch_add(1, Relaxed),
        })
    }

    /// The amp.
    pub fn amp(&self) -> &LiveAmp {
        &self.amp
    }

    /// A number that no other map has.
    pub fn serial(&self) -> u64 {
        self.serial
    }

    /// The amp, to keep.
    pub fn shared_amp(&self) -> Arc<LiveAmp> {
        self.amp.clone()
    }

    /// Which adjustable a parameter moves.
    pub fn binding(&self, parameter: usize) -> Option<Binding> {
        self.bindings.get(parameter).copied().flatten()
    }

    /// The parameter that moves an adjustable.
    pub fn parameter_of(&self, adjustable: usize) -> Option<usize> {
        let moves = |b: &Option<Binding>| {
            b.is_some_and(|binding| {
                binding.adjustable == adjustable || binding.fitted == Some(adjustable)
            })
        };
        self.bindings.iter().position(moves)
    }

    /// Adjustables that no parameter moves; their proposed numbers are kept here.
    pub fn unbound(&self) -> &[usize] {
        &self.unbound
    }

    /// Proposed number of an adjustable that no parameter moves.
    pub fn loose(&self, adjustable: usize) -> f64 {
        self.loose[adjustable].load(Relaxed)
    }

    /// Replaces the proposed number of an adjustable that no parameter moves.
    pub fn set_loose(&self, adjustable: usize, value: f64) {
        self.loose[adjustable].store(self.amp.adjustables()[adjustable].clamped(value), Relaxed);
        self.touch();
    }

    /// Replaces an as-found number.
    pub fn set_as_found(&self, adjustable: usize, value: f64) {
        self.amp.set_as_found(adjustable, value);
        self.touch();
    }

    /// Whether positions of part values are drawn to preferred values.
    pub fn set_stepped(&self, stepped: bool) {
        if self.stepped.swap(stepped, Relaxed) != stepped {
            self.touch();
        }
    }

    /// Counts what changed besides parameters, so that the audio thread looks again.
    pub fn generation(&self) -> u64 {
        self.generation.load(Acquire)
    }

    fn touch(&self) {
        self.generation.fetch_add(1, Release);
    }

    /// Position for the value of a parameter's adjustable. For a parameter that moves "fitted" too,
    /// it is that of the part when it is in.
    pub fn position_of(&self, parameter: usize, value: f64) -> Option<f32> {
        let binding = self.binding(parameter)?;
        let adjustable = &self.amp.adjustables()[binding.adjustable];
        let share = position(adjustable, adjustable.clamped(value));
        let place = match binding.fitted {
            Some(_) => IN_FROM + (1.0 - IN_FROM) * share,
            None => share,
        };
        Some(place as f32)
    }

    /// [`ParameterMap::position_of`] a value that is remembered exactly.
    pub fn remember(&self, parameter: usize, value: f64) -> Option<f32> {
        let place = self.position_of(parameter, value)?;
        self.remember_at(parameter, place, value);
        Some(place)
    }

    /// Remembers exactly which value a position stands for.
    pub fn remember_at(&self, parameter: usize, place: f32, value: f64) {
        if let Some(binding) = self.binding(parameter) {
            let exact = &self.exact[binding.adjustable];
            let value = self.amp.adjustables()[binding.adjustable].clamped(value);
            exact.value.store(value, Relaxed);
            exact.position.store(place, Relaxed);
            self.touch();
        }
    }

    /// Position that leaves a part out, for a parameter that moves "fitted" too.
    pub const OUT: f32 = 0.0;

    /// Position that stands for whatever one's own file says: a host learns the defaults of its
    /// parameters once, before there is a file, and its "reset" then gives back the file's value.
    /// No text of three digits comes to lie here.
    pub const AS_FILED: f32 = 0.510_203;

    /// Position of a parameter when nothing is proposed.
    pub fn default_position(&self, parameter: usize) -> f32 {
        if self.own {
            return Self::AS_FILED;
        }
        let filed = |binding: Binding| self.amp.adjustables()[binding.adjustable].filed;
        let value = self.binding(parameter).map(filed);
        value
            .and_then(|value| self.position_of(parameter, value))
            .unwrap_or(0.0)
    }

    /// The value of a parameter's adjustable at a position, and whether the part is fitted where the
    /// parameter says so.
    ///
    /// # Real-time
    /// Lock-free, allocates nothing.
    pub fn value_at(&self, parameter: usize, place: f32) -> Option<(f64, Option<bool>)> {
        let binding = self.binding(parameter)?;
        let adjustable = &self.amp.adjustables()[binding.adjustable];
        let exact = &self.exact[binding.adjustable];
        let known = exact.value.load(Relaxed);
        let fitted = binding.fitted.map(|_| f64::from(place) >= OUT_BELOW);
        if fitted == Some(false) {
            return Some((known, fitted));
        }
        if (exact.position.load(Relaxed) - place).abs() <= SAME_POSITION {
            return Some((known, fitted));
        }
        if self.own && (place - Self::AS_FILED).abs() <= SAME_POSITION {
            let filed = |index: usize| self.amp.adjustables()[index].filed;
            return Some((adjustable.filed, binding.fitted.map(|one| filed(one) > 0.5)));
        }
        let mut share = f64::from(place);
        if !share.is_finite() {
            return Some((known, fitted));
        }
        if fitted.is_some() {
            share = (share - IN_FROM) / (1.0 - IN_FROM);
        }
        let value = self.value(adjustable, binding.adjustable, share.clamp(0.0, 1.0));
        Some((value, fitted))
    }

    /// The numbers that a position of a parameter stands for: that of its adjustable and, where it
    /// moves "fitted" too, that one's.
    ///
    /// # Real-time
    /// Lock-free, allocates nothing.
    pub fn numbers_at(&self, parameter: usize, place: f32) -> [Option<(usize, f64)>; 2] {
        let at = self.binding(parameter).zip(self.value_at(parameter, place));
        let Some((binding, (value, fitted))) = at else {
            return [None, None];
        };
        let fitted = binding.fitted.zip(fitted);
        [
            Some((binding.adjustable, value)),
            fitted.map(|(adjustable, fitted)| (adjustable, f64::from(u8::from(fitted)))),
        ]
    }

    fn value(&self, adjustable: &Adjustable, index: usize, share: f64) -> f64 {
        match &adjustable.kind {
            AdjustableKind::Value { low, high, .. } => {
                let value = low * (high / low).powf(share);
                if !self.stepped.load(Relaxed) {
                    return four_digits(value).clamp(*low, *high);
                }
                let far = |candidate: f64| (candidate / value).ln().abs();
                let ladder = &self.preferred[index];
                let above = ladder.partition_point(|&rung| rung < value);
                let rung = |at: usize| ladder.get(at).copied().unwrap_or(adjustable.filed);
                let mut nearest = adjustable.filed;
                for candidate in [
                    self.amp.as_found(index),
                    rung(above),
                    rung(above.wrapping_sub(1)),
                ] {
                    if far(candidate) < far(nearest) {
                        nearest = candidate;
                    }
                }
                nearest.clamp(*low, *high)
            }
            AdjustableKind::Choice { types } => (share * (types.len() - 1) as f64).round(),
            AdjustableKind::Fitted | AdjustableKind::Switch => f64::from(u8::from(share >= 0.5)),
            AdjustableKind::Turn => share,
        }
    }
}

#[cfg(test)]
#[path = "parameter_map_tests.rs"]
mod tests;
