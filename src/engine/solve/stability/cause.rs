//! What a growing oscillation goes through, and what would stop it.
//!
//! At a natural frequency `p` the equations have a solution without any source, `Y(p)·x = 0`, and so
//! have the transposed ones, `yᵀ·Y(p) = 0`. A conductance `g` between what `y` and `x` see moves `p`
//! by `−g·(y·a)·(b·x) / (yᵀ·Y′·x)`: what moves it most is what the loop goes through. What stops it
//! is not read off that, but tried: the part is left out, or the transformer turned round, and the
//! natural frequencies are counted again.

use super::count::walk;
use super::gm::Gm;
use super::howl::{Howl, Remedy};
use super::pencil::Pencil;
use crate::circuit::{Circuit, PartId, PartKind};
use crate::network::assemble::empty_vector;
use num_complex::Complex64;
use std::f64::consts::TAU;

/// A valve belongs to the loop from this share of the weightiest one's weight on.
const IN_LOOP: f64 = 0.05;
/// So many parts, the weightiest, are tried.
const TRIED: usize = 16;
/// Where the signal that is left is looked at, Hz.
const LEFT_AT: f64 = 700.0;
/// A part is the better one to open from so much more signal left.
const MORE_LEFT: f64 = 1.06;

/// The directions of the oscillation at a natural frequency.
struct Mode {
    x: Vec<Complex64>,
    y: Vec<Complex64>,
}

impl Mode {
    fn new(pencil: &Pencil, pole: Complex64) -> Self {
        // Beside the frequency itself the solution is all but the mode, whatever drives it.
        let beside = pole * (1.0 + 1e-8);
        let network = pencil.network;
        let drive = || {
            let mut currents = empty_vector::<Complex64>(network);
            for (at, current) in currents.iter_mut().enumerate() {
                *current = Complex64::from_polar(1e-3, at as f64);
            }
            currents[network.unknowns()] = Complex64::ZERO;
            currents
        };
        let unit = |mut v: Vec<Complex64>| {
            let most = v.iter().map(|z| z.norm()).fold(0.0, f64::max);
            v.iter_mut().for_each(|z| *z /= most);
            v
        };
        let x = unit(pencil.driven(beside, drive()));
        let y = unit(pencil.driven_transposed(beside, drive()));
        Mode {
            x: unit(pencil.driven(beside, x)),
            y: unit(pencil.driven_transposed(beside, y)),
        }
    }

    /// Weight of a part's branches.
    fn of_part(&self, pencil: &Pencil, part: PartId, pole: Complex64) -> f64 {
        let branches = pencil.network.branches_of(part);
        let weights = branches.map(|index| {
            let terminals = &pencil.network.branches()[index].terminals;
            let see =
                |v: &[Complex64]| -> Complex64 { terminals.iter().map(|&(at, c)| v[at] * c).sum() };
            pencil.admittance(index, pole) * see(&self.y) * see(&self.x)
        });
        weights.sum::<Complex64>().norm()
    }
}

/// The howl of a natural frequency.
pub(super) fn howl(
    circuit: &Circuit,
    pencil: &Pencil,
    valves: &[Gm],
    pole: Option<Complex64>,
) -> Howl {
    let Some(pole) = pole else {
        return Howl {
            hertz: None,
            growth: None,
            valves: Vec::new(),
            through: None,
            remedy: None,
        };
    };
    let mode = Mode::new(pencil, pole);
    let weights: Vec<f64> = valves
        .iter()
        .map(|gm| {
            let [a, g, k] = gm.at;
            (gm.siemens * (mode.y[a] - mode.y[k]) * (mode.x[g] - mode.x[k])).norm()
        })
        .collect();
    let most = weights.iter().copied().fold(0.0, f64::max);
    let in_loop = valves
        .iter()
        .zip(&weights)
        .filter(|(_, w)| **w >= IN_LOOP * most);
    let name = |id: PartId| circuit.part(id).designator.clone();
    let swap = circuit.parts().iter().enumerate().find(|(index, part)| {
        let id = PartId(*index as u16);
        let transformer = matches!(part.kind, PartKind::OutputTransformer(_)) && part.fitted;
        transformer && walk(&pencil.turned_round(id)).inside == Some(0)
    });
    let through = through(circuit, pencil, &mode, pole);
    Howl {
        hertz: (pole.im > 0.0).then_some(pole.im / TAU),
        growth: Some(pole.re),
        valves: in_loop.map(|(gm, _)| name(gm.part)).collect(),
        remedy: match (swap, through) {
            (Some((_, part)), _) => Some(Remedy::SwapSecondary {
                transformer: part.designator.clone(),
            }),
            (None, Some(_)) => Some(Remedy::OpenPath),
            (None, None) => None,
        },
        through: through.map(name),
    }
}

/// The part that closes the loop: without it nothing grows, and more of the signal is left than
/// without any other such part.
fn through(circuit: &Circuit, pencil: &Pencil, mode: &Mode, pole: Complex64) -> Option<PartId> {
    let passive = circuit.parts().iter().enumerate().filter(|(_, part)| {
        part.fitted
            && matches!(
                part.kind,
                PartKind::Resistor { .. } | PartKind::Capacitor { .. } | PartKind::Inductor { .. }
            )
    });
    let mut weighed: Vec<(f64, PartId)> = passive
        .map(|(index, _)| PartId(index as u16))
        .map(|id| (mode.of_part(pencil, id, pole), id))
        .collect();
    weighed.sort_by(|a, b| b.0.total_cmp(&a.0));
    let mut best: Option<(f64, PartId)> = None;
    for &(_, id) in weighed.iter().take(TRIED) {
        let opened = pencil.without(id);
        let left = opened.gain(LEFT_AT);
        let better = best.is_none_or(|(most, _)| left > MORE_LEFT * most);
        if better && walk(&opened).inside == Some(0) {
            best = Some((left, id));
        }
    }
    best.map(|(_, id)| id)
}
