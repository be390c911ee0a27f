//! The valves: what each dissipates against its limit, as found beside proposed, in words and in a
//! bar; its bias, and what the supply does.

use super::look::{Ink, heading, ink};
use super::work::Quick;
use super::worker::Known;
use crate::analysis::at_rest::Both;
use crate::analysis::digits::{percent, printed, significant};
use crate::analysis::sentences::alike;
use crate::analysis::voltages::ValveReading;
use egui::{RichText, Sense, Stroke, Ui, vec2};

/// Shows the panel.
pub fn show(ui: &mut Ui, known: &Known) {
    egui::ScrollArea::vertical()
        .id_salt("valves")
        .auto_shrink([false, true])
        .show(ui, |ui| match &known.quick {
            Some(Ok(quick)) => table(ui, quick),
            Some(Err(fault)) => {
                ui.label(fault);
            }
            None => {
                ui.label("Being computed…");
            }
        });
}

/// A dissipation with its limit: watts of watts.
fn of_limit(watts: Option<f64>, limit: Option<f64>) -> Option<(f64, Option<f64>)> {
    watts.map(|watts| (watts, limit))
}

fn table(ui: &mut Ui, quick: &Quick) {
    let valves = Both {
        as_found: &quick.charts.as_found.valves,
        proposed: &quick.charts.proposed.valves,
    };
    // Valves that read alike to three digits share a line.
    let key = |v: &ValveReading| {
        [
            Some(v.anode_watts),
            v.screen_watts,
            Some(v.grid_volts - v.cathode_volts),
        ]
        .map(|x| x.map(|x| significant(x, 3)))
    };
    let mut groups = alike(&valves, |before, after| {
        Some((
            before.valve.clone(),
            after.valve.clone(),
            key(before),
            key(after),
        ))
    });
    // The hottest first: those are the ones that an owner must look at.
    groups.sort_by(|(_, _, a), (_, _, b)| {
        let share = |v: &ValveReading| v.anode_percent.unwrap_or(0.0);
        share(b).total_cmp(&share(a))
    });
    let ink = ink(ui.visuals());
    egui::Grid::new("valves")
        .num_columns(6)
        .spacing(vec2(14.0, 3.0))
        .show(ui, |ui| {
            heading(ui, "VALVES at rest");
            for title in [
                "anode, as found",
                "anode, proposed",
                "screen, as found",
                "screen, proposed",
                "bias, as found → proposed",
            ] {
                ui.label(RichText::new(title).size(12.0).color(ink.weak));
            }
            ui.end_row();
            for (names, before, after) in groups {
                line(ui, &names, before, after, ink);
                ui.end_row();
            }
        });
}

fn line(ui: &mut Ui, names: &[&str], before: &ValveReading, after: &ValveReading, ink: Ink) {
    let kind = if before.valve == after.valve {
        before.valve.clone()
    } else {
        format!("{} → {}", before.valve, after.valve)
    };
    let who = format!("{} {kind}", names.join(", "));
    let name = ui.label(RichText::new(&who).strong());
    let system = match after.rating_system.as_str() {
        "" => "No limit is known for it.".to_owned(),
        system => format!("Limits: {system} rating system."),
    };
    name.on_hover_text(system);
    for (side, v) in [("as found", before), ("proposed", after)] {
        let reading = of_limit(Some(v.anode_watts), v.anode_limit_watts);
        dissipation(ui, &format!("{who}, anode, {side}"), reading, v, ink);
    }
    for (side, v) in [("as found", before), ("proposed", after)] {
        let reading = of_limit(v.screen_watts, v.screen_limit_watts);
        dissipation(ui, &format!("{who}, screen, {side}"), reading, v, ink);
    }
    let bias = |v: &ValveReading| significant(v.grid_volts - v.cathode_volts, 3);
    let (a, p) = (bias(before), bias(after));
    let text = if a == p {
        format!("{a} V")
    } else {
        format!("{a} → {p} V")
    };
    ui.label(text)
        .on_hover_text("Grid against cathode, without signal.");
}

fn dissipation(
    ui: &mut Ui,
    what: &str,
    reading: Option<(f64, Option<f64>)>,
    v: &ValveReading,
    ink: Ink,
) {
    let Some((watts, limit)) = reading else {
        ui.label("");
        return;
    };
    if !v.fitted {
        ui.label("not fitted");
        return;
    }
    let share = limit.map(|limit| 100.0 * watts / limit);
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        if let Some(share) = share {
            bar(ui, share, ink);
        }
        let watts = significant(watts, 2);
        let text = match (limit, share) {
            (Some(limit), Some(share)) => {
                format!("{watts} of {} W, {}", printed(limit), percent(share))
            }
            _ => format!("{watts} W"),
        };
        let over = share.is_some_and(|share| share > 100.0);
        let mut rich = RichText::new(if over {
            format!("{text} OVER")
        } else {
            text.clone()
        });
        if over {
            rich = rich.strong().underline();
        }
        let response = ui.label(rich);
        let words: Vec<&str> = v.over_limit.iter().map(|o| o.in_words.as_str()).collect();
        let over_words = if over { ", over the limit" } else { "" };
        let name = format!("{what}: {text}{over_words}");
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &name));
        if !words.is_empty() {
            response.on_hover_text(words.join("\n"));
        }
    });
}

/// A bar to 150 % with a tick at the limit; beyond it the bar is hatched as well as longer.
fn bar(ui: &mut Ui, share: f64, ink: Ink) {
    let (rect, _) = ui.allocate_exact_size(vec2(48.0, 10.0), Sense::hover());
    let painter = ui.painter_at(rect.expand(2.0));
    let x = |percent: f64| rect.left() + rect.width() * (percent / 150.0).clamp(0.0, 1.0) as f32;
    let mut filled = rect;
    filled.max.x = x(share);
    painter.rect_stroke(
        rect,
        0.0,
        Stroke::new(1.0, ink.line),
        egui::StrokeKind::Inside,
    );
    painter.rect_filled(filled, 0.0, ink.weak);
    let limit = x(100.0);
    if share > 100.0 {
        let mut at = limit;
        while at < filled.max.x {
            let line = [
                egui::pos2(at, rect.bottom()),
                egui::pos2(at + 4.0, rect.top()),
            ];
            painter.line_segment(line, Stroke::new(1.5, ink.paper));
            at += 4.0;
        }
    }
    painter.vline(
        limit,
        rect.expand2(vec2(0.0, 2.0)).y_range(),
        Stroke::new(2.0, ink.ink),
    );
}
