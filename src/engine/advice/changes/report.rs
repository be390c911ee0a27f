//! The report on the changes of a proposal.

use super::effect::Effect;
use super::interactions::Interaction;
use super::items::{Caveat, ChangedPart, Doing};
use super::rank::Standing;
use serde::Serialize;

/// One change in the ranked table.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangeRow {
    /// "R505"; "R303 and R304" for twins; the controls' names.
    pub name: String,
    /// The change in words: "R505 (bias load, 12 kΩ → 15 kΩ)".
    pub what: String,
    /// The parts.
    pub parts: Vec<ChangedPart>,
    /// Whether it is turned, swapped or soldered.
    pub doing: Doing,
    /// Whether it can be undone without a trace.
    pub reversible: bool,
    /// What such a part does that no figure here counts.
    pub caveat: Option<Caveat>,
    /// Price of the parts to buy; none where no price is known.
    pub cost: Option<f64>,
    /// Minutes of work when only this is done, opening and closing the chassis included; none for
    /// what is no work on one part, such as another supply.
    pub minutes: Option<f64>,
    /// What it does alone, from as found; none where it does not go alone.
    pub alone: Option<Effect>,
    /// What it does beside all the others; none where it is the only change or does not go so.
    pub beside_others: Option<Effect>,
    /// What it does cannot be judged because nobody said what drives the jack: it shows no
    /// difference without a guitar, and may with one.
    pub depends_on_guitar: bool,
    /// Where it stands in the ranking, and why.
    pub standing: Standing,
    /// Whether it does anything worth doing, or may.
    pub worth_it: bool,
    /// All of it in words.
    pub sentence: String,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ChangesReport {
    /// Name of the amp.
    pub amp: String,
    /// Name of the proposal; empty if it has none.
    pub proposal: String,
    /// What must be said before all else, a sentence each: limits of valves and parts that do not hold as
    /// proposed.
    pub warnings: Vec<String>,
    /// The changes, the one most worth doing first.
    pub rows: Vec<ChangeRow>,
    /// How they are ranked.
    pub rule: &'static str,
    /// Everything together, from as found.
    pub together: Effect,
    /// Everything together in words.
    pub together_in_words: String,
    /// Price of everything; none where one has none.
    pub cost: Option<f64>,
    /// Minutes of everything, the chassis being opened once; likewise.
    pub minutes: Option<f64>,
    /// The word for the currency.
    pub currency: String,
    /// Where changes do together what they do not alone.
    pub interactions: Vec<Interaction>,
    /// How the verdicts are meant.
    pub notes: Vec<String>,
}
