//! A parameter of any of the framework's kinds, as one type, and how each kind is made and read.

use nice_plug::context::gui::ParamSetter;
use nice_plug::params::InternalParamMut;
use nice_plug::prelude::*;
use std::sync::Arc;

/// A parameter.
pub enum HostParam {
    /// A number from a range.
    Figure(FloatParam),
    /// One of several steps.
    Step(IntParam),
    /// On or off.
    Flag(BoolParam),
}

/// Evaluates the same for the parameter within, whatever its kind.
macro_rules! with_param {
    ($host:expr, $param:ident => $does:expr) => {
        match $host {
            HostParam::Figure($param) => $does,
            HostParam::Step($param) => $does,
            HostParam::Flag($param) => $does,
        }
    };
}

impl HostParam {
    /// Its number: a figure, the index of a step, 0 or 1. A figure that a host set to no number is
    /// its default.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn value(&self) -> f64 {
        match self {
            HostParam::Figure(param) if param.value().is_finite() => f64::from(param.value()),
            HostParam::Figure(param) => f64::from(param.default_plain_value()),
            HostParam::Step(param) => f64::from(param.value()),
            HostParam::Flag(param) => f64::from(u8::from(param.value())),
        }
    }

    /// Its position, 0 to 1.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn position(&self) -> f32 {
        with_param!(self, param => param.modulated_normalized_value())
    }

    /// As the framework holds it.
    pub fn pointer(&self) -> ParamPtr {
        with_param!(self, param => param.as_ptr())
    }

    /// Gives back a number to a figure that a host has set to none; a project could not be loaded
    /// again with it.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn restore_number(&self) {
        let HostParam::Figure(param) = self else {
            return;
        };
        if !param.value().is_finite() || !param.unmodulated_plain_value().is_finite() {
            // SAFETY: the function only stores atomics of a parameter that lives in `self`; it is
            // marked so that a host hears of changes, which asked for this one.
            unsafe { param._internal_set_plain_value(param.default_plain_value()) };
        }
    }

    /// Begins a gesture.
    pub fn begin(&self, setter: &ParamSetter) {
        with_param!(self, param => setter.begin_set_parameter(param));
    }

    /// Sets its position within a gesture, 0 to 1.
    pub fn set_position(&self, setter: &ParamSetter, position: f32) {
        with_param!(self, param => setter.set_parameter_normalized(param, position));
    }

    /// Sets its number (see [`HostParam::value`]) within a gesture.
    pub fn set_value(&self, setter: &ParamSetter, value: f64) {
        match self {
            HostParam::Figure(param) => setter.set_parameter(param, value as f32),
            HostParam::Step(param) => setter.set_parameter(param, value.round() as i32),
            HostParam::Flag(param) => setter.set_parameter(param, value > 0.5),
        }
    }

    /// Ends a gesture.
    pub fn end(&self, setter: &ParamSetter) {
        with_param!(self, param => setter.end_set_parameter(param));
    }
}

/// A stepped parameter with a name for each of its numbers.
pub fn choice(name: impl Into<String>, names: Vec<String>, default: usize) -> IntParam {
    let range = IntRange::Linear {
        min: 0,
        max: names.len().saturating_sub(1).max(1) as i32,
    };
    let names = Arc::new(names);
    let shown = names.clone();
    IntParam::new(name, default as i32, range)
        .with_value_to_string(Arc::new(move |value| {
            let last = shown.len() - 1;
            shown[(value.max(0) as usize).min(last)].clone()
        }))
        .with_string_to_value(Arc::new(move |text| {
            let text = text.trim();
            let named = |name: &String| name.eq_ignore_ascii_case(text);
            names.iter().position(named).map(|index| index as i32)
        }))
}

/// A parameter that is on or off.
pub fn toggle(name: &str, default: bool) -> BoolParam {
    BoolParam::new(name, default)
        .with_value_to_string(Arc::new(|on| if on { "on" } else { "off" }.into()))
        .with_string_to_value(Arc::new(|text| match text.trim() {
            text if text.eq_ignore_ascii_case("on") || text == "1" => Some(true),
            text if text.eq_ignore_ascii_case("off") || text == "0" => Some(false),
            _ => None,
        }))
}

/// A figure with one decimal. Its unit stands in its text, with one space, in either format.
pub fn figure(name: &str, default: f32, (min, max): (f32, f32), unit: &'static str) -> FloatParam {
    FloatParam::new(name, default, FloatRange::Linear { min, max })
        .with_step_size(0.1)
        .with_value_to_string(Arc::new(move |value| {
            // Minus nothing is nothing.
            let tenths = (10.0 * value).round() / 10.0 + 0.0;
            format!("{tenths:.1} {unit}")
        }))
        .with_string_to_value(Arc::new(move |text| {
            let number = text.trim().trim_end_matches(unit).trim();
            let within = |value: &f32| (min..=max).contains(value);
            number.parse().ok().filter(within)
        }))
}
