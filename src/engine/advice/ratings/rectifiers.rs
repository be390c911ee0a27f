//! Valve rectifiers against their printed limits, and the reservoir behind them.
//!
//! Current into the reservoir is the average that the rectifier's law gives; the peak of one anode
//! is what the same law passes at the crest of the winding at that reservoir voltage, ripple left
//! out.

use super::finding::{Finding, Limit, Standing, When, distinct};
use super::limited::{LimitSource, Limited};
use super::lines::Line;
use super::valves::Seen;
use crate::circuit::{Circuit, GROUND, NodeId, PartId, PartKind};
use crate::device::rectifier_type::{LeastOhms, RectifierLimits};
use crate::units::peak_from_rms;
use serde::Serialize;

/// One rectifier.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct RectifierRatings {
    /// Designator.
    pub designator: String,
    /// Type number.
    pub rectifier: String,
    /// Where its limits are printed, and how well that was seen.
    pub source: String,
    /// Its quantities.
    pub lines: Vec<Line>,
}

/// A rectifier and what is over or near its limits; none for other parts.
pub fn rectifier(seen: &Seen<'_>, id: PartId) -> Option<(RectifierRatings, Vec<Finding>)> {
    let circuit = &seen.side.circuit;
    let part = circuit.part(id);
    let PartKind::Rectifier {
        rectifier,
        winding_volts,
        winding_ohms,
        to,
        from,
    } = &part.kind
    else {
        return None;
    };
    let limits = &rectifier.limits;
    let name = part.designator.as_str();
    let limit = |value: f64| Limit {
        value,
        name: "the printed limit of ".to_owned().into(),
        system: LimitSource::Printed,
        source: limits.source.clone(),
    };
    let judged = |line: &Line, states: &[When]| line.judge(name, states, &limit(line.limit?));
    let mut found = Vec::new();
    let milliamps = |amps: Option<f64>| amps.map(|a| 1e3 * a);

    let mean = Line::new(
        Limited::MeanOutputCurrent,
        "mA",
        milliamps(limits.output_amps),
    );
    let mean = seen.filled(mean, id, |s| 1e3 * s.amps);
    found.extend(judged(&mean, &[When::AtRest, When::Phrase, When::Sine]));

    let crest = peak_from_rms(*winding_volts);
    let drop = rectifier.perveance.map_or(0.0, |k| k.powf(-2.0 / 3.0));
    let peak = |s: &crate::analysis::stress::PartStress| {
        1e3 * anode_amps(crest - s.low_volts, *winding_ohms, drop)
    };
    let peak_limit = milliamps(limits.peak_amps);
    let mut peak_line = Line::new(Limited::PeakAnodeCurrent, "mA", peak_limit);
    peak_line.at_rest = seen.part(id, When::AtRest).map(peak);
    peak_line.phrase = seen.part(id, When::Phrase).map(peak);
    peak_line.sine = seen.part(id, When::Sine).map(peak);
    found.extend(judged(
        &peak_line,
        &[When::AtRest, When::Phrase, When::Sine],
    ));

    // The other half of the winding is at its crest below the centre tap.
    let mut inverse = Line::new(Limited::InverseVoltage, "V", limits.inverse_volts);
    inverse.at_rest = seen.volts(When::AtRest, *to, *from).map(|v| v + crest);
    inverse.cold = seen
        .volts(When::Cold, *to, *from)
        .map(|v| v + super::states::MAINS_HIGH * crest);
    found.extend(judged(&inverse, &[When::AtRest]));

    let microfarads = |farads: f64| 1e6 * farads;
    let farads = limits.reservoir_farads.map(microfarads);
    let mut reservoir = Line::new(Limited::Reservoir, "µF", farads);
    reservoir.at_rest = Some(microfarads(reservoir_farads(circuit, *to, *from)));
    found.extend(judged(&reservoir, &[When::AtRest]));

    let mut lines = vec![mean, peak_line, inverse, reservoir];
    if let Some(volts) = limits.heater_cathode_volts {
        // The heater is taken to stand at ground.
        let mut heater = Line::new(Limited::HeaterVoltage, "V", Some(volts));
        heater.at_rest = seen.volts(When::AtRest, *to, GROUND).map(f64::abs);
        heater.cold = seen.volts(When::Cold, *to, GROUND).map(f64::abs);
        found.extend(judged(&heater, &[When::AtRest]));
        lines.push(heater);
    }
    let least = least_ohms(&limits.least_ohms, *winding_volts);
    let mut ohms = Line::new(Limited::AnodeResistance, "Ω", least);
    ohms.at_rest = Some(*winding_ohms);
    found.extend(least.and_then(|least| too_little(name, *winding_ohms, least, limits)));
    lines.push(ohms);
    let report = RectifierRatings {
        designator: name.into(),
        rectifier: rectifier.name.clone(),
        source: limits.source.clone(),
        lines,
    };
    Some((report, found))
}

/// Current of one anode at so many volts across itself and its resistance, A: `R·y³ + D·y² = volts`
/// with `y = i^(1/3)`, by bisection.
fn anode_amps(volts: f64, ohms: f64, drop: f64) -> f64 {
    if !(volts > 0.0 && volts.is_finite()) {
        return 0.0;
    }
    let ohms = ohms.max(1e-3);
    let (mut low, mut high) = (0.0, (volts / ohms).cbrt());
    for _ in 0..60 {
        let y = 0.5 * (low + high);
        if ohms * y * y * y + drop * y * y > volts {
            high = y;
        } else {
            low = y;
        }
    }
    low.powi(3)
}

/// Capacitance between two nodes, F.
fn reservoir_farads(circuit: &Circuit, to: NodeId, from: NodeId) -> f64 {
    let parts = circuit.parts().iter().filter(|p| p.fitted);
    let farads = parts.map(|part| match part.kind {
        PartKind::Capacitor { farads, between }
            if between == [to, from] || between == [from, to] =>
        {
            farads
        }
        _ => 0.0,
    });
    farads.sum()
}

/// The least resistance in each anode at a winding voltage, straight between printed rows and on
/// from the last two; below the first row its figure. None without rows.
pub fn least_ohms(rows: &[LeastOhms], winding_volts: f64) -> Option<f64> {
    let first = rows.first()?;
    if winding_volts <= first.winding_volts_rms || rows.len() == 1 {
        return Some(first.ohms);
    }
    let above = |row: &LeastOhms| row.winding_volts_rms >= winding_volts;
    let upper = rows.iter().position(above).unwrap_or(rows.len() - 1).max(1);
    let [a, b] = [rows[upper - 1], rows[upper]];
    let share = (winding_volts - a.winding_volts_rms) / (b.winding_volts_rms - a.winding_volts_rms);
    Some(a.ohms + share * (b.ohms - a.ohms))
}

fn too_little(name: &str, ohms: f64, least: f64, limits: &RectifierLimits) -> Option<Finding> {
    if ohms >= least {
        return None;
    }
    let [shown, wanted] = distinct(ohms, least);
    Some(Finding {
        designator: name.into(),
        what: Limited::AnodeResistance,
        when: When::AtRest,
        value: ohms,
        limit: least,
        unit: "Ω",
        percent: 100.0 * least / ohms,
        standing: Standing::Over,
        system: LimitSource::Printed,
        source: limits.source.clone(),
        in_words: format!(
            "the resistance in each anode is {shown} Ω, less than the {wanted} Ω that this winding \
             voltage needs: the charging peaks are too high."
        )
        .into(),
    })
}
