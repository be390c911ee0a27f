//! Stages in signal order, and the one that each part belongs to.

use super::graph::Graph;
use super::types::{InverterKind, OutputKind, Recognised, Role, Section, Stage, StageKind};
use crate::circuit::{GROUND, PartId, PartKind};
use std::collections::BTreeMap;

/// Stages, and for each part its place with role, stage and valve.
pub(super) fn stages(
    graph: &Graph<'_>,
    sections: &[Section],
    inverters: &BTreeMap<PartId, InverterKind>,
    roles: &[(Role, Option<PartId>)],
) -> (Vec<Stage>, Vec<Recognised>) {
    let mut list = vec![Stage {
        kind: StageKind::Input,
        number: 1,
        valves: Vec::new(),
    }];
    // By valve: its stage, and that of the controls before it.
    let mut of_valve: BTreeMap<PartId, usize> = BTreeMap::new();
    let mut before: BTreeMap<PartId, usize> = BTreeMap::new();
    for section in sections {
        let controls = roles
            .iter()
            .any(|(role, valve)| is_control(*role) && *valve == Some(section.part));
        if controls && section.role != Role::OutputValve {
            before.insert(section.part, list.len());
            list.push(stage(StageKind::Tone, None));
        } else if controls {
            let known = list
                .iter()
                .position(|s| s.kind == StageKind::Tone && s.number == 0);
            let place = known.unwrap_or(list.len());
            if place == list.len() {
                list.push(stage(StageKind::Tone, None));
            }
            before.insert(section.part, place);
        }
        let kind = kind_of(sections, section, inverters);
        let joins = match kind {
            StageKind::Inverter(_) | StageKind::Output(_) => {
                list.iter().position(|s| s.kind == kind)
            }
            _ => None,
        };
        if let Some(place) = joins {
            list[place].valves.push(section.part);
            of_valve.insert(section.part, place);
        } else {
            of_valve.insert(section.part, list.len());
            list.push(stage(kind, Some(section.part)));
        }
    }
    let first_last = list.len();
    list.extend(LAST.map(|kind| stage(kind, None)));
    number(&mut list);
    let places = Places {
        graph,
        sections,
        list: &list,
        of_valve,
        before,
        first_last,
    };
    let parts = roles
        .iter()
        .enumerate()
        .map(|(i, (role, valve))| Recognised {
            role: *role,
            stage: places.stage_of(PartId(i as u16), *role, *valve),
            valve: *valve,
        })
        .collect();
    (list, parts)
}

/// Stages that stand behind those of the valves.
const LAST: [StageKind; 5] = [
    StageKind::Feedback,
    StageKind::Loudspeaker,
    StageKind::Supply,
    StageKind::Bias,
    StageKind::Unknown,
];

/// Where each part's stage is looked up.
struct Places<'a> {
    graph: &'a Graph<'a>,
    sections: &'a [Section],
    list: &'a [Stage],
    /// By valve: its stage, and that of the controls before it.
    of_valve: BTreeMap<PartId, usize>,
    before: BTreeMap<PartId, usize>,
    first_last: usize,
}

impl Places<'_> {
    fn at(&self, kind: StageKind) -> usize {
        self.first_last + LAST.iter().position(|k| *k == kind).unwrap_or(4)
    }

    fn stage_of(&self, part: PartId, role: Role, valve: Option<PartId>) -> usize {
        let unknown = self.at(StageKind::Unknown);
        let own = || valve.and_then(|v| self.of_valve.get(&v)).copied();
        let controls = || valve.and_then(|v| self.before.get(&v)).copied();
        match role {
            Role::Supply | Role::Reservoir | Role::RailFeed | Role::Decoupling | Role::Bleeder => {
                self.at(StageKind::Supply)
            }
            Role::BiasSupply | Role::BiasFeed | Role::BiasLoad | Role::BiasDecoupling => {
                self.at(StageKind::Bias)
            }
            Role::Feedback | Role::FeedbackShunt | Role::FeedbackSwitch | Role::Presence => {
                self.at(StageKind::Feedback)
            }
            Role::Loudspeaker | Role::LoudspeakerNetwork => self.at(StageKind::Loudspeaker),
            Role::OutputTransformer => {
                let mut stages = self.list.iter();
                let output = stages.position(|s| matches!(s.kind, StageKind::Output(_)));
                output.unwrap_or(self.at(StageKind::Loudspeaker))
            }
            Role::InputLoad => 0,
            role if is_control(role) => controls().unwrap_or(unknown),
            // What stands on the way to a control belongs to it.
            Role::Series if leads_to_control(self.graph, self.sections, part) => {
                controls().unwrap_or(unknown)
            }
            Role::Coupling => valve
                .and_then(|v| coupled_from(self.sections, &self.of_valve, v, part, self.graph))
                .unwrap_or(unknown),
            Role::GridStopper | Role::GridLeak | Role::Series
                if valve.is_some() && valve == self.sections.first().map(|s| s.part) =>
            {
                0
            }
            _ => own().unwrap_or(unknown),
        }
    }
}

/// Whether a pot follows a part on its way to a grid.
fn leads_to_control(graph: &Graph<'_>, sections: &[Section], part: PartId) -> bool {
    sections.iter().any(|section| {
        let place = section.spine.iter().position(|p| *p == part);
        place.is_some_and(|place| {
            section.spine[place..]
                .iter()
                .any(|p| matches!(graph.kind(*p), PartKind::Pot { .. }))
        })
    })
}

/// A capacitor between two stages belongs to the one before it; before output valves to theirs.
fn coupled_from(
    sections: &[Section],
    of_valve: &BTreeMap<PartId, usize>,
    valve: PartId,
    part: PartId,
    graph: &Graph<'_>,
) -> Option<usize> {
    let target = sections.iter().find(|s| s.part == valve)?;
    if target.role == Role::OutputValve {
        let single = sections
            .iter()
            .filter(|s| s.role == Role::OutputValve)
            .all(|s| s.side == 0);
        if !single {
            return of_valve.get(&valve).copied();
        }
    }
    let nodes = graph.kind(part).wiring().terminals;
    let source = sections.iter().find(|s| {
        s.outputs
            .iter()
            .any(|node| nodes.contains(node) && *node != GROUND)
    });
    let source = source.map_or(valve, |s| s.part);
    of_valve.get(&source).copied()
}

fn stage(kind: StageKind, valve: Option<PartId>) -> Stage {
    Stage {
        kind,
        number: 0,
        valves: valve.into_iter().collect(),
    }
}

fn is_control(role: Role) -> bool {
    matches!(
        role,
        Role::Volume
            | Role::Bright
            | Role::Treble
            | Role::Middle
            | Role::Bass
            | Role::Tone
            | Role::ToneNetwork
    )
}

fn kind_of(
    sections: &[Section],
    section: &Section,
    inverters: &BTreeMap<PartId, InverterKind>,
) -> StageKind {
    if let Some(kind) = inverters.get(&section.part) {
        return StageKind::Inverter(*kind);
    }
    match section.role {
        Role::OutputValve => {
            let output = || sections.iter().filter(|s| s.role == Role::OutputValve);
            StageKind::Output(OutputKind {
                push_pull: output().any(|s| s.side == 1),
                cathode_bias: output().any(|s| !s.cathode_chain.is_empty()),
            })
        }
        Role::Follower => StageKind::Follower,
        _ => StageKind::Gain,
    }
}

fn number(list: &mut [Stage]) {
    for i in 0..list.len() {
        let same = |kind: StageKind| {
            std::mem::discriminant(&kind) == std::mem::discriminant(&list[i].kind)
        };
        let before = list[..i].iter().filter(|s| same(s.kind)).count();
        list[i].number = before + 1;
    }
}
