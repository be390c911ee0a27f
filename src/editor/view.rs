//! What the window remembers with the project: node, sizes, theme, zoom, recent files, and the
//! proposals that were loaded when another circuit came.

use crate::advice::spread::SpreadSettings;
use crate::recording::fit::Taken;
use serde::{Deserialize, Serialize};

/// Longest list of recent files, of kept proposals, and of amps with readings.
const MOST_REMEMBERED: usize = 8;

/// Most amps that are drawn for the spread; more would tell nothing more.
pub const MOST_AMPS: usize = 10_000;

/// A proposal that was being worked on when another circuit was opened.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
pub struct Kept {
    /// The amp that it is for.
    pub amp: String,
    /// The proposal file.
    pub text: String,
}

/// A reading that was typed.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Typed {
    /// Where: "V3 anode", or a node.
    pub point: String,
    /// The volts, as typed.
    pub volts: String,
}

/// The readings typed for one amp.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct TypedSet {
    /// Name of the amp.
    pub amp: String,
    /// Compared with the amp as proposed, after the work; else as found.
    pub left: bool,
    /// The readings.
    pub typed: Vec<Typed>,
}

/// The owner's price file.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct PriceFile {
    /// Where it was read from.
    pub path: String,
    /// What it held then. This is what counts: the project keeps its prices where the file is not.
    pub text: String,
}

/// The parts of one amp that may vary in a match.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct VarySet {
    /// Name of the amp.
    pub amp: String,
    /// Designators of parts, names of controls.
    pub names: Vec<String>,
}

/// What is asked of a match, besides the parts.
#[derive(Clone, Debug, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct MatchView {
    /// Path of the recording.
    pub recording: String,
    /// Path of the dry track; empty if there is none.
    pub dry: String,
    /// How it was taken.
    pub taken: Taken,
    /// Whether all other parts are as the file says, having been measured.
    pub measured: bool,
    /// Where parts come from.
    pub stock: Stock,
    /// Path of the drawer's file.
    pub drawer: String,
    /// Parts that may vary, the latest amp first.
    pub vary: Vec<VarySet>,
}

/// Where parts come from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Stock {
    /// Twenty-four values a decade.
    E24,
    /// The owner's drawer.
    Drawer,
    /// The twelve values a decade that every shop has.
    #[default]
    #[serde(other)]
    E12,
}

/// What lies over the right column.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Over {
    /// The files.
    Files,
    /// How much two amps of this kind differ.
    Spread,
    /// The job sheet.
    JobSheet,
    /// Readings taken in the amp.
    Readings,
    /// Part values from a recording.
    Match,
    /// What each way of connecting loudspeakers does.
    Loads,
    /// Nothing: the curve and the verdict.
    #[default]
    #[serde(other)]
    Nothing,
}

impl Over {
    /// What its button says, and what it is for.
    pub const BUTTONS: [(Over, &'static str, &'static str); 6] = [
        (
            Over::Files,
            "Files",
            "Open an amp, open and save proposals.",
        ),
        (
            Over::Match,
            "Match",
            "A recording of a real amp, and the part values that make this one sound like it.",
        ),
        (
            Over::Loads,
            "Speakers",
            "What another loudspeaker, a second one or none at all does to the output stage.",
        ),
        (
            Over::Spread,
            "Spread",
            "How much two amps of this kind differ, and whether the change stands out of it.",
        ),
        (
            Over::JobSheet,
            "Job sheet",
            "What to buy, the order of work, the cautions and the expected voltages, to print.",
        ),
        (
            Over::Readings,
            "Readings",
            "Voltages that were measured, against those that are expected.",
        ),
    ];
}

/// What stands at the lower right.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Tab {
    /// The valves' dissipation.
    Valves,
    /// How far each stage is from clipping.
    Headroom,
    /// The frequency response.
    #[default]
    #[serde(other)]
    Response,
}

impl Tab {
    /// What its button says.
    pub const BUTTONS: [(Tab, &'static str); 3] = [
        (Tab::Response, "Response"),
        (Tab::Headroom, "Headroom"),
        (Tab::Valves, "Valves"),
    ];
}

/// The window's memory. Whatever is missing from a stored text is as in a new window.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct View {
    /// Dark theme.
    pub dark: bool,
    /// Scale of everything, 1 to 2.
    pub zoom: f32,
    /// Node that the curve is measured at; the loudspeaker if none.
    pub node: Option<String>,
    /// Id of the adjustable that is selected.
    pub selected: Option<String>,
    /// What lies over the right column.
    pub over: Over,
    /// What stands at the lower right.
    pub tab: Tab,
    /// Whether the schematic is shown; where there is room for it, if nobody said.
    pub schematic: Option<bool>,
    /// What stands in the path field.
    pub path: String,
    /// What stands in the field of the proposal's path.
    pub proposal_path: String,
    /// Files opened, the latest first.
    pub recent: Vec<String>,
    /// Proposals that another circuit displaced, the latest first.
    pub kept: Vec<Kept>,
    /// Where the job sheet goes.
    pub sheet_path: String,
    /// What stands in the field of the price file's path.
    pub price_path: String,
    /// The price file; the invented prices if none.
    pub prices: Option<PriceFile>,
    /// Readings, the latest amp first.
    pub readings: Vec<TypedSet>,
    /// How many amps are drawn for the spread.
    pub spread_amps: usize,
    /// The seed that they are drawn with.
    pub spread_seed: u64,
    /// What is asked of a match.
    pub matching: MatchView,
}

impl Default for View {
    fn default() -> Self {
        View {
            dark: false,
            zoom: 1.0,
            node: None,
            selected: None,
            over: Over::Nothing,
            tab: Tab::Response,
            schematic: None,
            path: String::new(),
            proposal_path: String::new(),
            recent: Vec::new(),
            kept: Vec::new(),
            sheet_path: String::new(),
            price_path: String::new(),
            prices: None,
            readings: Vec::new(),
            spread_amps: SpreadSettings::default().amps,
            spread_seed: SpreadSettings::default().seed,
            matching: MatchView::default(),
        }
    }
}

impl View {
    /// Reads a stored text; a new window's view if it is none of ours.
    pub fn read(text: &str) -> View {
        let mut view: View = serde_json::from_str(text).unwrap_or_default();
        view.zoom = if view.zoom.is_finite() {
            view.zoom.clamp(1.0, 2.0)
        } else {
            1.0
        };
        view.recent.truncate(MOST_REMEMBERED);
        view.kept.truncate(MOST_REMEMBERED);
        view.readings.truncate(MOST_REMEMBERED);
        view.matching.vary.truncate(MOST_REMEMBERED);
        view.spread_amps = view.spread_amps.clamp(1, MOST_AMPS);
        view
    }

    /// The typed readings of an amp, by its name; an empty set if there are none yet.
    pub fn readings_of(&mut self, amp: &str) -> &mut TypedSet {
        let index = self.readings.iter().position(|set| set.amp == amp);
        let index = index.unwrap_or_else(|| {
            let set = TypedSet {
                amp: amp.into(),
                ..TypedSet::default()
            };
            self.readings.insert(0, set);
            self.readings.truncate(MOST_REMEMBERED);
            0
        });
        &mut self.readings[index]
    }

    /// The parts of an amp that may vary in a match, by its name; none if nothing was chosen yet.
    pub fn vary_of(&mut self, amp: &str) -> &mut Vec<String> {
        let sets = &mut self.matching.vary;
        let index = sets.iter().position(|set| set.amp == amp);
        let index = index.unwrap_or_else(|| {
            let set = VarySet {
                amp: amp.into(),
                names: Vec::new(),
            };
            sets.insert(0, set);
            sets.truncate(MOST_REMEMBERED);
            0
        });
        &mut sets[index].names
    }

    /// The text to store.
    pub fn text(&self) -> String {
        serde_json::to_string(self).unwrap_or_default()
    }

    /// Puts a file at the head of the recent ones.
    pub fn remember(&mut self, path: String) {
        self.recent.retain(|other| *other != path);
        self.recent.insert(0, path);
        self.recent.truncate(MOST_REMEMBERED);
    }

    /// Keeps a proposal that is about to be replaced.
    pub fn keep(&mut self, kept: Kept) {
        self.kept.retain(|other| *other != kept);
        self.kept.insert(0, kept);
        self.kept.truncate(MOST_REMEMBERED);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_view_comes_back_as_it_was_and_nonsense_as_new() {
        let mut view = View {
            dark: true,
            zoom: 1.5,
            ..View::default()
        };
        view.remember("a.toml".into());
        view.remember("b.toml".into());
        view.remember("a.toml".into());
        assert_eq!(view.recent, ["a.toml", "b.toml"]);
        assert_eq!(View::read(&view.text()), view);
        assert_eq!(View::read("{"), View::default());
        assert_eq!(View::read(r#"{"zoom": 900}"#).zoom, 2.0);
        // What another version may have laid there is not known here; the rest is.
        let other = View::read(r#"{"zoom": 1.5, "over": "a thing to come"}"#);
        assert_eq!((other.zoom, other.over), (1.5, Over::Nothing));
    }
}
