//! What a renderer is asked for.

use super::cabinets::CabinetChoice;

/// What is heard.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Heard {
    /// The amp as found.
    AsFound,
    /// The amp as proposed.
    #[default]
    Proposed,
    /// As found on the left, proposed on the right, both fed with the middle of the input.
    Pair,
    /// The recording of the real amp that comes beside the input; as found where there is none.
    Recording,
}

/// Settings of an instance, as they are to be from the next sample on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RenderSettings {
    /// What is heard.
    pub heard: Heard,
    /// What both are heard through.
    pub through: CabinetChoice,
    /// Whether the proposed amp is brought to the loudness of the one as found.
    pub matched: bool,
    /// Volts at the jack for a sample of 1.
    pub input_volts: f64,
    /// Output for one volt at the loudspeaker.
    pub output_gain: f64,
    /// Whether the input goes straight to the output.
    pub bypass: bool,
    /// Time that a part takes to a new value, ms.
    pub glide_milliseconds: f64,
    /// The parameter map that the host's parameters belong to (see
    /// [`super::parameter_map::ParameterMap::serial`]). A circuit pair of another one stays as it
    /// is: it is about to be replaced.
    pub serial: u64,
}
