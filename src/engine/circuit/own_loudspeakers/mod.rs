//! The loudspeakers that a circuit file brings itself, and the one answer to which loudspeakers a
//! circuit can have.
//!
//! They stand in tables `[[loudspeaker]]`, which have the keys of a file in `presets/loudspeakers`.

mod own;
mod read;

use super::Circuit;
use crate::device::{Catalogue, Loudspeaker};
pub use own::OwnLoudspeaker;
use std::sync::Arc;

/// Most loudspeakers that one file may bring (own choice: each is worked out in full wherever a
/// loudspeaker can be chosen).
pub const MOST_OWN_LOUDSPEAKERS: usize = 16;
/// The loudspeakers that a circuit can have: those of the catalogue, then those of its own file.
#[derive(Clone, Copy, Debug)]
pub struct KnownLoudspeakers<'a> {
    catalogue: &'a Catalogue,
    own: &'a [OwnLoudspeaker],
}

impl<'a> KnownLoudspeakers<'a> {
    pub(crate) fn new(catalogue: &'a Catalogue, own: &'a [OwnLoudspeaker]) -> Self {
        KnownLoudspeakers { catalogue, own }
    }

    /// All of them, always in the same order.
    pub fn all(self) -> impl Iterator<Item = &'a Arc<Loudspeaker>> + Clone {
        let own = self.own.iter().map(|own| &own.driver);
        self.catalogue.loudspeakers.iter().chain(own)
    }

    /// Their names.
    pub fn names(self) -> impl Iterator<Item = &'a str> + Clone {
        self.all().map(|driver| driver.name.as_str())
    }

    /// One by its name, in any case.
    pub fn find(self, name: &str) -> Option<&'a Arc<Loudspeaker>> {
        self.all().find(|l| l.name.eq_ignore_ascii_case(name))
    }
}

impl Circuit {
    /// The loudspeakers that the file brings itself, in its order.
    pub fn own_loudspeakers(&self) -> impl Iterator<Item = &Arc<Loudspeaker>> {
        self.own_loudspeakers.iter().map(|own| &own.driver)
    }

    /// The loudspeakers that this circuit can have. Whoever offers or looks up a loudspeaker asks
    /// here.
    pub fn known_loudspeakers<'a>(&'a self, catalogue: &'a Catalogue) -> KnownLoudspeakers<'a> {
        KnownLoudspeakers::new(catalogue, &self.own_loudspeakers)
    }
}
