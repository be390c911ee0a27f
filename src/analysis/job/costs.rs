//! What a job costs and how long it takes, by the prices and minutes of a price file.

use super::item::{Item, Purchase};
use super::work::Opening;
use crate::analysis::digits::{fixed, printed};
use crate::analysis::prices::{self, Prices, Ware};
use crate::circuit::Kind;
use crate::units::Quantity;
use serde::Serialize;

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Costs {
    /// Price of what is bought for each item, in their order; none where nothing is bought or no
    /// line of the price file covers it.
    pub each: Vec<Option<f64>>,
    /// The same in words: "0.20 coins"; empty where there is none.
    pub each_in_words: Vec<String>,
    /// All of them; none where one that is bought has no price.
    pub total: Option<f64>,
    /// Minutes of work, the chassis opened once for each opening that needs it; none where
    /// something is no work on one part.
    pub minutes: Option<f64>,
    /// How often the chassis is opened.
    pub chassis_openings: usize,
    /// The word for the currency.
    pub currency: String,
    /// What the price file says about itself.
    pub about: String,
    /// Parts and time in a sentence each.
    pub in_words: Vec<String>,
}

/// Counts a job's costs.
pub fn costs(items: &[Item], openings: &[Opening], prices: &Prices) -> Costs {
    let bought = items.iter().map(|item| Some((item, item.buy.as_ref()?)));
    let bought: Vec<_> = bought.collect();
    let each: Vec<Option<f64>> = bought
        .iter()
        .map(|bought| {
            let (item, buy) = (*bought)?;
            Some(prices.cost(&wanted(item, buy)?)?.total)
        })
        .collect();
    let pairs = || bought.iter().zip(&each).filter(|(buy, _)| buy.is_some());
    let total: Option<f64> = pairs().map(|(_, price)| *price).sum();
    let chassis_openings = openings.iter().filter(|o| o.opens_chassis).count();
    let parts: Option<f64> = items
        .iter()
        .map(|item| match item.kind.as_str() {
            // A contact is set by hand.
            "switch" => Some(0.0),
            _ => Some(prices.minutes(ware(item)?)),
        })
        .sum();
    let minutes = parts.map(|m| m + prices.chassis_minutes() * chassis_openings as f64);
    let unpriced = pairs().filter(|(_, price)| price.is_none());
    let unpriced: Vec<&str> = unpriced
        .filter_map(|(buy, _)| Some((*buy)?.0.designator.as_str()))
        .collect();
    let number = pairs().count();
    let mut out = Costs {
        each_in_words: each
            .iter()
            .map(|price| price.map_or(String::new(), |p| prices.in_words(p)))
            .collect(),
        each,
        total,
        minutes,
        chassis_openings,
        currency: prices.currency().into(),
        about: prices.about().into(),
        in_words: Vec::new(),
    };
    out.in_words = in_words(&out, prices, &unpriced, number);
    out
}

fn in_words(costs: &Costs, prices: &Prices, unpriced: &[&str], bought: usize) -> Vec<String> {
    let mut out = Vec::new();
    out.push(match costs.total {
        _ if bought == 0 => "There is nothing to buy.".into(),
        Some(total) => format!("The parts cost {} in all.", prices.in_words(total)),
        None => format!(
            "The price file has no price for {}.",
            crate::analysis::sentences::listed(unpriced)
        ),
    });
    let opened = match costs.chassis_openings {
        0 => "the chassis stays closed".into(),
        1 => "the chassis is opened once".into(),
        n => format!("the chassis is opened {n} times"),
    };
    out.push(match costs.minutes {
        Some(minutes) => format!(
            "The work takes about {} minutes; {opened}.",
            fixed(minutes, 0)
        ),
        None => format!("How long it takes is for a technician to say; {opened}."),
    });
    out
}

/// What an item is in a shop; none for what is not bought as one part.
fn ware(item: &Item) -> Option<Ware> {
    Ware::of(
        Kind::ALL
            .into_iter()
            .find(|kind| kind.in_words() == item.kind)?,
    )
}

fn wanted(item: &Item, buy: &Purchase) -> Option<prices::Purchase> {
    let ware = ware(item)?;
    let quantity = match ware {
        Ware::Resistor | Ware::Pot => Some(Quantity::Resistance),
        Ware::Capacitor => Some(Quantity::Capacitance),
        Ware::Inductor => Some(Quantity::Inductance),
        _ => None,
    };
    Some(prices::Purchase {
        ware,
        value: quantity.map_or(Some(0.0), |q| q.parse(&buy.value).ok())?,
        watts: buy.watts,
        volts: buy.volts,
        name: match quantity {
            Some(_) => String::new(),
            None => buy.value.clone(),
        },
        quantity: buy.quantity as usize,
    })
}

/// What is bought for an item in a line: "R505 bias feed: resistor 15 kΩ ±5 %, 0.5 W"; what else is
/// done where nothing is bought.
pub fn in_a_line(item: &Item) -> String {
    let name = format!("{} {}", item.designator, item.role);
    let name = name.trim();
    let Some(buy) = &item.buy else {
        return format!(
            "{name}: nothing to buy ({} → {})",
            item.as_found, item.proposed
        );
    };
    let number = match buy.quantity {
        1 => String::new(),
        n => format!("{n} × "),
    };
    let tolerance = buy.tolerance;
    let tolerance = tolerance.map(|t| format!(" ±{} %", printed(100.0 * t)));
    let rating = |value: Option<f64>, unit: &str| {
        value.map_or(String::new(), |v| format!(", {} {unit}", printed(v)))
    };
    format!(
        "{name}: {number}{} {}{}{}{}",
        item.kind,
        buy.value,
        tolerance.unwrap_or_default(),
        rating(buy.watts, "W"),
        rating(buy.volts, "V"),
    )
}
