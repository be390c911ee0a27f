//! `presolder check`: diagnostics, and the parts by stage; readings are compared in [`readings`],
//! ways of connecting loudspeakers in [`loudspeakers`].
//!
//! [`readings`]: super::readings
//! [`loudspeakers`]: super::loudspeakers

use super::arguments::Check;
use super::built_in;
use super::failure::Failure;
use super::load::load;
use super::output::show;
use super::report::Report;
use crate::advice::ratings::report_text::over_text;
use crate::advice::ratings::{Driven, Finding, ratings};
use crate::analysis::low_notes::{LowNotes, low_notes};
use crate::analysis::parts_list::{PartsList, parts_list};
use crate::analysis::stability::{StabilitySurvey, Stands, stability_survey};
use crate::circuit::{BuiltInCircuit, built_in_circuits};
use crate::device::Catalogue;
use crate::solve::solved::SolvedAmp;
use crate::solve::stability::Unfit;
use crate::text::table::{Edge, Table};
use serde::Serialize;
use std::fmt::Write;

/// Checks a circuit, or lists the built-in ones.
///
/// # Errors
/// The faults found; an amp that has no operating point, howls or passes no signal, once the report is shown.
pub fn run(arguments: &Check) -> Result<(), Failure> {
    let Some(circuit) = &arguments.circuit else {
        return show(&BuiltIn::list(), arguments.json);
    };
    let loaded = load(circuit, &arguments.changes)?;
    if let Some(file) = &arguments.measured {
        return super::readings::run(arguments, &loaded, file);
    }
    if arguments.load {
        return super::loudspeakers::run(&loaded, arguments.json);
    }
    let list = parts_list(&loaded.as_found, loaded.proposed.as_ref());
    // A circuit without an operating point has been checked all the same.
    let mut checked = Checked {
        list,
        over_rated: Vec::new(),
        low_notes: Vec::new(),
        unsolved: None,
        unfit: None,
        stability: None,
    };
    match SolvedAmp::new(&loaded.as_found, loaded.proposed.as_ref()) {
        Ok(amp) => {
            let report = ratings(&amp.network, amp.asked_for(), &Driven::default());
            checked.over_rated = report.over;
            checked.low_notes = low_notes(&amp.network, amp.asked_for());
            checked.unfit = amp.faults().map(|fault| *fault);
            // Of an amp that is mended by what is proposed, the proposed side is looked at.
            if checked.unfit.as_ref().and_then(Unfit::asked_for).is_none() {
                let (network, side) = (&amp.network, amp.asked_for());
                let catalogue = Catalogue::built_in();
                checked.stability = stability_survey(network, side, &catalogue, &mut |_| true);
            }
        }
        Err(fault) => checked.unsolved = Some(fault.to_string()),
    }
    show(&checked, arguments.json)?;
    match checked.is_faulty() {
        true => Err(Failure::Shown),
        false => Ok(()),
    }
}

impl Checked {
    /// Whether something is wrong with the amp as it shall be: it has no operating point, howls as it
    /// stands or within the reach of its own controls, or passes no signal. What another loudspeaker
    /// would do, and what is only near to howling, is worth a look and no fault.
    fn is_faulty(&self) -> bool {
        let howls = self.stability.iter().flat_map(|survey| &survey.howls);
        let own = howls.filter(|with| !matches!(with.stands, Stands::Loudspeaker { .. }));
        let unfit = self.unfit.as_ref().and_then(Unfit::asked_for);
        self.unsolved.is_some() || unfit.is_some() || own.count() > 0
    }
}

/// The parts, and what is over its limit.
#[derive(Serialize)]
struct Checked {
    #[serde(flatten)]
    list: PartsList,
    /// What is over its limit without signal, valves and parts, worst first; with what is proposed.
    over_rated: Vec<Finding>,
    /// How far down each output transformer carries its power.
    low_notes: Vec<LowNotes>,
    /// Why that is not known.
    unsolved: Option<String>,
    /// Why nothing can be judged of it: it howls, or passes no signal.
    unfit: Option<Unfit>,
    /// Whether it stays at rest with other settings, with what is proposed; none where that is moot.
    stability: Option<StabilitySurvey>,
}

impl Report for Checked {
    fn text(&self) -> String {
        let over = match &self.unsolved {
            Some(why) => format!("{why}\n"),
            None => over_text(&self.over_rated, ""),
        };
        let unfit = self.unfit.iter().map(ToString::to_string);
        let others = self.stability.iter().flat_map(StabilitySurvey::sentences);
        let first: String = unfit.chain(others).map(|said| said + "\n").collect();
        let faults = match self.is_faulty() {
            false => "no faults",
            true => "a fault: see above",
        };
        let low_notes = self.low_notes.iter().map(|t| t.in_words() + "\n");
        let low_notes: String = low_notes.collect();
        format!(
            "{first}{over}{low_notes}\n{}, {faults}.\n",
            self.list.text()
        )
    }
}

/// The amps that come with the program.
#[derive(Serialize)]
struct BuiltIn {
    circuits: Vec<Amp>,
    /// Names of all proposals, good for any circuit that has the parts.
    proposals: Vec<String>,
}

/// One of them.
#[derive(Serialize)]
struct Amp {
    /// Short name, as one types it.
    key: &'static str,
    /// Full name.
    name: &'static str,
    /// Short names of its proposals.
    proposals: Vec<&'static str>,
}

impl BuiltIn {
    fn list() -> Self {
        let amps = built_in_circuits().iter().map(|amp| Amp {
            key: amp.key,
            name: amp.name,
            proposals: built_in::proposals_for(amp.key),
        });
        let whole = |amp: &BuiltInCircuit| {
            let key = amp.key;
            let proposals = amp.proposals.iter();
            proposals.map(move |p| format!("{key}-{}", p.key))
        };
        BuiltIn {
            proposals: built_in_circuits().iter().flat_map(whole).collect(),
            circuits: amps.collect(),
        }
    }
}

impl Report for BuiltIn {
    fn text(&self) -> String {
        let mut table = Table::new(&[
            ("Amp", Edge::Left),
            ("Full name", Edge::Left),
            ("Proposals", Edge::Left),
        ]);
        for amp in &self.circuits {
            table.row([amp.key, amp.name, &amp.proposals.join(", ")]);
        }
        format!("Amps that come with the program\n\n{table}")
    }
}

impl Report for PartsList {
    fn text(&self) -> String {
        let mut text = format!("{}\n{}\n", self.name, self.about);
        let proposed = || self.stages.iter().flat_map(|s| &s.parts);
        let proposed = proposed().any(|part| part.proposed.is_some());
        let mut heads = vec![("Part", Edge::Left), ("What", Edge::Left)];
        heads.push(("As found", Edge::Left));
        if proposed {
            heads.push(("Proposed", Edge::Left));
        }
        heads.push(("Rated", Edge::Left));
        let mut table = Table::new(&heads);
        for stage in &self.stages {
            table.title(match stage.stage.as_str() {
                "" => "No stage named",
                name => name,
            });
            for part in &stage.parts {
                let what = match part.role.as_str() {
                    "" => part.kind.in_words(),
                    role => role.to_string(),
                };
                let mut cells = vec![part.designator.clone(), what, part.as_found.clone()];
                if proposed {
                    cells.push(part.proposed.clone().unwrap_or_default());
                }
                cells.push(part.rated.clone());
                table.row(cells);
            }
        }
        let _ = write!(text, "\n{table}");
        if !self.controls.is_empty() {
            text.push_str("\nControls\n");
            for control in &self.controls {
                let _ = writeln!(text, "  {}: {}", control.name, control.in_words);
            }
        }
        if !self.assumed.is_empty() {
            text.push_str("\nAssumed, since the file does not say\n");
            for sentence in &self.assumed {
                let _ = writeln!(text, "  {sentence}");
            }
        }
        text.push('\n');
        for warning in &self.warnings {
            let _ = writeln!(text, "{warning}");
        }
        let count: usize = self.stages.iter().map(|s| s.parts.len()).sum();
        let _ = write!(text, "{count} parts");
        text
    }
}
