//! The middle panel: what the part that is looked at does, or, with none, the verdict on the whole
//! proposal.

use super::curve::{GUITAR_HZ, gain_at, hertz, largest_difference};
use super::hands::Hands;
use super::history::Side;
use super::look::heading;
use super::rows::{Row, shown};
use super::view::View;
use super::work::Quick;
use super::worker::Known;
use crate::analysis::digits::signed_db;
use egui::Ui;

/// A difference of less than this is told as none, dB.
const NOTHING_DB: f64 = 0.05;

/// Shows the panel.
pub fn show(
    ui: &mut Ui,
    hands: &mut Hands,
    rows: &[Row],
    looked_at: Option<usize>,
    known: &Known,
    view: &mut View,
) {
    let row = looked_at.and_then(|slot| rows.iter().find(|row| row.slots().any(|s| s == slot)));
    egui::ScrollArea::vertical()
        .id_salt("effect")
        .auto_shrink([false, false])
        .show(ui, |ui| match row {
            Some(row) => part(ui, hands, row, known, view),
            None => verdict(ui, hands, known),
        });
}

fn part(ui: &mut Ui, hands: &mut Hands, row: &Row, known: &Known, view: &mut View) {
    let amp = hands.amp;
    let changed = row.slots().any(|slot| hands.differs(slot));
    let [a, p] =
        [Side::AsFound, Side::Proposed].map(|side| shown(amp, row, |slot| hands.value(slot, side)));
    ui.horizontal_wrapped(|ui| {
        let title = format!("{} {}", row.designator, row.role).to_uppercase();
        heading(ui, title.trim());
        ui.label(&row.stage);
        let values = if changed {
            format!("as found {a} → proposed {p}")
        } else {
            format!("as found {a}, unchanged")
        };
        ui.label(values);
        let slots: Vec<usize> = row.slots().collect();
        if changed {
            if ui
                .button("Back to as found")
                .on_hover_text("This part as it is in the amp.")
                .clicked()
            {
                let changes: Vec<_> = slots
                    .iter()
                    .map(|&s| (s, Side::Proposed, hands.value(s, Side::AsFound)))
                    .collect();
                hands.set_many(&changes);
            }
            if ui
                .button("Copy to as found")
                .on_hover_text("This part is in the amp now.")
                .clicked()
            {
                hands.adopt(&slots);
            }
        }
        if view.selected.is_some() && ui.button("Whole proposal").clicked() {
            view.selected = None;
        }
    });
    let _ = known;
}

fn verdict(ui: &mut Ui, hands: &Hands, known: &Known) {
    let changed = hands.changed_parts();
    ui.horizontal(|ui| {
        heading(ui, "THE WHOLE PROPOSAL");
        let count = match changed.len() {
            0 => "nothing is changed".into(),
            1 => "1 part changed".into(),
            n => format!("{n} parts changed"),
        };
        ui.label(count);
    });
    if changed.is_empty() {
        ui.label(
            "Change a part on the left: drag its proposed value, or click it and type. What it \
             does to the sound and to the valves is told here.",
        );
    }
    match &known.quick {
        Some(Ok(quick)) => {
            for line in quick_lines(quick) {
                sentence(ui, &line);
            }
        }
        Some(Err(fault)) => sentence(ui, fault),
        None => {
            ui.label("Being computed…");
        }
    }
    played(ui, known);
}

fn sentence(ui: &mut Ui, text: &str) {
    ui.horizontal_top(|ui| {
        ui.label("–");
        ui.add(egui::Label::new(text).wrap());
    });
}

fn quick_lines(quick: &Quick) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some((hz, db)) = largest_difference(quick, [40.0, 10e3]) {
        lines.push(if db.abs() < NOTHING_DB {
            "The response of a quiet note stays as it is, from 40 Hz to 10 kHz.".into()
        } else {
            format!(
                "The response of a quiet note changes most at {}: {} dB.",
                hertz(hz),
                signed_db(db)
            )
        });
    }
    if let (Some([low_a, low_p]), Some([a, p])) =
        (gain_at(quick, GUITAR_HZ[0]), gain_at(quick, 1e3))
        && ((p - a).abs() >= NOTHING_DB || (low_p - low_a).abs() >= NOTHING_DB)
    {
        lines.push(format!(
            "At your low E (82 Hz) it changes by {} dB, at 1 kHz by {} dB.",
            signed_db(low_p - low_a),
            signed_db(p - a)
        ));
    }
    lines
}

/// What was played: the verdict of the slow work, dimmed while a new one is being computed.
fn played(ui: &mut Ui, known: &Known) {
    let stale = known.slow_progress;
    ui.add_space(4.0);
    ui.horizontal(|ui| {
        heading(ui, "PLAYED, WITH THE GUITAR PHRASE");
        if let Some(share) = stale {
            let percent = (100.0 * share).round();
            let text = match &known.slow {
                Some(_) => format!("what is below is of before; being recomputed, {percent} %"),
                None => format!("being computed, {percent} %"),
            };
            ui.label(text);
        }
    });
    ui.scope(|ui| {
        if stale.is_some() {
            ui.multiply_opacity(0.6);
        }
        match &known.slow {
            Some(Ok(slow)) => {
                for line in &slow.verdict.sentences {
                    sentence(ui, line);
                }
                for line in &slow.verdict.warnings {
                    sentence(ui, line);
                }
            }
            Some(Err(fault)) => sentence(ui, fault),
            None => {}
        }
    });
}
