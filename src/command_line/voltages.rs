//! `presolder voltages`: the voltage chart as text.

use super::arguments::Voltages as Arguments;
use super::failure::Failure;
use super::load::load;
use super::output::show;
use super::report::Report;
use crate::advice::ratings::report_text::over_text;
use crate::advice::safety;
use crate::advice::voltages::{LimitedChart, Voltages, voltages};
use crate::analysis::voltages::ValveReading;
use crate::solve::solved::SolvedAmp;
use crate::text::digits::{percent, printed};
use crate::text::table::{Edge, Table, fixed, significant, volts};
use std::fmt::Write;

/// Shows the voltages of a circuit.
///
/// # Errors
/// The faults found, or no operating point.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let loaded = load(&arguments.circuit, &arguments.changes)?;
    let amp = SolvedAmp::new(&loaded.as_found, loaded.proposed.as_ref())?.fit_to_judge()?;
    show(&voltages(&amp), arguments.json)
}

impl Report for Voltages {
    fn text(&self) -> String {
        // Named charts: one, or as found and proposed.
        let charts: Vec<(&str, &LimitedChart)> = match (&self.as_found, &self.proposed) {
            (Some(before), Some(after)) => vec![("as found", before), ("proposed", after)],
            _ => vec![("", &self.chart)],
        };
        let mut text = format!("{}: voltages at rest\n\n", self.amp);
        if let Some(unfit) = &self.unfit {
            let _ = writeln!(text, "{unfit}");
        }
        // What is over its limit comes first.
        match &self.as_found_over_rated {
            Some(before) => {
                let _ = writeln!(text, "{}", over_text(before, " as found"));
                let _ = writeln!(text, "{}", over_text(&self.over_rated, " proposed"));
            }
            None => {
                let _ = writeln!(text, "{}", over_text(&self.over_rated, ""));
            }
        }
        let _ = write!(text, "{}", nodes(&charts));
        let _ = write!(text, "\n{}", readings(&charts));
        let _ = write!(text, "\n{}", watts(&charts));
        text.push('\n');
        for (name, chart) in &charts {
            let side = match *name {
                "" => String::new(),
                name => format!("{name}: "),
            };
            for transformer in &chart.low_notes {
                let _ = writeln!(text, "{side}{}", transformer.in_words());
            }
        }
        text.push('\n');
        for note in &self.notes {
            let _ = writeln!(text, "{note}");
        }
        text.push('\n');
        text + safety::LINES
    }
}

fn nodes(charts: &[(&str, &LimitedChart)]) -> Table {
    let mut heads = vec![("Node", Edge::Left)];
    match charts {
        [_] => heads.push(("Volts", Edge::Right)),
        _ => heads.extend([
            ("As found, V", Edge::Right),
            ("Proposed, V", Edge::Right),
            ("Change, V", Edge::Right),
        ]),
    }
    let mut table = Table::new(&heads);
    for (i, (name, first)) in charts[0].1.nodes.0.iter().enumerate() {
        let mut cells = vec![name.clone(), volts(*first)];
        if let [_, (_, after)] = charts {
            let second = after.nodes.0[i].1;
            cells.extend([volts(second), change(second - first)]);
        }
        table.row(cells);
    }
    table
}

/// A change of volts with its sign; what a meter would not show is a dot.
pub fn change(by: f64) -> String {
    if by.abs() < 0.005 {
        return "·".into();
    }
    let sign = if by > 0.0 { "+" } else { "" };
    let places = if by.abs() < 1.0 { 2 } else { 1 };
    format!("{sign}{}", fixed(by, places))
}

/// The valves of the charts, the same valve's readings below each other.
fn by_valve<'a>(
    charts: &'a [(&'a str, &'a LimitedChart)],
) -> impl Iterator<Item = (String, &'a str, &'a ValveReading)> {
    (0..charts[0].1.valves.0.len()).flat_map(move |i| {
        charts.iter().enumerate().map(move |(row, (side, chart))| {
            let (name, reading) = &chart.valves.0[i];
            let name = if row == 0 { name.as_str() } else { "" };
            (name.to_string(), *side, &reading.reading)
        })
    })
}

fn optional(value: Option<f64>, shown: impl Fn(f64) -> String) -> String {
    value.map_or_else(String::new, shown)
}

fn readings(charts: &[(&str, &LimitedChart)]) -> Table {
    let mut table = Table::new(&[
        ("Valve", Edge::Left),
        ("Type", Edge::Left),
        ("", Edge::Left),
        ("Anode V", Edge::Right),
        ("Screen V", Edge::Right),
        ("Grid V", Edge::Right),
        ("Cathode V", Edge::Right),
        ("Anode mA", Edge::Right),
        ("Screen mA", Edge::Right),
    ]);
    for (name, side, v) in by_valve(charts) {
        let kind = if v.fitted { v.valve.as_str() } else { "out" };
        let milliamps = |i: f64| significant(i, if i < 10.0 { 2 } else { 3 });
        table.row([
            name,
            kind.into(),
            side.into(),
            volts(v.anode_volts),
            optional(v.screen_volts, volts),
            volts(v.grid_volts),
            volts(v.cathode_volts),
            milliamps(v.anode_milliamps),
            optional(v.screen_milliamps, milliamps),
        ]);
    }
    table
}

fn watts(charts: &[(&str, &LimitedChart)]) -> Table {
    let mut table = Table::new(&[
        ("Valve", Edge::Left),
        ("", Edge::Left),
        ("Anode", Edge::Left),
        ("Screen", Edge::Left),
        ("Limits", Edge::Left),
    ]);
    for (name, side, v) in by_valve(charts) {
        table.row([
            name,
            side.into(),
            watts_of(Some(v.anode_watts), v.anode_limit_watts),
            watts_of(v.screen_watts, v.screen_limit_watts),
            v.rating_system
                .map_or(String::new(), |system| system.to_string()),
        ]);
    }
    table
}

/// "12.5 W of 12 W (104 %)", with "OVER" where it is.
fn watts_of(watts: Option<f64>, limit: Option<f64>) -> String {
    match (watts, limit) {
        (None, _) => String::new(),
        (Some(w), None) => format!("{} W", significant(w, 2)),
        (Some(w), Some(limit)) => {
            let share = 100.0 * w / limit;
            let over = if share > 100.0 { " OVER" } else { "" };
            let digits = if w >= 10.0 { 3 } else { 2 };
            format!(
                "{} W of {} W ({}){over}",
                significant(w, digits),
                printed(limit),
                percent(share)
            )
        }
    }
}
