//! All of it in order: rails first, then valves, feedback, roles, stages.

use super::graph::Graph;
use super::types::{Role, Topology};
use super::{feedback, inverters, rails, roles, sections, stages};
use crate::circuit::Circuit;

impl Circuit {
    /// What each part is for, from parts and nodes alone.
    pub fn topology(&self) -> Topology {
        let graph = Graph::new(self);
        let rails = rails::rails(&graph);
        let bias = rails::bias(&graph);
        let ground = sections::Ground {
            graph: &graph,
            rails: &rails,
            bias: &bias,
        };
        let mut sections = sections::sections(&ground);
        inverters::nearest_drivers(&ground, &mut sections);
        let inverters = inverters::inverters(&ground, &mut sections);
        inverters::spines(&ground, &mut sections);
        inverters::channels(&mut sections, self.input());
        sections.sort_by_key(|s| {
            let output = s.role == Role::OutputValve;
            let other = s.role == Role::InverterOther;
            let order = graph.order[s.part.0 as usize];
            (s.channel, output, s.level, s.side, other, order)
        });
        let feedback = feedback::feedback(&ground, &sections);
        let mut roles = roles::Roles {
            ground: &ground,
            graph: &graph,
            sections: &sections,
            feedback: &feedback,
            found: vec![(Role::Unknown, None); self.parts().len()],
        };
        roles.find();
        let found = roles.found;
        let (stages, parts) = stages::stages(&graph, &sections, &inverters, &found);
        Topology {
            parts,
            stages,
            sections,
            rails,
            bias,
            feedback,
        }
    }
}
