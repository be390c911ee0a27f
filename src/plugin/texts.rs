//! What an instance's parameters are called and what their positions are called, to a host and back.

use super::instance::Instance;
use crate::live::parameter_map::ParameterMap;
use crate::live::settings::PluginSetting;

/// Text of a parameter that moves nothing.
const UNUSED: &str = "unused";

impl Instance {
    /// Name of the parameter of an index among all that a host knows, settings first: of one's own
    /// file once it is loaded, "R105 anode load"; none where the name is the one that it was made with.
    pub fn name_of_param(&self, index: usize) -> Option<String> {
        let parameter = index.checked_sub(PluginSetting::ALL.len())?;
        if !self.class().own || !self.is_named() {
            return None;
        }
        let map = self.parameter_map();
        Some(match map.binding(parameter) {
            Some(binding) => map.amp().adjustables()[binding.adjustable].name(),
            None => format!("{} ({UNUSED})", own_name(self.class().ids.get(parameter)?)),
        })
    }

    /// Text of a parameter's position: "4k7", or "R14 4k7" where the parameter has no name of its
    /// own; "unused" for one that moves nothing.
    pub fn text(&self, parameter: usize, place: f32) -> String {
        let map = self.parameter_map();
        let Some(binding) = map.binding(parameter) else {
            return UNUSED.into();
        };
        let adjustable = &map.amp().adjustables()[binding.adjustable];
        let text = match map.value_at(parameter, place) {
            Some((_, Some(false))) => "out".into(),
            Some((value, _)) => adjustable.text(value),
            None => UNUSED.into(),
        };
        match self.class().own {
            true => format!("{} {text}", adjustable.designator),
            false => text,
        }
    }

    /// Position for what somebody typed; nothing if it means nothing or lies outside the range: a
    /// host then leaves the value.
    pub fn parse(&self, parameter: usize, text: &str) -> Option<f32> {
        let map = self.parameter_map();
        let Some(binding) = map.binding(parameter) else {
            return (text.trim() == UNUSED).then_some(0.0);
        };
        let adjustable = &map.amp().adjustables()[binding.adjustable];
        let text = text.trim();
        let bare = text.get(..adjustable.designator.len()).and_then(|head| {
            let rest = &text[adjustable.designator.len()..];
            let named = head.eq_ignore_ascii_case(&adjustable.designator);
            (named && rest.starts_with(char::is_whitespace)).then(|| rest.trim())
        });
        let text = bare.unwrap_or(text);
        if binding.fitted.is_some() && text.eq_ignore_ascii_case("out") {
            return Some(ParameterMap::OUT);
        }
        map.position_of(parameter, adjustable.read(text).ok()?)
    }
}

/// "part12" as "Part 12".
pub fn own_name(id: &str) -> String {
    let digits = id.find(|c: char| c.is_ascii_digit()).unwrap_or(id.len());
    let (word, number) = id.split_at(digits);
    let mut letters = word.chars();
    let first = letters.next().map(|c| c.to_ascii_uppercase());
    format!("{}{} {number}", first.unwrap_or(' '), letters.as_str())
}
