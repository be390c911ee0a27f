//! `presolder check CIRCUIT --load`: what each way of connecting loudspeakers does, as text.

use super::failure::Failure;
use super::load::LoadedAmp;
use super::output::show;
use super::progress::Progress;
use super::report::Report;
use crate::advice::safety;
use crate::analysis::load::{Driven, LoadCase, LoadReport, NoLoads};
use crate::device::Catalogue;
use crate::requests::loads::LoadsRequest;
use crate::text::digits::{percent, printed};
use crate::text::table::{Edge, Table, fixed, significant};
use std::fmt::Write;

/// Shows the report of the circuit with what is proposed.
///
/// # Errors
/// A circuit without a loudspeaker, or without an operating point.
pub fn run(loaded: &LoadedAmp, json: bool) -> Result<(), Failure> {
    let request = LoadsRequest {
        as_found: &loaded.as_found,
        proposed: loaded.proposed.as_ref(),
        catalogue: &Catalogue::built_in(),
    };
    let progress = Progress::new("Connecting loudspeakers");
    let report = request.answer(&mut progress.go_on());
    drop(progress);
    let report = report
        .expect("nobody gives up")
        .map_err(|fault| match fault {
            NoLoads::NoLoudspeaker => Failure::Usage(fault.to_string()),
            NoLoads::NoOperatingPoint(fault) => fault.into(),
            NoLoads::Unfit(fault) => fault.into(),
        })?;
    show(&report, json)
}

impl Report for LoadReport {
    fn text(&self) -> String {
        let mut text = format!("{}: what the output stage is loaded with\n\n", self.amp);
        let _ = write!(text, "{}", connected(&self.cases));
        let clean = "At clean power: output valves (the hottest)";
        let _ = write!(text, "\n{clean}\n\n{}", valves(&self.cases, |c| &c.clean));
        let _ = write!(
            text,
            "\nDriven hard, {} V at the jack: output valves (the hottest)\n\n{}",
            significant(self.hard_input_volts, 2),
            valves(&self.cases, |c| &c.hard)
        );
        let _ = write!(
            text,
            "\nWhat each loudspeaker gets\n\n{}",
            shares(&self.cases)
        );
        text.push('\n');
        for case in &self.cases {
            for sentence in &case.sentences {
                let _ = writeln!(text, "{}: {sentence}", case.name);
            }
        }
        for sentence in &self.unsolved {
            let _ = writeln!(text, "{sentence}");
        }
        text.push('\n');
        for note in &self.notes {
            let _ = writeln!(text, "{note}");
        }
        text.push('\n');
        text + safety::LINES
    }
}

/// The load, clean power and damping.
fn connected(cases: &[LoadCase]) -> Table {
    let mut table = Table::new(&[
        ("Loudspeakers", Edge::Left),
        ("Rated, Ω", Edge::Right),
        ("Meant, Ω", Edge::Right),
        ("Valves see, kΩ", Edge::Right),
        ("Meant, kΩ", Edge::Right),
        ("Clean, W", Edge::Right),
        ("At the jack, mV", Edge::Right),
        ("Behind it, Ω", Edge::Right),
        ("Damping factor", Edge::Right),
    ]);
    for case in cases {
        let nominal = |of: fn(&crate::analysis::load::Nominal) -> f64| {
            case.nominal.as_ref().map_or("–".into(), |n| printed(of(n)))
        };
        let known = |figure: Option<f64>| figure.map_or("–".into(), |f| significant(f, 2));
        let connected = !case.loudspeakers.is_empty();
        table.row([
            case.name.clone(),
            nominal(|n| n.ohms),
            nominal(|n| n.meant_ohms),
            nominal(|n| n.primary_ohms / 1000.0),
            nominal(|n| n.meant_primary_ohms / 1000.0),
            known(connected.then_some(case.clean_watts)),
            known(connected.then_some(1000.0 * case.clean_input_volts)),
            known(case.behind_ohms),
            known(case.damping.filter(|_| connected)),
        ]);
    }
    table
}

/// What the output valves stand on one of the tones.
fn valves(cases: &[LoadCase], of: fn(&LoadCase) -> &Driven) -> Table {
    let mut table = Table::new(&[
        ("Loudspeakers", Edge::Left),
        ("Anode, W", Edge::Right),
        ("of limit", Edge::Right),
        ("Screen, W", Edge::Right),
        ("of limit", Edge::Right),
        ("Cathode peak, mA", Edge::Right),
        ("Anode from, V", Edge::Right),
        ("to, V", Edge::Right),
    ]);
    for case in cases {
        let driven = of(case);
        let share = |share: Option<f64>| share.map_or("–".into(), percent);
        table.row([
            case.name.clone(),
            significant(driven.anode_watts, 2),
            share(driven.anode_percent),
            driven
                .screen_watts
                .map_or("–".into(), |w| significant(w, 2)),
            share(driven.screen_percent),
            significant(1000.0 * driven.peak_amps, 2),
            fixed(driven.anode_low_volts, 0),
            fixed(driven.anode_high_volts, 0),
        ]);
    }
    table
}

/// Watts against ratings.
fn shares(cases: &[LoadCase]) -> Table {
    let mut table = Table::new(&[
        ("Loudspeaker", Edge::Left),
        ("Rated, Ω", Edge::Right),
        ("Clean, W", Edge::Right),
        ("Driven hard, W", Edge::Right),
        ("Rated, W", Edge::Right),
    ]);
    for case in cases.iter().filter(|case| !case.loudspeakers.is_empty()) {
        table.title(&case.name);
        for load in &case.loudspeakers {
            table.row([
                format!("{} ({})", load.designator, load.name),
                printed(load.rated_ohms),
                significant(load.clean_watts, 2),
                load.hard_watts.map_or("–".into(), |w| significant(w, 2)),
                printed(load.rated_watts),
            ]);
        }
    }
    table
}
