//! The four lanes that two circuits in stereo are computed in, and the pieces that sound is cut into.

/// The longest piece of sound that is processed at once, samples.
pub const PIECE: usize = 64;

/// Lanes: as found left, as found right, proposed left, proposed right.
pub const LANES: usize = 4;

/// As found, the first of the two circuits.
pub const AS_FOUND: usize = 0;
/// As proposed, the second.
pub const PROPOSED: usize = 1;

/// One line of samples for each lane.
pub type Lines = [[f64; PIECE]; LANES];
