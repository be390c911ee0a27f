//! Shared by the tests of the job sheet: a job from a circuit and changes, its page, and the page
//! read back as a tree.
#![allow(dead_code)]

use engine::advice::job::{Evidence, Job, Origin, Proposed, Said, job};
use engine::advice::prices::Prices;
use engine::advice::ratings::{Driven, ratings};
use engine::analysis::response::{Path, response};
use engine::circuit::{self, Circuit, WrittenProposal, read_proposal};
use engine::device::Catalogue;
use engine::job_sheet::page;
use engine::requests::drawing::Drawing;
use engine::solve::solved::{Both, SolvedAmp};
use roxmltree::{Document, Node, ParsingOptions};

/// A job and its page.
pub struct Sheet {
    pub as_found: Circuit,
    pub proposed: Circuit,
    pub job: Job,
    pub html: String,
}

/// The sheet of a circuit and a proposal, both as text.
pub fn sheet_of(circuit_text: &str, proposal_text: &str) -> Sheet {
    let catalogue = Catalogue::built_in();
    let as_found = circuit::read(circuit_text, &catalogue).expect("a circuit");
    let proposal: WrittenProposal = read_proposal(proposal_text).expect("a proposal");
    let proposed = proposal.apply(&as_found, &catalogue).expect("changes");
    let as_found = as_found
        .with_written_controls(&proposal.settings)
        .expect("settings");
    let amp = SolvedAmp::new(&as_found, Some(&proposed)).expect("an operating point");
    // At rest is enough here; the command line's test has everything.
    let ratings = amp
        .both()
        .expect("two sides")
        .map(|side| ratings(&amp.network, side, &Driven::default()));
    let prices = Prices::built_in();
    let job = job(
        &amp,
        Proposed {
            name: proposal.name.clone(),
            about: proposal.about.clone(),
        },
        Origin {
            circuit: "amp.toml".into(),
            proposal: "proposal.toml".into(),
            program: "Presolder 0.0".into(),
            date: None,
            invented: true,
        },
        Said {
            verdict: vec!["The verdict stands here.".into()],
            warnings: Vec::new(),
        },
        &Evidence {
            ratings: Both {
                as_found: &ratings.as_found,
                proposed: &ratings.proposed,
            },
            spread: None,
            changes: None,
            prices: Some(&prices),
        },
    );
    let schematic = Drawing::of(&amp).on_job_sheet();
    let html = page(&job, &response(&amp, Path::default()), &schematic);
    Sheet {
        as_found,
        proposed,
        job,
        html,
    }
}

/// The sheet of a built-in amp with some changes, such as "R505=15k".
pub fn sheet(amp: &str, changes: &[&str]) -> Sheet {
    let circuit = circuit::built_in_circuit(amp).expect("an amp").text;
    let mut proposal = String::from("format = 1\n[proposal]\nname = \"Trial\"\n[changes]\n");
    for change in changes {
        let (name, value) = change.split_once('=').expect("a change");
        proposal += &format!("{name} = \"{value}\"\n");
    }
    sheet_of(circuit, &proposal)
}

/// The sheet of a built-in proposal.
pub fn built_in(amp: &str, proposal: &str) -> Sheet {
    let found = circuit::built_in_circuit(amp).expect("an amp");
    let text = found.proposals.iter().find(|p| p.key == proposal);
    sheet_of(found.text, text.expect("a proposal").text)
}

/// Reads the page as the XML that it is.
pub fn tree(html: &str) -> Document<'_> {
    let options = ParsingOptions {
        allow_dtd: true,
        ..ParsingOptions::default()
    };
    Document::parse_with_options(html, options).unwrap_or_else(|fault| panic!("{fault}\n{html}"))
}

/// All text below an element, runs of white space as one.
pub fn text(node: Node<'_, '_>) -> String {
    let pieces: Vec<&str> = node
        .descendants()
        .filter(|n| n.is_text())
        .filter_map(|n| n.text())
        .collect();
    pieces
        .join(" ")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ")
}

/// Elements of a name in the order of the page.
pub fn elements<'a, 'i>(tree: &'a Document<'i>, name: &'a str) -> Vec<Node<'a, 'i>> {
    let all = tree.descendants();
    all.filter(|n| n.is_element() && n.tag_name().name() == name)
        .collect()
}

/// The section under a heading.
pub fn under<'a, 'i>(tree: &'a Document<'i>, heading: &str) -> Node<'a, 'i> {
    let found = elements(tree, "h2")
        .into_iter()
        .find(|h| text(*h) == heading);
    found
        .and_then(|h| h.parent())
        .unwrap_or_else(|| panic!("no {heading}"))
}

/// The cells of the rows below an element, in words.
pub fn rows(node: Node<'_, '_>) -> Vec<Vec<String>> {
    let rows = node
        .descendants()
        .filter(|n| n.has_tag_name(("http://www.w3.org/1999/xhtml", "tr")));
    rows.map(|row| {
        row.children()
            .filter(|n| n.is_element())
            .map(text)
            .collect()
    })
    .collect()
}
