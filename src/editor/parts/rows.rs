//! The rows of the parts list: what belongs to one designator stands in one row.

use crate::live::{Adjustable, AdjustableKind, LiveAmp};
use crate::units::Quantity;

/// One part.
#[derive(Clone, Debug, PartialEq)]
pub struct Row {
    /// Designator.
    pub designator: String,
    /// Role.
    pub role: String,
    /// Stage.
    pub stage: String,
    /// Adjustable of its value or type.
    pub value: Option<usize>,
    /// Adjustable that says whether it is fitted.
    pub fitted: Option<usize>,
}

impl Row {
    /// The adjustable that stands for the row.
    pub fn adjustable(&self) -> usize {
        self.value.or(self.fitted).unwrap_or_default()
    }

    /// Its adjustables.
    pub fn adjustables(&self) -> impl Iterator<Item = usize> {
        self.value.into_iter().chain(self.fitted)
    }

    /// Whether a search finds it: by designator, role, stage or a value that it has.
    pub fn matches(&self, search: &str, values: &[&str]) -> bool {
        let texts = [
            self.designator.as_str(),
            self.role.as_str(),
            self.stage.as_str(),
        ];
        search.split_whitespace().all(|word| {
            let word = word.to_lowercase();
            texts
                .iter()
                .chain(values)
                .any(|text| text.to_lowercase().contains(&word))
        })
    }
}

/// The parts in the order of the adjustables, the player's controls left out.
pub fn rows(amp: &LiveAmp) -> Vec<Row> {
    let mut rows: Vec<Row> = Vec::new();
    for (index, adjustable) in amp.adjustables().iter().enumerate() {
        if adjustable.is_control() {
            continue;
        }
        let fitted = adjustable.kind == AdjustableKind::Fitted;
        let found = rows
            .iter_mut()
            .find(|row| row.designator == adjustable.designator && row.stage == adjustable.stage);
        let row = match found {
            Some(row) => row,
            None => {
                rows.push(Row {
                    designator: adjustable.designator.clone(),
                    role: adjustable.role.clone(),
                    stage: adjustable.stage.clone(),
                    value: None,
                    fitted: None,
                });
                rows.last_mut().expect("just pushed")
            }
        };
        if fitted {
            row.fitted = Some(index);
        } else {
            row.value = Some(index);
        }
    }
    rows
}

/// What a row shows of one side: the value, or "out".
pub fn shown(amp: &LiveAmp, row: &Row, value: impl Fn(usize) -> f64) -> String {
    let adjustables = amp.adjustables();
    if let Some(fitted) = row.fitted
        && value(fitted) < 0.5
    {
        return "out".into();
    }
    let adjustable = row.adjustable();
    adjustables[adjustable].text(value(adjustable))
}

/// The same for a screen reader: "22 nanofarad", "not fitted".
pub fn spoken(amp: &LiveAmp, row: &Row, value: impl Fn(usize) -> f64) -> String {
    if let Some(fitted) = row.fitted
        && value(fitted) < 0.5
    {
        return "not fitted".into();
    }
    let adjustable = row.adjustable();
    spoken_value(&amp.adjustables()[adjustable], value(adjustable))
}

/// An adjustable's number in words that can be read out.
pub fn spoken_value(adjustable: &Adjustable, value: f64) -> String {
    let unit = match &adjustable.kind {
        AdjustableKind::Value { quantity, .. } => match quantity {
            Quantity::Resistance => "ohm",
            Quantity::Capacitance => "farad",
            Quantity::Inductance => "henry",
            _ => return adjustable.text(value),
        },
        AdjustableKind::Fitted if value > 0.5 => return "fitted".into(),
        AdjustableKind::Fitted => return "not fitted".into(),
        _ => return adjustable.text(value),
    };
    let prefixes = [
        (1e6, "mega"),
        (1e3, "kilo"),
        (1.0, ""),
        (1e-3, "milli"),
        (1e-6, "micro"),
        (1e-9, "nano"),
        (1e-12, "pico"),
    ];
    // A whisker below one still counts as one, after rounding in the file's notation.
    let (scale, prefix) = prefixes
        .into_iter()
        .find(|(scale, _)| value >= scale * (1.0 - 1e-9))
        .unwrap_or((1e-12, "pico"));
    let number = crate::text::digits::printed(value / scale);
    format!("{number} {prefix}{unit}")
}

/// The row as a sentence: "C3 coupling, as found 10 nanofarad, proposed 22 nanofarad, changed".
pub fn sentence(
    amp: &LiveAmp,
    row: &Row,
    as_found: impl Fn(usize) -> f64,
    proposed: impl Fn(usize) -> f64,
    changed: bool,
) -> String {
    let name = format!("{} {}", row.designator, row.role);
    let (a, p) = (spoken(amp, row, as_found), spoken(amp, row, proposed));
    if changed {
        format!("{}, as found {a}, proposed {p}, changed", name.trim())
    } else {
        format!("{}, as found {a}, unchanged", name.trim())
    }
}
