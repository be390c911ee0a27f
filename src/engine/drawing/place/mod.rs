//! Where each part stands: rails along the top, the signal from left to right, the way back along the
//! bottom.
//!
//! Takes a circuit and its topology; gives symbols in their places, ground signs and flags with them,
//! and lines that are wanted as they are. Values are never read: a changed value moves nothing.

mod below;
mod board;
mod links;
mod output;
mod rails;
mod rest;
mod spine;
mod valves;

use super::sheet::{Area, Item, Placed, Point, Symbol, Way, Wire};
use super::symbols::Stand;
use crate::circuit::topology::{InverterKind, Role, Section, Topology};
use crate::circuit::{Circuit, GROUND, PartId};
use board::Board;
use std::collections::BTreeMap;

/// Symbols in their places, and the lines that are wanted as they are.
#[derive(Clone, Debug, Default)]
pub struct Places {
    pub placed: Vec<Placed>,
    pub first: Vec<Wire>,
    /// Where texts will stand.
    pub soft: Vec<Area>,
}

/// Layouts until the rails have room; one suffices as a rule.
const PASSES: usize = 4;
/// From one channel's rows to the next.
const CHANNELS: i32 = 12;

/// Places every part of a circuit.
pub fn place_all(circuit: &Circuit, topology: &Topology) -> Places {
    let mut room: BTreeMap<PartId, i32> = BTreeMap::new();
    let mut last = Places::default();
    for _ in 0..PASSES {
        let mut layout = Layout {
            board: Board::new(circuit, topology),
            room: &room,
            begins: Vec::new(),
        };
        layout.run();
        let gaps = layout.board.rails(valves::RAIL);
        layout.board.rest();
        layout.board.grounds();
        let begins = layout.begins;
        last = Places {
            placed: layout.board.placed,
            first: layout.board.first,
            soft: Vec::new(),
        };
        last.soft = last.placed.iter().flat_map(board::text_ground).collect();
        let Some(gap) = gaps.first() else { break };
        let group = begins.iter().rev().find(|(x, _)| *x <= gap.before);
        let Some((_, section)) = group else { break };
        *room.entry(*section).or_default() += gap.units;
    }
    last
}

/// Places the parts that are not in their places yet, each as near as may be to what it joins; gives
/// all symbols and where texts will stand. What stands already stays, and nothing is put on a wire.
pub fn place_others(
    circuit: &Circuit,
    topology: &Topology,
    placed: Vec<Placed>,
    wires: &[Wire],
) -> Places {
    let mut board = Board::new(circuit, topology);
    for symbol in &placed {
        board.taken.push(board::ground_of(symbol));
        if let Item::Part(part) = symbol.item {
            board.done[part.0 as usize] = true;
        }
    }
    let lines: Vec<Area> = wires
        .iter()
        .map(|wire| Area::around(&wire.points))
        .collect();
    board.taken.extend(&lines);
    let before = placed.len();
    board.placed = placed;
    board.rest();
    let new = board.placed[before..]
        .iter()
        .flat_map(|symbol| &symbol.pins);
    let grounded: Vec<_> = new.filter(|pin| pin.node == GROUND).copied().collect();
    board.ground_signs(&grounded, &lines);
    let soft = board.placed.iter().flat_map(board::text_ground).collect();
    Places {
        placed: board.placed,
        first: Vec::new(),
        soft,
    }
}

struct Layout<'a, 'r> {
    board: Board<'a>,
    /// Room wanted before a stage.
    room: &'r BTreeMap<PartId, i32>,
    /// Where each stage begins.
    begins: Vec<(i32, PartId)>,
}

impl Layout<'_, '_> {
    fn run(&mut self) {
        self.board.reserve();
        let topology = self.board.topology;
        let channels = topology.sections.iter().map(|s| s.channel).max();
        let mut down = 0;
        for channel in 0..=channels.unwrap_or(0) {
            let sections: Vec<&Section> = topology
                .sections
                .iter()
                .filter(|s| s.channel == channel && s.role != Role::OutputValve)
                .collect();
            let x = self.channel(&sections, channel, down);
            if channel == 0 {
                let mut output_at = x;
                let output: Vec<&Section> = topology
                    .sections
                    .iter()
                    .filter(|s| s.role == Role::OutputValve)
                    .collect();
                if let Some(first) = output.first() {
                    let x = self.begin(first.part, x);
                    output_at = x;
                    self.board.output(&output, x, 0);
                }
                self.board.bias(output_at);
                self.board.feedback();
            }
            down = self.board.bottom(i32::MIN, i32::MAX) + CHANNELS;
        }
    }

    fn begin(&mut self, section: PartId, x: i32) -> i32 {
        let x = x + self.room.get(&section).copied().unwrap_or(0);
        self.begins.push((x, section));
        x
    }

    fn channel(&mut self, sections: &[&Section], channel: usize, down: i32) -> i32 {
        let mut x = 4;
        if channel == 0 {
            let row = self.jack_row(sections) + down;
            let stand = Stand {
                at: Point::new(0, row),
                turn: Way::Left,
                mirrored: false,
                length: 2,
            };
            let input = self.board.circuit.input();
            self.board.put(Item::Jack, Symbol::Jack, stand, &[input]);
            self.board.spine.insert(input);
        }
        let mut placed: Vec<PartId> = Vec::new();
        for section in sections {
            if placed.contains(&section.part) {
                continue;
            }
            x = self.begin(section.part, x);
            let partner = self.pair_of(section, sections);
            if let Some(other) = partner {
                x = self.board.pair(section, other, x, down);
                placed.push(other.part);
            } else {
                x = self.board.stage(section, x, down);
            }
            placed.push(section.part);
        }
        if channel == 0 && sections.is_empty() {
            x = 8;
        }
        x
    }

    /// The row of the jack: that of the first part of the way to the first grid.
    fn jack_row(&self, sections: &[&Section]) -> i32 {
        let first = sections.first();
        let wiper = first.is_some_and(|section| {
            let start = section.driven_from.unwrap_or(section.grid);
            valves::way(&self.board, start, &section.spine)
                .iter()
                .any(|link| link.through != links::Through::Whole)
        });
        if wiper { valves::ANODE } else { valves::GRIDS }
    }

    fn pair_of<'s>(&self, section: &Section, sections: &[&'s Section]) -> Option<&'s Section> {
        if !self.board.is(section, InverterKind::LongTailedPair)
            || section.role != Role::InverterDriven
        {
            return None;
        }
        let stage = self.board.topology.of(section.part).stage;
        let others = &self.board.topology.stages[stage].valves;
        sections
            .iter()
            .find(|s| s.part != section.part && others.contains(&s.part))
            .copied()
    }
}
