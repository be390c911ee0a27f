//! An oscillation in words.

use super::howl::{Howl, Remedy};
use crate::text::digits::hertz;
use crate::text::list::listed;
use std::fmt;

impl fmt::Display for Howl {
    /// What it does, where, and what stops it, without the amp's name: "oscillates at 1.2 kHz with
    /// nothing played, through V2a and V3. Positive feedback …".
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match (self.hertz, self.growth) {
            (Some(hz), _) => write!(f, "oscillates at {} with nothing played", hertz(hz))?,
            (None, Some(_)) => f.write_str(
                "does not stay at rest: its voltages run to one side and may swing back",
            )?,
            (None, None) => f.write_str("does not stay at rest")?,
        }
        if !self.valves.is_empty() {
            let names: Vec<&str> = self.valves.iter().map(String::as_str).collect();
            write!(f, ", through {}", listed(&names))?;
        }
        f.write_str(".")?;
        match (&self.remedy, &self.through) {
            (Some(Remedy::SwapSecondary { transformer }), Some(part)) => write!(
                f,
                " Positive feedback through {part}: swap the ends of {transformer}'s secondary, or \
                 its anodes."
            ),
            (Some(Remedy::SwapSecondary { transformer }), None) => write!(
                f,
                " Positive feedback: swap the ends of {transformer}'s secondary, or its anodes."
            ),
            (_, Some(part)) => write!(f, " The loop closes through {part}: without it, it stops."),
            (_, None) => Ok(()),
        }
    }
}
