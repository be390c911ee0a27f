//! What the drawing remembers from frame to frame: the sheet, where it is looked at, what is under the
//! pointer.

use super::shown::Shown;
use crate::circuit::{NodeId, PartId};
use crate::drawing::sheet::Sheet;
use crate::editor::parts::value::ValueState;
use egui::{Pos2, Rect, Vec2, pos2};

/// Points a unit, at least and at most.
pub const SCALES: (f32, f32) = (2.0, 40.0);
/// Points a unit at which values can be read.
const READABLE: f32 = 6.0;
/// Room around a drawing that fits, units.
const MARGIN: f32 = 1.5;

/// What the drawing remembers.
#[derive(Default)]
pub struct SchematicState {
    /// The drawing with its texts; none until the first frame.
    pub shown: Option<Shown>,
    /// Where it is looked at; none: where it begins, or all of it.
    pub look: Option<Look>,
    /// Whether all of it was asked for, however small.
    pub all: bool,
    /// The wire under the pointer.
    pub wire: Option<NodeId>,
    /// The part that the pointer is on.
    pub part: Option<PartId>,
    /// Numbers that are edited on the drawing.
    pub values: ValueState,
    /// The part that was selected in the last frame, so that a new one is brought into view.
    pub selected: Option<PartId>,
    /// Whether it was shown in the last frame.
    pub visible: bool,
}

/// A place and a scale.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Look {
    /// What stands in the middle, units.
    pub centre: Vec2,
    /// Points a unit.
    pub scale: f32,
}

impl Look {
    /// All of a sheet in an area.
    pub fn fit(sheet: &Sheet, area: Rect) -> Look {
        let from = Vec2::new(sheet.from.x as f32, sheet.from.y as f32);
        let to = Vec2::new(sheet.to.x as f32, sheet.to.y as f32);
        let size = to - from + Vec2::splat(2.0 * MARGIN);
        let scale = (area.width() / size.x).min(area.height() / size.y);
        Look {
            centre: 0.5 * (from + to),
            scale: scale.clamp(SCALES.0, SCALES.1),
        }
    }

    /// Where one begins to read: all of a sheet, but if that were too small to read, its left part as
    /// large as it must be and the height allows.
    pub fn first(sheet: &Sheet, area: Rect) -> Look {
        let fit = Look::fit(sheet, area);
        let tall = (sheet.to.y - sheet.from.y) as f32 + 2.0 * MARGIN;
        let scale = (area.height() / tall).min(READABLE);
        if fit.scale >= scale {
            return fit;
        }
        let left = sheet.from.x as f32 - MARGIN;
        Look {
            centre: Vec2::new(left + 0.5 * area.width() / scale, fit.centre.y),
            scale,
        }
    }

    /// Where a place of the sheet stands on the screen.
    pub fn screen(&self, area: Rect, at: [f32; 2]) -> Pos2 {
        area.center() + (Vec2::new(at[0], at[1]) - self.centre) * self.scale
    }

    /// The place of the sheet at a place on the screen.
    pub fn sheet(&self, area: Rect, at: Pos2) -> Pos2 {
        let units = (at - area.center()) / self.scale + self.centre;
        pos2(units.x, units.y)
    }

    /// Larger or smaller about a place on the screen that stays where it is.
    pub fn zoomed(self, area: Rect, about: Pos2, factor: f32) -> Look {
        let fixed = self.sheet(area, about);
        let scale = (self.scale * factor).clamp(SCALES.0, SCALES.1);
        let centre = fixed.to_vec2() - (about - area.center()) / scale;
        Look { centre, scale }
    }

    /// Moved so far on the screen.
    pub fn moved(self, way: Vec2) -> Look {
        Look {
            centre: self.centre - way / self.scale,
            ..self
        }
    }

    /// The same scale with a place in view, moved no further than needed.
    pub fn showing(self, area: Rect, part: Rect) -> Look {
        let mut look = self;
        let room = area.shrink(12.0);
        let at = Rect::from_min_max(
            look.screen(area, [part.min.x, part.min.y]),
            look.screen(area, [part.max.x, part.max.y]),
        );
        let mut way = Vec2::ZERO;
        for axis in 0..2 {
            if at.min[axis] < room.min[axis] {
                way[axis] = room.min[axis] - at.min[axis];
            } else if at.max[axis] > room.max[axis] {
                way[axis] = room.max[axis] - at.max[axis];
            }
        }
        look = look.moved(way);
        look
    }
}
