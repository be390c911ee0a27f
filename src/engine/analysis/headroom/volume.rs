//! Clean headroom as a function of the volume control: the sine sweep at several of its positions.

use crate::analysis::drive::{DriveOptions, GridCurrent, HZ, Limit, drive_with};
use crate::circuit::topology::Role;
use crate::circuit::{Circuit, ControlValue, PartKind, Setting};
use crate::network::Network;
use crate::numeric::parallel::{GoOn, on_all_cores};
use crate::solve::SmallSignal;
use crate::solve::solved::SolvedCircuit;
use crate::units::decibels_from_ratio;
use serde::Serialize;

/// Positions that are tried where nobody asks for others.
pub const POSITIONS: [f64; 10] = [0.1, 0.2, 0.3, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0];

/// One position of the control.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VolumePoint {
    /// Rotation, 0 to 1.
    pub position: f64,
    /// Gain at 1 kHz for a small signal, dB; none of silence.
    pub gain_db: Option<f64>,
    /// Limits at 1, 5 and 10 %.
    pub limits: Vec<Limit>,
    /// Onset of grid current.
    pub grid_current: GridCurrent,
}

/// The report.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct VolumeHeadroom {
    /// The control that was turned, as the file writes it.
    pub control: String,
    /// Whether it was taken for what it is in the circuit, the only volume control; otherwise because
    /// it moves the gain most.
    pub by_role: bool,
    /// Where it stands, 0 to 1.
    pub set: f64,
    /// The positions, rising; one at which the amp has no operating point is left out.
    pub points: Vec<VolumePoint>,
}

/// The control that acts most on the gain, and whether it was taken for what it is: the only pot that
/// is a volume control by the topology, else the pot whose gain at 1 kHz differs most between a tenth and
/// full. None without a pot.
pub fn volume_control(network: &Network, side: &SolvedCircuit) -> Option<(String, bool)> {
    let controls = pots(&side.circuit);
    let volumes = volumes(&side.circuit);
    if let [volume] = &volumes[..] {
        return Some((volume.clone(), true));
    }
    let range = |name: &str| {
        let ends = [0.1, 1.0].map(|position| {
            let turned = turned(network, side, name, position)?;
            gain_db(network, &turned)
        });
        match ends {
            [Some(low), Some(high)] => (high - low).abs(),
            _ => 0.0,
        }
    };
    let ranges = controls.into_iter().map(|(name, _)| {
        let range = range(&name);
        (name, range)
    });
    let most = ranges.max_by(|a, b| a.1.total_cmp(&b.1))?;
    Some((most.0, false))
}

/// Names of the controls that set the level by the topology, each once.
fn volumes(circuit: &Circuit) -> Vec<String> {
    let topology = circuit.topology();
    let mut found: Vec<String> = Vec::new();
    for (part, place) in circuit.parts().iter().zip(&topology.parts) {
        if let PartKind::Pot { control, .. } = &part.kind
            && part.fitted
            && place.role == Role::Volume
            && !control.is_empty()
            && !found.contains(control)
        {
            found.push(control.clone());
        }
    }
    found
}

/// Names and positions of the pots that can be turned, each once.
fn pots(circuit: &Circuit) -> Vec<(String, f64)> {
    let mut found: Vec<(String, f64)> = Vec::new();
    for part in circuit.parts().iter().filter(|p| p.fitted) {
        if let PartKind::Pot { control, set, .. } = &part.kind
            && !control.is_empty()
            && found.iter().all(|(name, _)| name != control)
        {
            found.push((control.clone(), *set));
        }
    }
    found
}

/// The side with a control at another position; none where that has no operating point.
pub fn turned(
    network: &Network,
    side: &SolvedCircuit,
    control: &str,
    position: f64,
) -> Option<SolvedCircuit> {
    let setting = Setting {
        parts: side.circuit.parts_of_control(control),
        value: ControlValue::Rotation(position),
    };
    let circuit = side.circuit.with_controls(&[setting]).ok()?;
    SolvedCircuit::new(network, circuit).ok()
}

fn gain_db(network: &Network, side: &SolvedCircuit) -> Option<f64> {
    let gain = SmallSignal::new(network, &side.values, &side.point).gain(HZ);
    let db = decibels_from_ratio(gain.norm());
    db.is_finite().then_some(db)
}

/// Sweeps at each of `positions` (0 to 1), on all cores. `go_on` is told the share that is done and
/// answers whether to go on; none when it says no, and none within for an amp without a pot.
pub fn volume_headroom(
    network: &Network,
    side: &SolvedCircuit,
    positions: &[f64],
    go_on: GoOn<'_>,
) -> Option<Option<VolumeHeadroom>> {
    let Some((control, by_role)) = volume_control(network, side) else {
        return Some(None);
    };
    let set = pots(&side.circuit)
        .into_iter()
        .find(|(name, _)| *name == control)
        .map_or(0.0, |(_, set)| set);
    let at = |index: usize, go_on: GoOn<'_>| -> Option<Option<VolumePoint>> {
        let position = positions[index];
        let Some(turned) = turned(network, side, &control, position) else {
            return Some(None);
        };
        let drive = drive_with(network, &turned, DriveOptions::default(), go_on)?;
        Some(Some(VolumePoint {
            position,
            gain_db: gain_db(network, &turned),
            limits: drive.limits,
            grid_current: drive.grid_current,
        }))
    };
    let points = on_all_cores(positions.len(), go_on, &at)?;
    let mut points: Vec<VolumePoint> = points.into_iter().flatten().collect();
    points.sort_by(|a, b| a.position.total_cmp(&b.position));
    Some(Some(VolumeHeadroom {
        control,
        by_role,
        set,
        points,
    }))
}
