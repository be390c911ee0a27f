//! What the readings say, in words.

use super::fault::Fault;
use super::healthy::{AMPS, MAINS};
use super::report::{Compared, Judgement, Suspect};
use super::suspects::Suspicion;
use crate::advice::spread::{envelope, tolerance};
use crate::circuit::topology::Role;
use crate::circuit::{Circuit, GROUND, PartId, PartKind, Readings, electrodes};
use crate::text::digits::{fixed, significant, volts};
use crate::text::list::listed;
use crate::units::Quantity;

/// Factors beyond which a resistor counts as open or shorted, and a leak below which a capacitor
/// counts as shorted, Ω.
const OPEN: f64 = 50.0;
const SHORTED: f64 = 0.02;
const SHORTED_OHMS: f64 = 300.0;
/// A valve that draws less than this share draws nothing.
const DEAD: f64 = 0.05;
/// A value so many times as large is told as a multiple, no longer in per cent or tolerances.
const MANY: f64 = 3.0;
/// A meter that takes off less than this share is not worth a word.
const SLIGHT: f64 = 0.01;

/// The value of a part: "12 kΩ", "ECC83".
pub fn value(circuit: &Circuit, id: PartId) -> String {
    let part = circuit.part(id);
    if !part.fitted {
        return "not fitted".into();
    }
    match &part.kind {
        PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => {
            Quantity::Resistance.in_words(*ohms)
        }
        PartKind::Capacitor { farads, .. } => Quantity::Capacitance.in_words(*farads),
        PartKind::Inductor { henries, .. } => Quantity::Inductance.in_words(*henries),
        PartKind::Switch { closed, .. } => if *closed { "closed" } else { "open" }.into(),
        PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => valve.name.clone(),
        PartKind::Rectifier { rectifier, .. } => rectifier.name.clone(),
        PartKind::OutputTransformer(_) => "output transformer".into(),
        PartKind::Loudspeaker { driver, .. } => driver.name.clone(),
        PartKind::Supply { volts, .. }
        | PartKind::BiasSupply { volts, .. }
        | PartKind::VoltageSource { volts, .. } => Quantity::SourceVoltage.in_words(*volts),
    }
}

/// The measured value over that of the file, for parts that have one number.
pub fn ratio(file: &Circuit, put_in: &Circuit, id: PartId) -> Option<f64> {
    let number = |circuit: &Circuit| match circuit.part(id).kind {
        PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => Some(ohms),
        PartKind::Capacitor { farads, .. } => Some(farads),
        PartKind::Inductor { henries, .. } => Some(henries),
        _ => None,
    };
    let fitted = [file, put_in].iter().all(|c| c.part(id).fitted);
    fitted.then(|| Some(number(put_in)? / number(file)?))?
}

/// "R505: 14.8 kΩ measured, 12 kΩ in the file (+23 %): outside its tolerance of 5 %."
pub fn part(file: &Circuit, put_in: &Circuit, id: PartId, within: Option<bool>) -> String {
    let designator = &file.part(id).designator;
    let start = format!(
        "{designator}: {} measured, {} in the file",
        value(put_in, id),
        value(file, id)
    );
    let share = tolerance(file, id).map(|(share, _)| percent(share));
    match (within, ratio(file, put_in, id), share) {
        (Some(within), Some(ratio), Some(share)) => {
            let word = if within { "within" } else { "OUTSIDE" };
            let change = signed_percent(ratio);
            format!("{start} ({change}): {word} its tolerance of {share}.")
        }
        _ => format!("{start}."),
    }
}

/// "5 %".
fn percent(share: f64) -> String {
    let percent = 100.0 * share;
    let places = usize::from(percent.fract().abs() > 0.05 && percent < 10.0);
    format!("{} %", fixed(percent, places))
}

/// "+50 %" of 1.5, "5.2 times" of more.
fn signed_percent(ratio: f64) -> String {
    if ratio >= MANY {
        return format!("{} times", significant(ratio, 2));
    }
    let sign = if ratio > 1.0 { "+" } else { "" };
    format!("{sign}{} %", fixed(100.0 * (ratio - 1.0), 0))
}

/// A fault as a suspect. `before` is what the points read without it; `distance` how far the
/// readings are from that.
pub fn suspect(
    circuit: &Circuit,
    compared: &[Compared],
    suspicion: &Suspicion,
    before: &[f64],
    distance: f64,
) -> Suspect {
    let fault = suspicion.fault;
    let fits = |c: &Compared, read: f64| {
        let half = 0.5 * (c.band.p99 - c.band.p1) + c.meter;
        (c.volts - read).abs() <= half
    };
    let rows = compared.iter().zip(before).zip(&suspicion.read);
    let trusted = rows.filter(|((c, _), _)| c.judgement != Judgement::Impossible);
    let fitted: Vec<[bool; 2]> = trusted
        .map(|((c, before), read)| [fits(c, *before), fits(c, *read)])
        .collect();
    let of = fitted.iter().filter(|f| !f[0]).count();
    let explains = fitted.iter().filter(|f| **f == [false, true]).count();
    let spoils = fitted.iter().filter(|f| **f == [true, false]).count();
    let (part, role) = match fault.part() {
        None => ("mains".to_string(), String::new()),
        Some(id) => {
            let part = circuit.part(id);
            (part.designator.clone(), part.particulars.role().to_string())
        }
    };
    let needed = needed(circuit, fault, suspicion.number);
    let tolerances = match fault {
        Fault::Ohms(id) => tolerance(circuit, id).map(|t| (suspicion.number - 1.0).abs() / t.0),
        Fault::Mains => Some((suspicion.number - 1.0).abs() / MAINS),
        _ => None,
    };
    let times = match tolerances {
        Some(times) if times >= 1.0 && suspicion.number < MANY && fault != Fault::Mains => {
            format!(", {} times its tolerance,", significant(times, 2))
        }
        _ => String::new(),
    };
    let name = match (fault, role.as_str()) {
        (Fault::Mains, _) => "The mains".to_string(),
        (_, "") => part.clone(),
        (_, role) => format!("{part} ({role})"),
    };
    let what = match (explains, of) {
        (_, 0) => "the readings taken together".to_string(),
        (1, 1) => "the one reading that is off".into(),
        (2, 2) => "both readings that are off".into(),
        (n, of) if n == of => format!("all {of} readings that are off"),
        (0, _) => "part of what is off".into(),
        (n, of) => format!("{n} of the {of} readings that are off"),
    };
    let but = match spoils {
        0 => String::new(),
        1 => ", but another reading would then be off".into(),
        n => format!(", but {n} other readings would then be off"),
    };
    Suspect {
        sentence: format!("{name}: {needed}{times} would explain {what}{but}."),
        look: what_to_inspect(circuit, fault, &part),
        part,
        role,
        needed,
        tolerances,
        explains,
        spoils,
        takes_away_percent: 100.0 * (1.0 - suspicion.left / distance).clamp(0.0, 1.0),
    }
}

/// What would have to be.
fn needed(circuit: &Circuit, fault: Fault, number: f64) -> String {
    let scaled = |id: PartId, quantity: Quantity, value: f64| {
        let stated = self::value(circuit, id);
        // Two digits of ohms, three of volts.
        let digits = if quantity == Quantity::Resistance {
            1
        } else {
            2
        };
        let rounded = format!("{:.digits$e}", value * number).parse();
        let rounded = rounded.unwrap_or(value);
        format!(
            "about {} in place of {stated} ({})",
            quantity.in_words(rounded),
            signed_percent(number)
        )
    };
    match fault {
        Fault::Ohms(_) if number >= OPEN => "an open circuit".into(),
        Fault::Ohms(_) if number <= SHORTED => "a short circuit".into(),
        Fault::Ohms(id) => match circuit.part(id).kind {
            PartKind::Resistor { ohms, .. } | PartKind::Pot { ohms, .. } => {
                scaled(id, Quantity::Resistance, ohms)
            }
            _ => String::new(),
        },
        Fault::Leak(_) if number <= SHORTED_OHMS => "a short circuit".into(),
        Fault::Leak(_) => {
            let rounded = format!("{number:.1e}").parse().unwrap_or(number);
            format!("a leak of about {}", Quantity::Resistance.in_words(rounded))
        }
        Fault::Emission(_) if number <= DEAD => "drawing nothing".into(),
        Fault::Emission(id) => format!(
            "drawing about {} % of what an average {} draws",
            fixed(100.0 * number, 0),
            value(circuit, id)
        ),
        Fault::Source(id) => match circuit.part(id).kind {
            PartKind::Supply { volts, .. } => scaled(id, Quantity::SupplyVoltage, volts),
            PartKind::BiasSupply { volts, .. } => scaled(id, Quantity::BiasVoltage, volts),
            PartKind::VoltageSource { volts, .. } => scaled(id, Quantity::SourceVoltage, volts),
            _ => format!("a winding voltage off by {}", signed_percent(number)),
        },
        Fault::Mains => format!(
            "{} % {} than the file takes them to be",
            fixed(100.0 * (number - 1.0).abs(), 0),
            if number > 1.0 { "higher" } else { "lower" }
        ),
        Fault::Open(..) => "an open primary winding".into(),
    }
}

/// What to look at.
fn what_to_inspect(circuit: &Circuit, fault: Fault, part: &str) -> String {
    match fault {
        Fault::Ohms(_) => format!(
            "Measure {part} with one end lifted; look at its marking, its joints and for scorching."
        ),
        Fault::Leak(id) => {
            let grid = match circuit.part(id).kind {
                PartKind::Capacitor { between, .. } => {
                    let valves = circuit.parts().iter().filter_map(electrodes);
                    valves.into_iter().any(|valve| between.contains(&valve.grid))
                }
                _ => false,
            };
            let gas = if grid || circuit.topology().of(id).role == Role::Coupling {
                " A valve with gas behind it looks the same: try another valve too."
            } else {
                ""
            };
            format!("Put a new part in for {part}, or test its insulation with one end lifted.{gas}")
        }
        Fault::Emission(_) => {
            let envelope = envelope(part);
            format!(
                "Put another valve in for {envelope}; look at its socket, its heater's joints and the parts at its cathode."
            )
        }
        Fault::Source(_) => {
            "Look at the rectifier, its winding, its fuse and its reservoir capacitor.".into()
        }
        Fault::Mains => {
            "A plug-in meter tells what the outlet gives; see that the amp's voltage selector is set to it.".into()
        }
        Fault::Open(..) => format!("Measure the windings of {part} from tap to tap."),
    }
}

/// About the readings, one by one and together.
pub fn sentences(
    compared: &[Compared],
    unlikely: bool,
    suspects: &[Suspect],
    [bottom, top]: [f64; 2],
) -> Vec<String> {
    let mut out = Vec::new();
    let count = |wanted| compared.iter().filter(|c| c.judgement == wanted).count();
    let within = count(Judgement::Within);
    for c in compared {
        let name = match c.point == c.node {
            true => c.point.clone(),
            false => format!("{} ({})", c.point, c.node),
        };
        let read = volts(c.volts);
        match c.judgement {
            Judgement::Within => {}
            Judgement::Outside => {
                let way = if c.volts > c.band.p99 { "above" } else { "below" };
                out.push(format!(
                    "{name}: {read} V is {way} the {} V to {} V that healthy amps of this model give; {} V are expected.",
                    volts(c.band.p1),
                    volts(c.band.p99),
                    volts(c.expected)
                ));
            }
            // Turned about, the reading would be possible.
            Judgement::Impossible
                if !(c.volts * c.expected < 0.0 && (bottom..=top).contains(&-c.volts)) => out.push(format!(
                "{name}: {read} V is impossible: nothing in this amp stands outside {} V to {} V, even with the mains 10 % up. Look at the meter's range and battery, and at the line in the file.",
                volts(bottom),
                volts(top)
            )),
            Judgement::Impossible => out.push(format!(
                "{name}: {read} V is impossible: {} V are expected, and no single fault turns the sign. The leads may have been the wrong way round, or on another point.",
                volts(c.expected)
            )),
        }
    }
    if within == compared.len() && !compared.is_empty() {
        out.push(match (within, unlikely) {
            (1, _) => "The reading is what healthy amps of this model give.".into(),
            (n, false) => format!("All {n} readings are what healthy amps of this model give."),
            (n, true) => format!("Each of the {n} readings is what healthy amps of this model give, but not all of them in one amp."),
        });
    } else if within > 0 {
        let off = compared.len() - within;
        out.push(format!(
            "{within} of {} readings are what healthy amps of this model give, {off} not.",
            compared.len()
        ));
    }
    let off = unlikely || count(Judgement::Outside) > 0;
    if off && suspects.is_empty() {
        out.push("No single part explains this. Two things may be wrong at once, or the wiring differs from the file.".into());
    }
    out
}

/// How the readings were compared.
pub fn notes(circuit: &Circuit, readings: &Readings, compared: &[Compared]) -> Vec<String> {
    let mut out = vec![format!(
        "The bands hold 98 of 100 amps: {AMPS} were drawn within the tolerances of their parts and the spread of new valves, mains within ±{:.0} % (common practice). The meter may be off by {} besides.",
        100.0 * MAINS,
        percent(readings.meter.tolerance)
    )];
    let taken = |c: &&Compared| {
        (c.without_meter - c.expected).abs() > SLIGHT * c.without_meter.abs().max(OFFSET)
    };
    let names: Vec<&str> = compared
        .iter()
        .filter(taken)
        .map(|c| c.point.as_str())
        .collect();
    if !names.is_empty() {
        let load = Quantity::MeterResistance.in_words(readings.meter.ohms);
        out.push(format!(
            "The meter's {load} pull the voltage down at {}; what is expected there allows for it.",
            listed(&names)
        ));
    }
    let fixed_bias: Vec<&str> = circuit
        .parts()
        .iter()
        .filter(|p| matches!(p.kind, PartKind::Pentode { cathode, .. } if cathode == GROUND))
        .map(|p| p.designator.as_str())
        .collect();
    if !fixed_bias.is_empty() {
        out.push(format!(
            "{}: with the cathode at ground a tired valve hardly moves any voltage, so that readings in volts cannot find it out.",
            listed(&fixed_bias)
        ));
    }
    out.push("A suspect is what would explain the readings, not what is proved; the fault may also be in the wiring or in two parts at once.".into());
    out
}

/// Voltages below this are not worth a share of, V.
const OFFSET: f64 = 0.1;
