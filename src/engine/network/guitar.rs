//! The branches of a guitar in the jack; [`crate::circuit::Guitar`] says why they stand so.

use super::branch::{BranchValue, Piece};
use super::contacts::{POT_END_OHMS, pot_values};
use super::sketch::{Place, Sketch};
use crate::circuit::Circuit;

/// The guitar's inner place that the track drives.
pub(super) const DRIVEN: usize = 0;
/// The pickup's live end, and the place between tone pot and tone capacitor.
const PICKUP: usize = 1;
const TONE: usize = 2;
/// Conductance that the track drives with, S: beside it all others vanish in rounding, so that the
/// track's voltage is what it is, whatever the branches below draw from it.
pub(super) const DRIVEN_SIEMENS: f64 = 1e20;

/// One branch of a guitar.
struct GuitarBranch {
    name: &'static str,
    terminals: Vec<(Place, f64)>,
    value: BranchValue,
}

/// The branches with a name for each, none without a guitar.
pub(super) fn sketches(circuit: &Circuit) -> Vec<(Sketch, &'static str)> {
    let sketch = |branch: GuitarBranch| {
        let sketch = Sketch {
            terminals: branch.terminals,
            value: branch.value,
            piece: Piece::Whole,
        };
        (sketch, branch.name)
    };
    branches(circuit).into_iter().map(sketch).collect()
}

/// The values of these branches.
pub(super) fn values(circuit: &Circuit) -> Vec<BranchValue> {
    let branches = branches(circuit).into_iter();
    branches.map(|branch| branch.value).collect()
}

/// An admittance `y` between jack and track, beside which stands the interface's `Yi`, which another
/// one of `−Yi` to ground takes away, draws from the jack
///
/// ```text
/// y·(jack − track) + Yi·(jack − track) − Yi·jack = y·(jack − (1 + Yi/y)·track)
/// ```
///
/// so that one branch of `y` with a weight on the track says all three, and no conductance in the
/// matrix is negative: resistance goes with resistance, capacitance with capacitance. What it draws
/// from the track is wrong by that, and makes no odds.
fn branches(circuit: &Circuit) -> Vec<GuitarBranch> {
    let Some(guitar) = circuit.guitar() else {
        return Vec::new();
    };
    let jack = Place::Node(circuit.input());
    let [driven, pickup, tone] = [DRIVEN, PICKUP, TONE].map(Place::Inner);
    let capacitor = |farads| BranchValue::Capacitive { farads };
    let [upper, lower] = pot_values(guitar.volume.ohms, guitar.volume.low());
    let lower_ohms = guitar.volume.ohms * guitar.volume.low() + POT_END_OHMS;
    let track = guitar.tone.ohms * guitar.tone.low() + POT_END_OHMS;
    let coil = BranchValue::coil(guitar.pickup_ohms, guitar.pickup_henries, guitar.loss_ohms);
    let resistive = 1.0 + lower_ohms / guitar.interface_ohms;
    let capacitive = 1.0 + guitar.interface_farads / guitar.lead_farads;
    let branch = |name, [from, to]: [Place; 2], weight: f64, value| GuitarBranch {
        name,
        terminals: vec![(from, 1.0), (to, -weight)],
        value,
    };
    let pickup_farads = capacitor(guitar.pickup_farads);
    let tone_farads = capacitor(guitar.tone_farads);
    let lead = capacitor(guitar.lead_farads);
    vec![
        branch("pickup", [pickup, driven], 1.0, coil),
        branch("pickup capacitance", [pickup, driven], 1.0, pickup_farads),
        branch("guitar volume upper", [pickup, jack], 1.0, upper),
        branch("guitar volume lower", [jack, driven], resistive, lower),
        branch(
            "guitar tone",
            [pickup, tone],
            1.0,
            BranchValue::resistor(track),
        ),
        branch("guitar tone capacitor", [tone, driven], 1.0, tone_farads),
        branch("lead", [jack, driven], capacitive, lead),
    ]
}
