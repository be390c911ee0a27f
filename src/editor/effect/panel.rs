//! The middle panel: what the part that is looked at does, or, with none, the verdict on the whole
//! proposal.

use crate::analysis::part_effect::{Idle, PartEffect};
use crate::editor::analyses::reports::Quick;
use crate::editor::analyses::worker::LatestReports;
use crate::editor::curve::axes::{GUITAR_HZ, frame, roomy};
use crate::editor::curve::figures::{gain_at, largest_difference};
use crate::editor::editing::Editing;
use crate::editor::history::Version;
use crate::editor::parts::rows::{Row, shown};
use crate::editor::theme::{heading, ink};
use crate::editor::view::View;
use crate::editor::widgets::{dimmed, progress, scrolled, sentence};
use crate::text::digits::{self, printed, printed_hertz, signed_db, significant};
use egui::{Stroke, Ui};
use egui_plot::{FilledArea, Line, PlotPoints};

/// A difference of less than this is told as none, dB.
const NOTHING_DB: f64 = 0.05;

/// Shows the panel.
pub fn show(
    ui: &mut Ui,
    editing: &mut Editing,
    rows: &[Row],
    looked_at: Option<usize>,
    known: &LatestReports,
    view: &mut View,
) {
    let row = looked_at.and_then(|adjustable| {
        rows.iter()
            .find(|row| row.adjustables().any(|s| s == adjustable))
    });
    scrolled(ui, "effect", |ui| match row {
        Some(row) => part(ui, editing, row, known, view),
        None => verdict(ui, editing, known),
    });
}

fn part(ui: &mut Ui, editing: &mut Editing, row: &Row, known: &LatestReports, view: &mut View) {
    let amp = editing.amp;
    let changed = row
        .adjustables()
        .any(|adjustable| editing.differs(adjustable));
    let [a, p] = [Version::AsFound, Version::Proposed]
        .map(|version| shown(amp, row, |adjustable| editing.value(adjustable, version)));
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
        let adjustables: Vec<usize> = row.adjustables().collect();
        if changed {
            if ui
                .button("Back to as found")
                .on_hover_text("This part as it is in the amp.")
                .clicked()
            {
                editing.copy(&adjustables, Version::AsFound, Version::Proposed);
            }
            if ui
                .button("Copy to as found")
                .on_hover_text("This part is in the amp now.")
                .clicked()
            {
                editing.adopt(&adjustables);
            }
        }
        if view.selected.is_some() && ui.button("Whole proposal").clicked() {
            view.selected = None;
        }
    });
    match known
        .effect
        .as_ref()
        .filter(|e| row.adjustables().any(|s| s == e.adjustable))
    {
        Some(effect) => match &effect.report {
            Ok(report) => report_of(ui, report),
            Err(fault) => sentence(ui, fault),
        },
        None => {
            ui.label("Being computed…");
        }
    }
}

fn report_of(ui: &mut Ui, report: &PartEffect) {
    if let Some(words) = &report.sentence {
        ui.add(egui::Label::new(egui::RichText::new(words).size(15.0)).wrap());
    }
    ui.label(idle_line(report));
    let acts = report.sensitivity.as_ref();
    let acts = acts.map(|db| ("Where it acts, dB for twice the value", db));
    let alone = report.difference.as_ref();
    let alone = alone.map(|db| ("What its change alone does, dB", db));
    let curves: Vec<_> = alone.into_iter().chain(acts).collect();
    // Beside each other where there is room for both.
    if curves.len() == 2 && ui.available_width() > BESIDE {
        ui.columns(2, |columns| {
            for (ui, (name, db)) in columns.iter_mut().zip(curves) {
                curve_of(ui, name, &report.hz, db);
            }
        });
    } else {
        for (name, db) in curves {
            curve_of(ui, name, &report.hz, db);
        }
    }
}

/// Width from which two curves stand beside each other, points.
const BESIDE: f32 = 600.0;

/// Figures at the operating point, of one version or of both where they differ.
fn idle_line(report: &PartEffect) -> String {
    let words = |idle: &Idle| {
        let volts = idle.volts.map(|v| format!("{} V across", digits::volts(v)));
        let amps = idle.milliamps.map(|i| match i {
            i if i < 0.0005 => "no current".to_owned(),
            i => format!("{} mA", significant(i, 2)),
        });
        let rated = report.rated_watts.map(|w| format!(" of {} W", printed(w)));
        let watts = idle
            .watts
            .filter(|w| *w >= 0.0005)
            .map(|w| format!("{} W{}", significant(w, 2), rated.unwrap_or_default()));
        let parts: Vec<String> = [volts, amps, watts].into_iter().flatten().collect();
        parts.join(", ")
    };
    let (a, p) = (words(&report.idle.as_found), words(&report.idle.proposed));
    if a.is_empty() && p.is_empty() {
        return "No significant d.c. voltage across it.".into();
    }
    if a == p {
        format!("At rest: {a}.")
    } else {
        format!("At rest, as found: {a}. Proposed: {p}.")
    }
}

/// A small curve over frequency, filled from nothing.
fn curve_of(ui: &mut Ui, name: &str, hz: &[f64], db: &[f64]) {
    ui.label(name);
    roomy(ui, |ui| small_curve(ui, name, hz, db));
}

fn small_curve(ui: &mut Ui, name: &str, hz: &[f64], db: &[f64]) {
    let ink = ink(ui.visuals());
    let x: Vec<f64> = hz.iter().map(|hz| hz.log10()).collect();
    let y: Vec<f64> = db
        .iter()
        .map(|db| if db.is_finite() { *db } else { 0.0 })
        .collect();
    let least = y.iter().fold(-0.5f64, |a, &b| a.min(b));
    let most = y.iter().fold(0.5f64, |a, &b| a.max(b));
    let zero = vec![0.0; y.len()];
    let lower: Vec<f64> = y.iter().map(|y| y.min(0.0)).collect();
    let upper: Vec<f64> = y.iter().map(|y| y.max(0.0)).collect();
    let area = FilledArea::new(name, &x, &lower, &upper)
        .fill_color(ink.difference)
        .allow_hover(false);
    let points =
        |y: &[f64]| -> PlotPoints<'static> { x.iter().zip(y).map(|(&x, &y)| [x, y]).collect() };
    let line = Line::new(name, points(&y))
        .stroke(Stroke::new(1.5, ink.ink))
        .allow_hover(false);
    let axis = Line::new("nothing", points(&zero))
        .stroke(Stroke::new(1.0, ink.weak))
        .allow_hover(false);
    let [left, right] = [x[0], x[x.len() - 1]];
    let room = 0.1 * (most - least);
    let response = frame(name, left, right, ink)
        .y_axis_formatter(|mark, _| format!("{} dB", signed_db(mark.value)))
        .height(72.0)
        .show(ui, |plot| {
            plot.set_plot_bounds_y(least - room..=most + room);
            plot.set_plot_bounds_x(left..=right);
            plot.add(area);
            plot.line(axis);
            plot.line(line);
        });
    let at = |wanted: f64| {
        let index = hz.partition_point(|hz| *hz < wanted).min(hz.len() - 1);
        format!("{} dB at {}", signed_db(y[index]), printed_hertz(wanted))
    };
    let said = format!("{name}: {}, {}, {}", at(82.0), at(1e3), at(5e3));
    response
        .response
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &said));
}

fn verdict(ui: &mut Ui, editing: &Editing, known: &LatestReports) {
    let changed = editing.changed_parts();
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

fn quick_lines(quick: &Quick) -> Vec<String> {
    let mut lines = Vec::new();
    if let Some((hz, db)) = largest_difference(quick, [40.0, 10e3]) {
        lines.push(if db.abs() < NOTHING_DB {
            "The response of a quiet note stays as it is, from 40 Hz to 10 kHz.".into()
        } else {
            format!(
                "The response of a quiet note changes most at {}: {} dB.",
                printed_hertz(hz),
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
fn played(ui: &mut Ui, known: &LatestReports) {
    ui.add_space(4.0);
    let stale = known.judged.as_ref().is_none_or(|judged| judged.stale);
    ui.horizontal(|ui| {
        heading(ui, "PLAYED, WITH THE GUITAR PHRASE");
        if let Some(share) = known.slow_progress.filter(|_| stale) {
            ui.label(progress(known.judged.is_some(), share));
        }
    });
    let Some(slow) = &known.judged else {
        return;
    };
    dimmed(ui, stale, |ui| match slow.what.as_ref() {
        Ok(judged) => super::verdict::show(ui, &judged.verdict),
        Err(fault) => sentence(ui, fault),
    });
}
