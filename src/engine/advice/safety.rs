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

/// How voltages are read, if at all.
pub const VOLTAGES: &str = "Readings under power are for a licensed technician. Anyone else clips insulated leads on while the amp is off, unplugged and discharged, and reads with hands off; the leads come off when it is unplugged and discharged again.";

/// What stands at the head of a job sheet: a catchword and what it means. The usual rules of work on
/// valve amplifiers; common practice, no single source.
pub const JOB_CAUTIONS: [(&str, &str); 9] = [
    (
        "This can kill.",
        "Lethal voltages stay in a valve amp after it is switched off and unplugged. The supply capacitors hold them for minutes, and without a path that discharges them for days.",
    ),
    (
        "If you have not been taught to work on it, do not open it.",
        "Take the amp and this sheet to a licensed technician. Local codes come first.",
    ),
    (
        "Never work on a live chassis.",
        "Every step of this sheet is done with the amp switched off, the mains plug pulled and lying in sight, the valves cold, the capacitors discharged and measured.",
    ),
    (
        "Discharge, then measure.",
        "With insulated clip leads join a resistor of about 10 kΩ, 10 W, to the chassis first and then to the capacitor; wait ten seconds; do so at every capacitor of the table. Then measure each one: under 5 V. Try the meter on a battery before and after. Measure again after some minutes, since a charge creeps back.",
    ),
    (
        "One hand.",
        "Keep the other hand behind your back near anything that may be charged. No rings, no bare feet, no wet floor, and not alone.",
    ),
    (
        "Isolation.",
        "On the bench the amp runs from an isolating transformer if one is at hand, its chassis earthed. That keeps you from the mains; it does not make the high tension harmless.",
    ),
    (
        "First power-up through a current limiter.",
        "After every opening the amp is powered up through a lamp limiter or a variable transformer, loudspeaker connected, hands clear. A lamp that stays bright, smoke or a glowing anode: pull the plug.",
    ),
    ("Voltages.", VOLTAGES),
    (
        "Leave alone.",
        "Mains wiring, fuses and the protective earth are not for trying things out. Never run the amp without a loudspeaker.",
    ),
];

/// What is done each time before the chassis is touched.
pub const BEFORE_OPENING: [&str; 4] = [
    "Switch off. Pull the mains plug and lay it where you see it. Let the valves cool.",
    "Open the chassis. Touch nothing yet.",
    "Discharge every capacitor of the table below through the resistor.",
    "Measure every one of them: under 5 V. Only then begin.",
];

/// What is done each time before the chassis is closed, and afterwards.
pub const AFTER_CLOSING: [&str; 4] = [
    "Look at every joint. Look for splashes of solder, clipped leads, loose strands, a tool left behind.",
    "Measure from the ends of the new part to the chassis: no short where there was none.",
    "Close the chassis. Connect the loudspeaker. Power up through the current limiter, hands clear, volume down.",
    "Have the voltages that move compared with the table, as the cautions say. If one is far off, switch off, unplug, and put the old part back.",
];
