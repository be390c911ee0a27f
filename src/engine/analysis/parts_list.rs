//! The parts of an amp by stage, in words, as found and as proposed; no equation is solved for it.

use crate::circuit::{Circuit, Diagnostic, Kind, Part, PartKind, Taper};
use crate::units::Quantity;
use serde::{Serialize, Serializer};

/// One part.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartLine {
    /// Designator, such as "R14".
    pub designator: String,
    /// Its kind.
    #[serde(serialize_with = "word_of_kind")]
    pub kind: Kind,
    /// What it does there; may be empty.
    pub role: String,
    /// Value or type; "out" if not fitted.
    pub as_found: String,
    /// The proposed one, where it differs.
    pub proposed: Option<String>,
    /// Tolerance and ratings as the file states them; may be empty.
    pub rated: String,
}

/// The key of a circuit file that names a kind.
fn word_of_kind<S: Serializer>(kind: &Kind, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(kind.word())
}

/// The parts of one stage, in the order of the file.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct StageLines {
    /// Name of the stage; empty for parts that name none.
    pub stage: String,
    /// Its parts.
    pub parts: Vec<PartLine>,
}

/// One control and where it stands.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct ControlLine {
    /// Its name.
    pub name: String,
    /// 0 to 1 for a pot; for a switch 1 is closed.
    pub position: f64,
    /// The position in words: "0.6", "closed".
    pub in_words: String,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct PartsList {
    /// Name of the amp.
    pub name: String,
    /// What its file says about it.
    pub about: String,
    /// Stages in the order of the file.
    pub stages: Vec<StageLines>,
    /// Controls in the order of the file.
    pub controls: Vec<ControlLine>,
    /// What the loader assumed because the file does not say, a sentence each.
    pub assumed: Vec<String>,
    /// What deserves a look.
    pub warnings: Vec<Diagnostic>,
}

/// Lists the parts. `proposed` has the same parts as `as_found`, in the same order.
pub fn parts_list(as_found: &Circuit, proposed: Option<&Circuit>) -> PartsList {
    let mut stages: Vec<StageLines> = Vec::new();
    for (i, part) in as_found.parts().iter().enumerate() {
        let after = proposed.map(|circuit| in_words(&circuit.parts()[i]));
        let before = in_words(part);
        let line = PartLine {
            designator: part.designator.clone(),
            kind: part.kind.kind(),
            role: part.particulars.role().to_string(),
            proposed: after.filter(|after| *after != before),
            as_found: before,
            rated: rated(part),
        };
        let name = part.particulars.stage();
        match stages.iter_mut().find(|stage| stage.stage == name) {
            Some(stage) => stage.parts.push(line),
            None => stages.push(StageLines {
                stage: name.to_string(),
                parts: vec![line],
            }),
        }
    }
    let standing = proposed.unwrap_or(as_found);
    PartsList {
        name: as_found.name().into(),
        about: as_found.about().into(),
        stages,
        controls: controls(standing),
        assumed: [as_found.supplied(), &crate::network::assumed(as_found)].concat(),
        warnings: standing.warnings(),
    }
}

/// A part's value or type in words.
pub fn in_words(part: &Part) -> String {
    if !part.fitted {
        return "out".into();
    }
    match &part.kind {
        PartKind::Resistor { ohms, .. } => Quantity::Resistance.in_words(*ohms),
        PartKind::Capacitor { farads, .. } => Quantity::Capacitance.in_words(*farads),
        PartKind::Inductor { henries, .. } => Quantity::Inductance.in_words(*henries),
        PartKind::Pot { ohms, taper, .. } => {
            let taper = match taper {
                Taper::Linear => "linear",
                Taper::Log => "log",
                Taper::Reverse => "reverse log",
            };
            format!("{} {taper}", Quantity::Resistance.in_words(*ohms))
        }
        PartKind::Switch { closed, .. } => contact(*closed).into(),
        PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => valve.name.clone(),
        PartKind::Rectifier {
            rectifier,
            winding_volts,
            ..
        } => format!(
            "{}, 2 × {}",
            rectifier.name,
            Quantity::WindingVoltage.in_words(*winding_volts)
        ),
        PartKind::OutputTransformer(transformer) => format!(
            "{} to {}",
            Quantity::Impedance.in_words(transformer.primary_ohms),
            Quantity::Impedance.in_words(transformer.secondary_ohms)
        ),
        PartKind::Loudspeaker { driver, .. } => driver.name.clone(),
        PartKind::Supply { volts, .. } => Quantity::SupplyVoltage.in_words(*volts),
        PartKind::BiasSupply { volts, .. } => Quantity::BiasVoltage.in_words(*volts),
        PartKind::VoltageSource { volts, .. } => Quantity::SourceVoltage.in_words(*volts),
    }
}

fn contact(closed: bool) -> &'static str {
    if closed { "closed" } else { "open" }
}

fn rated(part: &Part) -> String {
    let about = &part.particulars;
    let of = |quantity: Quantity, value: Option<f64>| value.map(|v| quantity.in_words(v));
    let words = [
        of(Quantity::Tolerance, about.tolerance).map(|t| format!("±{t}")),
        of(Quantity::RatedPower, about.rated_watts),
        of(Quantity::RatedVoltage, about.rated_volts),
    ];
    words.into_iter().flatten().collect::<Vec<_>>().join(", ")
}

fn controls(circuit: &Circuit) -> Vec<ControlLine> {
    let mut lines: Vec<ControlLine> = Vec::new();
    for part in circuit.parts() {
        let (name, position, in_words) = match &part.kind {
            PartKind::Pot { control, set, .. } => (control, *set, Quantity::Share.in_words(*set)),
            PartKind::Switch {
                control, closed, ..
            } => (control, f64::from(*closed), contact(*closed).into()),
            _ => continue,
        };
        // Ganged parts share a control.
        if lines
            .iter()
            .all(|line| !line.name.eq_ignore_ascii_case(name))
        {
            lines.push(ControlLine {
                name: name.clone(),
                position,
                in_words,
            });
        }
    }
    lines
}
