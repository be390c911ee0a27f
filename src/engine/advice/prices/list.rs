//! A list of prices, and what a part of the circuit is in it.

use crate::circuit::{Kind, Part, PartKind};
use serde::Serialize;

/// Least and greatest price of one part, in the file's currency.
pub const PRICE_RANGE: [f64; 2] = [0.0, 100_000.0];
/// Least and greatest time for one part, minutes: up to two days of work.
pub const MINUTES_RANGE: [f64; 2] = [0.0, 960.0];

/// What is bought, or worked on: kinds of parts as a shop and a bench tell them apart.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Ware {
    /// Resistor.
    Resistor,
    /// Capacitor.
    Capacitor,
    /// Choke.
    Inductor,
    /// Pot.
    Pot,
    /// Valve, with both its sections.
    Valve,
    /// Rectifier.
    Rectifier,
    /// Output transformer.
    OutputTransformer,
    /// Loudspeaker.
    Loudspeaker,
}

impl Ware {
    /// All of them.
    pub const ALL: [Ware; 8] = [
        Ware::Resistor,
        Ware::Capacitor,
        Ware::Inductor,
        Ware::Pot,
        Ware::Valve,
        Ware::Rectifier,
        Ware::OutputTransformer,
        Ware::Loudspeaker,
    ];

    /// Its key in a price file.
    pub fn word(self) -> &'static str {
        match self {
            Ware::Resistor => "resistor",
            Ware::Capacitor => "capacitor",
            Ware::Inductor => "inductor",
            Ware::Pot => "pot",
            Ware::Valve => "valve",
            Ware::Rectifier => "rectifier",
            Ware::OutputTransformer => "output_transformer",
            Ware::Loudspeaker => "loudspeaker",
        }
    }

    /// What a part of the circuit is in a shop; none for what is not bought as one part: switches
    /// stand at the panel, and a supply is the mains transformer with everything behind it.
    pub fn of(kind: Kind) -> Option<Ware> {
        Some(match kind {
            Kind::Resistor => Ware::Resistor,
            Kind::Capacitor => Ware::Capacitor,
            Kind::Inductor => Ware::Inductor,
            Kind::Pot => Ware::Pot,
            Kind::Triode | Kind::Pentode => Ware::Valve,
            Kind::Rectifier => Ware::Rectifier,
            Kind::OutputTransformer => Ware::OutputTransformer,
            Kind::Loudspeaker => Ware::Loudspeaker,
            Kind::Switch | Kind::Supply | Kind::BiasSupply | Kind::VoltageSource => return None,
        })
    }
}

/// What a shop needs to know of a part.
#[derive(Clone, Debug, PartialEq)]
pub struct Purchase {
    /// Kind.
    pub ware: Ware,
    /// Ohms, farads or henries; 0 where the name tells all.
    pub value: f64,
    /// Power rating, W; none where the file states none, and then any will do.
    pub watts: Option<f64>,
    /// Voltage rating, V; likewise.
    pub volts: Option<f64>,
    /// Type of a valve or a rectifier, name of a loudspeaker; else empty.
    pub name: String,
    /// How many.
    pub quantity: usize,
}

impl Purchase {
    /// One such part; none for what is not bought as one part. The two sections of a valve are one
    /// purchase, which the caller sees to.
    pub fn of(part: &Part) -> Option<Purchase> {
        let (value, name) = match &part.kind {
            PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => (*ohms, String::new()),
            PartKind::Capacitor { farads, .. } => (*farads, String::new()),
            PartKind::Inductor { henries, .. } => (*henries, String::new()),
            PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => {
                (0.0, valve.name.clone())
            }
            PartKind::Rectifier { rectifier, .. } => (0.0, rectifier.name.clone()),
            PartKind::Loudspeaker { driver, .. } => (0.0, driver.name.clone()),
            _ => (0.0, String::new()),
        };
        Some(Purchase {
            ware: Ware::of(part.kind.kind())?,
            value,
            watts: part.particulars.rated_watts,
            volts: part.particulars.rated_volts,
            name,
            quantity: 1,
        })
    }
}

/// What a purchase costs, in the file's currency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Cost {
    /// One of them.
    pub each: f64,
    /// All of them.
    pub total: f64,
}

/// A line of the file: the most that it covers, and its price.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    pub(crate) ware: Ware,
    pub(crate) value: Option<f64>,
    pub(crate) watts: Option<f64>,
    pub(crate) volts: Option<f64>,
    pub(crate) name: Option<String>,
    pub(crate) price: f64,
}

/// A price file.
#[derive(Clone, Debug, PartialEq)]
pub struct Prices {
    pub(crate) currency: String,
    pub(crate) about: String,
    pub(crate) chassis_minutes: f64,
    /// In the order of [`Ware::ALL`].
    pub(crate) minutes: [f64; Ware::ALL.len()],
    pub(crate) lines: Vec<Line>,
}

impl Prices {
    /// The word for the currency, such as "coins".
    pub fn currency(&self) -> &str {
        &self.currency
    }

    /// What the file says about itself.
    pub fn about(&self) -> &str {
        &self.about
    }

    /// Minutes to open the amp safely and to close it again, whatever is done inside.
    pub fn chassis_minutes(&self) -> f64 {
        self.chassis_minutes
    }

    /// Minutes of work on one part, the amp being open where it must be.
    pub fn minutes(&self, ware: Ware) -> f64 {
        let place = Ware::ALL.iter().position(|w| *w == ware);
        place.map_or(0.0, |place| self.minutes[place])
    }

    /// The cheapest line that covers a part; none when no line does.
    pub fn cost(&self, purchase: &Purchase) -> Option<Cost> {
        let covers = |most: Option<f64>, wanted: f64| most.is_none_or(|most| wanted <= most);
        let fits = |line: &&Line| {
            line.ware == purchase.ware
                // A value that was read back from text may differ in its last digit.
                && covers(line.value.map(|v| v * (1.0 + 1e-9)), purchase.value)
                && covers(line.watts, purchase.watts.unwrap_or(0.0))
                && covers(line.volts, purchase.volts.unwrap_or(0.0))
                && line
                    .name
                    .as_ref()
                    .is_none_or(|name| name.eq_ignore_ascii_case(&purchase.name))
        };
        let prices = self.lines.iter().filter(fits).map(|line| line.price);
        let each = prices.min_by(f64::total_cmp)?;
        Some(Cost {
            each,
            total: each * purchase.quantity as f64,
        })
    }

    /// "0.20 coins".
    pub fn in_words(&self, amount: f64) -> String {
        format!("{amount:.2} {}", self.currency)
    }
}
