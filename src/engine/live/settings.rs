//! The settings of a plugin instance that belong to no part of the amp, in one table: the host's
//! parameters, the project's state and the window's controls are made from its rows.
//!
//! A new setting is a row here, at the end, and the code that uses its number. Its id never
//! changes; a project that was saved without it gets its default.

/// What a setting's number means.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum SettingKind {
    /// Index into names.
    Choice {
        /// Their names.
        names: &'static [&'static str],
        /// Index of the first one.
        default: usize,
    },
    /// 0 off, 1 on.
    Toggle {
        /// Whether it is on at first.
        default: bool,
    },
    /// The host's bypass, off at first: 1 on.
    Bypass,
    /// A figure with one decimal.
    Figure {
        /// At first.
        default: f32,
        /// Least and most.
        range: (f32, f32),
        /// Behind the figure and a space.
        unit: &'static str,
    },
    /// Counts what changed besides parameters; hidden from people.
    Counter {
        /// Most; 0 follows it.
        most: u16,
    },
}

/// The part of the settings window where a setting is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Section {
    /// Levels at the jack and at the output.
    Levels,
    /// Quality of the sound.
    Quality,
    /// How part values move.
    PartValues,
}

/// A row of the table.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SettingRow {
    /// Id of its parameter, in hosts and projects.
    pub id: &'static str,
    /// Name in a host.
    pub name: &'static str,
    /// What its number means.
    pub kind: SettingKind,
    /// Whether a host may automate it.
    pub automatable: bool,
    /// Where the settings window shows it, and its label there; none for what the window shows
    /// elsewhere or not at all.
    pub shown: Option<(Section, &'static str)>,
}

impl SettingRow {
    /// The number at first.
    pub fn default_value(&self) -> f64 {
        match self.kind {
            SettingKind::Choice { default, .. } => default as f64,
            SettingKind::Toggle { default } => f64::from(u8::from(default)),
            SettingKind::Bypass | SettingKind::Counter { .. } => 0.0,
            SettingKind::Figure { default, .. } => f64::from(default),
        }
    }

    /// Least and most.
    pub fn range(&self) -> (f32, f32) {
        match self.kind {
            SettingKind::Choice { names, .. } => (0.0, names.len() as f32 - 1.0),
            SettingKind::Toggle { .. } | SettingKind::Bypass => (0.0, 1.0),
            SettingKind::Figure { range, .. } => range,
            SettingKind::Counter { most } => (0.0, f32::from(most)),
        }
    }
}

/// Numbers of [`PluginSetting::Cabinet`].
pub const CABINET_LOUDSPEAKER: i32 = 0;
/// See [`CABINET_LOUDSPEAKER`].
pub const CABINET_LINE: i32 = 1;
/// See [`CABINET_LOUDSPEAKER`].
pub const CABINET_IMPULSE: i32 = 2;

macro_rules! settings {
    ($($(#[$doc:meta])* $setting:ident = $row:expr;)*) => {
        /// A setting of the instance.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum PluginSetting {
            $($(#[$doc])* $setting,)*
        }

        impl PluginSetting {
            /// All of them, in the order in which hosts list them.
            pub const ALL: &'static [PluginSetting] = &[$(PluginSetting::$setting),*];

            /// Its row.
            pub const fn row(self) -> &'static SettingRow {
                const ROWS: &[SettingRow] = &[$($row),*];
                &ROWS[self as usize]
            }
        }
    };
}

settings! {
    /// What is heard: 0 as found, 1 proposed, 2 both as a left/right pair.
    Heard = SettingRow {
        id: "heard",
        name: "Heard",
        kind: SettingKind::Choice { names: &["As found", "Proposed", "Pair"], default: 1 },
        automatable: true,
        shown: None,
    };
    /// What it is heard through (see [`CABINET_LOUDSPEAKER`]).
    Cabinet = SettingRow {
        id: "through",
        name: "Heard through",
        kind: SettingKind::Choice {
            names: &["Loudspeaker", "Line", "Impulse response"],
            default: 0,
        },
        automatable: true,
        shown: None,
    };
    /// Loudness match.
    Match = SettingRow {
        id: "match",
        name: "Loudness match",
        kind: SettingKind::Toggle { default: true },
        automatable: true,
        shown: None,
    };
    /// Level of a full-scale sine at the jack, from a consumer line input to a studio one, dBu.
    InputFullScale = SettingRow {
        id: "input",
        name: "Input full scale",
        kind: SettingKind::Figure { default: 0.0, range: (-20.0, 30.0), unit: "dBu" },
        automatable: true,
        shown: Some((Section::Levels, "input full scale")),
    };
    /// Output level, dB. At first a full-scale chord stays within full scale with the controls of every
    /// built-in amp turned up (`tests/live/full_scale.rs`); a project keeps its own.
    OutputLevel = SettingRow {
        id: "output",
        name: "Output level",
        kind: SettingKind::Figure { default: -12.0, range: (-40.0, 24.0), unit: "dB" },
        automatable: true,
        shown: Some((Section::Levels, "output level")),
    };
    /// Oversampling: 0 automatic, 1 to 3 for 2, 4, 8 times.
    Oversampling = SettingRow {
        id: "oversampling",
        name: "Oversampling",
        kind: SettingKind::Choice {
            names: &["Automatic", "2 times", "4 times", "8 times"],
            default: 0,
        },
        automatable: false,
        shown: Some((Section::Quality, "oversampling")),
    };
    /// Bypass.
    Bypass = SettingRow {
        id: "bypass",
        name: "Bypass",
        kind: SettingKind::Bypass,
        automatable: true,
        shown: None,
    };
    /// Steps that the host's part values move in: 0 every value, 1 preferred values.
    Steps = SettingRow {
        id: "steps",
        name: "Part values step through",
        kind: SettingKind::Choice { names: &["every value", "preferred values"], default: 1 },
        automatable: false,
        shown: Some((Section::PartValues, "the host's parameters move through")),
    };
    /// Time that a part's value takes to its new place, ms.
    Glide = SettingRow {
        id: "glide",
        name: "Glide",
        kind: SettingKind::Figure { default: 5.0, range: (1.0, 100.0), unit: "ms" },
        automatable: false,
        shown: Some((Section::PartValues, "a changed value glides for")),
    };
    /// Counts what changed besides parameters, so that a host knows that there is something to
    /// save.
    Revision = SettingRow {
        id: "revision",
        name: "Revision",
        kind: SettingKind::Counter { most: 65_535 },
        automatable: false,
        shown: None,
    };
    /// What drives the jack (see [`crate::live::jack_guitar::JackGuitar`]).
    Guitar = SettingRow {
        id: "guitar",
        name: "Guitar",
        kind: SettingKind::Choice {
            names: &["None", "Single coil", "Humbucker", "Own file"],
            default: 0,
        },
        automatable: false,
        shown: Some((Section::Levels, "guitar")),
    };
    /// Lift of a pedal in front of the jack, dB.
    Boost = SettingRow {
        id: "boost",
        name: "Boost",
        kind: SettingKind::Figure { default: 0.0, range: (0.0, 40.0), unit: "dB" },
        automatable: true,
        shown: Some((Section::Levels, "boost in front")),
    };
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Hosts and projects know settings by these; a new one comes behind them.
    #[test]
    fn ids_and_their_order_stay() {
        let ids: Vec<&str> = PluginSetting::ALL
            .iter()
            .map(|setting| setting.row().id)
            .collect();
        let known = [
            "heard",
            "through",
            "match",
            "input",
            "output",
            "oversampling",
            "bypass",
            "steps",
            "glide",
            "revision",
            "guitar",
            "boost",
        ];
        assert_eq!(ids[..known.len()], known);
    }

    #[test]
    fn every_default_is_in_its_range() {
        for setting in PluginSetting::ALL {
            let row = setting.row();
            let (low, high) = row.range();
            assert!((f64::from(low)..=f64::from(high)).contains(&row.default_value()));
        }
    }
}
