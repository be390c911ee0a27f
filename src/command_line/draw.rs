//! `presolder draw`: the amp's schematic as an SVG picture.

use super::arguments::Draw as Arguments;
use super::failure::Failure;
use super::load::load;
use super::output::show_text;
use crate::drawing::fold::LANDSCAPE;
use crate::drawing::strokes::ResistorStyle;
use crate::files::write_text;
use crate::requests::drawing::{Drawing, Look};

/// Draws a circuit, and what is proposed in it.
///
/// # Errors
/// The faults found; no operating point, where volts are asked for; a file that cannot be written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let loaded = load(&arguments.circuit, &arguments.changes)?;
    let drawing = Drawing::new(&loaded.as_found, loaded.proposed.as_ref(), arguments.volts)?;
    let drawing = if arguments.fold {
        drawing.folded(LANDSCAPE)
    } else {
        drawing
    };
    let look = Look {
        resistors: if arguments.zig_zag {
            ResistorStyle::ZigZag
        } else {
            ResistorStyle::Box
        },
        dark: arguments.dark,
    };
    let picture = drawing.svg(look);
    match &arguments.out {
        Some(file) => Ok(write_text(file, &picture)?),
        None => show_text(&picture),
    }
}
