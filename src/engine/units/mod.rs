//! Quantities of the trade: name, unit and allowed range in one place, notation, decibels.
//!
//! A [`Quantity`] reads text in every usual spelling and writes it back in one, which is
//! IEC 60062 for resistors and capacitors ("4k7", "22n") and a number with its unit for the rest
//! ("280 V"). Values inside the program are in SI units without prefix.

mod combination;
mod decibels;
pub mod marking;
mod notation;
mod notation_error;
mod print;
mod quantity;
pub mod series;

pub use combination::{Combination, combination};
pub use decibels::{
    DBU_VOLTS, dbu_from_volts, decibels_from_ratio, peak_from_rms, peak_volts_from_dbu,
    ratio_from_decibels, rms_from_peak, volts_from_dbu,
};
pub use notation_error::NotationError;
pub use quantity::Quantity;
pub(crate) use quantity::Unit;
pub use series::Series;
