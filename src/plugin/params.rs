//! What a host sees: the parameters of one instance.
//!
//! A part's value is a float parameter from 0 to 1, the share of two decades (see
//! [`crate::live::parameter_map`]), so that any range fits a host's fader; its text is the trade's notation.
//! Choices and contacts are stepped parameters.

use super::instance::{Instance, default_position};
use crate::live::AdjustableKind;
use crate::live::cabinets::CabinetChoice;
use crate::live::renderer::{Heard, RenderSettings};
use crate::units::{peak_volts_from_dbu, ratio_from_decibels};
use nice_plug::prelude::*;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Full scale of the output at 0 dB, dBu: 34.6 V peak at the loudspeaker, beyond what any of the
/// amps can give, and the same as the command line's.
pub const OUTPUT_FULL_SCALE_DBU: f64 = 30.0;

/// Default and range of the input's full scale, dBu.
pub const INPUT: (f32, (f32, f32)) = (0.0, (-20.0, 30.0));
/// Default and range of the output level, dB.
pub const OUTPUT: (f32, (f32, f32)) = (0.0, (-40.0, 24.0));
/// Default and range of the glide, ms.
pub const GLIDE: (f32, (f32, f32)) = (5.0, (1.0, 100.0));

/// What an amp is heard through, by the parameter's number.
const THROUGH: [&str; 3] = ["Loudspeaker", "Line", "Impulse response"];

/// A slot's parameter.
pub enum AdjustableParam {
    /// A value, or anything in the class for one's own file.
    Share(FloatParam),
    /// A choice, a contact, fitted or not.
    Step(IntParam),
}

impl AdjustableParam {
    /// Its position, 0 to 1.
    pub fn position(&self) -> f32 {
        match self {
            AdjustableParam::Share(param) => param.modulated_normalized_value(),
            AdjustableParam::Step(param) => param.modulated_normalized_value(),
        }
    }

    /// As the framework holds it.
    fn pointer(&self) -> ParamPtr {
        match self {
            AdjustableParam::Share(param) => param.as_ptr(),
            AdjustableParam::Step(param) => param.as_ptr(),
        }
    }
}

/// All parameters of an instance.
pub struct AmpParams {
    /// The instance behind them.
    pub instance: Arc<Instance>,
    /// 0 as found, 1 proposed, 2 pair.
    pub heard: IntParam,
    /// What it is heard through: 0 the loudspeaker, 1 the line, 2 the impulse response.
    pub through: IntParam,
    /// Loudness match.
    pub matched: BoolParam,
    /// Level of a full-scale sine at the jack, dBu.
    pub input: FloatParam,
    /// Output level, dB.
    pub output: FloatParam,
    /// 0 automatic, 1 to 3 for 2, 4, 8 times.
    pub oversampling: IntParam,
    /// Bypass.
    pub bypass: BoolParam,
    /// 0 every value, 1 preferred values.
    pub steps: IntParam,
    /// Glide of part values, ms.
    pub glide: FloatParam,
    /// Counts what changed besides parameters, so that a host knows that there is something to
    /// save.
    pub revision: IntParam,
    /// One a slot of the class.
    pub adjustables: Vec<AdjustableParam>,
}

/// A stepped parameter with a name for each of its numbers.
fn choice(name: impl Into<String>, names: Vec<String>, default: usize) -> IntParam {
    let range = IntRange::Linear {
        min: 0,
        max: names.len().saturating_sub(1).max(1) as i32,
    };
    let names = Arc::new(names);
    let said = names.clone();
    IntParam::new(name, default as i32, range)
        .with_value_to_string(Arc::new(move |value| {
            let last = said.len() - 1;
            said[(value.max(0) as usize).min(last)].clone()
        }))
        .with_string_to_value(Arc::new(move |text| {
            let text = text.trim();
            let named = |name: &String| name.eq_ignore_ascii_case(text);
            names.iter().position(named).map(|index| index as i32)
        }))
}

fn words(names: &[&str]) -> Vec<String> {
    names.iter().map(|&name| name.to_owned()).collect()
}

/// A parameter that is on or off.
fn toggle(name: &str, default: bool) -> BoolParam {
    BoolParam::new(name, default)
        .with_value_to_string(Arc::new(|on| if on { "on" } else { "off" }.into()))
        .with_string_to_value(Arc::new(|text| match text.trim() {
            text if text.eq_ignore_ascii_case("on") || text == "1" => Some(true),
            text if text.eq_ignore_ascii_case("off") || text == "0" => Some(false),
            _ => None,
        }))
}

/// A level in decibels or dBu with one decimal.
fn level(name: &str, default: f32, (min, max): (f32, f32), unit: &'static str) -> FloatParam {
    FloatParam::new(name, default, FloatRange::Linear { min, max })
        .with_step_size(0.1)
        .with_unit(unit)
        .with_string_to_value(Arc::new(move |text| {
            let number = text.trim().trim_end_matches(unit.trim()).trim();
            number.parse().ok().filter(|value: &f32| value.is_finite())
        }))
}

impl AmpParams {
    /// The parameters of an instance.
    pub fn new(instance: Arc<Instance>) -> Self {
        let class = instance.class();
        let map = instance.parameter_map();
        let adjustables = (0..class.ids.len())
            .map(|index| match class.adjustables.get(index) {
                Some(adjustable) => match &adjustable.kind {
                    AdjustableKind::Value { .. } | AdjustableKind::Turn => share(
                        &instance,
                        index,
                        adjustable.name(),
                        default_position(&map, index),
                    ),
                    AdjustableKind::Choice { types } => {
                        let default = adjustable.filed as usize;
                        let names = types.iter().map(|one| one.name().to_owned()).collect();
                        AdjustableParam::Step(choice(adjustable.name(), names, default))
                    }
                    AdjustableKind::Fitted | AdjustableKind::Switch => {
                        let names = vec![adjustable.text(0.0), adjustable.text(1.0)];
                        AdjustableParam::Step(choice(
                            adjustable.name(),
                            names,
                            adjustable.filed as usize,
                        ))
                    }
                },
                None => {
                    let name = own_name(&class.ids[index]);
                    share(&instance, index, name, instance.first_position(index))
                }
            })
            .collect();
        let stepped: Arc<dyn Fn(i32) + Send + Sync> = {
            let instance = instance.clone();
            Arc::new(move |steps| instance.set_stepped(steps != 0))
        };
        AmpParams {
            heard: choice("Heard", words(&["As found", "Proposed", "Pair"]), 1),
            through: choice(
                "Heard through",
                words(&THROUGH),
                super::standalone::first_through(),
            ),
            matched: toggle("Loudness match", true),
            input: level("Input full scale", INPUT.0, INPUT.1, " dBu"),
            output: level("Output level", OUTPUT.0, OUTPUT.1, " dB"),
            oversampling: choice(
                "Oversampling",
                words(&["Automatic", "2 times", "4 times", "8 times"]),
                0,
            )
            .non_automatable(),
            bypass: toggle("Bypass", false).make_bypass(),
            steps: choice(
                "Part values step through",
                words(&["every value", "preferred values"]),
                1,
            )
            .with_callback(stepped)
            .non_automatable(),
            glide: level("Glide", GLIDE.0, GLIDE.1, " ms").non_automatable(),
            revision: IntParam::new(
                "Revision",
                0,
                IntRange::Linear {
                    min: 0,
                    max: 65_535,
                },
            )
            .hide()
            .non_automatable(),
            adjustables,
            instance,
        }
    }

    /// The settings of the rig.
    ///
    /// # Real-time
    /// Lock-free. What a host set to no number is taken as its default.
    pub fn rig_settings(&self) -> RenderSettings {
        let finite = |param: &FloatParam| {
            let value = f64::from(param.value());
            match value.is_finite() {
                true => value,
                false => f64::from(param.default_plain_value()),
            }
        };
        let full_scale = peak_volts_from_dbu(OUTPUT_FULL_SCALE_DBU);
        RenderSettings {
            heard: match self.heard.value() {
                0 => Heard::AsFound,
                2 => Heard::Pair,
                _ => Heard::Proposed,
            },
            through: match self.through.value() {
                1 => CabinetChoice::Line,
                2 => CabinetChoice::Impulse,
                _ => CabinetChoice::Loudspeaker,
            },
            matched: self.matched.value(),
            input_volts: peak_volts_from_dbu(finite(&self.input).clamp(-60.0, 60.0)),
            output_gain: ratio_from_decibels(finite(&self.output).clamp(-60.0, 40.0)) / full_scale,
            bypass: self.bypass.value(),
            glide_milliseconds: finite(&self.glide).clamp(0.0, 1000.0),
            serial: self.instance.serial(),
        }
    }

    /// Doublings of the rate asked for.
    pub fn doublings(&self, offline: bool) -> usize {
        match self.oversampling.value() {
            set @ 1..=3 => set as usize,
            _ if offline => 3,
            _ => 1,
        }
    }

    /// The float parameters among the instance's settings.
    fn float_settings(&self) -> [&FloatParam; 3] {
        [&self.input, &self.output, &self.glide]
    }

    /// Gives back a number to parameters that a host has set to none; a project could not be
    /// loaded again with them.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn mend(&self) {
        let shares = self
            .adjustables
            .iter()
            .filter_map(|adjustable| match adjustable {
                AdjustableParam::Share(param) => Some(param),
                AdjustableParam::Step(_) => None,
            });
        for param in self.float_settings().into_iter().chain(shares) {
            if !param.value().is_finite() || !param.unmodulated_plain_value().is_finite() {
                use nice_plug::params::InternalParamMut;
                // SAFETY: the function only stores atomics of a parameter that lives in `self`;
                // it is marked so that a host hears of changes, which asked for this one.
                unsafe { param._internal_set_plain_value(param.default_plain_value()) };
            }
        }
    }
}

fn share(instance: &Arc<Instance>, index: usize, name: String, default: f32) -> AdjustableParam {
    let (said, read) = (instance.clone(), instance.clone());
    AdjustableParam::Share(
        FloatParam::new(name, default, FloatRange::Linear { min: 0.0, max: 1.0 })
            .with_value_to_string(Arc::new(move |place| said.text(index, place)))
            .with_string_to_value(Arc::new(move |text| read.parse(index, text))),
    )
}

/// "part12" as "Part 12".
fn own_name(id: &str) -> String {
    let digits = id.find(|c: char| c.is_ascii_digit()).unwrap_or(id.len());
    let (word, number) = id.split_at(digits);
    let mut letters = word.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    format!("{}{} {number}", first.unwrap_or(' '), letters.as_str())
}

// SAFETY: the pointers handed out point into this object, which the framework keeps alive through
// the `Arc` that it got from the plugin.
unsafe impl Params for AmpParams {
    fn param_map(&self) -> Vec<(String, ParamPtr, String)> {
        let group = "Presolder";
        let mut map: Vec<(String, ParamPtr, String)> = [
            ("heard", self.heard.as_ptr()),
            ("through", self.through.as_ptr()),
            ("match", self.matched.as_ptr()),
            ("input", self.input.as_ptr()),
            ("output", self.output.as_ptr()),
            ("oversampling", self.oversampling.as_ptr()),
            ("bypass", self.bypass.as_ptr()),
            ("steps", self.steps.as_ptr()),
            ("glide", self.glide.as_ptr()),
            ("revision", self.revision.as_ptr()),
        ]
        .into_iter()
        .map(|(id, pointer)| (id.to_owned(), pointer, group.to_owned()))
        .collect();
        let class = self.instance.class();
        for (index, param) in self.adjustables.iter().enumerate() {
            let stage = match class.adjustables.get(index) {
                Some(adjustable) if !adjustable.stage.is_empty() => {
                    adjustable.stage.replace('/', " or ")
                }
                _ => "Parts".into(),
            };
            map.push((class.ids[index].clone(), param.pointer(), stage));
        }
        map
    }

    fn serialize_fields(&self) -> BTreeMap<String, String> {
        super::state::save(self)
    }

    fn deserialize_fields(&self, fields: &BTreeMap<String, String>) {
        super::state::restore(self, fields);
    }
}
