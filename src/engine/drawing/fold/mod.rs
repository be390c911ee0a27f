//! A drawing folded onto paper: cut between stages, the pieces under one another.
//!
//! Takes a finished sheet and the paper; gives a sheet of the same symbols and texts. A wire that is
//! cut ends at a flag on either side, with one name for each node: rails and biases have theirs, others
//! get a capital letter. Empty rows and columns are taken out, so that the letters come out as large as
//! they can. The netlist that is read back stays the circuit's.

mod cuts;
mod paper;
mod squeeze;

pub use paper::{LANDSCAPE, Paper};

use crate::circuit::NodeId;
use crate::drawing::frame;
use crate::drawing::labels::{SIZE, SMALL, Type, frame_of, label_in, text_faults};
use crate::drawing::sheet::{Anchor, Item, Point, Says, Sheet, Symbol, Text, Way, Wire};
use crate::drawing::svg::room;
use crate::drawing::symbols::{Stand, place};
use crate::drawing::write::Lettering;
use paper::GAP;
use std::collections::{BTreeMap, BTreeSet};

/// A point of type, mm.
const POINT: f32 = 25.4 / 72.0;
/// Letters need not be larger than this, in points; from there on fewer cuts are worth more.
const EASY: f32 = 8.0;
/// What a name in place of a wire costs, as a share of the letters' size (own choice).
const NAME: f32 = 0.01;
/// What a text costs that stands away from its part, likewise.
const STRAY: f32 = 0.04;
/// Further from its part than this a text may be taken for another's, units.
const NEAR: f32 = 1.6;
/// Letters must not be smaller than the first, in points, a hair being added for rounding; where some
/// text then has no place at all, the next ones are tried.
const LEAST: [f32; 4] = [6.02, 5.4, 4.8, 4.2];
/// What may be read without a glass, in points (own aim).
pub const SMALLEST: f32 = 6.0;
/// Room for texts at the sides, units.
const BESIDE: f32 = 2.0;
/// How much larger than usual letters are tried, the largest first.
const SIZES: [f32; 6] = [1.5, 1.4, 1.3, 1.2, 1.1, 1.0];

/// Size of a sheet's smallest letters on paper, in points.
pub fn smallest_letters(sheet: &Sheet, paper: Paper) -> f32 {
    let [wide, tall] = room(sheet);
    let unit = (paper.wide / wide).min(paper.tall / tall);
    let least = sheet.texts.iter().map(|text| text.size);
    least.reduce(f32::min).unwrap_or(SMALL) * unit / POINT
}

/// Folds a drawing so that it is best read on the paper.
pub fn fold(sheet: &Sheet, lettering: &Lettering<'_>, paper: Paper) -> Sheet {
    let mut tight = squeeze::columns(sheet);
    frame(&mut tight);
    let names = Names::new(&tight, lettering);
    let mut choices = cuts::choices(&tight, paper);
    choices.push(Vec::new());
    let stacks = choices.iter().map(|cuts| stack(&tight, cuts, &names));
    let stacks: Vec<Stack> = stacks.collect();
    for points in LEAST {
        let mut best: Option<(f32, Sheet)> = None;
        for stack in &stacks {
            for size in SIZES {
                letter(stack, size, points, lettering, paper, &mut best);
            }
        }
        if let Some((_, folded)) = best {
            return folded;
        }
    }
    sheet.clone()
}

/// Letters a stack of bands, and keeps it if it is the best and nothing lies on anything.
fn letter(
    (bands, named): &Stack,
    size: f32,
    points: f32,
    lettering: &Lettering<'_>,
    paper: Paper,
    best: &mut Option<(f32, Sheet)>,
) {
    let [wide, tall] = room(bands);
    let unit = (paper.wide / (wide + BESIDE)).min(paper.tall / tall);
    let least = points * POINT / unit;
    let known = best.as_ref().map_or(f32::MIN, |(known, _)| *known);
    if size * SIZE < least || (size * SIZE * unit / POINT).min(EASY) <= known {
        return;
    }
    let mut folded = bands.clone();
    let letters = Type {
        size,
        least: Some(least),
        names: named,
    };
    label_in(&mut folded, lettering, &letters);
    frame(&mut folded);
    let worth = worth(&folded, paper);
    let large = smallest_letters(&folded, paper) >= points.min(SMALLEST);
    if worth > known && large && text_faults(&folded).is_empty() {
        *best = Some((worth, folded));
    }
}

/// How well a folded sheet is read.
fn worth(sheet: &Sheet, paper: Paper) -> f32 {
    let flags = sheet.placed.iter().filter(|p| p.symbol == Symbol::Flag);
    let spoilt = NAME * flags.count() as f32 + STRAY * strays(sheet) as f32;
    let smallest = smallest_letters(sheet, paper);
    let mean =
        sheet.texts.iter().map(|text| text.size).sum::<f32>() / sheet.texts.len().max(1) as f32;
    let least = sheet.texts.iter().map(|text| text.size).reduce(f32::min);
    let usual = smallest * mean / least.unwrap_or(mean);
    usual.min(EASY) * (1.0 - spoilt.min(0.9))
}

/// How many parts have their designators away from them.
fn strays(sheet: &Sheet) -> usize {
    let designators = sheet
        .texts
        .iter()
        .filter(|text| text.says == Says::Designator);
    let stray = |text: &&Text| {
        let own = sheet
            .placed
            .iter()
            .find(|placed| Some(placed.item) == text.of);
        own.is_some_and(|placed| {
            let frame = frame_of(text);
            let (from, to) = (placed.body.from, placed.body.to);
            let off = |i: usize, from: i32, to: i32| {
                (from as f32 - frame.to[i]).max(frame.from[i] - to as f32)
            };
            off(0, from.x, to.x).max(off(1, from.y, to.y)) > NEAR
        })
    };
    designators.filter(stray).count()
}

/// What nodes are called where a wire is cut.
struct Names<'a> {
    lettering: &'a Lettering<'a>,
    /// Names that flags bear already.
    known: BTreeMap<NodeId, String>,
}

impl Names<'_> {
    fn new<'a>(sheet: &Sheet, lettering: &'a Lettering<'a>) -> Names<'a> {
        let mut known = BTreeMap::new();
        for placed in &sheet.placed {
            if let Item::Flag(node) = placed.item {
                known.insert(node, lettering.name_of(node));
            }
        }
        Names { lettering, known }
    }

    /// The name of each node, letters in the order in which they are asked for.
    fn of(&self, nodes: &[NodeId]) -> BTreeMap<NodeId, String> {
        let topology = self.lettering.topology;
        let mut names = self.known.clone();
        let own = |node: &NodeId| topology.rail(*node).is_some() || topology.bias.contains(node);
        for node in nodes.iter().filter(|node| own(node)) {
            names.insert(*node, self.lettering.name_of(*node));
        }
        let taken: BTreeSet<String> = names.values().cloned().collect();
        let mut letters = (0..).map(capital).filter(|letter| !taken.contains(letter));
        for node in nodes {
            if !names.contains_key(node)
                && let Some(letter) = letters.next()
            {
                names.insert(*node, letter);
            }
        }
        names
    }
}

/// A to Z without I and O, which look like figures; then A2, B2 and so on.
fn capital(count: usize) -> String {
    const LETTERS: &[u8; 24] = b"ABCDEFGHJKLMNPQRSTUVWXYZ";
    let letter = char::from(LETTERS[count % LETTERS.len()]);
    match count / LETTERS.len() {
        0 => letter.to_string(),
        round => format!("{letter}{}", round + 1),
    }
}

/// Bands under one another without their texts, and the names of cut wires.
type Stack = (Sheet, BTreeMap<NodeId, String>);

/// Where a wire was cut.
struct End {
    node: NodeId,
    at: Point,
    /// Where its name stands.
    way: Way,
}

/// Cuts a sheet at columns and puts the pieces under one another; gives the names of the cut wires.
fn stack(sheet: &Sheet, cuts: &[i32], names: &Names<'_>) -> Stack {
    let mut bands: Vec<(Sheet, Vec<End>)> = Vec::new();
    for i in 0..=cuts.len() {
        let from = if i == 0 { i32::MIN } else { cuts[i - 1] };
        let to = cuts.get(i).copied().unwrap_or(i32::MAX);
        bands.push(band(sheet, from, to));
    }
    let mut nodes: Vec<NodeId> = Vec::new();
    for end in bands.iter().flat_map(|(_, ends)| ends) {
        if !nodes.contains(&end.node) {
            nodes.push(end.node);
        }
    }
    let named = names.of(&nodes);
    let mut whole = Sheet::default();
    let mut top = 0;
    for (mut band, ends) in bands {
        for end in ends {
            put_name(&mut band, &end, &named[&end.node]);
        }
        let mut band = squeeze::rows(&band);
        frame(&mut band);
        let (x, y) = (-band.from.x, top - band.from.y);
        squeeze::shift(&mut band, x, y);
        top += band.to.y - band.from.y + 1 + GAP;
        whole.placed.append(&mut band.placed);
        whole.wires.append(&mut band.wires);
        whole.dots.append(&mut band.dots);
        whole.texts.append(&mut band.texts);
    }
    frame(&mut whole);
    frame(&mut whole);
    (whole, named)
}

/// What stands between two columns, and where its wires are cut.
fn band(sheet: &Sheet, from: i32, to: i32) -> (Sheet, Vec<End>) {
    let within = |x: i32| x > from && x < to;
    let mut band = Sheet {
        placed: sheet
            .placed
            .iter()
            .filter(|p| within(p.at.x))
            .cloned()
            .collect(),
        dots: sheet
            .dots
            .iter()
            .filter(|(_, at)| within(at.x))
            .copied()
            .collect(),
        ..Sheet::default()
    };
    let middle = |text: &&Text| {
        let frame = frame_of(text);
        within(((frame.from[0] + frame.to[0]) / 2.0).round() as i32)
    };
    band.texts = sheet.texts.iter().filter(middle).cloned().collect();
    let mut ends = Vec::new();
    for wire in &sheet.wires {
        for pair in wire.points.windows(2) {
            let (mut a, mut b) = (pair[0].min(pair[1]), pair[0].max(pair[1]));
            if b.x <= from || a.x >= to {
                continue;
            }
            let cut = [a.x <= from, b.x >= to];
            let joined = |(node, at): &(NodeId, Point)| {
                *node == wire.node && at.y == a.y && (a.x..=b.x).contains(&at.x)
            };
            // A wire that only passes needs no place here: its name is on both sides.
            if cut == [true, true] && !band.dots.iter().any(joined) {
                continue;
            }
            if cut[0] {
                a.x = from;
                ends.push(End {
                    node: wire.node,
                    at: a,
                    way: Way::Left,
                });
            }
            if cut[1] {
                b.x = to;
                ends.push(End {
                    node: wire.node,
                    at: b,
                    way: Way::Right,
                });
            }
            band.wires.push(Wire {
                node: wire.node,
                points: vec![a, b],
            });
        }
    }
    ends.sort_by_key(|end| (end.way == Way::Right, end.at.y));
    (band, ends)
}

fn put_name(band: &mut Sheet, end: &End, name: &str) {
    let item = Item::Flag(end.node);
    let stand = Stand {
        at: end.at,
        turn: end.way,
        mirrored: false,
        length: 2,
    };
    band.placed
        .push(place(item, Symbol::Flag, stand, &[end.node]));
    let (away, anchor) = match end.way {
        Way::Left => (-1.4, Anchor::End),
        _ => (1.4, Anchor::Start),
    };
    band.texts.push(Text {
        says: Says::Name,
        of: Some(item),
        node: Some(end.node),
        text: name.into(),
        x: end.at.x as f32 + away,
        y: end.at.y as f32 + 0.35,
        anchor,
        size: SMALL,
        changed: false,
    });
}
