//! The drawing as it is shown: made anew when another amp comes, with other texts when a value or a
//! voltage changes. A changed value moves nothing.

use super::notes::notes;
use crate::circuit::{Circuit, PartId};
use crate::drawing::sheet::{Area, Item, Placed};
use crate::drawing::strokes::{ResistorStyle, Stroke, strokes};
use crate::editor::analyses::reports::{Quick, Request};
use crate::live::LiveAmp;
use crate::requests::drawing::Drawing;
use egui::{Rect, pos2};
use std::sync::Arc;

/// A drawing with what it was made from.
pub struct Shown {
    amp: Arc<LiveAmp>,
    pub drawing: Drawing,
    /// By place in the sheet's `placed`.
    pub strokes: Vec<Vec<Stroke>>,
    /// The numbers that the texts were written for, and the report whose volts they show.
    written: Option<(Vec<f64>, Vec<f64>, bool)>,
    /// Direct volts by node, as found and as proposed, of the numbers that stand.
    pub volts: Option<[Vec<f64>; 2]>,
}

impl Shown {
    /// Draws an amp; one that has grown out of the amp that was shown keeps its places.
    pub fn new(amp: &Arc<LiveAmp>, former: Option<&Shown>) -> Shown {
        let same = |former: &&Shown| former.circuit().name() == amp.circuit().name();
        let drawing = match former.filter(same) {
            Some(former) => Drawing::after(&former.drawing, amp.circuit()),
            None => Drawing::without_volts(amp.circuit(), None),
        };
        let strokes = drawing
            .sheet
            .placed
            .iter()
            .map(|placed| strokes(placed, ResistorStyle::Box, drawing.is_half(placed.item)))
            .collect();
        Shown {
            amp: Arc::clone(amp),
            drawing,
            strokes,
            written: None,
            volts: None,
        }
    }

    /// Whether it is of this amp.
    pub fn is_of(&self, amp: &Arc<LiveAmp>) -> bool {
        Arc::ptr_eq(&self.amp, amp)
    }

    /// Writes the texts for the numbers as they stand; volts where the report is about them.
    pub fn follow(&mut self, request: &Request, quick: Option<&Quick>) {
        let quick = quick.filter(|quick| quick.request.same_values(request));
        let key = (
            request.as_found.clone(),
            request.proposed.clone(),
            quick.is_some(),
        );
        if self.written.as_ref() == Some(&key) {
            return;
        }
        let Ok(circuits) = request.circuits() else {
            return;
        };
        self.volts = quick.map(|quick| {
            [&quick.charts.as_found, &quick.charts.proposed].map(|chart| {
                let names = circuits.as_found.nodes().iter();
                names
                    .map(|name| chart.nodes.get(name).copied().unwrap_or(0.0))
                    .collect()
            })
        });
        let volts = self.volts.as_ref();
        let notes = quick.map(|quick| notes(&circuits.as_found, quick));
        self.drawing.as_found = Arc::new(circuits.as_found);
        self.drawing.relabel(
            Some(&circuits.proposed),
            volts.map(|[a, b]| [a.as_slice(), b.as_slice()]),
            notes.as_ref().map(|notes| notes as &dyn Fn(PartId) -> _),
        );
        self.written = Some(key);
    }

    /// The circuit as found.
    pub fn circuit(&self) -> &Circuit {
        &self.drawing.as_found
    }

    /// The symbol of a part.
    pub fn placed(&self, part: PartId) -> Option<&Placed> {
        let mut placed = self.drawing.sheet.placed.iter();
        placed.find(|placed| placed.item == Item::Part(part))
    }

    /// What a part takes on the sheet, its leads with it, units.
    pub fn ground(&self, part: PartId) -> Option<Rect> {
        self.placed(part).map(ground)
    }
}

/// What a symbol takes, its leads with it.
pub fn ground(placed: &Placed) -> Rect {
    let mut points = vec![placed.body.from, placed.body.to];
    points.extend(placed.pins.iter().map(|pin| pin.at));
    let area = Area::around(&points);
    Rect::from_min_max(
        pos2(area.from.x as f32, area.from.y as f32),
        pos2(area.to.x as f32, area.to.y as f32),
    )
}
