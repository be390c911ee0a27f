//! Arguments of `draw`.

use super::Changes;
use clap::Args;
use std::path::PathBuf;

/// Examples of use.
pub const EXAMPLES: &str = "\
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
