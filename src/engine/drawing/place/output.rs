//! The output stage: its valves one above the other, the transformer, and what stands at its secondary.

use super::board::Board;
use super::links::ends;
use super::spine::{COLUMN, Rows};
use super::valves::{ANODE, GRIDS, way};
use crate::circuit::topology::{Role, Section};
use crate::circuit::{GROUND, NodeId, PartId, PartKind};
use crate::drawing::sheet::{Area, Item, Point, Symbol, Way};
use crate::drawing::symbols::{GRID, Stand, VALVE, WINDINGS};

/// The upper grid's row; the lower one is as far below the middle.
const UPPER: i32 = 4;
const MIDDLE: i32 = 14;
/// From one valve of a side to the next.
const NEXT: i32 = 14;
/// From the last valve to the transformer.
const TO_TRANSFORMER: i32 = 16;

impl Board<'_> {
    /// The output stage from a column on; gives the first free column behind it.
    pub fn output(&mut self, sections: &[&Section], x: i32, down: i32) -> i32 {
        let sides = [0, 1].map(|side| -> Vec<&Section> {
            sections
                .iter()
                .filter(|section| section.side == side)
                .copied()
                .collect()
        });
        let axis = if sides[1].is_empty() {
            self.single_ended(&sides[0], x, down)
        } else {
            self.push_pull(&sides, x, down)
        };
        let push_pull = !sides[1].is_empty();
        self.transformers(axis + TO_TRANSFORMER, push_pull, down)
    }

    fn single_ended(&mut self, sections: &[&Section], x: i32, down: i32) -> i32 {
        let mut x = x;
        let mut axis = x;
        let rows = Rows {
            before: ANODE + down,
            grid: GRIDS + down,
            legs: Way::Down,
        };
        for section in sections {
            let end = self.spine_of(section, x, rows);
            axis = end + GRID;
            let anode = Point::new(axis, ANODE + down);
            self.put_valve(section.part, anode, false, false);
            self.anode_load(section, anode);
            self.cathode_chain(section, Point::new(axis, anode.y + VALVE));
            self.screen(section, Point::new(axis + 7, anode.y - 2), Way::Up);
            x = self.cathode_side(section, axis + 12);
        }
        axis
    }

    fn push_pull(&mut self, sides: &[Vec<&Section>; 2], x: i32, down: i32) -> i32 {
        let (first, second) = (sides[0][0], sides[1][0]);
        let apart = first.cathode != second.cathode && first.cathode != GROUND;
        let chain = |section: &Section| -> i32 {
            section.cathode_chain.iter().map(|p| self.length(*p)).sum()
        };
        let upper = UPPER + down;
        let below = if apart { chain(first) + 4 } else { 0 };
        let lower = (2 * MIDDLE - UPPER + down).max(upper + VALVE + below + 2);
        let mut x = [x, x];
        let mut axis = 0;
        for place in 0..sides[0].len().max(sides[1].len()) {
            let mut ends = [0, 0];
            for (side, row) in [(0, upper), (1, lower)] {
                let Some(section) = sides[side].get(place) else {
                    continue;
                };
                self.toward_bias = if side == 0 { Way::Down } else { Way::Up };
                let rows = Rows {
                    before: row,
                    grid: row,
                    legs: Way::Down,
                };
                ends[side] = self.spine_of(section, x[side], rows);
                // The lower way begins under the upper one.
                if side == 0 && place == 0 {
                    let parts = section.spine.iter();
                    let pins = parts.filter_map(|part| {
                        let placed = self.placed.iter().find(|p| p.item == Item::Part(*part))?;
                        placed.pins.iter().map(|pin| pin.at.x).min()
                    });
                    x[1] = pins.filter(|at| *at >= x[0]).min().unwrap_or(x[1]);
                }
            }
            self.toward_bias = Way::Down;
            axis = ends[0].max(ends[1]) + GRID;
            for (side, row) in [(0, upper), (1, lower)] {
                let Some(section) = sides[side].get(place) else {
                    continue;
                };
                let turned = side == 1 && !apart;
                let half = VALVE / 2;
                let anode = Point::new(axis, if turned { row + half } else { row - half });
                self.put_valve(section.part, anode, turned, false);
                self.anode_load(section, anode);
                let (from, towards) = if turned {
                    (row - 1, Way::Up)
                } else {
                    (row + 1, Way::Down)
                };
                self.screen(section, Point::new(axis + 8, from), towards);
                if apart {
                    self.cathode_chain(section, Point::new(axis, anode.y + VALVE));
                    self.cathode_side(section, axis + COLUMN);
                }
            }
            x = [axis + NEXT - GRID; 2];
        }
        if !apart {
            self.shared_cathodes(first, axis, (upper + lower) / 2 - 1);
        }
        axis
    }

    /// The chain below joined cathodes, at the left of the valves or else at their right.
    fn shared_cathodes(&mut self, section: &Section, axis: i32, y: i32) {
        if section.cathode == GROUND || section.cathode_chain.is_empty() {
            return;
        }
        let links = way(self, section.cathode, &section.cathode_chain);
        let wide = 2 * COLUMN;
        let fits = |x: i32| {
            let tall: i32 = links.iter().map(|link| self.length(link.part)).sum();
            self.is_open(Area {
                from: Point::new(x - 1, y),
                to: Point::new(x + wide - 2, y + tall + 2),
            })
        };
        let left = (axis - 20..=axis - wide - 1).rev().find(|x| fits(*x));
        let x = left.or_else(|| (axis + 2..axis + 60).find(|x| fits(*x)));
        let at = Point::new(x.unwrap_or(axis - wide - 1), y - 1);
        self.cathode_chain(section, at);
        self.cathode_side(section, at.x);
    }

    /// What feeds a screen, and what holds it.
    pub fn screen(&mut self, section: &Section, at: Point, towards: Way) {
        let Some(screen) = section.screen else {
            return;
        };
        if screen == section.anode || self.is_fixed(screen) {
            return;
        }
        let feeds: Vec<PartId> = self
            .ranked()
            .into_iter()
            .filter(|part| {
                !self.is_done(*part)
                    && matches!(
                        self.topology.of(*part).role,
                        Role::ScreenStopper | Role::ScreenFeed
                    )
                    && ends(self.kind(*part)).is_some_and(|e| e.contains(&screen))
            })
            .collect();
        let mut x = at.x;
        for part in feeds {
            self.kept.remove(&part);
            let length = self.length(part);
            let mut place = Point::new(x, at.y);
            while place.x < x + 40
                && !self.is_open(super::board::texts_along(place, towards, length, 0))
            {
                place.x += 1;
            }
            self.put_along(part, place, towards, screen, length, false);
            x = place.x + COLUMN;
        }
        let side = if towards == Way::Up { at.y + 3 } else { at.y };
        self.hang_all(screen, Point::new(at.x, side), towards.opposite(), &|_| {
            false
        });
    }

    /// Every transformer that has not been placed, from a column on, each with what hangs at it.
    fn transformers(&mut self, x: i32, push_pull: bool, down: i32) -> i32 {
        let mut x = x;
        for part in self.ranked() {
            let PartKind::OutputTransformer(transformer) = self.kind(part) else {
                continue;
            };
            if self.is_done(part) {
                continue;
            }
            let primary = &transformer.primary.taps;
            let secondary = &transformer.secondary.taps;
            let (top, length) = if push_pull {
                (MIDDLE - 6 + down, 12)
            } else {
                (down, 8)
            };
            let length = length.max(3 * (primary.len().max(secondary.len()) as i32 - 1));
            let turned = self.begins_below(primary, push_pull);
            let stand = Stand {
                at: Point::new(x, if turned { top + length } else { top }),
                turn: if turned { Way::Up } else { Way::Down },
                mirrored: turned,
                length,
            };
            let nodes: Vec<NodeId> = primary.iter().chain(secondary).copied().collect();
            let symbol = Symbol::Transformer {
                primary: primary.len() as u8,
                secondary: secondary.len() as u8,
            };
            self.put(Item::Part(part), symbol, stand, &nodes);
            let taps: Vec<(NodeId, Point)> = self
                .placed
                .last()
                .map(|p| {
                    p.pins[primary.len()..]
                        .iter()
                        .map(|p| (p.node, p.at))
                        .collect()
                })
                .unwrap_or_default();
            x = self.secondary(&taps, x + WINDINGS + 5);
        }
        x
    }

    /// Whether a primary's first tap belongs below: the lower side's anode, or not the rail.
    fn begins_below(&self, taps: &[NodeId], push_pull: bool) -> bool {
        let (first, last) = (taps[0], taps[taps.len() - 1]);
        if push_pull {
            let side = |node: NodeId| {
                let sections = &self.topology.sections;
                let found = sections.iter().find(|s| s.anode == node);
                found.map(|s| s.side)
            };
            return side(first) == Some(1) || side(last) == Some(0);
        }
        self.topology.rail(last).is_some() && self.topology.rail(first).is_none()
    }

    fn secondary(&mut self, taps: &[(NodeId, Point)], x: i32) -> i32 {
        for i in 0..self.done.len() {
            if self.topology.parts[i].role == Role::Loudspeaker {
                self.kept.remove(&PartId(i as u16));
            }
        }
        let mut right = x;
        let own: Vec<NodeId> = taps.iter().map(|(node, _)| *node).collect();
        for (node, at) in taps {
            let ends_at = |n: NodeId| own.contains(&n) && n != *node;
            self.spine.insert(*node);
            right = self.hang_all(*node, Point::new(right, at.y), Way::Down, &ends_at);
        }
        right
    }
}
