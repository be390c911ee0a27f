//! Proposals on the built-in amps and the reports on their changes.
#![allow(dead_code)]

use engine::advice::changes::{ChangesReport, Plan, changes_report};
use engine::advice::prices::Prices;
use engine::circuit::{
    Circuit, Proposal, WrittenChange, WrittenProposal, WrittenSetting, built_in_circuit, read,
};
use engine::device::Catalogue;
use engine::sound::phrase::phrase;

pub const RATE: u32 = 48_000;

pub fn amp(key: &str) -> Circuit {
    let text = built_in_circuit(key).expect("a built-in amp").text;
    read(text, &Catalogue::built_in()).expect("a sound file")
}

/// "R505=15k" and "Tone=0.2", whichever the circuit has.
pub fn proposal(circuit: &Circuit, edits: &[&str]) -> Proposal {
    let mut proposal = WrittenProposal::default();
    for edit in edits {
        let name = edit.split('=').next().expect("NAME=VALUE");
        if circuit.parts_named(name).is_empty() {
            proposal
                .settings
                .push(edit.parse::<WrittenSetting>().unwrap());
        } else {
            proposal
                .changes
                .push(edit.parse::<WrittenChange>().unwrap());
        }
    }
    proposal
        .resolve(circuit, &Catalogue::built_in())
        .expect("it fits")
}

pub fn plan(circuit: &Circuit, edits: &[&str]) -> Plan {
    let proposal = proposal(circuit, edits);
    Plan::new(circuit, &proposal).unwrap()
}

pub fn report_with(circuit: &Circuit, edits: &[&str], sound: &[f32]) -> ChangesReport {
    let report = changes_report(
        circuit,
        &proposal(circuit, edits),
        &Prices::built_in(),
        (&[sound], RATE),
        &mut |_| true,
    );
    report.expect("not given up").expect("a report")
}

/// With the hard chord of the built-in phrase, 1.2 s: short, so that many reports are quick.
pub fn report(key: &str, edits: &[&str]) -> ChangesReport {
    let sound = phrase(RATE);
    let (from, to) = (67 * RATE as usize / 10, 79 * RATE as usize / 10);
    report_with(&amp(key), edits, &sound[from..to])
}

pub fn names(report: &ChangesReport) -> Vec<&str> {
    report.rows.iter().map(|row| row.name.as_str()).collect()
}
