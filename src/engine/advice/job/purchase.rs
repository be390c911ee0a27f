//! What to buy for a part that goes in.

use super::marking::{ELECTROLYTIC_FARADS, Marking, marking};
use super::sizes;
use crate::advice::prices::{self, Prices};
use crate::advice::ratings::When;
use crate::analysis::parts_list::in_words;
use crate::circuit::{Part, PartKind};
use crate::device::Loudspeaker;
use crate::text::digits::{printed, significant};
use crate::units::{Quantity, Series, combination};
use serde::Serialize;

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

/// Usual tolerances where the file states none (common practice, no source).
const USUAL_RESISTOR: f64 = 0.05;
const USUAL_FILM: f64 = 0.1;
const USUAL_ELECTROLYTIC: f64 = 0.2;

/// The tolerance to buy, and whether the file states it.
pub fn tolerance(part: &Part) -> (f64, bool) {
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

/// What to buy for a part that meets so much; its price from `price_file`.
pub fn purchase(part: &Part, met: Met, price_file: Option<&Prices>) -> Purchase {
    let (share, stated) = tolerance(part);
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
        PartKind::Resistor { ohms, .. } => resistor(&mut buy, *ohms, part),
        PartKind::Capacitor { farads, .. } => capacitor(&mut buy, *farads, part),
        PartKind::Pot { .. } => pot(&mut buy, part),
        PartKind::Inductor { winding_ohms, .. } => choke(&mut buy, *winding_ohms),
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
        PartKind::Loudspeaker { driver, .. } => loudspeaker(&mut buy, driver),
        _ => buy.tolerance = None,
    }
    buy.marking = marking(part, share, buy.volts);
    buy.price = price_file.and_then(|file| price(&buy, part, file));
    buy
}

fn resistor(buy: &mut Purchase, ohms: f64, part: &Part) {
    let met = buy.met;
    let (watts, volts) = (met.watts.unwrap_or(0.0), met.volts.unwrap_or(0.0));
    buy.watts = sizes::resistor_watts(watts, volts, part.particulars.rated_watts);
    // Little volts are nothing to ask a shop about.
    let asked = met.volts.map(|v| sizes::VOLTS_MARGIN * v);
    buy.volts = asked.filter(|v| *v > ASKED_VOLTS).map(round_up);
    buy.build = sizes::resistor_build(buy.watts.unwrap_or(f64::MAX)).into();
    preferred(buy, ohms, Quantity::Resistance);
    if !sizes::one_body_takes(volts) {
        buy.notes.push("No single body is sure to take these volts: use two resistors of half the value in series.".into());
    }
}

fn capacitor(buy: &mut Purchase, farads: f64, part: &Part) {
    let volts = buy.met.volts.unwrap_or(0.0);
    buy.volts = sizes::capacitor_volts(farads, volts, part.particulars.rated_volts);
    buy.build = sizes::capacitor_build(farads).into();
    preferred(buy, farads, Quantity::Capacitance);
    if buy.volts.is_none() {
        buy.notes
            .push("No usual capacitor takes these volts with margin.".into());
    }
}

/// Pots are not sold by series, and there is no making one up of two.
fn pot(buy: &mut Purchase, part: &Part) {
    buy.watts = part.particulars.rated_watts;
    buy.build = "carbon or conductive plastic track".into();
    buy.notes
        .push("Match the shaft, the bush and the number of gangs.".into());
}

fn choke(buy: &mut Purchase, winding_ohms: f64) {
    buy.volts = buy.met.volts.map(round_up);
    buy.build = format!(
        "choke, winding about {}",
        Quantity::Resistance.in_words(winding_ohms)
    );
    buy.notes.push(
        "Its insulation must stand the full high tension; its current rating that of the amp."
            .into(),
    );
}

fn loudspeaker(buy: &mut Purchase, driver: &Loudspeaker) {
    buy.tolerance = None;
    buy.build = format!(
        "{}, rated for {} W or more",
        Quantity::Resistance.in_words(driver.rated_ohms),
        printed(driver.rated_watts)
    );
    buy.notes
        .push("It must fit the cut-out and the screws of the cabinet: measure first.".into());
}

/// What it costs; none where no line of the file covers it.
fn price(buy: &Purchase, part: &Part, file: &Prices) -> Option<f64> {
    let shop = prices::Purchase {
        watts: buy.watts,
        // A resistor is not asked for by its volts.
        volts: buy.volts.filter(|_| buy.watts.is_none()),
        quantity: buy.quantity as usize,
        ..prices::Purchase::of(part)?
    };
    file.cost(&shop).map(|cost| cost.total)
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
