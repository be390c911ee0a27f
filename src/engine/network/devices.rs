//! Valve and rectifier positions: where their currents and derivatives go in the matrix.
//!
//! A device is replaced by its Norton equivalent at the voltages of the last iterate: conductances
//! in the matrix, `Σ g·v − i` on the right-hand side. Ground has a slot and a position of its own
//! behind the others, so that stamping needs no branch.

use crate::circuit::{Circuit, NodeId, Part, PartId, PartKind};
use crate::device::{PentodeLaw, RectifierLaw, TriodeLaw, ValveLaw};
use crate::numeric::real::{Field, Real};
use crate::numeric::sparse::Program;
use crate::units::peak_from_rms;

/// What stands at a position, in terms of the circuit.
#[derive(Clone, Debug)]
pub(crate) struct Site {
    part: PartId,
    kind: Kind,
    nodes: Vec<NodeId>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Kind {
    Triode,
    Pentode,
    Rectifier,
}

impl Site {
    pub(crate) fn nodes(&self) -> Vec<NodeId> {
        self.nodes.clone()
    }
}

/// A device between `N` nodes: positions of its terminals, the last being the one that voltages
/// are referred to, and the slots of its `N × N` stamp, row by row.
#[derive(Clone, Debug)]
pub struct Position<const N: usize, const NN: usize> {
    /// The part that stands there.
    pub part: PartId,
    /// Positions in the solution.
    pub at: [u16; N],
    /// Slots in the matrix.
    pub slots: [u16; NN],
}

/// All device positions of a network.
#[derive(Clone, Debug, Default)]
pub struct Devices {
    /// Anode, grid, cathode.
    pub triodes: Vec<Position<3, 9>>,
    /// Anode, screen, grid, cathode.
    pub pentodes: Vec<Position<4, 16>>,
    /// Reservoir, return.
    pub rectifiers: Vec<Position<2, 4>>,
}

/// A law and whether the device is fitted (1) or left out (0).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fitted<L, T> {
    /// The law.
    pub law: L,
    /// 1 or 0.
    pub present: T,
}

/// Laws at each position of one circuit.
#[derive(Clone, Debug, PartialEq, Default)]
pub struct DeviceValues {
    /// One a triode position.
    pub triodes: Vec<Fitted<TriodeLaw<f64>, f64>>,
    /// One a pentode position.
    pub pentodes: Vec<Fitted<PentodeLaw<f64>, f64>>,
    /// One a rectifier position.
    pub rectifiers: Vec<Fitted<RectifierLaw<f64>, f64>>,
}

fn rectifier_law(part: &Part) -> Option<RectifierLaw<f64>> {
    let PartKind::Rectifier {
        rectifier,
        winding_volts,
        winding_ohms,
        ..
    } = &part.kind
    else {
        return None;
    };
    Some(RectifierLaw {
        peak: peak_from_rms(*winding_volts),
        resistance: *winding_ohms,
        drop: rectifier.perveance.map_or(0.0, |k| k.powf(-2.0 / 3.0)),
    })
}

/// Identifies a part's place among the valve positions.
fn site_part(circuit: &Circuit) -> impl Iterator<Item = (PartId, &Part)> {
    circuit
        .parts()
        .iter()
        .enumerate()
        .map(|(i, p)| (PartId(i as u16), p))
}

impl Devices {
    pub(crate) fn sites(circuit: &Circuit) -> Vec<Site> {
        site_part(circuit)
            .filter_map(|(part, p)| {
                let (kind, nodes) = match &p.kind {
                    PartKind::Triode {
                        anode,
                        grid,
                        cathode,
                        ..
                    } => (Kind::Triode, vec![*anode, *grid, *cathode]),
                    PartKind::Pentode {
                        anode,
                        screen,
                        grid,
                        cathode,
                        ..
                    } => (Kind::Pentode, vec![*anode, *screen, *grid, *cathode]),
                    PartKind::Rectifier { to, from, .. } => (Kind::Rectifier, vec![*to, *from]),
                    _ => return None,
                };
                Some(Site { part, kind, nodes })
            })
            .collect()
    }

    pub(crate) fn new(
        sites: &[Site],
        unknown: impl Fn(NodeId) -> Option<usize>,
        program: &Program,
    ) -> Self {
        fn position<const N: usize, const NN: usize>(
            site: &Site,
            unknown: &impl Fn(NodeId) -> Option<usize>,
            program: &Program,
        ) -> Position<N, NN> {
            let mut at = [0; N];
            let mut slots = [0; NN];
            for row in 0..N {
                let r = unknown(site.nodes[row]);
                at[row] = r.map_or(program.unknowns(), |u| program.position(u)) as u16;
                for column in 0..N {
                    let c = unknown(site.nodes[column]);
                    slots[row * N + column] = match (r, c) {
                        (Some(r), Some(c)) => program.slot(r, c).expect("in the pattern"),
                        _ => program.slots(),
                    } as u16;
                }
            }
            Position {
                part: site.part,
                at,
                slots,
            }
        }
        let mut devices = Devices::default();
        for site in sites {
            match site.kind {
                Kind::Triode => devices.triodes.push(position(site, &unknown, program)),
                Kind::Pentode => devices.pentodes.push(position(site, &unknown, program)),
                Kind::Rectifier => devices.rectifiers.push(position(site, &unknown, program)),
            }
        }
        devices
    }

    pub(crate) fn values(circuit: &Circuit) -> DeviceValues {
        let mut out = DeviceValues::default();
        for part in circuit.parts() {
            push_part(&mut out, part);
        }
        out
    }

    pub(crate) fn update_part(&self, values: &mut DeviceValues, id: PartId, part: &Part) {
        let mut one = DeviceValues::default();
        push_part(&mut one, part);
        if let Some(index) = self.triodes.iter().position(|p| p.part == id) {
            values.triodes[index] = one.triodes[0];
        }
        if let Some(index) = self.pentodes.iter().position(|p| p.part == id) {
            values.pentodes[index] = one.pentodes[0];
        }
        if let Some(index) = self.rectifiers.iter().position(|p| p.part == id) {
            values.rectifiers[index] = one.rectifiers[0];
        }
    }
}

fn push_part(out: &mut DeviceValues, part: &Part) {
    let present = if part.fitted { 1.0 } else { 0.0 };
    match &part.kind {
        PartKind::Triode { valve, .. } => {
            let ValveLaw::Triode(law) = valve.law else {
                unreachable!("the checker matches kinds")
            };
            out.triodes.push(Fitted { law, present });
        }
        PartKind::Pentode { valve, .. } => {
            let ValveLaw::Pentode(law) = valve.law else {
                unreachable!("the checker matches kinds")
            };
            out.pentodes.push(Fitted { law, present });
        }
        PartKind::Rectifier { .. } => {
            let law = rectifier_law(part).expect("a rectifier");
            out.rectifiers.push(Fitted { law, present });
        }
        _ => {}
    }
}

/// Adds the Norton equivalent of a triode at port voltages `va`, `vg`.
#[inline(always)]
pub fn stamp_triode<T: Real>(
    site: &Position<3, 9>,
    value: &Fitted<TriodeLaw<T>, T>,
    va: T,
    vg: T,
    matrix: &mut [T],
    right: &mut [T],
) -> crate::device::TriodeCurrents<T> {
    let i = value.law.currents(va, vg);
    let p = value.present;
    let (gaa, gag, ggg) = (
        i.anode_by_anode * p,
        i.anode_by_grid * p,
        i.grid_by_grid * p,
    );
    let rows = [[gaa, gag, -(gaa + gag)], [T::ZERO, ggg, -ggg]];
    let anode = gaa * va + gag * vg - i.anode * p;
    let grid = ggg * vg - i.grid * p;
    add(&site.at, &site.slots, &rows, [anode, grid], matrix, right);
    i
}

/// Adds the Norton equivalent of a pentode at port voltages `va`, `vs`, `vg`.
#[inline(always)]
pub fn stamp_pentode<T: Real>(
    site: &Position<4, 16>,
    value: &Fitted<PentodeLaw<T>, T>,
    va: T,
    vs: T,
    vg: T,
    matrix: &mut [T],
    right: &mut [T],
) -> crate::device::PentodeCurrents<T> {
    let i = value.law.currents(va, vs, vg);
    let p = value.present;
    let (aa, as_, ag) = (
        i.anode_by_anode * p,
        i.anode_by_screen * p,
        i.anode_by_grid * p,
    );
    let (sa, ss, sg) = (
        i.screen_by_anode * p,
        i.screen_by_screen * p,
        i.screen_by_grid * p,
    );
    let gg = i.grid_by_grid * p;
    let rows = [
        [aa, as_, ag, -(aa + as_ + ag)],
        [sa, ss, sg, -(sa + ss + sg)],
        [T::ZERO, T::ZERO, gg, -gg],
    ];
    let anode = aa * va + as_ * vs + ag * vg - i.anode * p;
    let screen = sa * va + ss * vs + sg * vg - i.screen * p;
    let grid = gg * vg - i.grid * p;
    add(
        &site.at,
        &site.slots,
        &rows,
        [anode, screen, grid],
        matrix,
        right,
    );
    i
}

/// The Norton equivalent of a rectifier: its tangent at one reservoir voltage.
#[derive(Clone, Copy, Debug)]
pub struct Tangent<T> {
    /// Reservoir voltage at which it touches, V.
    pub volts: T,
    /// Slope of the current into the electrode, S.
    pub siemens: T,
    /// Current towards the reservoir at 0 V along the tangent, A.
    pub amps: T,
}

/// The tangent at reservoir voltage `v`.
#[inline(always)]
pub fn rectifier_tangent<T: Real>(value: &Fitted<RectifierLaw<T>, T>, v: T) -> Tangent<T> {
    let i = value.law.current(v);
    // Counted into the electrode, the current is the negative of what it delivers.
    let siemens = -(i.by_voltage * value.present);
    Tangent {
        volts: v,
        siemens,
        amps: siemens * v + i.current * value.present,
    }
}

/// Adds the Norton equivalent of a rectifier.
#[inline(always)]
pub fn stamp_rectifier<T: Real>(
    site: &Position<2, 4>,
    tangent: &Tangent<T>,
    matrix: &mut [T],
    right: &mut [T],
) {
    let g = tangent.siemens;
    add(
        &site.at,
        &site.slots,
        &[[g, -g]],
        [tangent.amps],
        matrix,
        right,
    );
}

/// Adds `rows` and the Norton currents `into`, the last terminal taking what the others give.
#[inline(always)]
fn add<T: Field, const N: usize, const M: usize, const NN: usize>(
    at: &[u16; N],
    slots: &[u16; NN],
    rows: &[[T; N]; M],
    into: [T; M],
    matrix: &mut [T],
    right: &mut [T],
) {
    let mut last = [T::ZERO; N];
    let mut last_into = T::ZERO;
    for row in 0..M {
        for column in 0..N {
            matrix[slots[row * N + column] as usize] += rows[row][column];
            last[column] += rows[row][column];
        }
        right[at[row] as usize] += into[row];
        last_into += into[row];
    }
    for column in 0..N {
        matrix[slots[M * N + column] as usize] -= last[column];
    }
    right[at[M] as usize] -= last_into;
}
