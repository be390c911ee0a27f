//! Frequency response from the same stamps as the sound: as found, as proposed, and the
//! difference.

use super::listening::{TransferFunction, line};
use super::third_octave::NOMINAL_HZ;
use crate::circuit::NodeId;
use crate::network::Network;
use crate::network::assemble::empty_vector;
use crate::solve::SmallSignal;
use crate::solve::solved::{SolvedAmp, SolvedCircuit};
use crate::solve::stability::Unfit;
use crate::units::decibels_from_ratio;
use num_complex::Complex64;
use serde::Serialize;

/// Points of a curve a decade; every eighth stands in the middle of a third-octave band.
const POINTS_A_DECADE: i32 = 80;

/// Where a response is driven and where it is measured.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Path {
    /// Node held by an ideal source; the jack if none.
    pub from: Option<NodeId>,
    /// Node measured to ground; what is heard if none.
    pub to: Option<NodeId>,
}

/// One curve, a value a frequency.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Curve {
    /// Gain, dB.
    pub db: Vec<f64>,
    /// Phase of the output against the input, degrees, within ±180.
    pub degrees: Vec<f64>,
}

/// A curve from elsewhere to compare with, on the frequencies of the report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Against {
    /// Where it comes from.
    pub name: String,
    /// Its level, dB; none outside its range.
    pub db: Vec<Option<f64>>,
    /// Its level at the third-octave frequencies, dB.
    pub third_octave_db: Vec<Option<f64>>,
}

/// The response at a third-octave frequency.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AtBand {
    /// Nominal frequency, Hz.
    pub hz: f64,
    /// As found, dB.
    pub as_found_db: f64,
    /// As proposed, dB.
    pub proposed_db: Option<f64>,
    /// The second less the first, dB.
    pub difference_db: Option<f64>,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Response {
    /// Name of the amp.
    pub amp: String,
    /// Node driven.
    pub from: String,
    /// Node or loudspeaker measured.
    pub to: String,
    /// The sides that pass no signal from the jack to the output; none where both do.
    pub unfit: Option<Box<Unfit>>,
    /// Which circuit `db` and `degrees` are of: "as found" or "proposed".
    pub shown: &'static str,
    /// Frequencies, Hz, rising.
    pub hz: Vec<f64>,
    /// With everything done that was asked for.
    #[serde(flatten)]
    pub curve: Curve,
    /// Without what is proposed.
    pub as_found: Curve,
    /// With it; only when something is proposed.
    pub proposed: Option<Curve>,
    /// Proposed less as found; only when something is proposed.
    pub difference: Option<Curve>,
    /// A curve from elsewhere.
    pub against: Option<Against>,
    /// The table.
    pub third_octaves: Vec<AtBand>,
}

/// The frequencies of the curves: 20 Hz to 20 kHz, both included, on a grid of 80 a decade about
/// 1 kHz.
pub fn axis() -> Vec<f64> {
    let at = |k: i32| 1000.0 * 10f64.powf(f64::from(k) / f64::from(POINTS_A_DECADE));
    let inside = (-POINTS_A_DECADE * 2..POINTS_A_DECADE * 2)
        .map(at)
        .filter(|hz| (20.0001..19_999.0).contains(hz));
    std::iter::once(20.0)
        .chain(inside)
        .chain([20_000.0])
        .collect()
}

/// Complex gain along a path, one a frequency.
pub fn gains(network: &Network, side: &SolvedCircuit, path: Path, hz: &[f64]) -> Vec<Complex64> {
    let linear = SmallSignal::new(network, &side.values, &side.point);
    let gain = |hz: f64| {
        let (volts, reference) = match path.from {
            None => (linear.at(hz), Complex64::ONE),
            Some(node) => {
                // A single current into the node: divided by its voltage, every voltage is what
                // an ideal source of one volt there would make.
                let at = network.position(node);
                let mut current = empty_vector::<Complex64>(network);
                current[at] = Complex64::ONE;
                let volts = linear.driven(hz, current);
                let reference = volts[at];
                (volts, reference)
            }
        };
        let heard = match path.to {
            Some(node) => volts[network.position(node)],
            None => {
                let [positive, negative] = network.output();
                volts[positive] - volts[negative]
            }
        };
        heard / reference
    };
    hz.iter().map(|&hz| gain(hz)).collect()
}

fn curve(gains: &[Complex64]) -> Curve {
    Curve {
        db: gains
            .iter()
            .map(|g| decibels_from_ratio(g.norm()))
            .collect(),
        degrees: gains.iter().map(|g| g.arg().to_degrees()).collect(),
    }
}

/// The curve of one circuit on the axis of the reports.
pub fn curve_of(network: &Network, side: &SolvedCircuit, path: Path) -> Curve {
    curve(&gains(network, side, path, &axis()))
}

fn less(a: &Curve, b: &Curve) -> Curve {
    let minus = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a - b).collect::<Vec<_>>();
    let wrapped = |degrees: f64| degrees - 360.0 * (degrees / 360.0).round();
    Curve {
        db: minus(&a.db, &b.db),
        degrees: minus(&a.degrees, &b.degrees)
            .into_iter()
            .map(wrapped)
            .collect(),
    }
}

/// Makes the report of the voltages themselves.
pub fn response(amp: &SolvedAmp, path: Path) -> Response {
    response_through(amp, path, &line)
}

/// Makes the report of what is heard `through` something that follows the amp, such as
/// [`super::listening::loudspeaker`]; every curve and the table go through it.
pub fn response_through(amp: &SolvedAmp, path: Path, through: &TransferFunction<'_>) -> Response {
    let network = &amp.network;
    let circuit = &amp.as_found.circuit;
    let hz = axis();
    let heard_at = |side: &SolvedCircuit, hz: &[f64]| {
        let gains = gains(network, side, path, hz).into_iter().zip(hz);
        let heard: Vec<_> = gains.map(|(gain, &hz)| gain * through(side, hz)).collect();
        curve(&heard)
    };
    let as_found = heard_at(&amp.as_found, &hz);
    let proposed = amp.proposed.as_ref().map(|side| heard_at(side, &hz));
    let name = |node: NodeId| circuit.nodes()[node.0 as usize].clone();
    let heard = || {
        let output = circuit.output();
        match output.loudspeaker {
            Some(id) => circuit.part(id).designator.clone(),
            None => name(output.positive),
        }
    };
    let bands = |side: &SolvedCircuit| heard_at(side, &NOMINAL_HZ).db;
    let as_found_bands = bands(&amp.as_found);
    let proposed_bands = amp.proposed.as_ref().map(bands);
    let third_octaves = NOMINAL_HZ.iter().enumerate().map(|(i, &hz)| {
        let proposed_db = proposed_bands.as_ref().map(|b| b[i]);
        AtBand {
            hz,
            as_found_db: as_found_bands[i],
            proposed_db,
            difference_db: proposed_db.map(|p| p - as_found_bands[i]),
        }
    });
    Response {
        amp: circuit.name().into(),
        unfit: amp.silent(),
        from: match (path.from, circuit.guitar()) {
            (Some(node), _) => name(node),
            (None, Some(guitar)) => format!("the track ({})", guitar.name),
            (None, None) => name(circuit.input()),
        },
        to: path.to.map_or_else(heard, name),
        shown: match proposed {
            Some(_) => "proposed",
            None => "as found",
        },
        curve: proposed.clone().unwrap_or_else(|| as_found.clone()),
        difference: proposed.as_ref().map(|p| less(p, &as_found)),
        third_octaves: third_octaves.collect(),
        against: None,
        hz,
        as_found,
        proposed,
    }
}

/// A curve measured or computed elsewhere, given by a function of frequency.
pub fn against(name: &str, hz: &[f64], level: impl Fn(f64) -> Option<f64>) -> Against {
    Against {
        name: name.into(),
        db: hz.iter().map(|&hz| level(hz)).collect(),
        third_octave_db: NOMINAL_HZ.iter().map(|&hz| level(hz)).collect(),
    }
}
