//! Parts and nodes: what a part is, between which nodes, with its values in SI units.

use crate::device::core::RATED_SHARE;
use crate::device::{CoreLaw, Loudspeaker, RectifierType, Valve};
use std::sync::Arc;

/// A node of the circuit; 0 is ground.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct NodeId(pub u16);

/// Ground.
pub const GROUND: NodeId = NodeId(0);

/// A part, by its place in [`Circuit::parts`].
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct PartId(pub u16);

/// How a pot's resistance from its low end to the wiper follows its rotation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Taper {
    /// In proportion.
    Linear,
    /// Audio taper in two straight pieces: 10 % of the resistance at half rotation, as
    /// carbon-track pots are made (common practice, no source).
    Log,
    /// The mirror image of [`Taper::Log`].
    Reverse,
}

impl Taper {
    /// Share of the resistance between the low end and the wiper at rotation `set` (0 to 1).
    pub fn share(self, set: f64) -> f64 {
        let log = |x: f64| {
            if x < 0.5 {
                0.2 * x
            } else {
                0.1 + 1.8 * (x - 0.5)
            }
        };
        match self {
            Taper::Linear => set,
            Taper::Log => log(set),
            Taper::Reverse => 1.0 - log(1.0 - set),
        }
    }

    /// The rotation (0 to 1) that leaves this share between the low end and the wiper: the inverse
    /// of [`Taper::share`].
    pub fn rotation(self, share: f64) -> f64 {
        let log = |share: f64| {
            if share < 0.1 {
                share / 0.2
            } else {
                0.5 + (share - 0.1) / 1.8
            }
        };
        match self {
            Taper::Linear => share,
            Taper::Log => log(share),
            Taper::Reverse => 1.0 - log(1.0 - share),
        }
    }
}

/// What a part is, between which nodes, with its values in SI units.
#[derive(Clone, Debug, PartialEq)]
pub enum PartKind {
    /// Ohms between two nodes.
    Resistor { ohms: f64, between: [NodeId; 2] },
    /// Farads between two nodes.
    Capacitor { farads: f64, between: [NodeId; 2] },
    /// Henries with the resistance of the winding in series.
    Inductor {
        henries: f64,
        winding_ohms: f64,
        between: [NodeId; 2],
    },
    /// `set` is the rotation: at 1 the wiper stands at `from`, at 0 at `to`.
    Pot {
        ohms: f64,
        taper: Taper,
        from: NodeId,
        to: NodeId,
        wiper: NodeId,
        set: f64,
        control: String,
    },
    /// A contact.
    Switch {
        closed: bool,
        between: [NodeId; 2],
        control: String,
    },
    /// One triode section.
    Triode {
        valve: Arc<Valve>,
        anode: NodeId,
        grid: NodeId,
        cathode: NodeId,
    },
    /// A pentode or beam tetrode; triode-connected when screen and anode are the same node.
    Pentode {
        valve: Arc<Valve>,
        anode: NodeId,
        screen: NodeId,
        grid: NodeId,
        cathode: NodeId,
    },
    /// Full-wave rectifier on a centre-tapped winding, its reservoir being a part of its own.
    /// `winding_volts` is the r.m.s. voltage of each half, `winding_ohms` the resistance in
    /// series with each anode.
    Rectifier {
        rectifier: Arc<RectifierType>,
        winding_volts: f64,
        winding_ohms: f64,
        to: NodeId,
        from: NodeId,
    },
    /// Output transformer; see [`OutputTransformer`].
    OutputTransformer(OutputTransformer),
    /// A loudspeaker between two nodes.
    Loudspeaker {
        driver: Arc<Loudspeaker>,
        between: [NodeId; 2],
    },
    /// High-tension (positive) supply from ground to a node, with its source resistance.
    Supply { volts: f64, ohms: f64, node: NodeId },
    /// Bias (negative) supply from ground to a node, with its source resistance.
    BiasSupply { volts: f64, ohms: f64, node: NodeId },
    /// Any other constant source, first node positive.
    VoltageSource {
        volts: f64,
        ohms: f64,
        between: [NodeId; 2],
    },
}

/// One winding: its tap nodes from end to end and the turns at each, as a share of the winding.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Winding {
    /// Nodes of the taps, ends included; two or more.
    pub taps: Vec<NodeId>,
    /// Turns from the first end to each tap, first 0, last 1, rising.
    pub shares: Vec<f64>,
}

/// Output transformer with its losses, all as seen across the whole primary unless said otherwise.
#[derive(Clone, Debug, PartialEq)]
pub struct OutputTransformer {
    /// Reflected load across the whole primary at rated secondary load, Ω.
    pub primary_ohms: f64,
    /// Rated load across the whole secondary, Ω. Turns ratio is the root of the two.
    pub secondary_ohms: f64,
    /// Primary taps.
    pub primary: Winding,
    /// Secondary taps.
    pub secondary: Winding,
    /// Primary (magnetising) inductance, H.
    pub inductance: f64,
    /// Lowest frequency at which it carries its rated power, Hz.
    pub full_power_hz: f64,
    /// Rated power, W.
    pub rated_watts: f64,
    /// Direct current through the whole primary that the core is made for, A.
    pub direct_amps: f64,
    /// Leakage inductance, H, shared among the primary sections by their turns.
    pub leakage: f64,
    /// Damping across each section's leakage, Ω.
    pub leakage_damping: f64,
    /// Resistance of the whole primary, Ω, shared by turns.
    pub primary_resistance: f64,
    /// Resistance of the whole secondary, Ω, shared by turns.
    pub secondary_resistance: f64,
    /// Core loss across the whole primary, Ω.
    pub core_loss: f64,
    /// Winding capacitance from each end of the primary to ground, F; only at ends that are
    /// anodes.
    pub winding_farads: f64,
}

impl OutputTransformer {
    /// Peak volts across the whole primary at rated power.
    pub fn rated_volts(&self) -> f64 {
        (2.0 * self.rated_watts * self.primary_ohms).sqrt()
    }

    /// Flux linkage of the whole primary at rated power at the lowest frequency, with the direct
    /// current that the core is made for, V·s.
    pub fn rated_flux(&self) -> f64 {
        let alternating = self.rated_volts() / (std::f64::consts::TAU * self.full_power_hz);
        alternating + self.inductance * self.direct_amps
    }

    /// What the core takes beyond the current of the inductance.
    pub fn core_law(&self) -> CoreLaw<f64> {
        CoreLaw {
            per_flux: 1.0 / self.rated_flux(),
            amps: RATED_SHARE * self.rated_volts() / self.primary_ohms,
        }
    }
}

/// Ratings and origin of a part, as the file states them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Particulars {
    /// Position in signal order, such as "First gain stage".
    pub stage: String,
    /// What it does there, such as "grid stopper".
    pub role: String,
    /// Stage and role by the topology, where the file says nothing; see [`Particulars::stage`].
    pub(crate) found_stage: String,
    pub(crate) found_role: String,
    /// Power rating, W.
    pub rated_watts: Option<f64>,
    /// Voltage rating, V.
    pub rated_volts: Option<f64>,
    /// Tolerance as a share: 0.05 is 5 %.
    pub tolerance: Option<f64>,
    /// Where it sits on the board, to group work.
    pub near: Option<String>,
}

impl Particulars {
    /// The stage as the file says, else as the topology says.
    pub fn stage(&self) -> &str {
        if self.stage.is_empty() {
            &self.found_stage
        } else {
            &self.stage
        }
    }

    /// The role as the file says, else as the topology says.
    pub fn role(&self) -> &str {
        if self.role.is_empty() {
            &self.found_role
        } else {
            &self.role
        }
    }
}

/// One line of the file.
#[derive(Clone, Debug, PartialEq)]
pub struct Part {
    /// Designator, such as "R14".
    pub designator: String,
    /// Line in the file, counted from 1.
    pub line: usize,
    /// Kind, nodes and values.
    pub kind: PartKind,
    /// False when the part is left out of the amp.
    pub fitted: bool,
    /// Stage, role, ratings.
    pub particulars: Particulars,
}

/// What is heard: the voltage between two nodes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Output {
    /// Positive side.
    pub positive: NodeId,
    /// Negative side.
    pub negative: NodeId,
    /// The loudspeaker, when the output was named by one.
    pub loudspeaker: Option<PartId>,
}
