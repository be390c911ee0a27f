//! The parameters as the framework asks for them: their ids, groups and pointers, and the fields
//! that a project keeps beside them.

use super::params::AmpParams;
use crate::live::settings::PluginSetting;
use nice_plug::prelude::*;
use std::collections::BTreeMap;

// SAFETY: the pointers handed out point into this object, which the framework keeps alive through
// the `Arc` that it got from the plugin.
unsafe impl Params for AmpParams {
    fn param_map(&self) -> Vec<(String, ParamPtr, String)> {
        let group = "Presolder";
        let settings = PluginSetting::ALL.iter().zip(&self.settings);
        let mut map: Vec<(String, ParamPtr, String)> = settings
            .map(|(setting, param)| {
                (
                    setting.row().id.to_owned(),
                    param.pointer(),
                    group.to_owned(),
                )
            })
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
