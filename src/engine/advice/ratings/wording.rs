//! The same words about one part and about several.

use serde::{Serialize, Serializer};
use std::fmt;
use std::ops::Deref;

/// Words for one part, and for several of which the same is said. As a text they are those for one.
#[derive(Clone, Debug, PartialEq)]
pub struct Wording {
    /// "the voltage across it".
    pub one: String,
    /// "the voltage across each".
    pub several: String,
}

impl Wording {
    /// Both with something made of them.
    pub fn map(&self, make: impl Fn(&str) -> String) -> Wording {
        Wording {
            one: make(&self.one),
            several: make(&self.several),
        }
    }
}

impl From<String> for Wording {
    fn from(words: String) -> Self {
        Wording {
            several: words.clone(),
            one: words,
        }
    }
}

impl Deref for Wording {
    type Target = str;

    fn deref(&self) -> &str {
        &self.one
    }
}

impl fmt::Display for Wording {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.one)
    }
}

impl Serialize for Wording {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(&self.one)
    }
}
