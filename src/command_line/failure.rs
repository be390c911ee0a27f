//! How the program ends when it cannot do what was asked: a message and an exit code.

use super::file::FileFault;
use super::wav::WavFault;
use std::fmt;
use std::path::PathBuf;
use std::process::ExitCode;

/// Why the program gives up.
#[derive(Debug)]
pub enum Failure {
    /// Faults in a circuit, a proposal or a value, a line each.
    Input(Vec<String>),
    /// The command line asks for something that the circuit does not have or that does not go
    /// together.
    Usage(String),
    /// No operating point, or another equation without a solution.
    NoSolution(String),
    /// A file.
    File(FileFault),
    /// A WAV file and what is wrong with it.
    Wav(PathBuf, WavFault),
}

impl Failure {
    /// The exit code as a number; `presolder --help` lists them.
    pub fn number(&self) -> u8 {
        match self {
            Failure::Input(_) => 1,
            Failure::Usage(_) => 2,
            Failure::NoSolution(_) => 3,
            Failure::File(_) | Failure::Wav(..) => 4,
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
            Failure::Input(faults) => write!(f, "{}", faults.join("\n")),
            Failure::Usage(what) | Failure::NoSolution(what) => write!(f, "{what}"),
            Failure::File(fault) => write!(f, "{fault}"),
            // A fault of the file itself names the path already.
            Failure::Wav(_, WavFault::File(fault)) => write!(f, "{fault}"),
            Failure::Wav(path, fault) => write!(f, "{}: {fault}", path.display()),
        }
    }
}

impl std::error::Error for Failure {}

impl From<FileFault> for Failure {
    fn from(fault: FileFault) -> Self {
        Failure::File(fault)
    }
}
