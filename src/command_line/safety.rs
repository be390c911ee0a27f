//! The lines that stand under everything somebody might take to the bench.

/// Never left out where voltages or a verdict are shown.
pub const LINES: &str = "\
Safety: lethal voltages stay in a valve amp after it is unplugged. Never work on a live chassis.
Unplug it, discharge the supply capacitors and measure that they are empty before you touch
anything. If you have not been taught how, take the amp to somebody who has.
";
