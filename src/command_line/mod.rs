//! The program's words on the command line: reads the arguments, lets the analyses work, and shows
//! their reports as text, JSON, SVG and WAV.

pub mod arguments;
pub mod built_in;
pub mod cabinet;
pub mod changes_text;
pub mod check;
pub mod compare;
pub mod curve;
pub mod draw;
pub mod failure;
pub mod fit;
pub mod fit_text;
mod guitar;
pub mod load;
pub mod loudspeakers;
pub mod output;
pub mod play;
pub mod progress;
pub mod proposals;
pub mod readings;
pub mod reference_curve;
pub mod render;
pub mod report;
pub mod sheet;
pub mod spread_text;
pub mod verdict_text;
pub mod voltages;

use crate::requests::opening::Window;
use arguments::{Arguments, Word};
use clap::Parser;
use failure::Failure;
use std::ffi::OsString;
use std::process::ExitCode;

/// Runs the program with its arguments and gives its exit code. `window` opens the amp in a window
/// and returns when it is closed.
pub fn run(arguments: Vec<OsString>, window: Window) -> ExitCode {
    let arguments = match Arguments::try_parse_from(arguments) {
        Ok(arguments) => arguments,
        Err(fault) => {
            // Help and version count as done; clap prints them to standard output.
            let _ = fault.print();
            return ExitCode::from(if fault.use_stderr() { 2 } else { 0 });
        }
    };
    // The framework of the window asks for the interrupt too, is refused, and says so; its own way
    // would leave the window open.
    crate::files::end_cleanly_on_interrupt();
    match work(&arguments.word, window) {
        Ok(()) => ExitCode::SUCCESS,
        Err(failure) => {
            if arguments.word.json()
                && let Some(typed) = failure.typed()
            {
                let _ = output::print(&typed);
            }
            output::tell(&failure);
            failure.code()
        }
    }
}

/// Does what a word asks for.
fn work(word: &Word, window: Window) -> Result<(), Failure> {
    match word {
        Word::Check(check) => check::run(check),
        Word::Voltages(voltages) => voltages::run(voltages),
        Word::Curve(curve) => curve::run(curve),
        Word::Draw(draw) => draw::run(draw),
        Word::Render(render) => render::run(render),
        Word::Compare(compare) => compare::run(compare),
        Word::Sheet(sheet) => sheet::run(sheet),
        Word::Match(arguments) => fit::run(arguments),
        Word::Play(play) => play::run(play, window),
    }
}
