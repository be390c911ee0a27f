//! The amps and proposals that come with the program, by name.

use crate::circuit::{built_in_circuit, built_in_circuits, built_in_proposals};

/// The text of a built-in amp by its short or full name, in any case.
pub fn circuit(name: &str) -> Option<&'static str> {
    built_in_circuit(name).map(|amp| amp.text)
}

/// The text of a built-in proposal for an amp, by its short name, in any case; with the amp's
/// short name and a hyphen or underscore before it, whatever amp is on the bench.
pub fn proposal(amp: &str, name: &str) -> Option<&'static str> {
    let whole = |key: &str, amp_key: &str| {
        ["-", "_"].map(|hyphen| format!("{amp_key}{hyphen}{key}").eq_ignore_ascii_case(name))
    };
    let own = built_in_proposals(amp)
        .iter()
        .find(|p| p.key.eq_ignore_ascii_case(name));
    let any = || {
        built_in_circuits().iter().find_map(|amp| {
            let list = amp.proposals.iter();
            list.clone().find(|p| whole(p.key, amp.key).contains(&true))
        })
    };
    own.or_else(any).map(|p| p.text)
}

/// Short names of the proposals for an amp.
pub fn proposals_for(amp: &str) -> Vec<&'static str> {
    built_in_proposals(amp).iter().map(|p| p.key).collect()
}
