//! How the program ends when it cannot do what was asked: a message and an exit code.

use super::report::to_json;
use crate::circuit::Diagnostic;
use crate::files::FileFault;
use crate::requests::opening::NoDisplay;
use crate::solve::solved::NoOperatingPoint;
use crate::solve::stability::Unfit;
use crate::sound::file::SoundFileFault;
use serde::Serialize;
use std::fmt;
use std::process::ExitCode;

/// Why the program gives up.
#[derive(Debug)]
pub enum Failure {
    /// Faults in a circuit or a proposal, or in changes from the command line.
    Faults(Faults),
    /// Faults in another input file, a line each.
    Input(Vec<String>),
    /// The command line asks for something that the circuit does not have or that does not go
    /// together.
    Usage(String),
    /// No operating point, or another equation without a solution.
    NoSolution(String),
    /// An amp that does not stay at rest.
    Unfit(Box<Unfit>),
    /// Something is wrong with the amp, and the report that was shown says what.
    Shown,
    /// A file.
    File(FileFault),
    /// There is no display to open a window on.
    NoDisplay(NoDisplay),
    /// A WAV file and what is wrong with it.
    Sound(SoundFileFault),
    /// Several of these at once, two at least.
    Several(Vec<Failure>),
}

/// The faults of one source.
#[derive(Debug, Serialize)]
pub struct Faults {
    /// Path, built-in name, or "command line".
    pub source: String,
    /// All of them.
    pub faults: Vec<Diagnostic>,
}

/// An amp of which nothing can be judged, under the key that `check` has for it.
#[derive(Serialize)]
struct NotFit<'a> {
    unfit: &'a Unfit,
}

impl Failure {
    /// Faults of a circuit, a proposal or changes.
    pub fn faults(source: &str, faults: Vec<Diagnostic>) -> Self {
        Failure::Faults(Faults {
            source: source.into(),
            faults,
        })
    }

    /// Several failures as one; at least one there must be.
    pub fn of_all(mut failures: Vec<Failure>) -> Failure {
        match failures.len() {
            1 => failures.remove(0),
            _ => Failure::Several(failures),
        }
    }

    /// The exit code as a number; `presolder --help` lists them.
    pub fn number(&self) -> u8 {
        match self {
            Failure::Faults(_) | Failure::Input(_) => 1,
            Failure::Usage(_) => 2,
            Failure::NoSolution(_) | Failure::Unfit(_) | Failure::Shown => 3,
            Failure::File(_) | Failure::Sound(_) => 4,
            Failure::NoDisplay(_) => NoDisplay::EXIT_CODE,
            // Of several the first one counts.
            Failure::Several(all) => all.first().map_or(1, Failure::number),
        }
    }

    /// What is wrong as JSON, where there is more of it than a sentence.
    pub fn typed(&self) -> Option<String> {
        match self {
            Failure::Faults(faults) => Some(to_json(faults)),
            Failure::Unfit(unfit) => Some(to_json(&NotFit { unfit })),
            _ => None,
        }
    }

    /// The exit code.
    pub fn code(&self) -> ExitCode {
        ExitCode::from(self.number())
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Failure::Faults(Faults { source, faults }) => {
                write!(f, "{source}:")?;
                faults.iter().try_for_each(|fault| write!(f, "\n  {fault}"))
            }
            Failure::Input(faults) => write!(f, "{}", faults.join("\n")),
            Failure::Usage(what) | Failure::NoSolution(what) => write!(f, "{what}"),
            Failure::Unfit(fault) => write!(f, "{fault}"),
            Failure::Shown => f.write_str("Something is wrong with this amp: see the report."),
            Failure::NoDisplay(fault) => write!(f, "{fault}"),
            Failure::File(fault) => write!(f, "{fault}"),
            Failure::Several(all) => {
                let all: Vec<String> = all.iter().map(ToString::to_string).collect();
                write!(f, "{}", all.join("\n"))
            }
            Failure::Sound(fault) => write!(f, "{fault}"),
        }
    }
}

impl std::error::Error for Failure {}

impl From<NoOperatingPoint> for Failure {
    fn from(fault: NoOperatingPoint) -> Self {
        Failure::NoSolution(fault.to_string())
    }
}

impl From<Box<Unfit>> for Failure {
    fn from(fault: Box<Unfit>) -> Self {
        Failure::Unfit(fault)
    }
}

impl From<FileFault> for Failure {
    fn from(fault: FileFault) -> Self {
        Failure::File(fault)
    }
}

impl From<SoundFileFault> for Failure {
    fn from(fault: SoundFileFault) -> Self {
        Failure::Sound(fault)
    }
}

impl From<NoDisplay> for Failure {
    fn from(fault: NoDisplay) -> Self {
        Failure::NoDisplay(fault)
    }
}
