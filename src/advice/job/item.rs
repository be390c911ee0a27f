//! One change as a job: what comes out, what goes in, and what to buy for it.

use super::marking::{ELECTROLYTIC_FARADS, Marking, marking};
use super::sizes;
use crate::advice::prices::{self, Prices, Ware};
use crate::advice::ratings::When;
use crate::analysis::parts_list::in_words;
use crate::circuit::{Circuit, Kind, NodeId, Part, PartId, PartKind};
use crate::solve::solved::SolvedAmp;
use crate::text::digits::{printed, significant};
use crate::units::{Quantity, Series, combination};
use serde::{Serialize, Serializer};

/// What is done to a part.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Action {
    /// One comes out, another goes in.
    Replace,
    /// One goes in where none was.
    Fit,
    /// One comes out for good.
    Remove,
    /// A contact is set otherwise.
    Set,
    /// A supply is made otherwise, which is no matter of one part.
    Supply,
}

/// What the part meets in the amp, where it is known.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct Met {
    /// Heat at the worst, W.
    pub watts: Option<f64>,
    /// When that is.
    pub watts_when: Option<When>,
    /// Volts across it at the worst, V.
    pub volts: Option<f64>,
    /// When that is.
    pub volts_when: Option<When>,
}

/// What to buy.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Purchase {
    /// Value or type: "15 kΩ", "ECC81".
    pub value: String,
    /// The same as a number, SI units, with what it measures; none for a type.
    #[serde(skip)]
    pub number: Option<(Quantity, f64)>,
    /// How many.
    pub quantity: u32,
    /// Tolerance as a share; none for what has none.
    pub tolerance: Option<f64>,
    /// Whether the tolerance is the file's own; else the usual one is taken.
    pub tolerance_stated: bool,
    /// Coarsest series of preferred values that has the value; none where it has no value or no
    /// series has it.
    pub series: Option<String>,
    /// What to do about a value that is not preferred, a sentence.
    pub not_preferred: Option<String>,
    /// What it meets.
    pub met: Met,
    /// Power to buy, W, with margin; none for what has no such rating.
    pub watts: Option<f64>,
    /// Volts to buy, V, with margin.
    pub volts: Option<f64>,
    /// Build: "metal film".
    pub build: String,
    /// What it costs, in the currency of the job; none where no price is known.
    pub price: Option<f64>,
    /// What is printed on it.
    pub marking: Marking,
    /// What else to mind, a sentence each.
    pub notes: Vec<String>,
}

/// One change.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Item {
    /// Designator; "V1" for both halves of a bottle.
    pub designator: String,
    /// Its kind; in a report in the trade's words: "resistor".
    #[serde(serialize_with = "kind_in_words")]
    pub kind: Kind,
    /// What it does there; may be empty.
    pub role: String,
    /// Its stage; may be empty.
    pub stage: String,
    /// Where it sits; empty where the file does not say.
    pub near: String,
    /// The nodes that it joins.
    pub nodes: Vec<String>,
    /// What is done.
    pub action: Action,
    /// Value or type as found; "out" if there is none.
    pub as_found: String,
    /// As proposed.
    pub proposed: String,
    /// How the part that comes out is marked.
    pub old_marking: Marking,
    /// Where its positive end goes, a node; for electrolytics.
    pub positive: Option<String>,
    /// What to buy; none where nothing is bought.
    pub buy: Option<Purchase>,
}

impl Item {
    /// What it is in a shop; none for what is not bought as one part.
    pub fn ware(&self) -> Option<Ware> {
        Ware::of(self.kind)
    }
}

fn kind_in_words<S: Serializer>(kind: &Kind, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&kind.in_words())
}

/// Usual tolerances where the file states none (common practice, no source).
const USUAL_RESISTOR: f64 = 0.05;
const USUAL_FILM: f64 = 0.1;
const USUAL_ELECTROLYTIC: f64 = 0.2;

/// The changes, halves of a bottle together, in the order of the file, each with the part's place.
/// `met` says what the part of a designator meets.
pub fn items(
    amp: &SolvedAmp,
    met: &dyn Fn(&str) -> Met,
    price_file: Option<&Prices>,
) -> Vec<(PartId, Item)> {
    let (found, proposed) = (&amp.as_found.circuit, &amp.asked_for().circuit);
    let mut out: Vec<(PartId, Item)> = Vec::new();
    for (i, (before, after)) in found.parts().iter().zip(proposed.parts()).enumerate() {
        let id = PartId(i as u16);
        if in_words(before) == in_words(after) && same_value(before, after) {
            continue;
        }
        let name = envelope(found, id);
        if out.iter().all(|(_, item)| item.designator != name) {
            let met = met(&before.designator);
            out.push((id, item(amp, id, name, met, price_file)));
        }
    }
    out
}

/// Exactly the same value: words have four digits only.
fn same_value(before: &Part, after: &Part) -> bool {
    let value = |part: &Part| match part.kind {
        PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => Some(ohms),
        PartKind::Capacitor { farads, .. } => Some(farads),
        PartKind::Inductor { henries, .. } => Some(henries),
        PartKind::Supply { volts, .. } | PartKind::BiasSupply { volts, .. } => Some(volts),
        _ => None,
    };
    value(before) == value(after)
}

/// "V1" for a half "V1a" of it, else the designator.
fn envelope(circuit: &Circuit, id: PartId) -> String {
    let name = &circuit.part(id).designator;
    let short = name.trim_end_matches(|c: char| c.is_ascii_alphabetic());
    match circuit.find_part(short).is_none() && circuit.parts_named(short).contains(&id) {
        true => short.into(),
        false => name.clone(),
    }
}

fn item(
    amp: &SolvedAmp,
    id: PartId,
    designator: String,
    met: Met,
    price_file: Option<&Prices>,
) -> Item {
    let (found, proposed) = (&amp.as_found.circuit, &amp.asked_for().circuit);
    let (before, after) = (found.part(id), proposed.part(id));
    let action = match (before.kind.kind(), before.fitted, after.fitted) {
        (Kind::Switch, ..) => Action::Set,
        (Kind::Supply | Kind::BiasSupply | Kind::VoltageSource, ..) => Action::Supply,
        (_, true, false) => Action::Remove,
        (_, false, true) => Action::Fit,
        _ => Action::Replace,
    };
    let goes_in = matches!(action, Action::Replace | Action::Fit);
    let about = &before.particulars;
    let node = |node: &NodeId| found.nodes()[node.0 as usize].clone();
    let old = match before.fitted {
        true => marking(before, tolerance(before).0, about.rated_volts),
        false => Marking::default(),
    };
    Item {
        designator,
        kind: before.kind.kind(),
        role: about.role.clone(),
        stage: about.stage.clone(),
        near: about.near.clone().unwrap_or_default(),
        nodes: ends(before).iter().map(node).collect(),
        action,
        as_found: in_words(before),
        proposed: in_words(after),
        old_marking: old,
        positive: positive(amp, after).filter(|_| goes_in).map(|n| node(&n)),
        buy: goes_in.then(|| purchase(after, met, price_file)),
    }
}

/// The two nodes that a part with two ends joins.
fn ends(part: &Part) -> Vec<NodeId> {
    match &part.kind {
        PartKind::Resistor { between, .. }
        | PartKind::Capacitor { between, .. }
        | PartKind::Inductor { between, .. }
        | PartKind::Switch { between, .. }
        | PartKind::Loudspeaker { between, .. } => between.to_vec(),
        PartKind::Pot {
            from, wiper, to, ..
        } => vec![*from, *wiper, *to],
        _ => Vec::new(),
    }
}

/// The node of an electrolytic's positive end.
fn positive(amp: &SolvedAmp, part: &Part) -> Option<NodeId> {
    let PartKind::Capacitor { farads, between } = part.kind else {
        return None;
    };
    let side = amp.asked_for();
    let volts = between.map(|n| side.point.solution[amp.network.position(n)]);
    let higher = usize::from(volts[1] > volts[0]);
    (farads >= ELECTROLYTIC_FARADS && volts[0] != volts[1]).then(|| between[higher])
}

/// The tolerance to buy, and whether the file states it.
fn tolerance(part: &Part) -> (f64, bool) {
    let usual = match part.kind {
        PartKind::Capacitor { farads, .. } if farads >= ELECTROLYTIC_FARADS => USUAL_ELECTROLYTIC,
        PartKind::Capacitor { .. } => USUAL_FILM,
        PartKind::Pot { .. } => USUAL_ELECTROLYTIC,
        _ => USUAL_RESISTOR,
    };
    match part.particulars.tolerance {
        Some(stated) => (stated, true),
        None => (usual, false),
    }
}

fn purchase(part: &Part, met: Met, price_file: Option<&Prices>) -> Purchase {
    let about = &part.particulars;
    let (share, stated) = tolerance(part);
    let (met_watts, met_volts) = (met.watts.unwrap_or(0.0), met.volts.unwrap_or(0.0));
    let mut buy = Purchase {
        value: in_words(&Part {
            fitted: true,
            ..part.clone()
        }),
        number: part.kind.single_value(),
        quantity: 1,
        tolerance: Some(share),
        tolerance_stated: stated,
        series: None,
        not_preferred: None,
        met,
        watts: None,
        volts: None,
        build: String::new(),
        price: None,
        marking: Marking::default(),
        notes: Vec::new(),
    };
    match &part.kind {
        PartKind::Resistor { ohms, .. } => {
            buy.watts = sizes::resistor_watts(met_watts, met_volts, about.rated_watts);
            // Little volts are nothing to ask a shop about.
            let volts = met.volts.map(|v| sizes::VOLTS_MARGIN * v);
            buy.volts = volts.filter(|v| *v > ASKED_VOLTS).map(round_up);
            buy.build = sizes::resistor_build(buy.watts.unwrap_or(f64::MAX)).into();
            preferred(&mut buy, *ohms, Quantity::Resistance);
            if !sizes::one_body_takes(met_volts) {
                buy.notes.push("No single body is sure to take these volts: use two resistors of half the value in series.".into());
            }
        }
        PartKind::Capacitor { farads, .. } => {
            buy.volts = sizes::capacitor_volts(*farads, met_volts, about.rated_volts);
            buy.build = sizes::capacitor_build(*farads).into();
            preferred(&mut buy, *farads, Quantity::Capacitance);
            if buy.volts.is_none() {
                buy.notes
                    .push("No usual capacitor takes these volts with margin.".into());
            }
        }
        PartKind::Pot { ohms, .. } => {
            buy.watts = about.rated_watts;
            buy.build = "carbon or conductive plastic track".into();
            preferred(&mut buy, *ohms, Quantity::Resistance);
            buy.series = None;
            buy.not_preferred = None;
            buy.notes
                .push("Match the shaft, the bush and the number of gangs.".into());
        }
        PartKind::Inductor { winding_ohms, .. } => {
            buy.volts = met.volts.map(round_up);
            buy.build = format!(
                "choke, winding about {}",
                Quantity::Resistance.in_words(*winding_ohms)
            );
            buy.notes.push("Its insulation must stand the full high tension; its current rating that of the amp.".into());
        }
        PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => {
            buy.tolerance = None;
            if !valve.also.is_empty() {
                buy.build = format!("also sold as {}", valve.also.join(", "));
            }
        }
        PartKind::Rectifier { rectifier, .. } => {
            buy.tolerance = None;
            buy.value = rectifier.name.clone();
        }
        PartKind::Loudspeaker { driver, .. } => {
            buy.tolerance = None;
            buy.build = format!(
                "{}, rated for {} W or more",
                Quantity::Resistance.in_words(driver.rated_ohms),
                printed(driver.rated_watts)
            );
            buy.notes.push(
                "It must fit the cut-out and the screws of the cabinet: measure first.".into(),
            );
        }
        _ => buy.tolerance = None,
    }
    buy.marking = marking(part, share, buy.volts);
    let shop = prices::Purchase::of(part).map(|shop| prices::Purchase {
        watts: buy.watts,
        // A resistor is not asked for by its volts.
        volts: buy.volts.filter(|_| buy.watts.is_none()),
        quantity: buy.quantity as usize,
        ..shop
    });
    let cost = shop
        .zip(price_file)
        .and_then(|(shop, file)| file.cost(&shop));
    buy.price = cost.map(|cost| cost.total);
    buy
}

/// The smallest body of a resistor takes more than this, V.
const ASKED_VOLTS: f64 = 100.0;

/// Whole tens of volts.
fn round_up(volts: f64) -> f64 {
    (volts / 10.0 - 1e-9).ceil() * 10.0
}

/// Finds the series, or what to do without one.
fn preferred(buy: &mut Purchase, value: f64, quantity: Quantity) {
    let series = Series::ALL.into_iter().find(|s| s.contains(value));
    // Nobody keeps E3 or E6 apart from E12.
    buy.series = series.map(|s| format!("E{}", s.count().max(12)));
    if series.is_some_and(|s| s.count() <= 24) || !(value.is_finite() && value > 0.0) {
        return;
    }
    let words = |v: f64| quantity.in_words(v);
    let near = [Series::E24.previous(value), Series::E24.next(value)].map(words);
    let Some(pair) = combination(Series::E12, value) else {
        return;
    };
    let way = match (pair.added, quantity) {
        (true, Quantity::Capacitance) | (false, Quantity::Resistance) => "side by side",
        _ => "in series",
    };
    let off = 100.0 * (pair.value / value - 1.0);
    let exact = match off.abs() < 0.005 {
        true => "exactly".to_string(),
        false => format!("{} % off", significant(off, 2)),
    };
    buy.not_preferred = Some(format!(
        "{} is {} Its neighbours in E24 are {} and {}; {} and {} {way} make {} ({exact}).",
        words(value),
        match series {
            Some(s) => format!("in E{} but not in E24: few shops keep it.", s.count()),
            None => "no preferred value.".into(),
        },
        near[0],
        near[1],
        words(pair.values[0]),
        words(pair.values[1]),
        words(pair.value),
    ));
}
