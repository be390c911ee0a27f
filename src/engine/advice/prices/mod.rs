//! What parts cost and how long work takes, from a small file that the owner edits.
//!
//! Takes the text of a price file; gives the price of a part and the minutes of work on it. The
//! prices that come with the program (`presets/prices.toml`) are invented.

mod list;
mod read;

pub use list::{Cost, MINUTES_RANGE, PRICE_RANGE, Prices, Purchase, Ware};
