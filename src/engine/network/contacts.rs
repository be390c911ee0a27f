//! Contacts and tracks: the resistances of switches and pots.

use super::branch::BranchValue;

/// Resistance of a closed contact, Ω.
const CLOSED_OHMS: f64 = 0.05;
/// Resistance of an open contact, Ω.
const OPEN_OHMS: f64 = 1e12;
/// Resistances beyond which it makes no odds in a valve amp whether a contact has closed or
/// opened quite, Ω.
const CLOSING_OHMS: f64 = 1.0;
const OPENING_OHMS: f64 = 1e8;
/// Least resistance at either end of a pot's track, Ω (common practice, no source).
pub(super) const POT_END_OHMS: f64 = 1.0;

/// A contact, open at 0 and closed at 1. Between them its resistance falls evenly in decades from
/// [`OPENING_OHMS`] to [`CLOSING_OHMS`], so that it may be moved without a jump.
///
/// # Real-time
/// Allocates nothing.
pub fn contact_value(closed: f64) -> BranchValue {
    BranchValue::resistor(if closed >= 1.0 {
        CLOSED_OHMS
    } else if closed <= 0.0 {
        OPEN_OHMS
    } else {
        OPENING_OHMS * (CLOSING_OHMS / OPENING_OHMS).powf(closed)
    })
}

/// The two sections of a pot of `ohms`, the wiper `low` (0 to 1) of the track above the low end.
///
/// # Real-time
/// Allocates nothing.
pub fn pot_values(ohms: f64, low: f64) -> [BranchValue; 2] {
    [1.0 - low, low].map(|share| BranchValue::resistor(ohms * share + POT_END_OHMS))
}
