//! Which keys of which parts the loader assumed a value for.

use super::part::PartId;

/// A value that the loader assumed.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Assumed {
    pub part: PartId,
    pub key: &'static str,
}
