//! The entry points that hosts look for.

use super::class::{Bradawl, Mizzle, OwnFile, Sluice, Spokeshave};
use super::shell::Presolder;
use nice_plug::prelude::*;

nice_export_clap!(
    Presolder<Bradawl>,
    Presolder<Mizzle>,
    Presolder<Spokeshave>,
    Presolder<Sluice>,
    Presolder<OwnFile>
);
nice_export_vst3!(
    Presolder<Bradawl>,
    Presolder<Mizzle>,
    Presolder<Spokeshave>,
    Presolder<Sluice>,
    Presolder<OwnFile>
);
