//! The paper that a drawing is folded to, and the room between its bands.

/// What can be printed on, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Paper {
    pub wide: f32,
    pub tall: f32,
}

/// A4 lying, with margins of 12 mm.
pub const LANDSCAPE: Paper = Paper {
    wide: 297.0 - 24.0,
    tall: 210.0 - 24.0,
};

/// Between bands, units.
pub(super) const GAP: i32 = 3;
