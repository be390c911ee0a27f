//! Pins of the usual valve bases, so that an electrode can be found under a socket.
//!
//! All base diagrams are from memory; they are counted clockwise from the gap (noval) or the key
//! (octal), looking at the socket from below, where one solders.

use crate::device::Electrode;

/// Pins of one electrode; of a double triode one in each half, since a circuit file does not say
/// which half of the bottle a stage uses.
type Pins = (Electrode, &'static str);

const BASES: [(&str, &[Pins]); 4] = [
    (
        "noval, ECC83",
        &[
            (Electrode::Anode, "1 or 6"),
            (Electrode::Grid, "2 or 7"),
            (Electrode::Cathode, "3 or 8"),
        ],
    ),
    (
        "noval, EL84",
        &[
            (Electrode::Anode, "7"),
            (Electrode::Screen, "9"),
            (Electrode::Grid, "2"),
            (Electrode::Cathode, "3"),
        ],
    ),
    (
        "octal, 6L6",
        &[
            (Electrode::Anode, "3"),
            (Electrode::Screen, "4"),
            (Electrode::Grid, "5"),
            (Electrode::Cathode, "8"),
        ],
    ),
    (
        "octal, EL34",
        &[
            (Electrode::Anode, "3"),
            (Electrode::Screen, "4"),
            (Electrode::Grid, "5"),
            (Electrode::Cathode, "8"),
        ],
    ),
];

/// Rectifiers: the pin of the cathode, or of the heater that is the cathode.
const RECTIFIERS: [(&str, &str); 5] = [
    ("5AR4", "8"),
    ("5U4GB", "8"),
    ("5Y3GT", "8"),
    ("EZ80", "3"),
    ("EZ81", "3"),
];

/// The pin of an electrode; none for a base that is not known here.
pub fn pin(socket: &str, electrode: Electrode) -> Option<&'static str> {
    let (_, pins) = BASES.iter().find(|(name, _)| *name == socket)?;
    pins.iter().find(|(e, _)| *e == electrode).map(|(_, p)| *p)
}

/// The pin of a rectifier's cathode; none for a type that is not known here.
pub fn rectifier_cathode(name: &str) -> Option<&'static str> {
    RECTIFIERS.iter().find(|(n, _)| *n == name).map(|(_, p)| *p)
}

/// Where the pin numbers come from, for the reader.
pub const NOTE: &str = "Pin numbers follow the usual base diagrams, counted clockwise from the gap or key with the socket seen from below. Check them against the valve's own data. A double triode has two halves; the file does not say which half a stage uses: pins 1, 2, 3 are one half, pins 6, 7, 8 the other.";
