//! What differs from one amp of a model to the next, and the values of one that is drawn.
//!
//! A [`Plan`] says what varies in a circuit; [`Plan::luck`] draws one amp's factors, the same for
//! every circuit of the topology, so that as found and as proposed are one amp before and after.

use crate::circuit::{Circuit, PartId, PartKind};
use crate::network::{Network, Piece, Values, pot_values};
use crate::numeric::random::Random;
use crate::text::list::listed;

/// Tolerances where the file states none (common practice, no source): carbon resistors, and film
/// and electrolytic capacitors; chokes and pots.
const RESISTOR_TOLERANCE: f64 = 0.10;
const OTHER_TOLERANCE: f64 = 0.20;

/// How far the current of new valves spreads about the average. Makers' sheets of current
/// production allow 80 to 120 mA about 100 for one output pentode, 33 to 59 mA about 46 for a beam
/// tetrode (seen as secondary copies): ±20 and ±28 %. Taken here: two standard deviations at 30 %,
/// nothing beyond.
const VALVE_SPREAD: f64 = 0.30;
const DEVIATIONS: f64 = 2.0;
/// One standard deviation of the current of a valve section, as a share, before what lies beyond is
/// cut off.
pub const VALVE_DEVIATION: f64 = VALVE_SPREAD / DEVIATIONS;

/// How far an output transformer's inductance, leakage and core loss lie about what the file has
/// (common practice, no source): iron varies, and so does a winding's place in the window.
pub const TRANSFORMER_TOLERANCE: f64 = 0.30;

/// Share of the variance that the halves of one envelope have in common (own choice, no source).
pub const ENVELOPE_SHARE: f64 = 0.5;

/// What varies in one part.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Varies {
    /// Nothing: known, or not drawn.
    Nothing,
    /// Its value, evenly within ± this share.
    Value(f64),
    /// The current of a valve, half of it with the others of its envelope.
    Valve(usize),
    /// Inductance, leakage and core loss, each by itself.
    Transformer,
}

/// What varies in a circuit.
#[derive(Clone, Debug)]
pub struct Plan {
    /// By part.
    varies: Vec<Varies>,
    envelopes: usize,
    /// Mains voltage, evenly within ± this share.
    mains: f64,
}

/// What the values of an output transformer are multiplied with.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TransformerFactors {
    /// Inductance.
    pub inductance: f64,
    /// Leakage.
    pub leakage: f64,
    /// Core loss.
    pub core_loss: f64,
}

/// One amp's factors.
#[derive(Clone, Debug, PartialEq)]
pub struct Luck {
    /// What the value, or the current of a valve, is multiplied with, by part.
    pub factors: Vec<f64>,
    /// What an output transformer's values are multiplied with; one a part that varies so.
    pub transformers: Vec<(PartId, TransformerFactors)>,
    /// What the supplies' voltages are multiplied with.
    pub mains: f64,
}

impl Luck {
    /// The amp of the file.
    pub fn average(parts: usize) -> Luck {
        Luck {
            factors: vec![1.0; parts],
            transformers: Vec::new(),
            mains: 1.0,
        }
    }
}

/// The envelope of a valve section: "V1" of "V1a"; itself where it stands alone.
pub fn envelope(designator: &str) -> &str {
    match designator.char_indices().next_back() {
        Some((at, last)) if last.is_ascii_alphabetic() => {
            let head = &designator[..at];
            let ends_in_digit = head.ends_with(|c: char| c.is_ascii_digit());
            if ends_in_digit { head } else { designator }
        }
        _ => designator,
    }
}

/// Deviations of the sections of one envelope, normal and cut off on both sides: drawn again until all
/// lie within, and without any should that never come about.
fn currents(random: &mut Random, sections: usize) -> Vec<f64> {
    const TRIES: usize = 1000;
    for _ in 0..TRIES {
        let in_common = ENVELOPE_SHARE.sqrt() * random.normal();
        let draw = |_| in_common + (1.0 - ENVELOPE_SHARE).sqrt() * random.normal();
        let all: Vec<f64> = (0..sections).map(draw).collect();
        if all.iter().all(|z| z.abs() <= DEVIATIONS) {
            return all;
        }
    }
    vec![0.0; sections]
}

/// The tolerance of a part whose value is drawn, and whether the file states it.
pub fn tolerance(circuit: &Circuit, id: PartId) -> Option<(f64, bool)> {
    let part = circuit.part(id);
    let assumed = match part.kind {
        PartKind::Resistor { .. } => RESISTOR_TOLERANCE,
        PartKind::Capacitor { .. } | PartKind::Inductor { .. } | PartKind::Pot { .. } => {
            OTHER_TOLERANCE
        }
        _ => return None,
    };
    let stated = part.particulars.tolerance;
    Some((stated.unwrap_or(assumed), stated.is_some()))
}

/// What varies of a circuit's output transformers: the branches of each inductance, each leakage and
/// each core loss.
pub fn transformer_branches(network: &Network, circuit: &Circuit) -> Vec<Vec<usize>> {
    let kinds: [fn(Piece) -> bool; 3] = [
        |piece| piece == Piece::Inductance,
        |piece| matches!(piece, Piece::PrimarySection(_)),
        |piece| piece == Piece::CoreLoss,
    ];
    let parts = circuit.parts().iter().enumerate();
    let transformers =
        parts.filter(|(_, part)| matches!(part.kind, PartKind::OutputTransformer(_)));
    let each = transformers.flat_map(|(index, _)| {
        let range = network.branches_of(PartId(index as u16));
        kinds.map(|is| {
            let of = range.clone().filter(|&b| is(network.branches()[b].piece));
            of.collect()
        })
    });
    each.collect()
}

impl Plan {
    /// Everything that varies from amp to amp; the mains within ±`mains` (a share).
    pub fn new(circuit: &Circuit, mains: f64) -> Plan {
        let mut envelopes: Vec<String> = Vec::new();
        let varies = circuit.parts().iter().enumerate().map(|(i, part)| {
            if let Some((share, _)) = tolerance(circuit, PartId(i as u16)) {
                return Varies::Value(share);
            }
            match part.kind {
                PartKind::Triode { .. } | PartKind::Pentode { .. } | PartKind::Rectifier { .. } => {
                    let name = envelope(&part.designator).to_ascii_uppercase();
                    let known = envelopes.iter().position(|b| *b == name);
                    Varies::Valve(known.unwrap_or_else(|| {
                        envelopes.push(name);
                        envelopes.len() - 1
                    }))
                }
                PartKind::OutputTransformer(_) => Varies::Transformer,
                _ => Varies::Nothing,
            }
        });
        let varies = varies.collect();
        Plan {
            varies,
            envelopes: envelopes.len(),
            mains,
        }
    }

    /// A part that was measured no longer varies.
    pub fn know(&mut self, id: PartId) {
        self.varies[id.0 as usize] = Varies::Nothing;
    }

    /// Draws one amp; the same for the same seed and number.
    pub fn luck(&self, seed: u64, amp: usize) -> Luck {
        let random = &mut Random::new(seed, amp as u64);
        let mains = 1.0 + self.mains * random.even();
        let mut factors = vec![1.0; self.varies.len()];
        for (factor, varies) in factors.iter_mut().zip(&self.varies) {
            if let Varies::Value(share) = varies {
                *factor += share * random.even();
            }
        }
        for envelope in 0..self.envelopes {
            let of = |i: &usize| self.varies[*i] == Varies::Valve(envelope);
            let sections: Vec<usize> = (0..self.varies.len()).filter(of).collect();
            for (section, z) in sections.iter().zip(currents(random, sections.len())) {
                factors[*section] += VALVE_DEVIATION * z;
            }
        }
        // Drawn last: the other parts of an amp stay as they were drawn before.
        let mut share = || 1.0 + TRANSFORMER_TOLERANCE * random.even();
        let varies = self.varies.iter().enumerate();
        let transformers = varies.filter(|(_, v)| **v == Varies::Transformer);
        let transformers = transformers.map(|(index, _)| {
            let factors = TransformerFactors {
                inductance: share(),
                leakage: share(),
                core_loss: share(),
            };
            (PartId(index as u16), factors)
        });
        Luck {
            factors,
            transformers: transformers.collect(),
            mains,
        }
    }

    /// How the amps were drawn, a sentence each.
    pub fn in_words(&self, circuit: &Circuit) -> Vec<String> {
        let mut out = vec![
            "Parts: each value lies anywhere within its tolerance, all values equally likely (own choice; parts sorted at the factory need not crowd about the middle).".to_string(),
        ];
        for (share, what, of) in [
            (
                RESISTOR_TOLERANCE,
                "resistors",
                (|k| matches!(k, PartKind::Resistor { .. })) as fn(&PartKind) -> bool,
            ),
            (OTHER_TOLERANCE, "capacitors, chokes and pots", |k| {
                !matches!(k, PartKind::Resistor { .. })
            }),
        ] {
            let ids = (0..circuit.parts().len()).map(|i| PartId(i as u16));
            let silent: Vec<&str> = ids
                .filter(|&id| of(&circuit.part(id).kind))
                .filter(|&id| tolerance(circuit, id).is_some_and(|(_, stated)| !stated))
                .map(|id| circuit.part(id).designator.as_str())
                .collect();
            let percent = 100.0 * share;
            match silent.len() {
                0 => {}
                1..=8 => out.push(format!(
                    "{}: no tolerance is stated; {percent:.0} % is assumed.",
                    listed(&silent)
                )),
                n => out.push(format!(
                    "{n} {what}: no tolerance is stated; {percent:.0} % is assumed."
                )),
            }
        }
        out.push("Valves: the current is spread about the average type in a bell curve, two standard deviations being 30 % and nothing beyond; makers allow 20 to 28 % in new ones. The halves of one bottle are alike by half (own choice). Output valves are not taken as matched.".into());
        out.push(format!("Output transformers: inductance, leakage and core loss each lie anywhere within {:.0} % (common practice, no source).", 100.0 * TRANSFORMER_TOLERANCE));
        out.push("± and \"9 of 10 amps\" are the 5th to the 95th percentile. A change that is smaller than that is still there in your own amp; it says that another amp of this model may be like that as it is.".into());
        out.push(match self.mains {
            0.0 => "The same for all: mains voltage, mains transformer, loudspeaker, stray capacitances, and how the controls stand.".into(),
            share => format!(
                "Mains: anywhere within ±{:.0} %. The same for all: mains transformer, loudspeaker, stray capacitances, and how the controls stand.",
                100.0 * share
            ),
        });
        out
    }
}

/// The values of `circuit`'s drawn amp: `nominal` is what [`Network::values`] gives, `into` has the
/// same shape and is overwritten.
pub fn draw(
    network: &Network,
    circuit: &Circuit,
    nominal: &Values,
    luck: &Luck,
    into: &mut Values,
) {
    into.clone_from(nominal);
    for (i, part) in circuit.parts().iter().enumerate() {
        let range = network.branches_of(PartId(i as u16));
        let factor = luck.factors[i];
        let branches = &mut into.branches[range];
        match &part.kind {
            _ if !part.fitted => {}
            PartKind::Resistor { .. } => {
                branches
                    .iter_mut()
                    .for_each(|b| *b = b.scaled(1.0 / factor));
            }
            PartKind::Capacitor { .. } | PartKind::Inductor { .. } => {
                branches.iter_mut().for_each(|b| *b = b.scaled(factor));
            }
            PartKind::Pot {
                ohms, taper, set, ..
            } => branches.copy_from_slice(&pot_values(ohms * factor, taper.share(*set))),
            PartKind::Supply { .. } | PartKind::BiasSupply { .. } => {
                branches.iter_mut().for_each(|b| *b = b.driven(luck.mains));
            }
            _ => {}
        }
    }
    for (part, factors) in &luck.transformers {
        let range = network.branches_of(*part);
        for index in range {
            let branch = &mut into.branches[index];
            match network.branches()[index].piece {
                Piece::Inductance => *branch = branch.scaled(factors.inductance),
                Piece::PrimarySection(_) => *branch = branch.scaled(factors.leakage),
                Piece::CoreLoss => *branch = branch.scaled(1.0 / factors.core_loss),
                _ => {}
            }
        }
    }
    let devices = network.devices();
    let of = |part: PartId| luck.factors[part.0 as usize];
    for (site, value) in devices.triodes.iter().zip(&mut into.devices.triodes) {
        value.law.perveance *= of(site.part);
    }
    for (site, value) in devices.pentodes.iter().zip(&mut into.devices.pentodes) {
        value.law.perveance *= of(site.part);
    }
    for (site, value) in devices.rectifiers.iter().zip(&mut into.devices.rectifiers) {
        value.law.peak *= luck.mains;
        // The drop is K^(−2/3) of the perveance.
        value.law.drop *= of(site.part).powf(-2.0 / 3.0);
    }
}
