//! From the figures of many drawn amps to the report.

use super::band::Band;
use super::figures::KILOHERTZ;
use super::report::{SideSpread, SpreadReport, ValveSpread};
use super::study::{Drawn, Study};
use super::words;
use crate::analysis::third_octave::NOMINAL_HZ;
use crate::analysis::voltages::ByName;
use crate::circuit::PartKind;

/// The report of all groups in their order.
pub fn report(study: &Study, groups: Vec<Vec<Drawn>>) -> SpreadReport {
    let drawn: Vec<Vec<Vec<f64>>> = groups.into_iter().flatten().flatten().collect();
    let circuit = &study.sides[0].circuit;
    let mut sides = (0..study.sides.len()).map(|side| Columns {
        study,
        drawn: &drawn,
        side,
    });
    let as_found = sides.next().map(|columns| columns.side());
    let proposed = sides.next().map(|columns| columns.side());
    // The first side is always there: a study begins with it.
    let as_found = as_found.expect("as found");
    let changes = match proposed {
        Some(_) => words::changes(study, &drawn, &as_found),
        None => Vec::new(),
    };
    SpreadReport {
        amp: circuit.name().into(),
        settings: study.settings,
        unsolved: study.settings.amps - drawn.len(),
        hz: NOMINAL_HZ.to_vec(),
        sentences: words::sentences(&as_found, proposed.as_ref(), &changes),
        assumptions: study.plan.in_words(circuit),
        as_found,
        proposed,
        changes,
    }
}

/// The figures of one side, column by column.
struct Columns<'a> {
    study: &'a Study<'a>,
    /// By amp, then by side.
    drawn: &'a [Vec<Vec<f64>>],
    side: usize,
}

impl Columns<'_> {
    /// A figure made of each amp's row.
    fn of(&self, figure: impl Fn(&[f64]) -> f64) -> Band {
        let rows = self.drawn.iter().map(|amp| figure(&amp[self.side]));
        Band::of(figure(&self.study.nominal[self.side]), rows.collect())
    }

    /// Amps in a hundred whose figure is over a limit.
    fn over(&self, place: usize, limit: f64) -> f64 {
        let over = self
            .drawn
            .iter()
            .filter(|amp| amp[self.side][place] > limit);
        100.0 * over.count() as f64 / self.drawn.len().max(1) as f64
    }

    fn side(&self) -> SideSpread {
        let row = &self.study.row;
        let circuit = &self.study.sides[self.side].circuit;
        let nodes = row.nodes.iter().enumerate().map(|(i, node)| {
            let name = circuit.nodes()[node.0 as usize].clone();
            (name, self.of(|figures| figures[row.node(i)]))
        });
        let valves = (0..row.sections.len()).map(|i| {
            let part = circuit.part(row.sections[i].part);
            (part.designator.clone(), self.valve(i))
        });
        let curve = row.curve();
        let places = 0..NOMINAL_HZ.len();
        let clean = self.study.lowest[self.side].map(|lowest| self.study.levels(lowest));
        SideSpread {
            nodes: ByName(nodes.collect()),
            valves: ByName(valves.collect()),
            gain_db: self.of(|figures| figures[curve + KILOHERTZ]),
            curve_db: places.clone().map(|k| self.of(|f| f[curve + k])).collect(),
            tone_db: places
                .map(|k| self.of(|f| f[curve + k] - f[curve + KILOHERTZ]))
                .collect(),
            clean_volts: clean.map(|_| self.of(|figures| figures[row.clean()])),
            clean_outside: clean.map_or(0, |ends| {
                let outside = |amp: &&Vec<Vec<f64>>| ends.contains(&amp[self.side][row.clean()]);
                self.drawn.iter().filter(outside).count()
            }),
        }
    }

    fn valve(&self, index: usize) -> ValveSpread {
        let section = &self.study.row.sections[index];
        let circuit = &self.study.sides[self.side].circuit;
        let place = self.study.row.section(index);
        let ratings = section.ratings(circuit);
        let anode_limit_watts = ratings.and_then(|r| r.anode_watts);
        let screen_limit_watts = ratings
            .and_then(|r| r.screen_watts)
            .filter(|_| section.has_screen());
        let name = match &circuit.part(section.part).kind {
            PartKind::Triode { valve, .. } | PartKind::Pentode { valve, .. } => &valve.name,
            _ => "",
        };
        ValveSpread {
            valve: name.into(),
            anode_milliamps: self.of(|figures| 1e3 * figures[place]),
            anode_watts: self.of(|figures| figures[place + 1]),
            anode_limit_watts,
            anode_over_percent: anode_limit_watts.map(|limit| self.over(place + 1, limit)),
            screen_watts: section
                .has_screen()
                .then(|| self.of(|figures| figures[place + 2])),
            screen_limit_watts,
            screen_over_percent: screen_limit_watts.map(|limit| self.over(place + 2, limit)),
        }
    }
}
