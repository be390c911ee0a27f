//! The spread over amps of one model as a table, its sentences beneath.

use crate::advice::spread::{Band, SideSpread, SpreadReport, ValveSpread};
use crate::text::digits::printed_hertz;
use crate::text::table::{Edge, Table, fixed, significant};
use std::fmt::Write;

/// Frequencies of the response that the table shows, Hz: octaves about 1 kHz.
const SHOWN_HZ: [f64; 8] = [63.0, 125.0, 250.0, 500.0, 1000.0, 2000.0, 4000.0, 8000.0];

/// The whole text, ending with a line break.
pub fn spread_text(report: &SpreadReport) -> String {
    let mut text = format!(
        "Two amps of this model differ: {} amps drawn (seed {})\n",
        report.settings.amps, report.settings.seed
    );
    let _ = writeln!(text, "\n{}", table(report));
    for sentence in &report.sentences {
        let _ = writeln!(text, "  {sentence}");
    }
    if report.unsolved > 0 {
        let _ = writeln!(
            text,
            "  {} of the amps drawn have no solution at rest and are left out.",
            report.unsolved
        );
    }
    text.push_str("\nHow the amps were drawn\n");
    for sentence in &report.assumptions {
        let _ = writeln!(text, "  {sentence}");
    }
    text
}

fn table(report: &SpreadReport) -> Table {
    let mut heads = vec![
        ("", Edge::Left),
        ("As found", Edge::Right),
        ("9 of 10 amps", Edge::Right),
    ];
    if report.proposed.is_some() {
        heads.extend([("Proposed", Edge::Right), ("9 of 10 amps", Edge::Right)]);
    }
    let mut table = Table::new(&heads);
    let mut row = |name: String, of: &dyn Fn(&SideSpread) -> Option<[String; 2]>| {
        let sides = std::iter::once(&report.as_found).chain(&report.proposed);
        let cells: Vec<Option<[String; 2]>> = sides.map(of).collect();
        if cells.iter().any(Option::is_some) {
            let dashes = || ["–".to_string(), String::new()];
            let cells = cells.into_iter().map(|c| c.unwrap_or_else(dashes));
            table.row(std::iter::once(name).chain(cells.flatten()));
        }
    };
    row("Gain at 1 kHz, dB".into(), &|side| {
        Some(shown(&side.gain_db, |x| fixed(x, 1)))
    });
    row("Clean (under 1 %) up to, mV r.m.s.".into(), &|side| {
        Some(shown(&side.clean_volts?, |x| significant(1e3 * x, 2)))
    });
    for (name, valve) in &report.as_found.valves.0 {
        if valve.screen_watts.is_none() {
            continue;
        }
        let of = |side: &SideSpread, band: fn(&ValveSpread) -> Option<Band>| {
            let band = band(side.valves.get(name)?)?;
            Some(shown(&band, |x| {
                significant(x, if x.abs() >= 10.0 { 3 } else { 2 })
            }))
        };
        row(format!("{name} anode current, mA"), &|side| {
            of(side, |v| Some(v.anode_milliamps))
        });
        row(format!("{name} anode dissipation, W"), &|side| {
            of(side, |v| Some(v.anode_watts))
        });
        row(format!("{name} screen dissipation, W"), &|side| {
            of(side, |v| v.screen_watts)
        });
    }
    for (index, hz) in report.hz.iter().enumerate() {
        if SHOWN_HZ.contains(hz) {
            row(format!("Response at {}, dB", printed_hertz(*hz)), &|side| {
                Some(shown(side.curve_db.get(index)?, |x| fixed(x, 1)))
            });
        }
    }
    table
}

/// The middle, and what nine amps in ten keep within.
fn shown(band: &Band, number: impl Fn(f64) -> String) -> [String; 2] {
    let (low, high) = (number(band.p5), number(band.p95));
    [number(band.p50), format!("{low} to {high}")]
}
