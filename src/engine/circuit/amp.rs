//! The `[amp]` table: where the guitar goes in and what is heard.

use super::diagnostics::{Diagnostic, nearest, shorten};
use super::reader::{Line, Reader};
use super::text::{Entry, Raw};
use super::{GROUND, Kind, NodeId, Output, PartId};

impl Reader<'_> {
    pub fn input(&mut self, amp: &Line) -> Option<NodeId> {
        let entry = self.required(amp, "input")?;
        let name = self.node_name(amp, &entry.item)?;
        let id = self.known_node(amp, entry, &name)?;
        if id == GROUND {
            self.fault(
                "",
                entry.line,
                &entry.item,
                "cannot be the input".into(),
                "name the node of the input socket".into(),
            );
            return None;
        }
        Some(id)
    }

    pub fn output(&mut self, amp: &Line) -> Option<Output> {
        let entry = self.required(amp, "output")?;
        if let Raw::Text(name) = &entry.item.raw {
            let loudspeaker = self.wired.iter().position(|w| {
                w.kind == Kind::Loudspeaker && w.designator.eq_ignore_ascii_case(name)
            });
            if let Some(index) = loudspeaker {
                let ends = &self.wired[index].wiring.terminals;
                return Some(Output {
                    positive: ends[0],
                    negative: ends[1],
                    loudspeaker: Some(PartId(index as u16)),
                });
            }
            let name = self.node_name(amp, &entry.item)?;
            return Some(Output {
                positive: self.known_node(amp, entry, &name)?,
                negative: GROUND,
                loudspeaker: None,
            });
        }
        if let Raw::List(ends) = &entry.item.raw
            && let [positive, negative] = &ends[..]
        {
            let positive = self.node_name(amp, positive)?;
            let negative = self.node_name(amp, negative)?;
            return Some(Output {
                positive: self.known_node(amp, entry, &positive)?,
                negative: self.known_node(amp, entry, &negative)?,
                loudspeaker: None,
            });
        }
        self.fault(
            "",
            entry.line,
            &entry.item,
            "is not an output".into(),
            "name a loudspeaker, a node, or two nodes in a list".into(),
        );
        None
    }

    pub fn required<'e>(&mut self, amp: &Line<'e>, key: &str) -> Option<&'e Entry> {
        let entry = amp.get(key);
        if entry.is_none() && amp.line > 0 {
            self.faults.push(
                Diagnostic::error(
                    format!("{key} is missing from [amp]"),
                    format!("add {key} = \"…\""),
                )
                .line(amp.line),
            );
        }
        entry
    }

    pub fn known_node(&mut self, _amp: &Line, entry: &Entry, name: &str) -> Option<NodeId> {
        let found = self.node_ids.get(name).copied();
        // With terminals missing, the node may well be one of them.
        if found.is_none() && self.wiring_known {
            let speakers = self
                .wired
                .iter()
                .filter(|w| w.kind == Kind::Loudspeaker)
                .map(|w| w.designator.as_str());
            let near = nearest(name, self.nodes.iter().map(String::as_str).chain(speakers));
            let remedy = match near {
                Some(near) => format!("did you mean {near}?"),
                None => format!("name a node that the parts use as {}", entry.key),
            };
            let fault = Diagnostic::error(
                format!("{} {} is on no part", entry.key, shorten(name)),
                remedy,
            );
            self.faults.push(fault.line(entry.line).value(name));
        }
        found
    }
}
