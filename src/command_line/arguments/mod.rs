//! The words that the program understands, read by the crate `clap`. Nothing is opened or checked
//! against a circuit here.

mod changes;
pub mod fit;
mod guitar;
mod values;

pub use changes::Changes;
pub use guitar::GuitarWord;

use super::cabinet::{self, Choice};
use crate::requests::played::{INPUT_FULL_SCALE_DBU, OUTPUT_FULL_SCALE_DBU};
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;
use values::{boost, dbu, idle_percent};

const ABOUT: &str = "Hear a part before you solder it.

Reads the circuit of a valve guitar amplifier from a circuit-values file, solves the whole amp and
shows it as found and as proposed: its voltages, its frequency response, its sound.";

const AFTER: &str = "\
A CIRCUIT is the path of a circuit-values file, or the name of an amp that comes with the program;
`presolder check` alone lists those. A PROPOSAL is likewise a path or a name.

Exit codes:
    0  done
    1  a fault in the circuit, the proposal or a value
    2  the command line is not understood
    3  the circuit has no solution, oscillates at rest, or passes no signal
    4  a file cannot be read or written, or is no usable WAV file
    5  there is no display to open a window on
  130  stopped by Ctrl-C; no half-written file is left

Lethal voltages stay in a valve amp after unplugging. Presolder is for deciding what to solder
before the amp is opened; never work on a live chassis.";

/// The whole command line.
#[derive(Debug, Parser)]
#[command(name = "presolder", version, about = "Hear a part before you solder it", long_about = ABOUT, after_help = AFTER)]
pub struct Arguments {
    /// What to do.
    #[command(subcommand)]
    pub word: Word,
}

/// What the program can do.
#[derive(Debug, Subcommand)]
pub enum Word {
    /// Check a circuit-values file and list its parts by stage
    #[command(after_help = CHECK_EXAMPLES)]
    Check(Check),
    /// Voltage chart: every node, and each valve's volts, currents and dissipation
    #[command(after_help = VOLTAGES_EXAMPLES)]
    Voltages(Voltages),
    /// Frequency response as a table, a picture or JSON
    #[command(after_help = CURVE_EXAMPLES)]
    Curve(Curve),
    /// The schematic, drawn from the parts list, as an SVG picture
    #[command(after_help = DRAW_EXAMPLES)]
    Draw(Draw),
    /// Play a WAV file through the amp into another WAV file
    #[command(after_help = RENDER_EXAMPLES)]
    Render(Render),
    /// The whole verdict, as found against proposed, with two loudness-matched WAV files
    #[command(after_help = COMPARE_EXAMPLES)]
    Compare(Compare),
    /// The job sheet to print: cautions, what to buy, order of work, expected voltages
    #[command(after_help = SHEET_EXAMPLES)]
    Sheet(Sheet),
    /// Find part values with which the amp sounds as a recording of a real one
    #[command(after_help = fit::EXAMPLES)]
    Match(fit::MatchWord),
    /// Play the amp in a window: live input or a recording, every part under your hand
    #[command(after_help = PLAY_EXAMPLES)]
    Play(Play),
}

impl Word {
    /// Whether the answer shall be JSON.
    pub fn json(&self) -> bool {
        match self {
            Word::Check(check) => check.json,
            Word::Voltages(voltages) => voltages.json,
            Word::Curve(curve) => curve.json,
            Word::Render(render) => render.json,
            Word::Compare(compare) => compare.json,
            Word::Sheet(sheet) => sheet.json,
            Word::Match(arguments) => arguments.json,
            Word::Draw(_) | Word::Play(_) => false,
        }
    }
}

const PLAY_EXAMPLES: &str = "\
Examples:
  presolder play                         the Bradawl 15 with a cooler bias proposed
  presolder play my-amp.toml --proposal cooler.toml
  presolder play my-amp.toml --wav guitar.wav
  presolder play --input \"hw:CARD=Interface\" --rate 48000 --block 128

Turn your loudspeakers down first: a guitar amp at full output is loud, and a live input that hears
its own output howls.";

/// Arguments of `play`.
#[derive(Args, Clone, Debug)]
pub struct Play {
    /// Circuit-values file, or the name of a built-in amp; the Bradawl 15 with its first proposal if not given
    pub circuit: Option<String>,
    /// What drives the jack.
    #[command(flatten)]
    pub guitar: GuitarWord,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Loop this recording instead of the built-in phrase
    #[arg(long, value_name = "FILE")]
    pub wav: Option<PathBuf>,
    /// Hear it through: raw (the voltage), loudspeaker (what it radiates), or an impulse response [loudspeaker]
    #[arg(long, value_name = "raw|loudspeaker|FILE.wav", value_parser = cabinet::choice)]
    pub cabinet: Option<Choice>,
    /// Input to play live through: an ALSA device, or with JACK its ports, separated by commas
    #[arg(long, value_name = "DEVICE")]
    pub input: Option<String>,
    /// ALSA output device; the system's own if not given
    #[arg(long, value_name = "DEVICE")]
    pub output: Option<String>,
    /// Sample rate, Hz; JACK has its own
    #[arg(long, value_name = "HZ", default_value_t = 48_000, value_parser = clap::value_parser!(u32).range(22_050..=192_000))]
    pub rate: u32,
    /// Frames a block; JACK has its own
    #[arg(long, value_name = "FRAMES", default_value_t = 256, value_parser = clap::value_parser!(u32).range(16..=8192))]
    pub block: u32,
    /// Open without sound
    #[arg(long)]
    pub silent: bool,
}

const CHECK_EXAMPLES: &str = "\
Examples:
  presolder check                        list the amps that come with the program
  presolder check my-amp.toml
  presolder check my-amp.toml --set R14=33k --set V1=ECC81
  presolder check my-amp.toml --json
  presolder check my-amp.toml --load
  presolder check my-amp.toml --measured readings.toml
  presolder check my-amp.toml --proposal cooler.toml --as-left --measured readings.toml
  presolder check my-amp.toml --measured readings.toml --write-as-found now.toml

Readings are what you or a technician have; never measure or work inside an amp that is switched on
unless you are trained to. presets/README.md has the form of the file.";

/// Arguments of `check`.
#[derive(Args, Debug)]
pub struct Check {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: Option<String>,
    /// Compare with the readings in this file, and name what may be wrong
    #[arg(long, value_name = "FILE", requires = "circuit")]
    pub measured: Option<PathBuf>,
    /// Show what each way of connecting loudspeakers does to the amp, mismatched ones too
    #[arg(long, requires = "circuit", conflicts_with = "measured")]
    pub load: bool,
    /// The readings were taken after the proposal was soldered in
    #[arg(long, requires = "measured")]
    pub as_left: bool,
    /// Write what the readings say the amp has now, for --as-found
    #[arg(long, value_name = "FILE", requires = "measured")]
    pub write_as_found: Option<PathBuf>,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const VOLTAGES_EXAMPLES: &str = "\
Examples:
  presolder voltages my-amp.toml
  presolder voltages my-amp.toml --set R14=33k
  presolder voltages my-amp.toml --proposal cooler.toml --json";

/// Arguments of `voltages`.
#[derive(Args, Debug)]
pub struct Voltages {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const CURVE_EXAMPLES: &str = "\
Examples:
  presolder curve my-amp.toml --control Volume=0.6
  presolder curve my-amp.toml --set C3=22n --svg curve.svg
  presolder curve my-amp.toml --from g2 --to a2 --json
  presolder curve my-amp.toml --against measured.csv
  presolder curve my-amp.toml --cabinet loudspeaker --set LS1=\"Harbour Ten\"";

/// Arguments of `curve`.
#[derive(Args, Debug)]
pub struct Curve {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// Node that is driven; the input if not given
    #[arg(long, value_name = "NODE")]
    pub from: Option<String>,
    /// Node that is measured; what is heard if not given
    #[arg(long, value_name = "NODE")]
    pub to: Option<String>,
    /// Compare with this too: a CSV file of hertz and decibels, or a circuit or proposal (.toml)
    #[arg(long, value_name = "FILE")]
    pub against: Option<PathBuf>,
    /// Show what is heard through it: raw (the voltage), loudspeaker (what it radiates), or an impulse response [raw]
    #[arg(long, value_name = "raw|loudspeaker|FILE.wav", value_parser = cabinet::choice)]
    pub cabinet: Option<Choice>,
    /// Draw the curve into this file
    #[arg(long, value_name = "FILE")]
    pub svg: Option<PathBuf>,
    /// What drives the jack.
    #[command(flatten)]
    pub guitar: GuitarWord,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const DRAW_EXAMPLES: &str = "\
Examples:
  presolder draw my-amp.toml --out my-amp.svg
  presolder draw my-amp.toml --proposal cooler.toml --volts --out cooler.svg
  presolder draw my-amp.toml --fold --out to-print.svg
  presolder draw my-amp.toml --zig-zag > my-amp.svg

What a proposal changes is drawn in colour with its old and its new value; parts that are not fitted
are dashed. The volts are those of the amp at rest.";

/// Arguments of `draw`.
#[derive(Args, Debug)]
pub struct Draw {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// Write d.c. volts beside the wires
    #[arg(long)]
    pub volts: bool,
    /// Fold it to A4, lying: cut wires end at names
    #[arg(long)]
    pub fold: bool,
    /// Draw resistors as zig-zags, not as boxes
    #[arg(long)]
    pub zig_zag: bool,
    /// Light lines on a dark ground
    #[arg(long)]
    pub dark: bool,
    /// The file to write; standard output if not given
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
}

const RENDER_EXAMPLES: &str = "\
Examples:
  presolder render my-amp.toml guitar.wav amp.wav
  presolder render my-amp.toml guitar.wav amp.wav --proposal cooler.toml --control Volume=0.8
  presolder render my-amp.toml guitar.wav anode.wav --probe a1
  presolder render my-amp.toml guitar.wav line.wav --cabinet raw
  presolder render my-amp.toml guitar.wav amp.wav --cabinet my-cabinet.wav

Level: a WAV file does not say how many volts it stands for. Look up the instrument input's
\"maximum level\" in your interface's manual, take off the gain that was set while recording, and
give the result with --full-scale-dbu.";

/// How the numbers of a WAV file stand for volts.
#[derive(Args, Clone, Copy, Debug)]
pub struct Levels {
    /// Input level of a full-scale sine, dBu; 0 dBu is 0.775 V r.m.s., 1.10 V peak
    #[arg(long, value_name = "DBU", default_value_t = INPUT_FULL_SCALE_DBU, value_parser = dbu, allow_negative_numbers = true)]
    pub full_scale_dbu: f64,
    /// Output level of a full-scale sine, dBu; 30 dBu is 24.5 V r.m.s., 34.6 V peak
    #[arg(long, value_name = "DBU", default_value_t = OUTPUT_FULL_SCALE_DBU, value_parser = dbu, allow_negative_numbers = true)]
    pub output_full_scale_dbu: f64,
}

/// Arguments of `render`.
#[derive(Args, Debug)]
pub struct Render {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// Dry guitar: 8 to 192 kHz, mono or stereo, 16, 24 or 32 bits or float
    #[arg(value_name = "IN.wav")]
    pub input: PathBuf,
    /// Where the sound goes, stored like the input
    #[arg(value_name = "OUT.wav")]
    pub output: PathBuf,
    /// Listen at this node instead of the loudspeaker
    #[arg(long, value_name = "NODE")]
    pub probe: Option<String>,
    /// Hear it through: raw (the voltage), loudspeaker (what it radiates), or an impulse response [loudspeaker; raw at a node]
    #[arg(long, value_name = "raw|loudspeaker|FILE.wav", value_parser = cabinet::choice)]
    pub cabinet: Option<Choice>,
    /// Full scale.
    #[command(flatten)]
    pub levels: Levels,
    /// What drives the jack.
    #[command(flatten)]
    pub guitar: GuitarWord,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

const SHEET_EXAMPLES: &str = "\
Examples:
  presolder sheet my-amp.toml --proposal cooler.toml
  presolder sheet my-amp.toml --set R14=33k --out cooler.html --prices my-prices.toml
  presolder sheet my-amp.toml --proposal cooler.toml --json

The sheet is one HTML file with everything in it. Open it in a browser and print it, on A4 or
Letter. With --json the report goes to standard output, and a file is written only with --out.";

/// Arguments of `sheet`.
#[derive(Args, Debug)]
pub struct Sheet {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// Where the sheet goes; sheet.html if not given
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// What parts cost and work takes: a file of yours instead of the invented one
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// What drives the jack.
    #[command(flatten)]
    pub guitar: GuitarWord,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Print the report as JSON
    #[arg(long)]
    pub json: bool,
}

const COMPARE_EXAMPLES: &str = "\
Examples:
  presolder compare my-amp.toml --proposal cooler.toml
  presolder compare my-amp.toml --set R14=33k guitar.wav --into verdict
  presolder compare my-amp.toml --set C3=22n --json
  presolder compare my-amp.toml --proposal cooler.toml --spread
  presolder compare my-amp.toml --set R101=220k --guitar humbucker
  presolder compare my-amp.toml --proposal cooler.toml --boost 12

Without IN.wav the built-in guitar phrase is played, which is invented, and left in guitar.wav.
Writes as-found.wav, proposed.wav, curve.svg, voltages.txt and ratings.txt.";

/// Arguments of `compare`.
#[derive(Args, Debug)]
pub struct Compare {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// Dry guitar to play; the built-in phrase if not given
    #[arg(value_name = "IN.wav")]
    pub input: Option<PathBuf>,
    /// Hear the two files through: raw (the voltage), loudspeaker (what it radiates), or an impulse response [loudspeaker]
    #[arg(long, value_name = "raw|loudspeaker|FILE.wav", value_parser = cabinet::choice)]
    pub cabinet: Option<Choice>,
    /// Folder for the files; made if it is not there
    #[arg(long, value_name = "FOLDER", default_value = ".")]
    pub into: PathBuf,
    /// What parts cost and work takes: a file of yours instead of the invented one
    #[arg(long, value_name = "FILE")]
    pub prices: Option<PathBuf>,
    /// Idle of the output valves that you want, in per cent of their limit [common practice]
    #[arg(long, value_name = "PERCENT", value_parser = idle_percent)]
    pub idle: Option<f64>,
    /// Say whether the amp stays clean with a pedal in front that lifts the level by so much
    #[arg(long, value_name = "DB", value_parser = boost)]
    pub boost: Option<f64>,
    /// Draw so many amps within tolerances and valve spread, and say what stands out of it [1000]
    #[arg(long, value_name = "AMPS", num_args = 0..=1, require_equals = true, default_missing_value = "1000", value_parser = clap::value_parser!(u32).range(8..=100_000))]
    pub spread: Option<u32>,
    /// Seed of the draw
    #[arg(long, value_name = "N", default_value_t = 1, requires = "spread")]
    pub seed: u64,
    /// Full scale.
    #[command(flatten)]
    pub levels: Levels,
    /// What drives the jack.
    #[command(flatten)]
    pub guitar: GuitarWord,
    /// What is proposed.
    #[command(flatten)]
    pub changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}

#[cfg(test)]
mod tests;
