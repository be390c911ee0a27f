//! What a host sees: the parameters of one instance. Those of its settings are made from the table in
//! [`crate::live::settings`], those of its amp from what can be adjusted.
//!
//! A part's value is a float parameter from 0 to 1, the share of two decades (see
//! [`crate::live::parameter_map`]), so that any range fits a host's fader; its text is the trade's
//! notation. Choices and contacts are stepped parameters.

use super::host_param::{HostParam, choice, figure, toggle};
use super::instance::Instance;
use super::texts::own_name;
use crate::live::AdjustableKind;
use crate::live::cabinets::CabinetChoice;
use crate::live::jack_guitar::JackGuitar;
use crate::live::renderer::{Heard, RenderSettings};
use crate::live::settings::{CABINET_IMPULSE, CABINET_LINE, PluginSetting, SettingKind};
use crate::requests::played::OUTPUT_FULL_SCALE_DBU;
use crate::units::{peak_volts_from_dbu, ratio_from_decibels};
use nice_plug::prelude::*;
use std::sync::Arc;

/// All parameters of an instance.
pub struct AmpParams {
    /// The instance behind them.
    pub instance: Arc<Instance>,
    /// One for each of [`PluginSetting::ALL`], in their order.
    pub settings: Vec<HostParam>,
    /// One for each parameter of the class.
    pub adjustables: Vec<HostParam>,
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
                        map.default_position(index),
                    ),
                    AdjustableKind::Choice { types } => {
                        let default = adjustable.filed as usize;
                        let names = types.iter().map(|one| one.name().to_owned()).collect();
                        HostParam::Step(choice(adjustable.name(), names, default))
                    }
                    AdjustableKind::Fitted | AdjustableKind::Switch => {
                        let names = vec![adjustable.text(0.0), adjustable.text(1.0)];
                        HostParam::Step(choice(adjustable.name(), names, adjustable.filed as usize))
                    }
                },
                None => {
                    let name = own_name(&class.ids[index]);
                    share(&instance, index, name, instance.first_position(index))
                }
            })
            .collect();
        AmpParams {
            settings: PluginSetting::ALL
                .iter()
                .map(|&setting| setting_param(setting, &instance))
                .collect(),
            adjustables,
            instance,
        }
    }

    /// The parameter of a setting.
    pub fn of(&self, setting: PluginSetting) -> &HostParam {
        &self.settings[setting as usize]
    }

    /// The number of a setting (see [`crate::live::settings`]).
    ///
    /// # Real-time
    /// Lock-free. What a host set to no number is taken as its default.
    pub fn setting(&self, setting: PluginSetting) -> f64 {
        self.of(setting).value()
    }

    /// The settings of the renderer.
    ///
    /// # Real-time
    /// Lock-free. What a host set to no number is taken as its default.
    pub fn render_settings(&self) -> RenderSettings {
        let level = |setting, least, most| self.setting(setting).clamp(least, most);
        let full_scale = peak_volts_from_dbu(OUTPUT_FULL_SCALE_DBU);
        RenderSettings {
            heard: match self.setting(PluginSetting::Heard) as i32 {
                0 => Heard::AsFound,
                2 => Heard::Pair,
                _ => Heard::Proposed,
            },
            through: match self.setting(PluginSetting::Cabinet) as i32 {
                CABINET_LINE => CabinetChoice::Line,
                CABINET_IMPULSE => CabinetChoice::Impulse,
                _ => CabinetChoice::Loudspeaker,
            },
            matched: self.setting(PluginSetting::Match) > 0.5,
            input_volts: peak_volts_from_dbu(level(PluginSetting::InputFullScale, -60.0, 60.0))
                * ratio_from_decibels(level(PluginSetting::Boost, 0.0, 60.0)),
            output_gain: ratio_from_decibels(level(PluginSetting::OutputLevel, -60.0, 40.0))
                / full_scale,
            bypass: self.setting(PluginSetting::Bypass) > 0.5,
            glide_milliseconds: level(PluginSetting::Glide, 0.0, 1000.0),
            serial: self.instance.serial(),
        }
    }

    /// What drives the jack.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn guitar(&self) -> JackGuitar {
        JackGuitar::of(
            self.setting(PluginSetting::Guitar),
            self.setting(PluginSetting::Boost),
        )
    }

    /// Whether the host's part values move through preferred values.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn stepped(&self) -> bool {
        self.setting(PluginSetting::Steps) > 0.5
    }

    /// Doublings of the rate asked for.
    pub fn doublings(&self, offline: bool) -> usize {
        match self.setting(PluginSetting::Oversampling) as usize {
            set @ 1..=3 => set,
            _ if offline => 3,
            _ => 1,
        }
    }

    /// Gives back a number to parameters that a host has set to none.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn restore_numbers(&self) {
        for param in self.settings.iter().chain(&self.adjustables) {
            param.restore_number();
        }
    }
}

/// The parameter of a setting, made from its row.
fn setting_param(setting: PluginSetting, instance: &Arc<Instance>) -> HostParam {
    let row = setting.row();
    match row.kind {
        SettingKind::Choice { names, default } => {
            let names = names.iter().map(|&name| name.to_owned()).collect();
            let default =
                super::launch::first_choice(setting).map_or(default, |first| first as usize);
            let param = match setting {
                PluginSetting::Steps => {
                    let instance = instance.clone();
                    let stepped = move |steps| instance.set_stepped(steps != 0);
                    choice(row.name, names, default).with_callback(Arc::new(stepped))
                }
                _ => choice(row.name, names, default),
            };
            HostParam::Step(match row.automatable {
                true => param,
                false => param.non_automatable(),
            })
        }
        SettingKind::Toggle { default } => {
            let param = toggle(row.name, default);
            HostParam::Flag(match row.automatable {
                true => param,
                false => param.non_automatable(),
            })
        }
        SettingKind::Bypass => HostParam::Flag(toggle(row.name, false).make_bypass()),
        SettingKind::Figure {
            default,
            range,
            unit,
        } => {
            let param = figure(row.name, default, range, unit);
            HostParam::Figure(match row.automatable {
                true => param,
                false => param.non_automatable(),
            })
        }
        SettingKind::Counter { most } => {
            let range = IntRange::Linear {
                min: 0,
                max: i32::from(most),
            };
            let param = IntParam::new(row.name, 0, range);
            HostParam::Step(param.hide().non_automatable())
        }
    }
}

fn share(instance: &Arc<Instance>, index: usize, name: String, default: f32) -> HostParam {
    let (said, read) = (instance.clone(), instance.clone());
    HostParam::Figure(
        FloatParam::new(name, default, FloatRange::Linear { min: 0.0, max: 1.0 })
            .with_value_to_string(Arc::new(move |place| said.text(index, place)))
            .with_string_to_value(Arc::new(move |text| read.parse(index, text))),
    )
}
