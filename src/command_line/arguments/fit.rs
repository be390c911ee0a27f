//! The arguments of `match`.

use super::changes::Changes;
use super::guitar::GuitarWord;
use super::values::dbu;
use crate::command_line::cabinet::{self, Choice};
use crate::requests::played::INPUT_FULL_SCALE_DBU;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Examples and advice.
pub const EXAMPLES: &str = "\
Examples:
  presolder match my-amp.toml --recording amp.wav --dry guitar.wav --taken line --vary C7,C9,R14
  presolder match my-amp.toml --recording amp.wav --dry guitar.wav --vary C7,Tone --series E24
  presolder match my-amp.toml --recording amp.wav --vary C7,R14 --drawer drawer.toml
  presolder match bradawl --recording amp.wav --dry guitar.wav --vary C101,C103 --out matched.toml

Finds values of the parts named with which the amp sounds as the recording does, says of each how
far the recording tells it, and rounds them to parts that exist.

What helps most, in this order: a recording of the voltage at the loudspeaker (a line output, or a
dummy load that is like a loudspeaker) with --taken line; the dry guitar track that was played into
the amp; playing quietly, over the whole neck, for half a minute. A microphone before a loudspeaker
hides much of what parts do, and the answer says so.";

/// How the recording was taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TakenWord {
    /// The voltage at the loudspeaker: a line output or a dummy load.
    Line,
    /// A microphone before a loudspeaker.
    Microphone,
}

/// How well the parts that are not varied are known.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum OthersWord {
    /// They lie within their tolerances, and valves spread.
    Tolerance,
    /// They are as the circuit says.
    Exact,
}

/// Series that parts come in.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SeriesWord {
    /// 6 values a decade.
    #[value(name = "E6", alias = "e6")]
    E6,
    /// 12 values a decade.
    #[value(name = "E12", alias = "e12")]
    E12,
    /// 24 values a decade.
    #[value(name = "E24", alias = "e24")]
    E24,
}

/// Arguments of `match`.
#[derive(Args, Debug)]
pub struct MatchWord {
    /// Circuit-values file, or the name of a built-in amp
    pub circuit: String,
    /// Recording of the real amp: 8 to 192 kHz, mono or stereo
    #[arg(long, value_name = "FILE")]
    pub recording: PathBuf,
    /// The dry guitar that was played into the amp meanwhile; without it a weaker method is used
    #[arg(long, value_name = "FILE")]
    pub dry: Option<PathBuf>,
    /// Parts that may have other values, and controls that may stand otherwise, with commas between
    #[arg(long, value_name = "PARTS", value_delimiter = ',', required = true)]
    pub vary: Vec<String>,
    /// How it was recorded
    #[arg(long, value_enum, default_value_t = TakenWord::Microphone)]
    pub taken: TakenWord,
    /// What the microphone heard: "loudspeaker" for the one in the circuit, or a WAV file with an
    /// impulse response; not known if not given
    #[arg(long, value_name = "WHAT", value_parser = cabinet::choice)]
    pub cabinet: Option<Choice>,
    /// Series of preferred values to round to
    #[arg(long, value_enum, default_value_t = SeriesWord::E12)]
    pub series: SeriesWord,
    /// Round to the parts in this file instead; presets/README.md has its form
    #[arg(long, value_name = "FILE", conflicts_with = "series")]
    pub drawer: Option<PathBuf>,
    /// How well the parts that are not varied are known: within their tolerances, or exactly, as
    /// after they were measured
    #[arg(long, value_enum, default_value_t = OthersWord::Tolerance)]
    pub others: OthersWord,
    /// Suggest a volume setting and an input level too, at which the amp is driven as hard as the
    /// recorded one; takes a few seconds
    #[arg(long, requires = "dry")]
    pub drive_hint: bool,
    /// Write what was found as a proposal
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Level of a full-scale sine in the dry track at the jack, dBu; 0 dBu is 0.775 V r.m.s.
    #[arg(long, value_name = "DBU", default_value_t = INPUT_FULL_SCALE_DBU, value_parser = dbu, allow_negative_numbers = true)]
    pub full_scale_dbu: f64,
    /// What drives the jack.
    #[command(flatten)]
    pub guitar: GuitarWord,
    /// What is put in first.
    #[command(flatten)]
    pub changes: Changes,
    /// Print JSON instead of text
    #[arg(long)]
    pub json: bool,
}
