//! Text of a price file to prices, or every fault at once.

use super::list::{Line, MINUTES_RANGE, PRICE_RANGE, Prices, Ware};
use crate::circuit::Diagnostic;
use crate::circuit::diagnostics::{in_order, shorten};
use crate::circuit::text::{self, Entry, Item, Raw};
use crate::circuit::values::{check_format, plain_text, unknown_key, value_fault};
use crate::units::Quantity;

/// Most lines of prices; a file with more is no price file for an amplifier.
const MOST_LINES: usize = 1000;

type Faults = Vec<Diagnostic>;

impl Prices {
    /// The invented prices that come with the program.
    pub fn built_in() -> Self {
        let text = include_str!("../../../../presets/prices.toml");
        Self::parse(text).unwrap_or_else(|faults| panic!("{faults:?}"))
    }

    /// Reads a price file.
    ///
    /// # Errors
    /// Every fault, in the order of the file: line, value, allowed range and remedy.
    pub fn parse(text: &str) -> Result<Self, Vec<Diagnostic>> {
        read(text)
    }

    /// Reads a price file that may not be text at all.
    ///
    /// # Errors
    /// Every fault, in the order of the file.
    pub fn parse_bytes(bytes: &[u8]) -> Result<Self, Vec<Diagnostic>> {
        Self::parse(text::decode(bytes).map_err(|fault| vec![fault])?)
    }
}

fn read(text: &str) -> Result<Prices, Faults> {
    let text = text::decode(text.as_bytes()).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let (_, entries) = text::parse(text, &mut faults);
    check_format(&entries, &mut faults);
    let mut prices = Prices {
        currency: String::new(),
        about: String::new(),
        chassis_minutes: 0.0,
        minutes: [0.0; Ware::ALL.len()],
        lines: Vec::new(),
    };
    for entry in &entries {
        match entry.key.as_str() {
            "format" => {}
            "prices" => head(&mut prices, entry, &mut faults),
            "minutes" => minutes(&mut prices, entry, &mut faults),
            "parts" => parts(&mut prices, entry, &mut faults),
            _ => {
                let known = ["format", "prices", "minutes", "parts"];
                faults.push(unknown_key(entry, &known));
            }
        }
    }
    if !entries.iter().any(|e| e.key == "minutes") && faults.is_empty() {
        faults.push(Diagnostic::error(
            "[minutes] is missing",
            "add it with chassis and a line for each kind of part; presets/prices.toml has an example",
        ));
    }
    if prices.currency.is_empty() && faults.is_empty() {
        faults.push(Diagnostic::error(
            "the currency is missing",
            "write currency = \"…\" under [prices]",
        ));
    }
    if faults.is_empty() {
        Ok(prices)
    } else {
        Err(in_order(faults))
    }
}

fn table<'e>(name: &str, line: usize, item: &'e Item, faults: &mut Faults) -> &'e [Entry] {
    if let Raw::Table(entries) = &item.raw {
        return entries;
    }
    let message = format!("{} is not a table", shorten(name));
    let remedy = match line == item.line && name.chars().all(char::is_alphanumeric) {
        true => format!("write [{name}] on a line of its own"),
        false => "write { price = 0.20 }".into(),
    };
    faults.push(Diagnostic::error(message, remedy).line(line));
    &[]
}

fn head(prices: &mut Prices, entry: &Entry, faults: &mut Faults) {
    for entry in table(&entry.key, entry.line, &entry.item, faults) {
        let place = match entry.key.as_str() {
            "currency" => &mut prices.currency,
            "about" => &mut prices.about,
            _ => {
                faults.push(unknown_key(entry, &["currency", "about"]));
                continue;
            }
        };
        match plain_text(entry) {
            Ok(text) => *place = text,
            Err(fault) => faults.push(fault),
        }
    }
}

fn minutes(prices: &mut Prices, entry: &Entry, faults: &mut Faults) {
    let mut found = [false; Ware::ALL.len()];
    let mut chassis = false;
    let entries = table(&entry.key, entry.line, &entry.item, faults);
    for entry in entries {
        let ware = Ware::ALL.iter().position(|w| w.word() == entry.key);
        let place = match ware {
            Some(place) => {
                found[place] = true;
                &mut prices.minutes[place]
            }
            None if entry.key == "chassis" => {
                chassis = true;
                &mut prices.chassis_minutes
            }
            None => {
                let mut known = vec!["chassis"];
                known.extend(Ware::ALL.map(Ware::word));
                faults.push(unknown_key(entry, &known));
                continue;
            }
        };
        if let Some(value) = number(entry, MINUTES_RANGE, "minutes", faults) {
            *place = value;
        }
    }
    let wanted = Ware::ALL.iter().zip(found).map(|(w, f)| (w.word(), f));
    for (word, found) in std::iter::once(("chassis", chassis)).chain(wanted) {
        if !found && matches!(entry.item.raw, Raw::Table(_)) {
            let message = format!("minutes for {word} are missing");
            let remedy = format!("add {word} = 10 under [minutes], or what it takes you");
            faults.push(Diagnostic::error(message, remedy).line(entry.line));
        }
    }
}

fn parts(prices: &mut Prices, entry: &Entry, faults: &mut Faults) {
    for entry in table(&entry.key, entry.line, &entry.item, faults) {
        let Some(ware) = Ware::ALL.into_iter().find(|w| w.word() == entry.key) else {
            faults.push(unknown_key(entry, &Ware::ALL.map(Ware::word)));
            continue;
        };
        let Raw::List(items) = &entry.item.raw else {
            let message = format!("{} is not a list of prices", entry.key);
            let remedy = format!("write {} = [{{ price = 0.20 }}]", entry.key);
            faults.push(Diagnostic::error(message, remedy).line(entry.line));
            continue;
        };
        if prices.lines.len() + items.len() > MOST_LINES {
            let message = format!("more than {MOST_LINES} prices are too many");
            faults.push(Diagnostic::error(message, "keep those that you need").line(entry.line));
            return;
        }
        for item in items {
            prices.lines.extend(line(ware, item, faults));
        }
    }
}

fn line(ware: Ware, item: &Item, faults: &mut Faults) -> Option<Line> {
    let before = faults.len();
    let mut line = Line {
        ware,
        value: None,
        watts: None,
        volts: None,
        name: None,
        price: f64::NAN,
    };
    let quantity = match ware {
        Ware::Resistor | Ware::Pot => Some(Quantity::Resistance),
        Ware::Capacitor => Some(Quantity::Capacitance),
        Ware::Inductor => Some(Quantity::Inductance),
        _ => None,
    };
    let known: &[&str] = match quantity {
        Some(_) => &["value", "watts", "volts", "price"],
        None => &["name", "price"],
    };
    for entry in table(ware.word(), item.line, item, faults) {
        match (entry.key.as_str(), quantity) {
            ("price", _) => {
                if let Some(price) = number(entry, PRICE_RANGE, "price", faults) {
                    line.price = price;
                }
            }
            ("value", Some(quantity)) => line.value = of(entry, quantity, faults),
            ("watts", Some(_)) => line.watts = of(entry, Quantity::RatedPower, faults),
            ("volts", Some(_)) => line.volts = of(entry, Quantity::RatedVoltage, faults),
            ("name", None) => match plain_text(entry) {
                Ok(text) => line.name = Some(text),
                Err(fault) => faults.push(fault),
            },
            _ => faults.push(unknown_key(entry, known)),
        }
    }
    if faults.len() == before && line.price.is_nan() {
        let message = format!("a line of {} has no price", ware.word());
        faults.push(Diagnostic::error(message, "add price = 0.20").line(item.line));
    }
    (faults.len() == before).then_some(line)
}

/// A plain number in a range.
fn number(entry: &Entry, range: [f64; 2], what: &str, faults: &mut Faults) -> Option<f64> {
    let [least, greatest] = range;
    let key = &entry.key;
    let (Raw::Number(text) | Raw::Text(text)) = &entry.item.raw else {
        let message = format!("{} is not a number", shorten(key));
        let remedy = format!("write {key} = 10, from {least} to {greatest}");
        faults.push(Diagnostic::error(message, remedy).line(entry.line));
        return None;
    };
    let value = text.trim().replace(',', ".").parse::<f64>().ok();
    match value.filter(|v| v.is_finite()) {
        Some(value) if (least..=greatest).contains(&value) => Some(value),
        Some(_) => {
            let message = format!("{key}: {} is outside {least} to {greatest}", shorten(text));
            let remedy = match (value < Some(0.0), what) {
                (true, "price") => "a price is not negative: write what one part costs you",
                (true, _) => "work takes no negative time: write the minutes that it takes you",
                (false, "price") => "write what one part costs you",
                (false, _) => "write minutes, not seconds; nothing here takes longer than two days",
            };
            faults.push(
                Diagnostic::error(message, remedy)
                    .line(entry.line)
                    .value(text),
            );
            None
        }
        None => {
            let message = format!("{key}: \"{}\" is not a number", shorten(text));
            let remedy = format!("write it without unit, such as {key} = 10");
            faults.push(
                Diagnostic::error(message, remedy)
                    .line(entry.line)
                    .value(text),
            );
            None
        }
    }
}

/// A value with its unit, as on a part.
fn of(entry: &Entry, quantity: Quantity, faults: &mut Faults) -> Option<f64> {
    let (Raw::Text(text) | Raw::Number(text)) = &entry.item.raw else {
        let message = format!("{} is not a {}", shorten(&entry.key), quantity.name());
        let remedy = format!("write a value such as {} = \"…\"", entry.key);
        faults.push(Diagnostic::error(message, remedy).line(entry.line));
        return None;
    };
    match quantity.parse(text) {
        Ok(value) => Some(value),
        Err(error) => {
            faults.push(value_fault(&error, text, Some(&entry.key)).line(entry.line));
            None
        }
    }
}
