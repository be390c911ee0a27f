//! A number that can be edited: drag it, turn the wheel, type it, step it with the arrow keys;
//! a double click makes it as found again, Escape gives the old one back.

use super::rows::spoken_value;
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::editor::theme::ink;
use crate::live::{Adjustable, AdjustableKind};
use egui::{
    Align2, Event, EventFilter, FontId, Id, Key, PointerButton, Rect, Response, Role, Sense,
    Stroke, Ui,
};
use std::collections::BTreeMap;

/// Points of a drag to the next preferred value.
const POINTS_A_STEP: f32 = 9.0;
/// Points of a free drag for a decade of value.
const POINTS_A_DECADE: f32 = 300.0;

/// Text that is being typed.
#[derive(Clone, Debug, PartialEq)]
struct Typing {
    text: String,
    /// Whether it was found to mean nothing.
    faulty: bool,
    /// Whether its field has yet to get the keyboard.
    fresh: bool,
}

/// What the values remember from frame to frame.
#[derive(Clone, Debug, Default)]
pub struct ValueState {
    typing: BTreeMap<(usize, Version), Typing>,
    /// Number at the moment at which it got the keyboard.
    focused: Option<(usize, Version, f64)>,
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
        let id = Id::unique(("value", &adjustable.id, self.version));
        if state.typing.contains_key(&(self.adjustable, self.version)) {
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
        self.dragged(ui, &response, editing);
        if response.double_clicked() && self.version == Version::Proposed {
            let as_found = editing.value(self.adjustable, Version::AsFound);
            editing.set(self.adjustable, self.version, as_found);
        }
        if response.has_focus() {
            self.keys(ui, &response, editing, state);
            if response.contains_pointer() {
                self.wheel(ui, editing, state);
            }
        } else if matches!(state.focused, Some((s, d, _)) if (s, d) == (self.adjustable, self.version))
        {
            state.focused = None;
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

    fn dragged(&self, ui: &Ui, response: &Response, editing: &mut Editing) {
        if response.drag_started_by(PointerButton::Primary) {
            editing.begin(self.adjustable, self.version);
        }
        let Some(before) = editing.dragging(self.adjustable, self.version) else {
            return;
        };
        if ui.input(|i| i.key_pressed(Key::Escape)) {
            editing.cancel();
        } else if response.dragged_by(PointerButton::Primary) {
            let way = response.total_drag_delta().unwrap_or_default();
            let free = ui.input(|i| i.modifiers.shift);
            let adjustable = &editing.amp.adjustables()[self.adjustable];
            editing.drag(moved(adjustable, before, way.x - way.y, free));
        } else {
            editing.end();
        }
    }

    /// Keys of a number that has the keyboard.
    fn keys(&self, ui: &Ui, response: &Response, editing: &mut Editing, state: &mut ValueState) {
        let filter = EventFilter {
            vertical_arrows: true,
            escape: true,
            ..EventFilter::default()
        };
        ui.memory_mut(|m| m.set_focus_lock_filter(response.id, filter));
        let now = editing.value(self.adjustable, self.version);
        let here = state.focused.is_some_and(|(adjustable, version, _)| {
            (adjustable, version) == (self.adjustable, self.version)
        });
        if !here {
            state.focused = Some((self.adjustable, self.version, now));
        }
        let adjustable = &editing.amp.adjustables()[self.adjustable];
        let (typed, steps, enter, escape) = ui.input(|i| {
            let typed: String = i
                .events
                .iter()
                .filter_map(|event| match event {
                    Event::Text(text) if !i.modifiers.command => Some(text.as_str()),
                    Event::Paste(text) => Some(text.as_str()),
                    _ => None,
                })
                .collect();
            let up = i.num_presses(Key::ArrowUp)
                + i.num_accesskit_action_requests(response.id, egui::accesskit::Action::Increment);
            let down = i.num_presses(Key::ArrowDown)
                + i.num_accesskit_action_requests(response.id, egui::accesskit::Action::Decrement);
            let enter = i.key_pressed(Key::Enter) || i.key_pressed(Key::F2);
            let escape = i.key_pressed(Key::Escape);
            (
                typed.trim().to_owned(),
                up as f32 - down as f32,
                enter,
                escape,
            )
        });
        if escape {
            if let Some((_, _, before)) = state.focused {
                editing.set(self.adjustable, self.version, before);
            }
            response.surrender_focus();
        } else if !typed.is_empty() || enter {
            let text = if enter { adjustable.text(now) } else { typed };
            let typing = Typing {
                text,
                faulty: false,
                fresh: true,
            };
            state.typing.insert((self.adjustable, self.version), typing);
            ui.ctx().request_repaint();
        } else if steps != 0.0 {
            editing.nudge(
                self.adjustable,
                self.version,
                stepped(adjustable, now, steps),
            );
        }
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
        let typing = state.typing.get_mut(&key).expect("looked up by the caller");
        let ink = ink(ui.visuals());
        let adjustable = &editing.amp.adjustables()[self.adjustable];
        let field_id = id.with("field");
        let field = egui::TextEdit::singleline(&mut typing.text)
            .id(field_id)
            .font(FontId::monospace(13.0))
            .margin(egui::Margin::symmetric(3, 1))
            .hint_text(self.name);
        let mut response = ui.put(rect, field);
        response = response.accessible_name(self.name);
        if typing.fresh {
            typing.fresh = false;
            response.request_focus();
            let mut state = egui::TextEdit::load_state(ui.ctx(), field_id).unwrap_or_default();
            let end = egui::text::CCursor::new(typing.text.chars().count());
            state
                .cursor
                .set_char_range(Some(egui::text::CCursorRange::one(end)));
            egui::TextEdit::store_state(ui.ctx(), field_id, state);
        }
        if response.changed() {
            typing.faulty = false;
        }
        if typing.faulty {
            ui.painter().rect_stroke(
                rect,
                2.0,
                Stroke::new(2.0, ink.ink),
                egui::StrokeKind::Outside,
            );
            response.show_tooltip_text(fault(adjustable, &typing.text));
        }
        if response.lost_focus() {
            let (enter, escape) =
                ui.input(|i| (i.key_pressed(Key::Enter), i.key_pressed(Key::Escape)));
            if escape || typing.text.trim().is_empty() {
                state.typing.remove(&key);
            } else if let Some(value) = adjustable.parse(&typing.text) {
                editing.set(self.adjustable, self.version, value);
                state.typing.remove(&key);
            } else {
                typing.faulty = true;
                if enter {
                    response.request_focus();
                }
                return response;
            }
            if enter || escape {
                ui.memory_mut(|m| m.request_focus(id));
            }
        }
        response
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

/// What is wrong with what was typed.
fn fault(adjustable: &Adjustable, text: &str) -> String {
    match &adjustable.kind {
        AdjustableKind::Value { quantity, .. } => match quantity.parse(text) {
            Err(fault) => format!(
                "{fault}; {}. Escape gives the old value back.",
                fault.remedy()
            ),
            Ok(_) => String::new(),
        },
        _ => format!("“{text}” means nothing here. Escape gives the old value back."),
    }
}

/// The number after some steps along the preferred values.
fn stepped(adjustable: &Adjustable, from: f64, steps: f32) -> f64 {
    if let AdjustableKind::Turn = adjustable.kind {
        return adjustable.clamped(from + 0.01 * f64::from(steps));
    }
    if !matches!(adjustable.kind, AdjustableKind::Value { .. }) {
        return adjustable.clamped(from + f64::from(steps));
    }
    let series = adjustable.series();
    let mut value = from;
    for _ in 0..steps.abs() as usize {
        let next = if steps > 0.0 {
            series.next(value)
        } else {
            series.previous(value)
        };
        if adjustable.clamped(next) != next {
            break;
        }
        value = next;
    }
    value
}

/// The number after a drag of so many points.
fn moved(adjustable: &Adjustable, from: f64, points: f32, free: bool) -> f64 {
    if free && matches!(adjustable.kind, AdjustableKind::Value { .. }) {
        let value = from * 10f64.powf(f64::from(points / POINTS_A_DECADE));
        return adjustable.clamped(value);
    }
    stepped(adjustable, from, (points / POINTS_A_STEP).trunc())
}
