//! How far a drag, a notch or a key moves a number: along the preferred values, or freely.

use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::live::{Adjustable, AdjustableKind};
use egui::{Key, PointerButton, Response, Ui};

/// Points of a drag to the next preferred value.
const POINTS_A_STEP: f32 = 9.0;
/// Points of a free drag for a decade of value.
const POINTS_A_DECADE: f32 = 300.0;

/// Moves a number with the pointer: along the preferred values, with Shift freely; Escape gives the old
/// one back.
pub fn drag(
    ui: &Ui,
    response: &Response,
    editing: &mut Editing,
    adjustable: usize,
    version: Version,
) {
    if response.drag_started_by(PointerButton::Primary) {
        editing.begin(adjustable, version);
    }
    let Some(before) = editing.dragging(adjustable, version) else {
        return;
    };
    if ui.input(|i| i.key_pressed(Key::Escape)) {
        editing.cancel();
    } else if response.dragged_by(PointerButton::Primary) {
        let way = response.total_drag_delta().unwrap_or_default();
        let free = ui.input(|i| i.modifiers.shift);
        let one = &editing.amp.adjustables()[adjustable];
        editing.drag(moved(one, before, way.x - way.y, free));
    } else if response.drag_stopped() || !ui.input(|i| i.pointer.any_down()) {
        editing.end();
    }
}

/// The number after some steps along the preferred values.
pub fn stepped(adjustable: &Adjustable, from: f64, steps: f32) -> f64 {
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
pub fn moved(adjustable: &Adjustable, from: f64, points: f32, free: bool) -> f64 {
    if free && matches!(adjustable.kind, AdjustableKind::Value { .. }) {
        let value = from * 10f64.powf(f64::from(points / POINTS_A_DECADE));
        return adjustable.clamped(value);
    }
    stepped(adjustable, from, (points / POINTS_A_STEP).trunc())
}
