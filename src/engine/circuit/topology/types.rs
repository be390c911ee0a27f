//! Roles, stages, sections, rails: what a circuit is made of.

use crate::circuit::{NodeId, PartId};

/// What a part is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Role {
    /// Feeds a rail: a supply or a rectifier with its winding.
    Supply,
    /// The capacitor at the rail that the supply feeds.
    Reservoir,
    /// Between one rail and the next: resistor, choke, standby switch.
    RailFeed,
    /// From a rail to ground: capacitor.
    Decoupling,
    /// From a rail to ground: resistor.
    Bleeder,
    /// The source of negative bias.
    BiasSupply,
    /// In series from the bias supply towards the grids.
    BiasFeed,
    /// From a bias node to ground: resistor or pot.
    BiasLoad,
    /// From a bias node to ground: capacitor; also the one at the source.
    BiasDecoupling,
    /// The jack's load: from the input to ground.
    InputLoad,
    /// A valve that amplifies at its anode.
    Gain,
    /// A valve whose anode is held and whose cathode drives on.
    Follower,
    /// The half of an inverter that the stage before drives, and a cathodyne.
    InverterDriven,
    /// The other half of an inverter.
    InverterOther,
    /// A valve on the output transformer.
    OutputValve,
    /// From a rail to an anode.
    AnodeLoad,
    /// From a cathode towards ground, the first of the chain.
    CathodeBias,
    /// Across cathode bias: capacitor.
    CathodeBypass,
    /// Common to two cathodes, below their bias.
    Tail,
    /// The lower load of a follower or a cathodyne.
    CathodeLoad,
    /// From a grid to ground, to its bias, or into its own cathode chain.
    GridLeak,
    /// In series with a grid, nothing else at the grid.
    GridStopper,
    /// In series with one screen, from a rail.
    ScreenStopper,
    /// From a rail to a node that several screens share, or that has a capacitor.
    ScreenFeed,
    /// From a screen to ground or cathode: capacitor.
    ScreenBypass,
    /// Passes the signal on from a valve and holds its direct voltage back.
    Coupling,
    /// In series with the signal.
    Series,
    /// Joins signals, or a divider's upper part.
    DividerUpper,
    /// A divider's lower part.
    DividerLower,
    /// From each anode of a paraphase to the grid of its other half.
    Paraphase,
    /// A pot that sets the level.
    Volume,
    /// Capacitor across a pot's upper half.
    Bright,
    /// Pots of a tone network, and parts that belong to one of them.
    Treble,
    Middle,
    Bass,
    /// A single tone control and its capacitor.
    Tone,
    /// Any other part of a tone network.
    ToneNetwork,
    /// In the path from the output back, resistor or capacitor.
    Feedback,
    /// From the feedback's end to ground.
    FeedbackShunt,
    /// The contact in the feedback's path.
    FeedbackSwitch,
    /// Hangs from the feedback's path or its end, and takes treble out of it.
    Presence,
    /// Across anodes or a load, against oscillation or spikes.
    Snubber,
    /// The output transformer.
    OutputTransformer,
    /// A loudspeaker, and a resistor in its place.
    Loudspeaker,
    /// In series with, or across, a loudspeaker.
    LoudspeakerNetwork,
    /// Not recognised.
    Unknown,
}

/// What a stage is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum StageKind {
    /// What lies before the first grid.
    Input,
    /// A triode or pentode that amplifies.
    Gain,
    /// A cathode follower.
    Follower,
    /// A network of tone controls or a volume, between two valves.
    Tone,
    /// From one signal to two of opposite sign.
    Inverter(InverterKind),
    /// The output valves.
    Output(OutputKind),
    /// From the output back.
    Feedback,
    /// Loudspeakers.
    Loudspeaker,
    /// High tension.
    Supply,
    /// Negative bias.
    Bias,
    /// Parts that belong nowhere.
    Unknown,
}

/// How a signal is inverted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum InverterKind {
    LongTailedPair,
    Cathodyne,
    /// The other half fed from a divider of the first half's output.
    Paraphase,
    /// The other half fed from where two resistors from both anodes meet.
    FloatingParaphase,
}

/// The kind of output stage.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub struct OutputKind {
    pub push_pull: bool,
    /// The cathodes stand above ground by a part of their own.
    pub cathode_bias: bool,
}

/// One part's place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Recognised {
    pub role: Role,
    /// Place in [`Topology::stages`].
    pub stage: usize,
    /// The valve section it serves, where it serves one.
    pub valve: Option<PartId>,
}

/// A stage.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stage {
    pub kind: StageKind,
    /// Which of its kind, from the input, counted from 1 ("second gain stage").
    pub number: usize,
    /// Its valve sections.
    pub valves: Vec<PartId>,
}

/// A valve section and what surrounds it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Section {
    pub part: PartId,
    pub anode: NodeId,
    pub screen: Option<NodeId>,
    pub grid: NodeId,
    pub cathode: NodeId,
    /// Role: gain, follower, driven, other, output.
    pub role: Role,
    /// Waves from the input: 0 for the first valve. A valve that nothing drives stands one before
    /// what it drives.
    pub level: usize,
    /// 0 for the channel of the input, rising for others.
    pub channel: usize,
    /// Side of the output transformer, 0 or 1; 0 for all other valves.
    pub side: usize,
    /// Where its signal comes out: its anode; of a follower the cathode; of a cathodyne both.
    pub outputs: Vec<NodeId>,
    /// The node that drives its grid (an output of another section, or the input), if any.
    pub driven_from: Option<NodeId>,
    /// The path from there to the grid, in order; empty when direct.
    pub spine: Vec<PartId>,
    /// From the cathode towards ground, in order, through resistors, inductors, pots; where two
    /// cathodes share a chain both list it from their own cathode on.
    pub cathode_chain: Vec<PartId>,
    /// From the anode to its rail, in order; empty on a transformer or straight on a rail.
    pub anode_chain: Vec<PartId>,
}

/// A node of the high tension.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Rail {
    pub node: NodeId,
    /// The rail that feeds it, by place in [`Topology::rails`]; none at a supply.
    pub from: Option<usize>,
    /// What feeds it: the supply, or the parts from the rail before it, in order.
    pub feed: Vec<PartId>,
}

/// The way back from the output.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FeedbackPath {
    /// A tap of the secondary, or an anode for a local one.
    pub from: NodeId,
    /// Where it arrives.
    pub to: NodeId,
    /// In order from the output.
    pub path: Vec<PartId>,
    /// What hangs from it.
    pub presence: Vec<PartId>,
}

/// What a circuit is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Topology {
    /// By [`PartId`].
    pub parts: Vec<Recognised>,
    /// In signal order; feedback, loudspeakers, supply, bias, unknown last.
    pub stages: Vec<Stage>,
    /// In signal order: by channel, level, side.
    pub sections: Vec<Section>,
    /// From each supply on.
    pub rails: Vec<Rail>,
    /// Nodes held by negative supplies, from the supply on; their parts are in `parts`.
    pub bias: Vec<NodeId>,
    /// From the output valves' secondary first, local ones after.
    pub feedback: Vec<FeedbackPath>,
}

impl Topology {
    /// A part's place.
    pub fn of(&self, part: PartId) -> Recognised {
        self.parts[part.0 as usize]
    }

    /// The rail at a node.
    pub fn rail(&self, node: NodeId) -> Option<usize> {
        self.rails.iter().position(|rail| rail.node == node)
    }

    /// A valve section.
    pub fn section(&self, part: PartId) -> Option<&Section> {
        self.sections.iter().find(|section| section.part == part)
    }
}
