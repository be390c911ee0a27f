//! A symbol's own axes on the sheet, and places along them.

use super::sheet::{Placed, Point};

/// A place between grid units.
pub type Spot = [f32; 2];

/// A symbol's own axes: along from the first pin, and aside.
pub(super) struct Frame {
    pub at: Point,
    pub along: [f32; 2],
    pub aside: [f32; 2],
}

impl Frame {
    pub fn of(placed: &Placed) -> Frame {
        let step = placed.turn.step();
        let side = if placed.mirrored {
            placed.turn.clockwise()
        } else {
            placed.turn.clockwise().opposite()
        };
        let side = side.step();
        Frame {
            at: placed.at,
            along: [step.x as f32, step.y as f32],
            aside: [side.x as f32, side.y as f32],
        }
    }

    /// A place so far along and so far to the right of one that points down.
    pub fn spot(&self, along: f32, aside: f32) -> Spot {
        [
            self.at.x as f32 + along * self.along[0] + aside * self.aside[0],
            self.at.y as f32 + along * self.along[1] + aside * self.aside[1],
        ]
    }

    pub fn line(&self, spots: &[(f32, f32)]) -> Vec<Spot> {
        spots.iter().map(|(a, b)| self.spot(*a, *b)).collect()
    }

    /// Part of a circle between two angles, degrees from along towards aside.
    pub fn arc(&self, centre: (f32, f32), radius: f32, from: f32, to: f32) -> Vec<Spot> {
        (0..=16)
            .map(|i| {
                let angle = (from + (to - from) * i as f32 / 16.0).to_radians();
                self.spot(
                    centre.0 + radius * angle.cos(),
                    centre.1 + radius * angle.sin(),
                )
            })
            .collect()
    }
}
