//! Where a text may stand: places beside its symbol or its node's wires, the best first.

use super::sheet::{Anchor, Placed, Sheet, Symbol, Way, Wire};
use crate::circuit::NodeId;

/// Height of a designator's and a value's letters, units.
pub const SIZE: f32 = 1.1;
/// Height of the letters of volts and names.
pub const SMALL: f32 = 0.95;
/// From line to line.
pub(super) const PITCH: f32 = 1.25;

/// A first baseline, and what stands there of the text.
pub(super) type Place = (f32, f32, Anchor);

/// Where a block of lines may stand: place of its first baseline, and its anchor.
pub(super) fn candidates(placed: &Placed, lines: usize, size: f32) -> Vec<Place> {
    let pitch = PITCH * size;
    let tall = pitch * lines as f32;
    let (x, y) = (placed.at.x as f32, placed.at.y as f32);
    let step = placed.turn.step();
    let middle = placed.length as f32 / 2.0;
    let (mx, my) = (x + middle * step.x as f32, y + middle * step.y as f32);
    let top = my - tall / 2.0 + 0.85 * SIZE * size;
    let mut places = Vec::new();
    match placed.symbol {
        Symbol::Triode | Symbol::Pentode | Symbol::Rectifier => {
            let my = y + 4.0 * step.y as f32;
            for (dx, dy) in [
                (2.0, -2.6),
                (2.4, -1.4),
                (2.6, 2.2),
                (2.4, 0.0),
                (3.2, -3.4),
                (2.6, 3.2),
                (2.6, -4.4),
                (2.6, 4.4),
            ] {
                places.push((x + dx, my + dy, Anchor::Start));
                places.push((x - dx, my + dy, Anchor::End));
            }
        }
        Symbol::Transformer { .. } => {
            let low = y.max(y + placed.length as f32 * step.y as f32);
            for dy in [1.6, 2.6, 3.6] {
                places.push((x + 3.0, low + dy, Anchor::Middle));
                places.push((x + 1.0, low + dy, Anchor::Start));
            }
            let high = y.min(y + placed.length as f32 * step.y as f32);
            places.push((x + 3.0, high - tall, Anchor::Middle));
        }
        Symbol::Supply | Symbol::Jack | Symbol::Flag => {
            let away = if placed.turn == Way::Left { -1.0 } else { 1.0 };
            let anchor = if away > 0.0 {
                Anchor::Start
            } else {
                Anchor::End
            };
            if placed.turn.upright() {
                let far = if placed.turn == Way::Up { -1.6 } else { 2.2 };
                places.push((x, y + far, Anchor::Middle));
            } else {
                places.push((x + 1.4 * away, y + 0.35, anchor));
            }
            for dy in [-0.6, 1.3, -1.8, 2.5] {
                places.push((x + 1.4, y + dy, Anchor::Start));
                places.push((x - 1.4, y + dy, Anchor::End));
            }
        }
        _ if placed.turn.upright() => {
            let right = if placed.symbol == Symbol::Loudspeaker {
                [2.2, 2.6, 3.0, 3.4]
            } else {
                [1.0, 1.4, 2.0, 2.6]
            };
            for dx in right {
                for dy in [0.0, -1.0, 1.0, 2.0, -2.0] {
                    places.push((mx + dx, top + dy, Anchor::Start));
                }
            }
            for dx in [1.0, 1.4, 2.0, 2.6] {
                for dy in [0.0, -1.0, 1.0, 2.0] {
                    places.push((mx - dx, top + dy, Anchor::End));
                }
            }
        }
        _ => {
            for up in [1.3, 1.6, 2.0] {
                places.push((mx, my - up - tall + pitch, Anchor::Middle));
            }
            for down in [1.9, 2.3] {
                places.push((mx, my + down, Anchor::Middle));
            }
            for dx in [-2.0, 2.0, -3.0, 3.0] {
                places.push((mx + dx, my - 1.3 - tall + pitch, Anchor::Middle));
                places.push((mx + dx, my + 1.9, Anchor::Middle));
            }
        }
    }
    // Further away, before it would be left out.
    let near = places.clone();
    for away in [1.5, 3.0] {
        for (px, py, anchor) in &near {
            let (dx, dy) = match anchor {
                Anchor::Start => (away, 0.0),
                Anchor::End => (-away, 0.0),
                Anchor::Middle => (0.0, if *py < my { -away } else { away }),
            };
            places.push((px + dx, py + dy, *anchor));
        }
    }
    places
}

/// Whether designator and value stand on either side of a lying part.
pub(super) fn split(placed: &Placed) -> bool {
    matches!(
        placed.symbol,
        Symbol::Resistor
            | Symbol::Capacitor
            | Symbol::PolarCapacitor { .. }
            | Symbol::Inductor
            | Symbol::Switch { .. }
    ) && !placed.turn.upright()
}

/// Above and below a lying part.
pub(super) fn around(placed: &Placed, size: f32) -> Vec<Place> {
    let step = placed.turn.step();
    let middle = placed.length as f32 / 2.0;
    let mx = placed.at.x as f32 + middle * step.x as f32;
    let my = placed.at.y as f32 + middle * step.y as f32;
    vec![
        (mx, my - 1.3, Anchor::Middle),
        (mx, my + 1.1 + 0.85 * size, Anchor::Middle),
    ]
}

/// Places beside a node's pins and wires.
pub(super) fn beside(sheet: &Sheet, node: NodeId, rail: bool) -> Vec<Place> {
    let mut places = Vec::new();
    let valve = |p: &&Placed| !rail && matches!(p.symbol, Symbol::Triode | Symbol::Pentode);
    for placed in sheet.placed.iter().filter(valve) {
        for pin in placed.pins.iter().filter(|pin| pin.node == node) {
            let (x, y) = (pin.at.x as f32, pin.at.y as f32);
            for (dx, dy, anchor) in [
                (-0.4, -0.4, Anchor::End),
                (0.4, -0.4, Anchor::Start),
                (-0.4, 1.2, Anchor::End),
                (0.4, 1.2, Anchor::Start),
            ] {
                places.push((x + dx, y + dy, anchor));
            }
        }
    }
    let mut wires: Vec<&Wire> = sheet.wires.iter().filter(|w| w.node == node).collect();
    wires.sort_by_key(|wire| {
        let (a, b) = (wire.points[0], wire.points[wire.points.len() - 1]);
        let level = a.y == b.y;
        (!level, a.y, a.x)
    });
    for wire in wires {
        let (a, b) = (wire.points[0], wire.points[wire.points.len() - 1]);
        let (x, y) = (a.x as f32, a.y as f32);
        if a.y == b.y {
            for dx in [0.4, 1.0, 2.0, 3.0, 4.0, 6.0] {
                places.push((x + dx, y - 0.35, Anchor::Start));
                places.push((x + dx, y + 1.1, Anchor::Start));
            }
        } else {
            for dy in [1.0, 2.0, 3.0, 4.0] {
                places.push((x + 0.4, y + dy, Anchor::Start));
                places.push((x - 0.4, y + dy, Anchor::End));
            }
        }
    }
    for pin in sheet.placed.iter().flat_map(|p| &p.pins) {
        if pin.node == node {
            let (x, y) = (pin.at.x as f32, pin.at.y as f32);
            places.push((x + 0.4, y - 0.35, Anchor::Start));
            places.push((x - 0.4, y - 0.35, Anchor::End));
            places.push((x + 0.4, y + 1.1, Anchor::Start));
            places.push((x - 0.4, y + 1.1, Anchor::End));
        }
    }
    places
}
