//! The figures of one drawn amp in a row, and where in the row each stands.

use super::rising::Clean;
use crate::analysis::third_octave::NOMINAL_HZ;
use crate::circuit::{Circuit, NodeId, PartId, PartKind};
use crate::device::Ratings;
use crate::network::{Network, Values};
use crate::solve::{OperatingPoint, SmallSignal};
use crate::units::decibels_from_ratio;

/// Figures a valve section: anode current (A), anode dissipation (W), screen dissipation (W).
pub const OF_A_VALVE: usize = 3;
/// Place of 1 kHz among the frequencies of the curve.
pub const KILOHERTZ: usize = 17;

/// A valve section and where its electrodes are.
pub struct Section {
    /// The part.
    pub part: PartId,
    /// Positions of anode, screen (pentodes only), grid, cathode.
    anode: usize,
    screen: Option<usize>,
    grid: usize,
    cathode: usize,
    /// Place among the triodes or pentodes.
    index: usize,
}

/// The order of a row of figures: nodes, valve sections, curve, level up to which it is clean.
pub struct Row {
    /// Nodes but ground.
    pub nodes: Vec<NodeId>,
    /// Valve sections in the order of the file.
    pub sections: Vec<Section>,
}

impl Row {
    /// The order for a topology.
    pub fn new(network: &Network, circuit: &Circuit) -> Row {
        let devices = network.devices();
        let triodes = devices.triodes.iter().enumerate();
        let triodes = triodes.map(|(index, site)| {
            let [anode, grid, cathode] = site.at.map(usize::from);
            Section {
                part: site.part,
                anode,
                screen: None,
                grid,
                cathode,
                index,
            }
        });
        let pentodes = devices.pentodes.iter().enumerate();
        let pentodes = pentodes.map(|(index, site)| {
            let [anode, screen, grid, cathode] = site.at.map(usize::from);
            Section {
                part: site.part,
                anode,
                screen: Some(screen),
                grid,
                cathode,
                index,
            }
        });
        let mut sections: Vec<Section> = triodes.chain(pentodes).collect();
        sections.sort_by_key(|s| s.part);
        Row {
            nodes: (1..circuit.nodes().len())
                .map(|i| NodeId(i as u16))
                .collect(),
            sections,
        }
    }

    /// Place of a node's voltage.
    pub fn node(&self, index: usize) -> usize {
        index
    }

    /// Place of the first figure of a section.
    pub fn section(&self, index: usize) -> usize {
        self.nodes.len() + OF_A_VALVE * index
    }

    /// Place of the curve's first frequency.
    pub fn curve(&self) -> usize {
        self.section(self.sections.len())
    }

    /// Place of the level up to which the amp is clean.
    pub fn clean(&self) -> usize {
        self.curve() + NOMINAL_HZ.len()
    }

    /// Figures of one amp at rest and for small signals; the last place is left open.
    pub fn read(&self, network: &Network, values: &Values, point: &OperatingPoint) -> Vec<f64> {
        let at = |position: usize| point.solution[position];
        let mut row = Vec::with_capacity(self.clean() + 1);
        row.extend(self.nodes.iter().map(|&node| at(network.position(node))));
        for section in &self.sections {
            row.extend(section.read(values, at));
        }
        let linear = SmallSignal::new(network, values, point);
        row.extend(
            NOMINAL_HZ
                .iter()
                .map(|&hz| decibels_from_ratio(linear.gain(hz).norm())),
        );
        row.push(f64::NAN);
        row
    }

    /// Puts the level at which an amp stops being clean, V r.m.s.; what lies outside the levels
    /// tried counts as their end.
    pub fn put_clean(&self, row: &mut [f64], clean: Clean, [lowest, highest]: [f64; 2]) {
        row[self.clean()] = match clean {
            Clean::Below => lowest,
            Clean::Upto(volts) => volts,
            Clean::Beyond => highest,
        };
    }
}

impl Section {
    /// Anode current, anode and screen dissipation.
    fn read(&self, values: &Values, at: impl Fn(usize) -> f64) -> [f64; OF_A_VALVE] {
        let to_cathode = |position: usize| at(position) - at(self.cathode);
        let (va, vg) = (to_cathode(self.anode), to_cathode(self.grid));
        match self.screen.map(to_cathode) {
            None => {
                let valve = &values.devices.triodes[self.index];
                let amps = valve.present * valve.law.currents(va, vg).anode;
                [amps, amps * va, 0.0]
            }
            Some(vs) => {
                let valve = &values.devices.pentodes[self.index];
                let currents = valve.law.currents(va, vs, vg);
                let amps = valve.present * currents.anode;
                [amps, amps * va, valve.present * currents.screen * vs]
            }
        }
    }

    /// The limits that reports compare with.
    pub fn ratings<'a>(&self, circuit: &'a Circuit) -> Option<&'a Ratings> {
        match &circuit.part(self.part).kind {
            PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => {
                valve.ratings.first()
            }
            _ => None,
        }
    }

    /// Whether it has a screen.
    pub fn has_screen(&self) -> bool {
        self.screen.is_some()
    }
}
