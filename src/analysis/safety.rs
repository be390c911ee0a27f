//! What stands under everything somebody might take to the bench: the cautions, and what the numbers
//! are.

/// Never left out where voltages or a verdict are printed.
pub const LINES: &str = "\
Safety: lethal voltages stay in a valve amp after it is unplugged. Never work on a live chassis.
Unplug it, discharge the supply capacitors and measure that they are empty before you touch
anything. If you have not been taught how, take the amp to somebody who has.
";

/// The same in one line.
pub const IN_SHORT: &str =
    "Lethal voltages stay in a valve amp after it is unplugged. These numbers come from a model.";

/// What the numbers are, a sentence each.
pub const NUMBERS: [&str; 4] = [
    "Every number here is computed from a model of your amp: the parts in its file, average valves, ideal wiring. None of them is measured.",
    "A real valve draws up to 30 % more or less than an average one; a part may be off by its tolerance. Measure before you rely on a voltage.",
    "Dissipation is compared with the maker's limit in the rating system that is named. Below the limit is not a promise of long life.",
    "The model leaves out hum, the saturation of the output transformer, the cabinet and the room.",
];

/// The usual cautions, a sentence each.
pub const CAUTIONS: [&str; 6] = [
    "Lethal voltages stay in a valve amp after it is switched off and unplugged. Never work on a live chassis.",
    "Unplug it. Discharge the supply capacitors through a resistor, then measure that they are empty, before you touch anything.",
    "Keep one hand behind your back near anything that may be charged. Work isolated from earth, dry, and not alone.",
    "Use parts that are rated for the voltage and the power, and check every joint before the amp is plugged in again.",
    "Mains wiring, fuses and the protective earth are not for trying things out. Leave them as they are.",
    "Local codes come first. If you have not been taught how, take the amp to a licensed technician.",
];
