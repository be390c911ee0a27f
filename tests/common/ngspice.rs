//! Runs ngspice, Debian's circuit simulator, on a netlist and reads its results back.
//!
//! Takes a circuit and a drive, gives node voltages, gain and a waveform as ngspice finds them; and
//! tells how fast it is at its default tolerances.
#![allow(dead_code)]

use super::netlist::{Form, netlist, node};
use engine::circuit::{Circuit, NodeId};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::atomic::{AtomicUsize, Ordering};

/// Tolerances far below what is compared. `trtol` takes the choice of steps away from ngspice, so
/// that it keeps the largest step allowed. `pivrel` lets it pivot on the diagonal wherever that is
/// not zero, as suits nodal equations: it chooses pivots once, and those that were the largest at
/// its first, tiny step can serve the later ones so badly that a circuit at rest starts to move.
const TIGHT: &str = "\
.options reltol=1e-9 abstol=1e-12 vntol=1e-9 chgtol=1e-22 trtol=1e9 method=trap maxord=2
.options itl1=1000 itl2=1000 itl4=200 pivrel=1e-6
";

/// What to find out.
pub struct Request<'a> {
    /// Voltage at the jack: an expression of `time`, 0 at rest.
    pub input: &'a str,
    /// Length of the waveform, s.
    pub seconds: f64,
    /// Step, s.
    pub step: f64,
    /// Whether operating point and response are wanted too.
    pub at_rest: bool,
}

/// What ngspice found.
#[derive(Default)]
pub struct Found {
    /// Volts by node, ground first.
    pub point: Vec<f64>,
    /// Hertz and gain from jack to output (real, imaginary), 20 a decade from 20 Hz to 20 kHz.
    pub gain: Vec<(f64, [f64; 2])>,
    /// Seconds and volts of the output.
    pub waveform: Vec<(f64, f64)>,
}

/// Asks ngspice.
///
/// # Errors
/// A message that names the package if the program is not there, or carries what it printed.
pub fn ask(circuit: &Circuit, request: &Request) -> Result<Found, String> {
    let folder = Folder::new()?;
    let output = circuit.output();
    let outputs = [output.positive, output.negative];
    let heard: Vec<String> = outputs
        .iter()
        .filter(|id| id.0 != 0)
        .map(|id| format!("v({})", node(*id)))
        .collect();
    let heard = heard.join(" ");
    let mut deck = format!(
        "* presolder\n{}{TIGHT}.control\n",
        netlist(circuit, Form::Steps, request.input)
    );
    if request.at_rest {
        deck +=
            &format!("op\nwrite op.raw\nsave {heard}\nac dec 20 20 20k\nwrite ac.raw {heard}\n");
    }
    // A print step of many steps keeps the first steps from being much smaller than the others;
    // the last number is the largest step.
    deck += &format!(
        "save {heard}\ntran {:e} {:e} 0 {:e}\nwrite tran.raw {heard}\n.endc\n.end\n",
        100.0 * request.step,
        request.seconds,
        request.step
    );
    let said = run(PROGRAM, &folder, &deck)?;
    let read =
        |name: &str| Raw::read(&folder.path.join(name)).map_err(|e| format!("{name}: {e}\n{said}"));
    let mut found = Found::default();
    if request.at_rest {
        let (op, ac) = (read("op.raw")?, read("ac.raw")?);
        found.point = (0..circuit.nodes().len())
            .map(|i| op.volts(NodeId(i as u16), 0)[0])
            .collect();
        found.gain = (0..ac.points())
            .map(|i| (ac.first(i), ac.between(outputs, i)))
            .collect();
    }
    let tran = read("tran.raw")?;
    found.waveform = (0..tran.points())
        .map(|i| (tran.first(i), tran.between(outputs, i)[0]))
        .collect();
    tran.reaches(request.seconds)
        .map_err(|e| format!("{e}\n{said}"))?;
    Ok(found)
}

/// Seconds that ngspice needs for a second of a plucked chord through `circuit` at its default
/// tolerances, with steps of 1/48 kHz at most: the best of three runs, by its own clock, which
/// leaves out its start. With laws in one piece it takes minutes a second, so one short run serves.
///
/// # Errors
/// As [`ask`].
pub fn seconds_per_second(circuit: &Circuit, form: Form) -> Result<f64, String> {
    const CLOCK: &str = "Transient analysis time =";
    let (seconds, runs) = match form {
        Form::Steps => (0.2, 3),
        Form::OnePiece => (0.02, 1),
    };
    // Six strings plucked together, about 0.1 V at the jack: few terms, since ngspice evaluates
    // the source too.
    let strings = [82.41, 123.47, 164.81, 207.65, 246.94, 329.63];
    let tones: Vec<String> = strings
        .iter()
        .map(|hz| format!("sin({:e}*time)", std::f64::consts::TAU * hz))
        .collect();
    let input = format!("0.04*(1-exp(-500*time))*exp(-3*time)*({})", tones.join("+"));
    let deck = format!(
        "* presolder\n{}.control\nsave v({})\ntran {:e} {seconds:e}\nwrite tran.raw\nrusage all\n.endc\n.end\n",
        netlist(circuit, form, &input),
        node(circuit.output().positive),
        1.0 / 48e3
    );
    let folder = Folder::new()?;
    let mut best = f64::INFINITY;
    for _ in 0..runs {
        let said = run(PROGRAM, &folder, &deck)?;
        Raw::read(&folder.path.join("tran.raw"))
            .and_then(|raw| raw.reaches(seconds))
            .map_err(|e| format!("{e}\n{said}"))?;
        let spent: f64 = said
            .lines()
            .find_map(|line| line.strip_prefix(CLOCK)?.trim().parse().ok())
            .ok_or_else(|| format!("ngspice did not say how long it took:\n{said}"))?;
        best = best.min(spent);
    }
    Ok(best / seconds)
}

/// The program on the search path.
const PROGRAM: &str = "ngspice";

/// Runs a deck in `folder` and returns what was printed.
///
/// # Errors
/// A message that names the package if the program is not there.
pub fn run(program: &str, folder: &Folder, deck: &str) -> Result<String, String> {
    std::fs::write(folder.path.join("deck.cir"), deck)
        .map_err(|e| format!("the netlist cannot be written: {e}"))?;
    let output = Command::new(program)
        .args(["-b", "deck.cir"])
        .current_dir(&folder.path)
        .output()
        .map_err(|e| match e.kind() {
            std::io::ErrorKind::NotFound => format!(
                "{program} is not there; it comes with Debian's package ngspice: \
                 sudo apt-get install -y ngspice"
            ),
            _ => format!("{program} cannot be started: {e}"),
        })?;
    let [out, err] =
        [output.stdout, output.stderr].map(|b| String::from_utf8_lossy(&b).into_owned());
    Ok(out + &err)
}

/// A folder of its own that goes when it is dropped.
pub struct Folder {
    path: PathBuf,
}

impl Folder {
    /// Makes one among the temporary files.
    ///
    /// # Errors
    /// A message when that is not possible.
    pub fn new() -> Result<Self, String> {
        static COUNT: AtomicUsize = AtomicUsize::new(0);
        let count = COUNT.fetch_add(1, Ordering::Relaxed);
        let name = format!("presolder-ngspice-{}-{count}", std::process::id());
        let path = std::env::temp_dir().join(name);
        std::fs::create_dir(&path).map_err(|e| format!("{}: {e}", path.display()))?;
        Ok(Folder { path })
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // Left behind at worst among the temporary files.
        let _ = std::fs::remove_dir_all(&self.path);
    }
}

/// A binary result file: names of the columns, and the table row by row (real, imaginary).
struct Raw {
    names: Vec<String>,
    cells: Vec<[f64; 2]>,
}

impl Raw {
    fn read(path: &Path) -> Result<Self, String> {
        let bytes = std::fs::read(path).map_err(|e| e.to_string())?;
        let mark = b"Binary:\n";
        let at = bytes
            .windows(mark.len())
            .position(|w| w == mark)
            .ok_or("not a binary result file")?;
        let header = String::from_utf8_lossy(&bytes[..at]).into_owned();
        let complex = header
            .lines()
            .any(|l| l.starts_with("Flags:") && l.contains("complex"));
        let names = header
            .lines()
            .skip_while(|l| !l.starts_with("Variables:"))
            .skip(1)
            .filter_map(|l| l.split_whitespace().nth(1).map(str::to_lowercase))
            .collect();
        let numbers: Vec<f64> = bytes[at + mark.len()..]
            .chunks_exact(8)
            .map(|c| f64::from_le_bytes(c.try_into().expect("eight bytes")))
            .collect();
        let cells = if complex {
            numbers.chunks_exact(2).map(|c| [c[0], c[1]]).collect()
        } else {
            numbers.into_iter().map(|x| [x, 0.0]).collect()
        };
        Ok(Raw { names, cells })
    }

    fn points(&self) -> usize {
        self.cells.len() / self.names.len()
    }

    /// Whether a waveform is complete.
    fn reaches(&self, seconds: f64) -> Result<(), String> {
        let last = self.points().checked_sub(1).map_or(0.0, |i| self.first(i));
        if last >= 0.9999 * seconds {
            return Ok(());
        }
        Err(format!("ngspice gave up after {last} s of {seconds} s"))
    }

    /// Time or frequency.
    fn first(&self, point: usize) -> f64 {
        self.cells[point * self.names.len()][0]
    }

    fn volts(&self, id: NodeId, point: usize) -> [f64; 2] {
        if id.0 == 0 {
            return [0.0; 2];
        }
        let name = node(id);
        let wrapped = format!("v({name})");
        let column = self
            .names
            .iter()
            .position(|n| *n == name || *n == wrapped)
            .unwrap_or_else(|| panic!("ngspice says nothing of {name}: {:?}", self.names));
        self.cells[point * self.names.len() + column]
    }

    fn between(&self, [positive, negative]: [NodeId; 2], point: usize) -> [f64; 2] {
        let [p, n] = [positive, negative].map(|id| self.volts(id, point));
        [p[0] - n[0], p[1] - n[1]]
    }
}
