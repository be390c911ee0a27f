//! The amps that come with the program, as files, each with its proposals.
//!
//! All of them are our own, invented for this program.

/// A proposal that comes with the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BuiltInProposal {
    /// Short name, as one types it.
    pub key: &'static str,
    /// The proposal file.
    pub text: &'static str,
}

/// An amp that comes with the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BuiltInCircuit {
    /// Short name, as one types it.
    pub key: &'static str,
    /// The amp's name, as its file states it.
    pub name: &'static str,
    /// The circuit-values file.
    pub text: &'static str,
    /// What may be soldered into it.
    pub proposals: &'static [BuiltInProposal],
}

macro_rules! embedded {
    ($key:literal, $name:literal, [$($proposal:literal),*]) => {
        BuiltInCircuit {
            key: $key,
            name: $name,
            text: include_str!(concat!("../../../presets/circuits/", $key, ".toml")),
            proposals: &[$(BuiltInProposal {
                key: $proposal,
                text: include_str!(concat!(
                    "../../../presets/proposals/", $key, "_", $proposal, ".toml"
                )),
            }),*],
        }
    };
}

/// The amps, the demonstration's first.
pub fn built_in_circuits() -> &'static [BuiltInCircuit] {
    &CIRCUITS
}

/// An amp by its short or full name, in any case.
pub fn built_in_circuit(amp: &str) -> Option<&'static BuiltInCircuit> {
    CIRCUITS
        .iter()
        .find(|c| c.key.eq_ignore_ascii_case(amp) || c.name.eq_ignore_ascii_case(amp))
}

/// The proposals for an amp, by its short or full name; none for an amp that is not ours.
pub fn built_in_proposals(amp: &str) -> &'static [BuiltInProposal] {
    built_in_circuit(amp).map_or(&[], |c| c.proposals)
}

static CIRCUITS: [BuiltInCircuit; 4] = [
    embedded!("bradawl", "Bradawl 15", ["cooler", "cleaner"]),
    embedded!("mizzle", "Mizzle 5", ["calmer", "drive"]),
    embedded!("spokeshave", "Spokeshave 18", ["cooler", "fuller"]),
    embedded!("sluice", "Sluice 40", ["warmer", "looser"]),
];
