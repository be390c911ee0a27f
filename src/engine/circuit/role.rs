//! What a part or a control is for.
//!
//! The file's own words (`role`, `control`) stay for display. Whatever decides by what a part is for
//! asks here; for now the words are read, in this one place.

use super::{Circuit, PartId};

/// What a part is for, as far as anything decides by it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    /// In series with a grid or a screen, against oscillation.
    Stopper,
    /// Passes the signal from one stage to the next and holds direct voltage back.
    Coupling,
    /// Anything else, or not stated.
    Other,
}

/// Words of the roles, wherever they stand in a file's text: "grid stopper", "coupling to V2a".
const WORDS: [(&str, Role); 2] = [("stopper", Role::Stopper), ("coupling", Role::Coupling)];

/// The role that a file's words tell. "Decoupling" is none of coupling.
fn role_of_words(text: &str) -> Role {
    let text = text.to_lowercase();
    let mut words = text.split(|c: char| !c.is_alphanumeric());
    let known = |word: &str| WORDS.iter().find(|(known, _)| *known == word);
    words.find_map(known).map_or(Role::Other, |(_, role)| *role)
}

/// Whether a control of this name is the volume control.
pub fn is_volume(control: &str) -> bool {
    control.to_lowercase() == "volume"
}

impl Circuit {
    /// What a part is for.
    pub fn role(&self, id: PartId) -> Role {
        role_of_words(&self.part(id).particulars.role)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn words_of_a_file_tell_roles() {
        for (text, role) in [
            ("grid stopper", Role::Stopper),
            ("Screen Stopper, own side", Role::Stopper),
            ("coupling", Role::Coupling),
            ("anode load", Role::Other),
            ("gain stage decoupling", Role::Other),
            ("", Role::Other),
        ] {
            assert_eq!(role_of_words(text), role, "{text}");
        }
    }
}
