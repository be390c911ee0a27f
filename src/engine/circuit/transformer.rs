//! Output transformer: its values, its taps, and the losses that are assumed when not stated.

use super::assumed::Assumed;
use super::diagnostics::Diagnostic;
use super::reader::{Line, Reader};
use super::text::{Entry, Item, Raw};
use super::wiring::Wiring;
use super::{NodeId, OutputTransformer, PartId, PartKind, Winding};
use crate::units::Quantity;

/// Most taps on one winding, ends included.
pub const MOST_TAPS: usize = 12;

/// Keys inside the braces of `output_transformer`.
pub(crate) const KEYS: [&str; 11] = [
    "primary",
    "secondary",
    "inductance",
    "full_power_from",
    "rated_power",
    "direct_current",
    "leakage",
    "leakage_damping",
    "resistance",
    "core_loss",
    "winding_capacitance",
];

/// Losses of an 8 kΩ push-pull transformer for 15 to 20 W, across the whole primary. Common
/// practice, no source, but for the core loss. Inductances and resistances are taken in proportion
/// to the primary impedance and the capacitance inversely, as a winding with more turns has them.
/// What is assumed of the core's flux stands in `transformer_core`.
struct Typical;

impl Typical {
    const PRIMARY_OHMS: f64 = 8e3;
    /// Just below the lowest string, 82 Hz (common practice, no source). A small general-purpose
    /// transformer for a pair is printed 1 dB down at full power at 150 Hz, a hi-fi one at 30 Hz
    /// (two makers' pages, seen).
    const FULL_POWER_HZ: f64 = 80.0;
    const LEAKAGE: f64 = 16e-3;
    /// Across the whole leakage: 22 kΩ across each of two halves.
    const LEAKAGE_DAMPING: f64 = 44e3;
    const PRIMARY_RESISTANCE: f64 = 240.0;
    /// Brings the printed power of five pairs of EL84 within 8 %, mean 3.4 %, with the resistances
    /// here (Electronic Tube Handbook sheets 1953 to 1957, seen); 120 to 180 kΩ do nearly as well.
    const CORE_LOSS: f64 = 150e3;
    const WINDING_FARADS: f64 = 1e-9;
    /// Resistance of the secondary as a share of its load, the same as on the primary side.
    const SECONDARY_SHARE: f64 = Self::PRIMARY_RESISTANCE / Self::PRIMARY_OHMS;
}

impl Reader<'_> {
    pub fn output_transformer(
        &mut self,
        id: PartId,
        line: &Line,
        value: &Entry,
    ) -> (Option<PartKind>, Option<Wiring>) {
        let primary = self.winding(line, "primary", "primary_shares");
        let secondary = self.winding(line, "secondary", "secondary_shares");
        let (Some((primary_taps, primary_shares)), Some((secondary_taps, secondary_shares))) =
            (primary, secondary)
        else {
            // The values are still read, for their faults.
            self.transformer_values(id, line, value, 1);
            return (None, None);
        };
        let wiring = Wiring::windings(&primary_taps, &secondary_taps);
        let values = self.transformer_values(id, line, value, primary_taps.len() - 1);
        let (Some(values), Some(primary_shares), Some(secondary_shares)) =
            (values, primary_shares, secondary_shares)
        else {
            return (None, Some(wiring));
        };
        let transformer = OutputTransformer {
            primary: Winding {
                taps: primary_taps,
                shares: primary_shares,
            },
            secondary: Winding {
                taps: secondary_taps,
                shares: secondary_shares,
            },
            ..values
        };
        (Some(PartKind::OutputTransformer(transformer)), Some(wiring))
    }

    /// Taps, and the turns at each unless those are faulty.
    fn winding(
        &mut self,
        line: &Line,
        key: &str,
        shares_key: &str,
    ) -> Option<(Vec<NodeId>, Option<Vec<f64>>)> {
        let taps = self.nodes(line, key, 2..=MOST_TAPS)?;
        let shares = match line.get(shares_key) {
            None => Some(equal_shares(taps.len())),
            Some(entry) => self.shares(line, entry, taps.len()),
        };
        Some((taps, shares))
    }

    fn shares(&mut self, line: &Line, entry: &Entry, count: usize) -> Option<Vec<f64>> {
        let list = match &entry.item.raw {
            Raw::List(list) if list.len() == count => list,
            _ => {
                self.fault(
                    line.designator,
                    entry.line,
                    &entry.item,
                    format!("is not a value of {}", entry.key),
                    format!("write a list of {count} shares, one a tap, from 0 to 1"),
                );
                return None;
            }
        };
        let shares: Option<Vec<f64>> = list
            .iter()
            .map(|item| self.item(line, &entry.key, item, Quantity::Share))
            .collect();
        let shares = shares?;
        let rising = shares.windows(2).all(|pair| pair[1] - pair[0] >= 1e-3);
        if shares[0] != 0.0 || shares[count - 1] != 1.0 || !rising {
            self.fault(
                line.designator,
                entry.line,
                &entry.item,
                "does not rise from 0 to 1".into(),
                "state the turns from the first end to each tap as a share of the winding".into(),
            );
            return None;
        }
        Some(shares)
    }

    /// Everything but the windings' taps.
    fn transformer_values(
        &mut self,
        id: PartId,
        line: &Line,
        value: &Entry,
        sections: usize,
    ) -> Option<OutputTransformer> {
        let Raw::Table(entries) = &value.item.raw else {
            self.fault(
                line.designator,
                value.line,
                &value.item,
                "is not a value of output_transformer".into(),
                "write output_transformer = { primary = \"8k\", secondary = \"8\" }".into(),
            );
            return None;
        };
        let inner = Line {
            designator: line.designator,
            line: value.line,
            entries,
        };
        self.unknown_keys(Some(&inner), entries, &KEYS);
        let primary_ohms = self.impedance(&inner, "primary");
        let secondary_ohms = self.impedance(&inner, "secondary");
        // Assumptions scale with the impedances; without these none is made.
        let (scale, secondary) = match (primary_ohms, secondary_ohms) {
            (Some(p), Some(s)) => (Some(p / Typical::PRIMARY_OHMS), s),
            _ => (None, 1.0),
        };
        let stated = |reader: &mut Self, key, quantity, typical: f64| {
            reader.stated(id, &inner, key, quantity, scale.map(|s| typical * s))
        };
        let (ohms, henries) = (Quantity::Resistance, Quantity::Inductance);
        let leakage = stated(self, "leakage", henries, Typical::LEAKAGE);
        let damping = Typical::LEAKAGE_DAMPING / sections as f64;
        let leakage_damping = stated(self, "leakage_damping", ohms, damping);
        let core_loss = stated(self, "core_loss", ohms, Typical::CORE_LOSS);
        let winding_farads = self.stated(
            id,
            &inner,
            "winding_capacitance",
            Quantity::Capacitance,
            scale.map(|s| Typical::WINDING_FARADS / s),
        );
        let [primary_resistance, secondary_resistance] =
            self.winding_resistances(id, &inner, scale, secondary);
        let full_power_hz = self.stated(
            id,
            &inner,
            "full_power_from",
            Quantity::Frequency,
            Some(Typical::FULL_POWER_HZ),
        );
        // What is not stated of these hangs on the valves: see `supply_cores`.
        let mut core = |key, quantity| match inner.get(key) {
            Some(entry) => self.value(&inner, entry, quantity),
            None => {
                self.assumed.push(Assumed { part: id, key });
                Some(0.0)
            }
        };
        let inductance = core("inductance", henries);
        let rated_watts = core("rated_power", Quantity::RatedPower);
        let direct_amps = core("direct_current", Quantity::Current);
        Some(OutputTransformer {
            primary_ohms: primary_ohms?,
            secondary_ohms: secondary_ohms?,
            primary: Winding::default(),
            secondary: Winding::default(),
            inductance: inductance?,
            full_power_hz: full_power_hz?,
            rated_watts: rated_watts?,
            direct_amps: direct_amps?,
            leakage: leakage?,
            leakage_damping: leakage_damping?,
            primary_resistance: primary_resistance?,
            secondary_resistance: secondary_resistance?,
            core_loss: core_loss?,
            winding_farads: winding_farads?,
        })
    }

    fn impedance(&mut self, inner: &Line, key: &str) -> Option<f64> {
        let Some(entry) = inner.get(key) else {
            self.faults.push(
                Diagnostic::error(
                    format!("{key} is missing from output_transformer"),
                    format!("add {key} = its impedance, such as \"8k\" or \"8\""),
                )
                .part(inner.designator)
                .line(inner.line),
            );
            return None;
        };
        self.value(inner, entry, Quantity::Impedance)
    }

    fn stated(
        &mut self,
        id: PartId,
        inner: &Line,
        key: &'static str,
        quantity: Quantity,
        typical: Option<f64>,
    ) -> Option<f64> {
        if let Some(entry) = inner.get(key) {
            return self.value(inner, entry, quantity);
        }
        let typical = in_range(quantity, typical?);
        self.assume(id, inner, key, quantity, typical);
        Some(typical)
    }

    fn winding_resistances(
        &mut self,
        id: PartId,
        inner: &Line,
        scale: Option<f64>,
        secondary_ohms: f64,
    ) -> [Option<f64>; 2] {
        let quantity = Quantity::WindingResistance;
        if let Some(entry) = inner.get("resistance") {
            if let Raw::List(list) = &entry.item.raw
                && let [primary, secondary] = &list[..]
            {
                let mut read = |item: &Item| self.item(inner, "resistance", item, quantity);
                return [read(primary), read(secondary)];
            }
            self.fault(
                inner.designator,
                entry.line,
                &entry.item,
                "is not a value of resistance".into(),
                "write resistance = [\"240\", \"R3\"]: whole primary, whole secondary".into(),
            );
            return [None, None];
        }
        let Some(scale) = scale else {
            return [None, None];
        };
        let primary = in_range(quantity, Typical::PRIMARY_RESISTANCE * scale);
        let secondary = in_range(quantity, Typical::SECONDARY_SHARE * secondary_ohms);
        let both = format!(
            "{} (primary) and {} (secondary)",
            quantity.in_words(primary),
            quantity.in_words(secondary)
        );
        self.assume_words(id, inner, "resistance", &both);
        [Some(primary), Some(secondary)]
    }
}

/// Evenly spaced taps: both ends, a centre tap.
pub(crate) fn equal_shares(count: usize) -> Vec<f64> {
    (0..count).map(|i| i as f64 / (count - 1) as f64).collect()
}

fn in_range(quantity: Quantity, value: f64) -> f64 {
    let (least, greatest) = quantity.range();
    value.clamp(least, greatest)
}
