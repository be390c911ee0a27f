//! `presolder curve`: the frequency response as a table and a picture.

use super::arguments::Curve as Arguments;
use super::cabinet;
use super::failure::Failure;
use super::guitar;
use super::load::{LoadedAmp, load};
use super::output::show;
use crate::files::{read_text, write_text};
use crate::units::decibels_from_ratio;

use super::report::Report;
use super::{arguments::Changes, reference_curve};
use crate::analysis::cabinet_model::CabinetModel;
use crate::analysis::response::{Against, Path, Response, against, axis, gains, response_through};
use crate::circuit::{Circuit, NodeId};
use crate::picture::curve::{Curves, SIZE, curve_svg};
use crate::solve::solved::SolvedAmp;
use crate::text::table::{Edge, Table, fixed, signed_db};

/// Largest circuit or proposal file, bytes.
const LIMIT: u64 = crate::circuit::MOST_BYTES as u64;

/// Shows the response of a circuit.
///
/// # Errors
/// The faults found, unknown nodes, no operating point, files that cannot be read or written.
pub fn run(arguments: &Arguments) -> Result<(), Failure> {
    let mut changes = arguments.changes.clone();
    let mut against_circuit = None;
    // A circuit or a proposal to compare with ends in .toml; all else is a measured curve.
    if let Some(file) = arguments.against.as_ref().filter(|f| toml(f)) {
        let name = file.to_string_lossy().into_owned();
        if read_text(file, LIMIT)?.lines().any(|l| l.trim() == "[amp]") {
            against_circuit = Some(name);
        } else if changes.proposal.is_some() {
            let message = "--against names a proposal, and --proposal another: give one of them";
            return Err(Failure::Usage(message.into()));
        } else {
            changes.proposal = Some(name);
        }
    }
    let guitar = guitar::open(&arguments.guitar)?;
    let loaded = load(&arguments.circuit, &changes)?.with_guitar(guitar);
    let amp = SolvedAmp::new(&loaded.as_found, loaded.proposed.as_ref())?.fit_to_judge()?;
    let path = path(arguments, &loaded.as_found)?;
    let asked = arguments.cabinet.as_ref();
    let at_node = path.to.is_some();
    let (cabinet, told) = cabinet::open(asked, CabinetModel::Line, &loaded.as_found, at_node)?;
    let mut report = response_through(&amp, path, &|side, hz| cabinet.gain(side, hz));
    if cabinet != CabinetModel::Line {
        // Each circuit has a loudspeaker of its own, so the name of one would not do for both.
        report.to += &match &cabinet {
            CabinetModel::Impulse(impulse) => format!(" through {}", impulse.name()),
            _ => " as it radiates".into(),
        };
    }
    told.iter().for_each(super::output::tell);
    report.against = match (&arguments.against, against_circuit) {
        (_, Some(name)) => Some(of_circuit(arguments, &name, &cabinet)?),
        (Some(file), None) if !toml(file) => {
            let curve = reference_curve::read(file)?;
            let name = file.to_string_lossy();
            Some(against(&name, &report.hz, |hz| curve.at(hz)))
        }
        _ => None,
    };
    if let Some(file) = &arguments.svg {
        write_text(file, &picture(&report, &loaded)?)?;
    }
    show(&report, arguments.json)
}

fn toml(file: &std::path::Path) -> bool {
    file.extension()
        .is_some_and(|e| e.eq_ignore_ascii_case("toml"))
}

/// The nodes that the arguments name.
fn path(arguments: &Arguments, circuit: &Circuit) -> Result<Path, Failure> {
    let find = |name: &Option<String>| name.as_ref().map(|n| node(circuit, n)).transpose();
    let path = Path {
        from: find(&arguments.from)?,
        to: find(&arguments.to)?,
    };
    if path.from.is_some() && path.from == path.to {
        return Err(Failure::Usage("--from and --to name the same node".into()));
    }
    Ok(path)
}

/// A node by name, in the case of the file or in any other.
///
/// # Errors
/// A message that lists the nodes.
pub fn node(circuit: &Circuit, name: &str) -> Result<NodeId, Failure> {
    let any_case = || {
        let mut nodes = circuit.nodes().iter();
        let at = nodes.position(|n| n.eq_ignore_ascii_case(name));
        at.map(|i| NodeId(i as u16))
    };
    let found = circuit.find_node(name).or_else(any_case);
    match found {
        Some(node) if node != crate::circuit::GROUND => Ok(node),
        Some(_) => Err(Failure::Usage(format!(
            "{name} is ground: every voltage is measured to it"
        ))),
        None => {
            let shown: String = name.chars().filter(|c| !c.is_control()).take(48).collect();
            Err(Failure::Usage(format!(
                "\"{shown}\" is not a node of this circuit; the nodes are {}",
                circuit.nodes()[1..].join(", ")
            )))
        }
    }
}

/// The response of another circuit, with the same controls set.
fn of_circuit(
    arguments: &Arguments,
    name: &str,
    cabinet: &CabinetModel,
) -> Result<Against, Failure> {
    let changes = Changes {
        control: arguments.changes.control.clone(),
        ..Changes::default()
    };
    let other = load(name, &changes)?.with_guitar(guitar::open(&arguments.guitar)?);
    let amp = SolvedAmp::new(&other.as_found, None)?.fit_to_judge()?;
    let path = path(arguments, &other.as_found)?;
    let level = |hz: f64| {
        let gain = gains(&amp.network, &amp.as_found, path, &[hz])[0];
        decibels_from_ratio((gain * cabinet.gain(&amp.as_found, hz)).norm())
    };
    Ok(against(name, &axis(), |hz| Some(level(hz))))
}

/// The picture of a response.
///
/// # Errors
/// When no value is finite.
pub fn picture(report: &Response, loaded: &LoadedAmp) -> Result<String, Failure> {
    let note = match (loaded.proposal.as_str(), &report.difference) {
        (_, None) => format!("From {} to {}.", report.from, report.to),
        ("", Some(_)) => format!(
            "From {} to {}, as found and as proposed.",
            report.from, report.to
        ),
        (name, Some(_)) => format!(
            "From {} to {}, as found and with \"{name}\".",
            report.from, report.to
        ),
    };
    curve_svg(&Curves {
        title: &report.amp,
        note: &note,
        axis: "Gain, dB",
        hz: &report.hz,
        as_found: &report.as_found.db,
        proposed: report.proposed.as_ref().map(|c| c.db.as_slice()),
        size: SIZE,
    })
    .map_err(Failure::NoSolution)
}

impl Report for Response {
    fn text(&self) -> String {
        let two = self.proposed.is_some();
        let mut heads = vec![("Hz", Edge::Right), ("As found, dB", Edge::Right)];
        if two {
            heads.extend([
                ("Proposed, dB", Edge::Right),
                ("Difference, dB", Edge::Right),
            ]);
        }
        if self.against.is_some() {
            heads.extend([
                ("Against, dB", Edge::Right),
                (
                    if two {
                        "Proposed less it, dB"
                    } else {
                        "As found less it, dB"
                    },
                    Edge::Right,
                ),
            ]);
        }
        let mut table = Table::new(&heads);
        for (i, band) in self.third_octaves.iter().enumerate() {
            let mut cells = vec![band.hz.to_string(), fixed(band.as_found_db, 1)];
            if let (Some(proposed), Some(difference)) = (band.proposed_db, band.difference_db) {
                cells.extend([fixed(proposed, 1), signed_db(difference)]);
            }
            if let Some(Against {
                third_octave_db, ..
            }) = &self.against
            {
                let shown = band.proposed_db.unwrap_or(band.as_found_db);
                let cell = |f: &dyn Fn(f64) -> String| third_octave_db[i].map_or("–".into(), f);
                cells.extend([cell(&|db| fixed(db, 1)), cell(&|db| signed_db(shown - db))]);
            }
            table.row(cells);
        }
        let against = self.against.as_ref();
        let against = against.map_or(String::new(), |a| format!("Against: {}\n", a.name));
        let unfit = self.unfit.as_ref();
        let unfit = unfit.map_or(String::new(), |unfit| format!("{unfit}\n"));
        format!(
            "{}: gain from {} to {}\n{unfit}{against}\n{table}",
            self.amp, self.from, self.to
        )
    }
}
