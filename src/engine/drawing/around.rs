//! Pieces of a drawing around some of its parts, cut out as they stand.
//!
//! Takes a sheet and parts; gives a sheet for each group of parts that stand near to one another. What
//! is not wholly inside is left out, wires end at the edge: a piece shows where something is, it is no
//! proof of what is joined.

use super::labels::frame_of;
use super::sheet::{Area, Item, Placed, Point, Sheet, Text, Wire};
use crate::circuit::PartId;

/// Most that a piece takes, width and height in units: beside the words on a page of 184 mm, or else
/// over its whole width, with letters of 6 points.
const BESIDE: [i32; 2] = [32, 16];
const ACROSS: [i32; 2] = [76, 24];
/// What is shown around a part, units.
const AROUND: i32 = 5;
/// More pieces than this are not cut: the whole drawing shows them.
const MOST: usize = 2;

/// Pieces around parts, from left to right; none where there are too many.
pub fn around(sheet: &Sheet, parts: &[PartId]) -> Vec<Sheet> {
    let wanted =
        |placed: &&Placed| matches!(placed.item, Item::Part(part) if parts.contains(&part));
    let mut bodies: Vec<Area> = sheet.placed.iter().filter(wanted).map(|p| p.body).collect();
    bodies.sort_by_key(|body| (body.from.x, body.from.y));
    let mut groups: Vec<Area> = Vec::new();
    for body in bodies {
        let joined = groups.iter_mut().find_map(|group| {
            let both = whole(*group, body);
            fits(both.wider(AROUND), ACROSS).then_some((group, both))
        });
        match joined {
            Some((group, both)) => *group = both,
            None => groups.push(body),
        }
    }
    if groups.len() > MOST {
        return Vec::new();
    }
    groups
        .into_iter()
        .map(|group| cut(sheet, group.wider(AROUND)))
        .collect()
}

fn whole(one: Area, other: Area) -> Area {
    Area::around(&[one.from, one.to, other.from, other.to])
}

fn fits(area: Area, [wide, tall]: [i32; 2]) -> bool {
    area.to.x - area.from.x <= wide && area.to.y - area.from.y <= tall
}

/// The ground of a text.
fn ground(text: &Text) -> Area {
    let frame = frame_of(text);
    Area {
        from: Point::new(frame.from[0].floor() as i32, frame.from[1].floor() as i32),
        to: Point::new(frame.to[0].ceil() as i32, frame.to[1].ceil() as i32),
    }
}

/// What is inside an area, which is widened so that it cuts through as little as may be.
fn cut(sheet: &Sheet, area: Area) -> Sheet {
    let symbols = sheet.placed.iter().map(symbol);
    let things: Vec<Area> = symbols.chain(sheet.texts.iter().map(ground)).collect();
    let most = if fits(area, BESIDE) { BESIDE } else { ACROSS };
    let mut area = area;
    loop {
        let before = area;
        for thing in &things {
            let both = whole(area, *thing);
            if thing.meets(area) && fits(both, most) {
                area = both;
            }
        }
        if area == before {
            break;
        }
    }
    let inside = |thing: Area| whole(area, thing) == area;
    let items: Vec<Item> = sheet
        .placed
        .iter()
        .filter(|placed| inside(symbol(placed)))
        .map(|placed| placed.item)
        .collect();
    let text = |text: &&Text| {
        let own = text
            .of
            .is_none_or(|item| text.node.is_some() || items.contains(&item));
        own && inside(ground(text))
    };
    Sheet {
        placed: sheet
            .placed
            .iter()
            .filter(|p| inside(symbol(p)))
            .cloned()
            .collect(),
        wires: sheet
            .wires
            .iter()
            .flat_map(|wire| pieces(wire, area))
            .collect(),
        dots: sheet
            .dots
            .iter()
            .filter(|(_, at)| area.contains(*at))
            .copied()
            .collect(),
        texts: sheet.texts.iter().filter(text).cloned().collect(),
        from: area.from,
        to: area.to,
    }
}

/// The ground of a symbol with its pins.
fn symbol(placed: &Placed) -> Area {
    let pins = placed.pins.iter().map(|pin| pin.at);
    let points: Vec<Point> = pins.chain([placed.body.from, placed.body.to]).collect();
    Area::around(&points)
}

/// The straight pieces of a wire inside an area.
fn pieces(wire: &Wire, area: Area) -> Vec<Wire> {
    let inside = |pair: &[Point]| {
        let line = Area::around(pair);
        line.meets(area).then(|| Wire {
            node: wire.node,
            points: vec![
                Point::new(line.from.x.max(area.from.x), line.from.y.max(area.from.y)),
                Point::new(line.to.x.min(area.to.x), line.to.y.min(area.to.y)),
            ],
        })
    };
    wire.points.windows(2).filter_map(inside).collect()
}
