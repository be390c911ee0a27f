//! A report: the same struct as text for people and as JSON for programs.

use serde::Serialize;

/// What the analyses give: a plain struct that serialises, and its text.
pub trait Report: Serialize {
    /// The report for people, ending with a line break.
    fn text(&self) -> String;
}

/// The report as it goes to standard output.
pub fn render(report: &impl Report, json: bool) -> String {
    if json { to_json(report) } else { report.text() }
}

/// Any serialisable value as JSON with a line break at its end.
pub fn to_json(value: &impl Serialize) -> String {
    // Only maps whose keys are no strings could fail, and a report has none; numbers that are not
    // finite become null.
    let text = serde_json::to_string_pretty(value)
        .unwrap_or_else(|fault| format!("{{\"fault\": \"{fault}\"}}"));
    text + "\n"
}

#[cfg(test)]
mod tests {
    use super::*;

    #[derive(Serialize)]
    struct Gain {
        hz: Vec<f64>,
        db: Option<f64>,
    }

    impl Report for Gain {
        fn text(&self) -> String {
            format!("{} frequencies\n", self.hz.len())
        }
    }

    #[test]
    fn one_struct_two_renderings() {
        let gain = Gain {
            hz: vec![20.0, f64::NAN],
            db: None,
        };
        assert_eq!(render(&gain, false), "2 frequencies\n");
        let json: serde_json::Value = serde_json::from_str(&render(&gain, true)).unwrap();
        assert_eq!(json["hz"][0], 20.0);
        assert!(json["hz"][1].is_null() && json["db"].is_null());
    }
}
