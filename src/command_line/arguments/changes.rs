//! What may be changed before looking, the same for every word.

use super::values::name_and_value;
use clap::Args;

/// What may be changed.
#[derive(Args, Clone, Debug, Default)]
pub struct Changes {
    /// Put in first what the amp has now, where it differs from its file: a list like a proposal
    #[arg(long, value_name = "FILE")]
    pub as_found: Option<String>,
    /// Propose another part: a value, a valve type, or "out" for not fitted; repeatable
    #[arg(long = "set", value_name = "PART=VALUE", value_parser = name_and_value)]
    pub set: Vec<String>,
    /// Turn a control: 0 to 1, or on and off for a switch; repeatable
    #[arg(long = "control", value_name = "NAME=POSITION", value_parser = name_and_value)]
    pub control: Vec<String>,
    /// Propose what this file lists; --set and --control come after it
    #[arg(long, value_name = "PROPOSAL")]
    pub proposal: Option<String>,
}

impl Changes {
    /// Whether anything is to be soldered or turned.
    pub fn any(&self) -> bool {
        !self.set.is_empty() || !self.control.is_empty() || self.proposal.is_some()
    }
}
