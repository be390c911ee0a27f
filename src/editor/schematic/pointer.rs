//! What the pointer and the keys do on the drawing: look, choose, change.

use super::shown::{Shown, ground};
use super::state::{Look, SchematicState};
use crate::circuit::{GROUND, NodeId, PartId};
use crate::drawing::sheet::{Item, Placed, Symbol};
use crate::live::LiveAmp;
use egui::{Key, Pos2, Rect, Response, Ui, Vec2, pos2, vec2};

/// How near to a wire the pointer must be, points.
const NEAR: f32 = 5.0;
/// How much a key press zooms.
const KEY_ZOOM: f32 = 1.25;

/// The adjustable that stands for a part: its value or type, else whether it is fitted.
pub fn adjustable_of(amp: &LiveAmp, part: PartId) -> Option<usize> {
    let own = |i: &usize| amp.adjustables()[*i].parts.contains(&part);
    let all = 0..amp.adjustables().len();
    let mut found: Vec<usize> = all.filter(own).collect();
    found.sort_by_key(|i| amp.adjustables()[*i].is_control());
    found.first().copied()
}

/// The part that an adjustable is about.
pub fn part_of(amp: &LiveAmp, adjustable: usize) -> Option<PartId> {
    amp.adjustables()[adjustable].parts.first().copied()
}

/// Zoom and pan by wheel, pinch, drag and keys.
pub fn look(ui: &Ui, area: Rect, response: &Response, state: &mut SchematicState, fit: Look) {
    let now = state.look.unwrap_or(fit);
    let mut look = now;
    if response.contains_pointer()
        && let Some(pointer) = ui.input(|i| i.pointer.hover_pos())
    {
        let (wheel, pinch) = ui.input(|i| (i.smooth_scroll_delta, i.zoom_delta()));
        if pinch != 1.0 {
            look = look.zoomed(area, pointer, pinch);
        } else if wheel.y != 0.0 {
            look = look.zoomed(area, pointer, (0.004 * wheel.y).exp());
        }
        if wheel.x != 0.0 {
            look = look.moved(vec2(wheel.x, 0.0));
        }
    }
    if response.dragged() {
        look = look.moved(response.drag_delta());
    }
    if response.has_focus() {
        ui.input(|i| {
            for (key, factor) in [
                (Key::Plus, KEY_ZOOM),
                (Key::Equals, KEY_ZOOM),
                (Key::Minus, 1.0 / KEY_ZOOM),
            ] {
                if i.key_pressed(key) {
                    look = look.zoomed(area, area.center(), factor);
                }
            }
        });
        if ui.input(|i| i.key_pressed(Key::Num0)) {
            state.look = None;
            state.all = true;
            return;
        }
    }
    if look != now {
        state.look = Some(look);
    }
}

/// The node whose wire is nearest to a place on the screen.
pub fn wire_at(shown: &Shown, area: Rect, look: Look, pointer: Pos2) -> Option<NodeId> {
    let at = look.sheet(area, pointer);
    let near = NEAR / look.scale;
    let wires = shown.drawing.sheet.wires.iter();
    let mut best: Option<(f32, NodeId)> = None;
    for wire in wires {
        for pair in wire.points.windows(2) {
            let [a, b] = [pair[0], pair[1]].map(|p| pos2(p.x as f32, p.y as f32));
            let line = Rect::from_two_pos(a, b);
            let far = line.distance_to_pos(at);
            if far <= near && best.is_none_or(|(known, _)| far < known) {
                best = Some((far, wire.node));
            }
        }
    }
    best.map(|(_, node)| node).filter(|node| *node != GROUND)
}

/// The part that an arrow key leads to: along the wires where a neighbour lies that way, else the
/// nearest.
pub fn neighbour(shown: &Shown, from: PartId, way: Vec2) -> Option<PartId> {
    let own = shown.placed(from)?;
    let start = ground(own).center();
    let joined = |placed: &Placed| {
        let nodes = own.pins.iter().map(|pin| pin.node);
        nodes
            .filter(|node| *node != GROUND)
            .any(|node| placed.pins.iter().any(|pin| pin.node == node))
    };
    let mut best: Option<(f32, PartId)> = None;
    for placed in &shown.drawing.sheet.placed {
        let Item::Part(part) = placed.item else {
            continue;
        };
        let step = ground(placed).center() - start;
        let (ahead, aside) = (step.dot(way), step.dot(way.rot90()).abs());
        if part == from || ahead < 0.5 || aside > 3.0 * ahead + 2.0 {
            continue;
        }
        let far = ahead + 2.0 * aside + if joined(placed) { 0.0 } else { 60.0 };
        if best.is_none_or(|(known, _)| far < known) {
            best = Some((far, part));
        }
    }
    best.map(|(_, part)| part)
}

/// The first part from the left: where the arrow keys begin.
pub fn first(shown: &Shown) -> Option<PartId> {
    let placed = shown.drawing.sheet.placed.iter();
    let parts = placed.filter_map(|placed| match placed.item {
        Item::Part(part) => Some((placed.at, part)),
        _ => None,
    });
    parts.min().map(|(_, part)| part)
}

/// What of a symbol the pointer touches, units: its body, not its leads.
pub fn touch(placed: &Placed) -> Rect {
    let rect = Rect::from_min_max(
        pos2(placed.body.from.x as f32, placed.body.from.y as f32),
        pos2(placed.body.to.x as f32, placed.body.to.y as f32),
    );
    match placed.symbol {
        Symbol::Supply | Symbol::Jack => rect.expand(0.5),
        _ => rect,
    }
}
