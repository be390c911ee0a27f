//! A drawing from start to end.

use super::sheet::{Area, Item, Point, Sheet};
use super::write::Lettering;
use super::{labels, place, route};
use crate::circuit::Circuit;
use crate::circuit::topology::Topology;

/// Symbols and wires of a circuit, without texts.
pub fn sheet_of(circuit: &Circuit, topology: &Topology) -> Sheet {
    let places = place::place_all(circuit, topology);
    let routed = route::route(&places.placed, &places.first, &places.soft);
    let mut placed = places.placed;
    placed.extend(routed.flags);
    let mut sheet = Sheet {
        placed,
        wires: routed.wires,
        dots: routed.dots,
        ..Sheet::default()
    };
    drop_idle_signs(&mut sheet);
    frame(&mut sheet);
    sheet
}

/// Takes away ground signs that nothing leads to: their pins found a nearer one.
pub(super) fn drop_idle_signs(sheet: &mut Sheet) {
    let mut ends: Vec<Point> = sheet
        .wires
        .iter()
        .flat_map(|wire| wire.points.clone())
        .collect();
    let parts = sheet
        .placed
        .iter()
        .filter(|placed| placed.item != Item::Ground);
    ends.extend(parts.flat_map(|placed| placed.pins.iter().map(|pin| pin.at)));
    sheet
        .placed
        .retain(|placed| placed.item != Item::Ground || ends.contains(&placed.at));
}

/// A whole drawing.
pub fn draw(lettering: &Lettering<'_>) -> Sheet {
    let mut sheet = sheet_of(lettering.circuit, lettering.topology);
    labels::label(&mut sheet, lettering);
    frame(&mut sheet);
    sheet
}

/// Finds a sheet's corners.
pub fn frame(sheet: &mut Sheet) {
    let mut points: Vec<Point> = Vec::new();
    for placed in &sheet.placed {
        points.extend([placed.body.from, placed.body.to]);
        points.extend(placed.pins.iter().map(|pin| pin.at));
    }
    points.extend(sheet.wires.iter().flat_map(|wire| wire.points.clone()));
    for text in &sheet.texts {
        let frame = labels::frame_of(text);
        points.push(Point::new(
            frame.from[0].floor() as i32,
            frame.from[1].floor() as i32,
        ));
        points.push(Point::new(
            frame.to[0].ceil() as i32,
            frame.to[1].ceil() as i32,
        ));
    }
    if points.is_empty() {
        return;
    }
    let area = Area::around(&points);
    (sheet.from, sheet.to) = (area.from, area.to);
}
