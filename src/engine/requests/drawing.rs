//! The amp's schematic, as found and proposed, with its direct volts where they are asked for.
//!
//! Command line, job sheet and window ask here, so that all show the same drawing.

use crate::analysis::voltages::chart;
use crate::circuit::topology::Topology;
use crate::circuit::{Circuit, Kind, PartId};
use crate::drawing::around::around;
use crate::drawing::fold::{LANDSCAPE, Paper, SMALLEST, fold, smallest_letters};
use crate::drawing::frozen::redraw;
use crate::drawing::sheet::{Item, Sheet};
use crate::drawing::strokes::ResistorStyle;
use crate::drawing::svg::{SvgStyle, room, svg};
use crate::drawing::write::{Lettering, Notes};
use crate::drawing::{draw, frame, labels};
use crate::job_sheet::{Piece, Schematic};
use crate::network::Network;
use crate::solve::solved::{NoOperatingPoint, SolvedAmp, SolvedCircuit};
use std::sync::Arc;

/// How a drawing is painted.
#[derive(Clone, Copy, Debug, Default)]
pub struct Look {
    pub resistors: ResistorStyle,
    pub dark: bool,
}

/// A drawing and what its texts say.
#[derive(Clone, Debug)]
pub struct Drawing {
    pub as_found: Arc<Circuit>,
    pub proposed: Option<Arc<Circuit>>,
    pub topology: Arc<Topology>,
    pub sheet: Sheet,
    /// Direct volts by node as found and as proposed, where they are written.
    pub volts: Option<[Vec<f64>; 2]>,
}

/// Direct volts by node; ground is 0.
pub fn node_volts(network: &Network, side: &SolvedCircuit) -> Vec<f64> {
    let chart = chart(network, side);
    let names = side.circuit.nodes().iter();
    names
        .map(|name| chart.nodes.get(name).copied().unwrap_or(0.0))
        .collect()
}

/// The same as found and as proposed.
fn both_volts(amp: &SolvedAmp) -> [Vec<f64>; 2] {
    let found = node_volts(&amp.network, &amp.as_found);
    let proposed = amp.proposed.as_ref();
    let after = proposed.map_or_else(|| found.clone(), |side| node_volts(&amp.network, side));
    [found, after]
}

/// What a drawing is on a page of the job sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum OnPage {
    Whole,
    Piece,
}

/// Most designators in the title of a piece, and the width of a unit on paper, mm: letters of a little
/// more than 6 points.
const NAMED: usize = 4;
const UNIT: f32 = 2.3;

impl Drawing {
    /// Draws a circuit, and what a proposal changes in it; with direct volts if asked for.
    ///
    /// # Errors
    /// No operating point, where volts are asked for.
    pub fn new(
        as_found: &Circuit,
        proposed: Option<&Circuit>,
        with_volts: bool,
    ) -> Result<Drawing, NoOperatingPoint> {
        let volts = match with_volts {
            true => Some(both_volts(&SolvedAmp::new(as_found, proposed)?)),
            false => None,
        };
        Ok(Drawing::with(as_found, proposed, volts))
    }

    /// Draws an amp that is solved, with its direct volts.
    pub fn of(amp: &SolvedAmp) -> Drawing {
        let proposed = amp.proposed.as_ref().map(|side| &side.circuit);
        Drawing::with(&amp.as_found.circuit, proposed, Some(both_volts(amp)))
    }

    fn with(
        as_found: &Circuit,
        proposed: Option<&Circuit>,
        volts: Option<[Vec<f64>; 2]>,
    ) -> Drawing {
        let mut drawing = Drawing {
            as_found: Arc::new(as_found.clone()),
            proposed: proposed.cloned().map(Arc::new),
            topology: Arc::new(as_found.topology()),
            sheet: Sheet::default(),
            volts,
        };
        drawing.sheet = draw(&drawing.lettering());
        drawing
    }

    fn lettering(&self) -> Lettering<'_> {
        let volts = self.volts.as_ref();
        Lettering {
            circuit: &self.as_found,
            topology: &self.topology,
            proposed: self.proposed.as_deref(),
            volts: volts.map(|[a, b]| [a.as_slice(), b.as_slice()]),
            notes: None,
        }
    }

    /// The same drawing folded so that it is best read on a paper. Where volts would make its letters
    /// too small they are left out.
    pub fn folded(&self, paper: Paper) -> Drawing {
        let with = Drawing {
            sheet: fold(&self.sheet, &self.lettering(), paper),
            ..self.clone()
        };
        if self.volts.is_none() || smallest_letters(&with.sheet, paper) >= SMALLEST {
            return with;
        }
        let mut without = Drawing {
            volts: None,
            ..self.clone()
        };
        without.sheet = draw(&without.lettering());
        without.folded(paper)
    }

    /// Draws without volts: nothing is solved.
    pub fn without_volts(as_found: &Circuit, proposed: Option<&Circuit>) -> Drawing {
        Drawing::with(as_found, proposed, None)
    }

    /// Draws a circuit that has grown out of another: what is still there keeps its place.
    pub fn after(former: &Drawing, circuit: &Circuit) -> Drawing {
        let topology = circuit.topology();
        let sheet = redraw(&former.sheet, &former.as_found, circuit, &topology);
        let mut drawing = Drawing {
            as_found: Arc::new(circuit.clone()),
            proposed: None,
            topology: Arc::new(topology),
            sheet,
            volts: None,
        };
        drawing.relabel(None, None, None);
        frame(&mut drawing.sheet);
        drawing
    }

    /// The same places and wires with other texts: another proposal, other volts, other lines beside
    /// parts.
    pub fn relabel(
        &mut self,
        proposed: Option<&Circuit>,
        volts: Option<[&[f64]; 2]>,
        notes: Option<&Notes<'_>>,
    ) {
        self.proposed = proposed.cloned().map(Arc::new);
        self.volts = volts.map(|both| both.map(<[f64]>::to_vec));
        let lettering = Lettering {
            circuit: &self.as_found,
            topology: &self.topology,
            proposed,
            volts,
            notes,
        };
        labels::label(&mut self.sheet, &lettering);
    }

    /// Whether a symbol's part is left out, as it is proposed.
    pub fn is_unfitted(&self, item: Item) -> bool {
        let Item::Part(part) = item else { return false };
        let circuit = self.proposed.as_ref().unwrap_or(&self.as_found);
        !circuit.part(part).fitted
    }

    /// Whether the proposal changes a symbol's part.
    pub fn is_changed(&self, item: Item) -> bool {
        let (Item::Part(part), Some(proposed)) = (item, &self.proposed) else {
            return false;
        };
        let (found, proposed) = (self.as_found.part(part), proposed.part(part));
        found.kind != proposed.kind || found.fitted != proposed.fitted
    }

    /// Whether a valve section shares its bulb with another: V1a with V1b.
    pub fn is_half(&self, item: Item) -> bool {
        let Item::Part(part) = item else { return false };
        let own = self.as_found.part(part);
        let bulb = |designator: &str| {
            let mut letters = designator.chars();
            letters.next_back();
            letters.as_str().to_string()
        };
        own.kind.kind() == Kind::Triode
            && self.as_found.parts().iter().any(|other| {
                other.kind.kind() == Kind::Triode
                    && other.designator != own.designator
                    && bulb(&other.designator) == bulb(&own.designator)
            })
    }

    /// The drawing with its proposal for the job sheet: the whole, and pieces around what changes.
    pub fn on_job_sheet(&self) -> Schematic {
        let parts = (0..self.as_found.parts().len()).map(|i| PartId(i as u16));
        let changed: Vec<PartId> = parts
            .filter(|part| self.is_changed(Item::Part(*part)))
            .collect();
        let piece = |sheet: Sheet| {
            let drawing = Drawing {
                sheet,
                ..self.clone()
            };
            let here = |part: &&PartId| {
                let mut placed = drawing.sheet.placed.iter();
                placed.any(|placed| placed.item == Item::Part(**part))
            };
            let names: Vec<&str> = changed
                .iter()
                .filter(here)
                .map(|part| self.as_found.part(*part).designator.as_str())
                .collect();
            let mut title = format!("Around {}", names[..names.len().min(NAMED)].join(", "));
            if names.len() > NAMED {
                title.push_str(" and others");
            }
            Piece {
                svg: drawing.painted(&title, Some(OnPage::Piece), Look::default()),
                wide: room(&drawing.sheet)[0] * UNIT,
            }
        };
        Schematic {
            whole: Some(self.folded(LANDSCAPE).painted(
                self.as_found.name(),
                Some(OnPage::Whole),
                Look::default(),
            )),
            pieces: around(&self.sheet, &changed)
                .into_iter()
                .map(piece)
                .collect(),
        }
    }

    /// The drawing as an SVG file.
    pub fn svg(&self, look: Look) -> String {
        self.painted(self.as_found.name(), None, look)
    }

    fn painted(&self, title: &str, on_page: Option<OnPage>, look: Look) -> String {
        let [ink, paper, accent, faint] = if look.dark {
            ["#f0f0ec", "#161618", "#74bef6", "#b8b8b4"]
        } else {
            ["#101010", "#ffffff", "#005496", "#6a6a6a"]
        };
        svg(
            &self.sheet,
            &SvgStyle {
                title,
                inline: on_page.is_some(),
                bare: on_page == Some(OnPage::Piece),
                ink,
                paper,
                accent,
                faint,
                resistors: look.resistors,
                scale: 10.0,
                unfitted: &|item| self.is_unfitted(item),
                changed: &|item| self.is_changed(item),
                halves: &|item| self.is_half(item),
            },
        )
    }
}
