//! What a project keeps besides the parameters: the whole circuit, the as-found and proposed values
//! as text, the window's view. A project opens and sounds the same where the file is not.
//!
//! Whatever comes in is taken as far as it makes sense; what is dropped is told in sentences.

use super::class::{ClassParameters, meant};
use super::kept_impulse;
use super::params::AmpParams;
use crate::circuit::MOST_BYTES;
use crate::live::jack_guitar::OwnGuitar;
use crate::live::parameter_map::ParameterMap;
use crate::live::settings::{CABINET_LINE, PluginSetting, SettingKind, SettingRow};
use crate::live::{Adjustable, AdjustableKind};
use crate::sound::impulse::Impulse;
use nice_plug::plugin::ParamValue;
use nice_plug::prelude::*;
use std::collections::BTreeMap;
use std::path::Path;
use std::sync::Arc;

/// Version of this form of state.
const FORM: u32 = 2;
/// The last form of which the sound was always that of the line.
const LINE_ONLY: u32 = 1;
/// Longest text that the window may keep, bytes.
const MOST_VIEW: usize = 64 * 1024;

const FORM_KEY: &str = "form";
const CIRCUIT: &str = "circuit";
const PATH: &str = "path";
const AS_FOUND: &str = "as found";
const PROPOSED: &str = "proposed";
const IMPULSE: &str = "impulse";
/// The text of a guitar of the owner's own.
const GUITAR: &str = "guitar";
const VIEW: &str = "view";
/// Which id each parameter of one's own file moves. A project of before it existed has them in the
/// order of the file.
const SLOTS: &str = "slots";
const WINDOW: &str = "window";
/// Sentences that [`filter`] hands on to [`restore`].
const NOTES: &str = "notes";

/// The fields to be kept.
pub fn save(params: &AmpParams) -> BTreeMap<String, String> {
    let instance = &params.instance;
    let map = instance.parameter_map();
    let amp = map.amp();
    let mut as_found = BTreeMap::new();
    let mut proposed = BTreeMap::new();
    for (index, adjustable) in amp.adjustables().iter().enumerate() {
        as_found.insert(&adjustable.id, kept(adjustable, amp.as_found(index)));
        let number = proposed_value(params, &map, index);
        proposed.insert(&adjustable.id, kept(adjustable, number));
    }
    let json = |map: &BTreeMap<&String, String>| serde_json::to_string(map).unwrap_or_default();
    let path = amp.path().map(|p| p.display().to_string());
    let (width, height) = instance.window_size();
    let window = format!("{width}x{height}");
    let mut fields = BTreeMap::from([
        (FORM_KEY.into(), FORM.to_string()),
        (CIRCUIT.into(), amp.text().to_owned()),
        (PATH.into(), path.unwrap_or_default()),
        (AS_FOUND.into(), json(&as_found)),
        (PROPOSED.into(), json(&proposed)),
        (
            IMPULSE.into(),
            kept_impulse::text(instance.response().impulse().as_deref()),
        ),
        (
            GUITAR.into(),
            instance.jack().own().map_or(String::new(), |own| own.text),
        ),
        (VIEW.into(), instance.view()),
        (WINDOW.into(), window),
    ]);
    if instance.class().own {
        let slots = serde_json::to_string(&map.slots()).unwrap_or_default();
        fields.insert(SLOTS.into(), slots);
    }
    fields
}

/// A number as a project has always had it: in the notation of circuit files, "820" without a letter.
fn kept(adjustable: &Adjustable, number: f64) -> String {
    match &adjustable.kind {
        AdjustableKind::Value { quantity, .. } => quantity.format(adjustable.clamped(number)),
        _ => adjustable.text(number),
    }
}

/// The proposed number of an adjustable.
pub fn proposed_value(params: &AmpParams, map: &ParameterMap, adjustable: usize) -> f64 {
    let Some(parameter) = map.parameter_of(adjustable) else {
        return map.loose(adjustable);
    };
    let place = params.adjustables[parameter].position();
    let mut numbers = map.numbers_at(parameter, place).into_iter().flatten();
    let own = numbers.find(|&(one, _)| one == adjustable);
    own.map_or_else(|| map.loose(adjustable), |(_, value)| value)
}

/// Takes up kept fields. Audio goes on with them after a cross-fade.
pub fn restore(params: &AmpParams, fields: &BTreeMap<String, String>) {
    let instance = &params.instance;
    let class = instance.class();
    let mut notes: Vec<String> = fields
        .get(NOTES)
        .map(|text| text.lines().map(str::to_owned).collect())
        .unwrap_or_default();
    if form(fields).is_some_and(|form| form > FORM) {
        notes.push(
            "The project was saved by a newer version of Presolder; what this one does not know \
             was left out."
                .into(),
        );
    }
    let map = circuit(class, fields, &mut notes);
    let amp = map.amp();
    for (id, value) in values(fields, AS_FOUND, &mut notes) {
        match read(&map, &id, &value) {
            Some((adjustable, number)) => amp.set_as_found(adjustable, number),
            None => notes.push(dropped("as-found", &id, &value)),
        }
    }
    map.set_stepped(params.stepped());
    // The map that is put below has it in its jack.
    instance.jack().bring(guitar(fields, &mut notes));
    instance.plug_in(params.guitar());
    for (id, value) in values(fields, PROPOSED, &mut notes) {
        match read(&map, &id, &value) {
            Some((adjustable, number)) => propose(params, &map, adjustable, number),
            None => notes.push(dropped("proposed", &id, &value)),
        }
    }
    instance.put_impulse(impulse(fields, &mut notes));
    let view = fields.get(VIEW).filter(|view| view.len() <= MOST_VIEW);
    instance.set_view(view.cloned().unwrap_or_default());
    let window = fields.get(WINDOW).and_then(|text| text.split_once('x'));
    if let Some((Ok(width), Ok(height))) = window.map(|(w, h)| (w.parse(), h.parse())) {
        instance.set_window_size(width, height);
    }
    notes.truncate(MOST_NOTES);
    instance.set_notes(notes);
    for (parameter, adjustable) in params.adjustables.iter().enumerate() {
        instance.note_position(parameter, adjustable.position());
    }
    instance.put(map);
    instance.tell();
}

/// The form that a state was saved in, if it says.
fn form(fields: &BTreeMap<String, String>) -> Option<u32> {
    fields.get(FORM_KEY)?.parse().ok()
}

/// The project's impulse response.
fn impulse(fields: &BTreeMap<String, String>, notes: &mut Vec<String>) -> Option<Arc<Impulse>> {
    let text = fields.get(IMPULSE).filter(|text| !text.is_empty())?;
    let impulse = kept_impulse::read(text);
    if impulse.is_none() {
        notes.push("The project's impulse response cannot be read and was left out.".into());
    }
    impulse.map(Arc::new)
}

/// The project's guitar.
fn guitar(fields: &BTreeMap<String, String>, notes: &mut Vec<String>) -> Option<OwnGuitar> {
    let text = fields.get(GUITAR).filter(|text| !text.is_empty())?;
    let read = match text.len() <= MOST_BYTES {
        true => OwnGuitar::read(text.as_bytes()).ok(),
        false => None,
    };
    if read.is_none() {
        notes.push("The project's guitar cannot be read and was left out.".into());
    }
    read
}

/// Most sentences that are kept about one project.
const MOST_NOTES: usize = 100;

fn dropped(which: &str, id: &str, value: &str) -> String {
    let short = |text: &str| text.chars().take(40).collect::<String>();
    format!(
        "{}: the {which} value \"{}\" means nothing to this amp and was left out.",
        short(id),
        short(value)
    )
}

/// The project's circuit, or the class's own where there is none that can be used.
fn circuit(
    class: &ClassParameters,
    fields: &BTreeMap<String, String>,
    notes: &mut Vec<String>,
) -> ParameterMap {
    let Some(text) = fields.get(CIRCUIT).filter(|text| !text.is_empty()) else {
        return class.parameter_map();
    };
    if text.len() > MOST_BYTES {
        notes.push("The project's circuit is too long; the built-in amp stands in for it.".into());
        return class.parameter_map();
    }
    let path = fields.get(PATH).filter(|path| !path.is_empty());
    class
        .map_for(text.as_bytes(), path.map(|p| Path::new(p.as_str())), |_| {
            slots(fields)
        })
        .unwrap_or_else(|why| {
            notes.push(
                "The project's circuit cannot be read; the built-in amp stands in for it.".into(),
            );
            notes.extend(why.to_string().lines().map(str::to_owned));
            class.parameter_map()
        })
}

/// Which id each parameter moves, as far as the project says; rubbish says nothing.
fn slots(fields: &BTreeMap<String, String>) -> Vec<Option<String>> {
    let text = fields.get(SLOTS).filter(|text| text.len() <= MOST_VIEW);
    text.and_then(|text| serde_json::from_str(text).ok())
        .unwrap_or_default()
}

/// A map of texts by adjustable.
fn values(
    fields: &BTreeMap<String, String>,
    key: &str,
    notes: &mut Vec<String>,
) -> BTreeMap<String, String> {
    let Some(text) = fields.get(key) else {
        return BTreeMap::new();
    };
    serde_json::from_str(text).unwrap_or_else(|_| {
        notes.push(format!(
            "The project's {key} values cannot be read and were left out."
        ));
        BTreeMap::new()
    })
}

fn read(map: &ParameterMap, id: &str, value: &str) -> Option<(usize, f64)> {
    let adjustable = map.amp().find(id)?;
    Some((
        adjustable,
        map.amp().adjustables()[adjustable].restored(value)?,
    ))
}

/// A proposed number: exactly what its parameter stands for, if that is where it stands.
fn propose(params: &AmpParams, map: &ParameterMap, adjustable: usize, number: f64) {
    let Some(parameter) = map.parameter_of(adjustable) else {
        map.set_loose(adjustable, number);
        return;
    };
    let place = params.adjustables[parameter].position();
    // The text is rounded; where it says what the parameter says, the parameter is more exact.
    let text = |number| map.amp().adjustables()[adjustable].text(number);
    let said = map.value_at(parameter, place).map(|(value, _)| value);
    if said.is_some_and(|value| text(value) == text(number)) {
        return;
    }
    let bound = map
        .binding(parameter)
        .is_some_and(|b| b.adjustable == adjustable);
    let near = map
        .position_of(parameter, number)
        .is_some_and(|own| (own - place).abs() < 1e-3);
    let one = &map.amp().adjustables()[adjustable];
    if bound && (near || said.is_some_and(|said| was_cut_off(one, said, number))) {
        map.remember_at(parameter, place, number);
    }
}

/// Whether a project of then has a number where now an end of the range stands: rounding cut the
/// range off, so that its last positions stood for the preferred value before the end.
fn was_cut_off(adjustable: &Adjustable, said: f64, number: f64) -> bool {
    if !matches!(adjustable.kind, AdjustableKind::Value { .. }) {
        return false;
    }
    let ((low, high), series) = (adjustable.range(), adjustable.series());
    let end = |end: f64, before: f64| said == end && adjustable.same(before, number);
    end(high, series.previous(high)) || end(low, series.next(low))
}

/// Makes a state that this version can load: every parameter of the class that is meant there, in its
/// range.
pub fn filter(state: &mut PluginState) {
    let class = meant().parameters();
    let defaults = defaults(class);
    let mut notes = Vec::new();
    state.params.retain(|id, _| {
        let known = defaults.iter().any(|(known, ..)| known == id);
        if !known {
            let id: String = id.chars().take(40).collect();
            notes.push(format!("Parameter {id} is unknown and was left out."));
        }
        known
    });
    // A project of then is to sound as it did.
    if form(&state.fields) == Some(LINE_ONLY) {
        let line = ParamValue::I32(CABINET_LINE);
        let id = PluginSetting::Cabinet.row().id;
        state.params.entry(id.into()).or_insert(line);
    }
    for (id, default, most) in defaults {
        let value = state.params.get(&id);
        let mended = match (&default, value) {
            (ParamValue::F32(_), Some(&ParamValue::F32(v))) if v.is_finite() => {
                let (low, high) = most;
                ParamValue::F32(v.clamp(low, high))
            }
            (ParamValue::I32(_), Some(&ParamValue::I32(v))) => {
                ParamValue::I32(v.clamp(most.0 as i32, most.1 as i32))
            }
            (ParamValue::Bool(_), Some(ParamValue::Bool(v))) => ParamValue::Bool(*v),
            (_, Some(_)) => {
                notes.push(format!(
                    "Parameter {id} had no usable value and has its default."
                ));
                default
            }
            (_, None) => default,
        };
        state.params.insert(id, mended);
    }
    notes.truncate(MOST_NOTES);
    state.fields.insert(NOTES.into(), notes.join("\n"));
}

/// Id, default and range of every parameter of a class.
fn defaults(class: &ClassParameters) -> Vec<(String, ParamValue, (f32, f32))> {
    let map = class.parameter_map();
    let mut all: Vec<_> = PluginSetting::ALL
        .iter()
        .map(|setting| setting_default(setting.row()))
        .collect();
    for (index, id) in class.ids.iter().enumerate() {
        let place = map.default_position(index);
        let (default, most) = match class
            .adjustables
            .get(index)
            .map(|adjustable| (&adjustable.kind, adjustable.filed))
        {
            Some((AdjustableKind::Choice { types }, filed)) => (
                ParamValue::I32(filed as i32),
                (0.0, types.len() as f32 - 1.0),
            ),
            Some((AdjustableKind::Fitted | AdjustableKind::Switch, filed)) => {
                (ParamValue::I32(filed as i32), (0.0, 1.0))
            }
            _ => (ParamValue::F32(place), (0.0, 1.0)),
        };
        all.push((id.clone(), default, most));
    }
    all
}

/// Id, default and range of the parameter of a setting.
fn setting_default(row: &SettingRow) -> (String, ParamValue, (f32, f32)) {
    let default = row.default_value();
    let value = match row.kind {
        SettingKind::Choice { .. } | SettingKind::Counter { .. } => ParamValue::I32(default as i32),
        SettingKind::Toggle { .. } | SettingKind::Bypass => ParamValue::Bool(default > 0.5),
        SettingKind::Figure { .. } => ParamValue::F32(default as f32),
    };
    (row.id.to_owned(), value, row.range())
}
