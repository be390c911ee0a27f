//! What drives the jack, the same for every word that plays.

use clap::Args;

/// What drives the jack.
#[derive(Args, Clone, Debug, Default)]
pub struct GuitarWord {
    /// What drives the jack: a guitar whose pickup, pots and lead work with the amp's input, of the
    /// program's own or of a file (presets/README.md has its form); none is a pedal with a buffer [none]
    #[arg(long = "guitar", value_name = "none|single-coil|humbucker|FILE.toml")]
    pub asked: Option<String>,
}
