//! A number that can be edited: drag it, turn the wheel, type it, step it with the arrow keys;
//! a double click makes it as found again, Escape gives the old one back.

use super::moves::{drag, moved, stepped};
use super::rows::spoken_value;
use super::typing::{
    Opens, Typing, read, take_behind_leaving, take_behind_press, take_keys, take_late,
    write_before_leaving,
};
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::editor::theme::ink;
use egui::accesskit::Action;
use egui::{Align2, Event, EventFilter, FontId, Id, Key, Rect, Response, Role, Sense, Stroke, Ui};
use std::collections::BTreeMap;

/// What the values remember from frame to frame.
#[derive(Clone, Debug, Default)]
pub struct ValueState {
    typing: BTreeMap<(usize, Version), Typing>,
    /// Number at the moment at which it got the keyboard.
    focused: Option<(usize, Version, f64)>,
    /// Keys behind one that closed a field, for the next frame.
    late: Vec<Event>,
    /// Points of the wheel that do not make a notch yet.
    wheel: f32,
}

impl ValueState {
    /// Forgets what was typed, when another amp comes.
    pub fn clear(&mut self) {
        *self = ValueState::default();
    }

    /// Whether text is being typed.
    pub fn typing(&self) -> bool {
        !self.typing.is_empty()
    }

    /// Whether keys that write belong to a number.
    pub fn takes_keys(&self) -> bool {
        self.typing() || self.focused.is_some()
    }

    fn holds(&self, key: (usize, Version)) -> bool {
        self.focused.is_some_and(|(s, d, _)| (s, d) == key)
    }
}

/// Where a number stands: one and the same number may stand in two places.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Where {
    /// In the list of parts.
    List,
    /// Beside its part on the schematic.
    Schematic,
}

/// One number on the sheet.
pub struct Value<'a> {
    /// Its adjustable.
    pub adjustable: usize,
    /// Which of its numbers.
    pub version: Version,
    /// What it shows; "out" where the part is left out.
    pub text: &'a str,
    /// Name for a screen reader: "C3 coupling, proposed".
    pub name: &'a str,
    /// Whether it differs from as found.
    pub changed: bool,
    /// Where it stands.
    pub stands: Where,
}

impl Value<'_> {
    /// Shows it in a rectangle.
    pub fn show(
        &self,
        ui: &mut Ui,
        rect: Rect,
        editing: &mut Editing,
        state: &mut ValueState,
    ) -> Response {
        let adjustable = &editing.amp.adjustables()[self.adjustable];
        let id = match self.stands {
            Where::List => Id::unique(("value", &adjustable.id, self.version)),
            Where::Schematic => Id::unique(("drawn value", &adjustable.id, self.version)),
        };
        let key = (self.adjustable, self.version);
        if state.typing.contains_key(&key)
            || (ui.memory(|m| m.has_focus(id)) && self.keys(ui, rect, id, editing, state))
        {
            return self.field(ui, rect, id, editing, state);
        }
        let response = ui.interact(rect, id, Sense::click_and_drag());
        let spoken = spoken_value(adjustable, editing.value(self.adjustable, self.version));
        response.widget_info(|| {
            let mut info = egui::WidgetInfo::labeled(Role::SpinButton, true, self.name);
            info.current_text_value = Some(spoken.clone());
            info
        });
        if response.clicked() {
            response.request_focus();
        }
        drag(ui, &response, editing, self.adjustable, self.version);
        if response.double_clicked() && self.version == Version::Proposed {
            let as_found = editing.value(self.adjustable, Version::AsFound);
            editing.set(self.adjustable, self.version, as_found);
        }
        if response.has_focus() {
            if !state.holds(key) {
                // Keys that came with the click: a new field takes none in such a frame.
                let now = editing.value(self.adjustable, self.version);
                state.focused = Some((self.adjustable, self.version, now));
                state.late = ui.input_mut(|i| take_behind_press(&mut i.events));
                ui.ctx().request_repaint();
            }
            if response.contains_pointer() {
                self.wheel(ui, editing, state);
            }
        } else if state.holds(key) {
            state.focused = None;
            let mut typing = Typing::default();
            if ui.input_mut(|i| write_before_leaving(&mut i.events, rect, &mut typing.text)) {
                self.close(typing, editing, state);
            }
        }
        self.paint(ui, rect, &response);
        let response = response.on_hover_cursor(egui::CursorIcon::ResizeHorizontal);
        match self.version {
            Version::Proposed => response.on_hover_text(
                "Drag for the next preferred value, with Shift for any value. Click, then type \
                 (4k7), use the wheel or the arrow keys. Double-click: as found. Escape: as before.",
            ),
            Version::AsFound => response.on_hover_text(
                "What the amp has now. Click and type what is marked or measured.",
            ),
        }
    }

    /// Keys of a number that has the keyboard; whether they open its field.
    fn keys(
        &self,
        ui: &Ui,
        rect: Rect,
        id: Id,
        editing: &mut Editing,
        state: &mut ValueState,
    ) -> bool {
        let filter = EventFilter {
            vertical_arrows: true,
            escape: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|m| m.set_focus_lock_filter(id, filter));
        let now = editing.value(self.adjustable, self.version);
        let key = (self.adjustable, self.version);
        if !state.holds(key) {
            state.focused = Some((self.adjustable, self.version, now));
        }
        let adjustable = &editing.amp.adjustables()[self.adjustable];
        let late = std::mem::take(&mut state.late);
        let keys = ui.input_mut(|i| {
            i.events.splice(0..0, late);
            let up = i.num_accesskit_action_requests(id, Action::Increment);
            let down = i.num_accesskit_action_requests(id, Action::Decrement);
            let mut keys = take_keys(&mut i.events, rect, i.modifiers.command);
            keys.steps += up as f32 - down as f32;
            keys
        });
        if keys.escape {
            if let Some((_, _, before)) = state.focused {
                editing.set(self.adjustable, self.version, before);
            }
            ui.memory_mut(|m| m.surrender_focus(id));
            return false;
        }
        if keys.steps != 0.0 {
            let value = stepped(adjustable, now, keys.steps);
            editing.nudge(self.adjustable, self.version, value);
        }
        let Some(opens) = keys.opens else {
            return false;
        };
        let text = match opens {
            Opens::Empty => String::new(),
            Opens::WithValue => adjustable.text(editing.value(self.adjustable, self.version)),
        };
        let typing = Typing {
            text,
            ..Typing::default()
        };
        state.typing.insert(key, typing);
        ui.ctx().request_repaint();
        true
    }

    fn wheel(&self, ui: &Ui, editing: &mut Editing, state: &mut ValueState) {
        let (turned, free) = ui.input_mut(|i| {
            let turned = i.smooth_scroll_delta();
            i.smooth_scroll_delta = egui::Vec2::ZERO;
            // With Shift held a wheel scrolls sideways.
            (turned.x + turned.y, i.modifiers.shift)
        });
        let adjustable = &editing.amp.adjustables()[self.adjustable];
        let now = editing.value(self.adjustable, self.version);
        if free && turned != 0.0 {
            let way = turned * 0.2;
            return editing.nudge(
                self.adjustable,
                self.version,
                moved(adjustable, now, way, true),
            );
        }
        state.wheel += turned;
        // Points that egui makes of a notch.
        let notch = 30.0;
        let steps = (state.wheel / notch).trunc();
        if steps != 0.0 {
            state.wheel -= steps * notch;
            editing.nudge(
                self.adjustable,
                self.version,
                stepped(adjustable, now, steps.signum()),
            );
        }
    }

    /// The field while text is typed.
    fn field(
        &self,
        ui: &mut Ui,
        rect: Rect,
        id: Id,
        editing: &mut Editing,
        state: &mut ValueState,
    ) -> Response {
        let key = (self.adjustable, self.version);
        let mut typing = state.typing.remove(&key).expect("looked up by the caller");
        let (field_id, pass) = (id.with("field"), ui.ctx().cumulative_pass_nr());
        if typing.drawn.is_none_or(|drawn| drawn + 1 < pass) {
            // Before the field is drawn, so that it takes the keys of this frame.
            ui.memory_mut(|m| m.request_focus(field_id));
            let mut cursor = egui::TextEdit::load_state(ui.ctx(), field_id).unwrap_or_default();
            let end = egui::text::CCursor::new(typing.text.chars().count());
            let end = egui::text::CCursorRange::one(end);
            cursor.cursor.set_char_range(Some(end));
            egui::TextEdit::store_state(ui.ctx(), field_id, cursor);
            // Else egui takes the number for one that has gone, should it get the keyboard back
            // within this frame.
            ui.interact(rect, id, Sense::click());
            typing.held = true;
        }
        typing.drawn = Some(pass);
        let late = std::mem::take(&mut state.late);
        let (enter, escape, others) = ui.input_mut(|i| {
            i.events.splice(0..0, late);
            let others = take_behind_leaving(&mut i.events, rect);
            if typing.held {
                state.late = take_late(&mut i.events);
            }
            let [enter, escape] = [Key::Enter, Key::Escape].map(|key| i.key_pressed(key));
            (enter, escape, others)
        });
        let before = typing.text.clone();
        let took = ui.memory(|m| m.has_focus(field_id));
        let field = egui::TextEdit::singleline(&mut typing.text)
            .id(field_id)
            .font(FontId::monospace(13.0))
            .margin(egui::Margin::symmetric(3, 1))
            .hint_text(self.name);
        let response = ui.put(rect, field).accessible_name(self.name);
        ui.input_mut(|i| i.events.extend(others));
        if typing.text != before {
            typing.fault = None;
        }
        if let Some(fault) = &typing.fault {
            let stroke = Stroke::new(2.0, ink(ui.visuals()).ink);
            ui.painter()
                .rect_stroke(rect, 2.0, stroke, egui::StrokeKind::Outside);
            response.show_tooltip_text(fault);
        }
        let held = ui.memory(|m| m.has_focus(field_id));
        let left = std::mem::replace(&mut typing.held, held);
        if escape && left {
            ui.memory_mut(|m| m.request_focus(id));
        } else if left && !held {
            if !(enter && took) {
                let mut written = typing.text.clone();
                ui.input_mut(|i| write_before_leaving(&mut i.events, rect, &mut written));
                if typing.text == before {
                    typing.text = written;
                }
            }
            let taken = self.close(typing, editing, state);
            if enter {
                let back = if taken { id } else { field_id };
                ui.memory_mut(|m| m.request_focus(back));
            }
            if let Some(refused) = state.typing.get_mut(&key) {
                refused.held = enter;
            }
            ui.ctx().request_repaint();
        } else {
            state.typing.insert(key, typing);
        }
        response
    }

    /// Takes over what was typed; whether it could be. What is refused stays open and says why.
    fn close(&self, mut typing: Typing, editing: &mut Editing, state: &mut ValueState) -> bool {
        if typing.text.trim().is_empty() {
            return true;
        }
        let adjustable = &editing.amp.adjustables()[self.adjustable];
        match read(adjustable, &typing.text) {
            Ok(value) => {
                editing.set(self.adjustable, self.version, value);
                true
            }
            Err(fault) => {
                typing.fault = Some(fault);
                state.typing.insert((self.adjustable, self.version), typing);
                false
            }
        }
    }

    fn paint(&self, ui: &Ui, rect: Rect, response: &Response) {
        let ink = ink(ui.visuals());
        let painter = ui.painter();
        let active = response.hovered() || response.has_focus() || response.dragged();
        if self.version == Version::Proposed || active {
            let width = if response.has_focus() { 2.0 } else { 1.0 };
            let colour = if active { ink.ink } else { ink.line };
            let stroke = Stroke::new(width, colour);
            painter.rect(rect, 2.0, ink.field, stroke, egui::StrokeKind::Inside);
        }
        let colour = if self.version == Version::AsFound && self.changed {
            ink.weak
        } else {
            ink.ink
        };
        let font = FontId::monospace(13.0);
        let at = egui::pos2(rect.right() - 5.0, rect.center().y);
        let clip = ui.painter_at(rect);
        clip.text(at, Align2::RIGHT_CENTER, self.text, font.clone(), colour);
        if self.changed && self.version == Version::Proposed {
            // Bold without a bold face: once more, a fraction of a point beside.
            let beside = at + egui::vec2(0.6, 0.0);
            clip.text(beside, Align2::RIGHT_CENTER, self.text, font, colour);
        }
    }
}
