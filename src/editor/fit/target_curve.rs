//! The recording's curve beside the amp's: a line with the band that it lies in 19 times of 20, grey
//! where the recording cannot be trusted. Its level is free, so it is laid onto the proposed curve.

use super::recorded::Recorded;
use crate::editor::curve::axes::{decibel_frame, frame, roomy};
use crate::editor::curve::target::{Of, draw, offset};
use crate::editor::panel::PanelContext;
use crate::editor::theme::{DASH, Ink, THICK, THIN, ink};
use crate::recording::fit::Taken;
use crate::recording::{LEAST_COHERENCE, Method, Target};
use crate::text::digits::fixed;
use egui::{Stroke, Ui};
use egui_plot::{Line, LineStyle, PlotPoints};

/// Frequencies of the picture in the panel, Hz: those of a target.
const SHOWN_HZ: [f64; 2] = [40.0, 12_000.0];
/// Height of the coherence below it, points.
const COHERENCE_HEIGHT: f32 = 56.0;
/// Height of the picture in the panel, points.
const HEIGHT: f32 = 190.0;
/// The picture in the panel: recording, as found and proposed.
pub fn show(ui: &mut Ui, recorded: &Recorded, context: &PanelContext) {
    let ink = ink(ui.visuals());
    let target = &recorded.target;
    let Some(quick) = context.quick else {
        ui.label("The curve is being computed…");
        return;
    };
    // A line recording shows what stands before the loudspeaker.
    let curves = match context.view.matching.taken {
        Taken::Line => &quick.line_db,
        Taken::Microphone | Taken::KnownLoudspeaker => &quick.heard_db,
    };
    let onto = Of {
        hz: &quick.hz,
        db: &curves.proposed,
    };
    let offset = offset(target, onto);
    let levels = target.db.iter().zip(&target.trusted);
    let trusted = levels.filter(|(_, t)| **t).map(|(db, _)| db + offset);
    let within = |hz: &f64| (SHOWN_HZ[0]..=SHOWN_HZ[1]).contains(hz);
    let amp = quick.hz.iter().zip(&curves.proposed);
    let amp = amp.filter(|(hz, db)| within(hz) && db.is_finite());
    let all: Vec<f64> = trusted.chain(amp.map(|(_, db)| *db)).collect();
    let high = (all.iter().copied().fold(f64::NEG_INFINITY, f64::max) / 6.0).ceil() * 6.0 + 3.0;
    let low = (all.iter().copied().fold(f64::INFINITY, f64::min) / 6.0).floor() * 6.0 - 1.0;
    let (low, high) = (low.max(high - 60.0), high);
    legend(ui, target, ink);
    let [left, right] = SHOWN_HZ.map(f64::log10);
    let x: Vec<f64> = quick.hz.iter().map(|hz| hz.log10()).collect();
    let line = |db: &[f64]| -> PlotPoints<'static> {
        let clean = |y: f64| if y.is_finite() { y.max(low) } else { low };
        x.iter().zip(db).map(|(&x, &y)| [x, clean(y)]).collect()
    };
    let as_found = line(&curves.as_found);
    let proposed = line(&curves.proposed);
    roomy(ui, |ui| {
        let response = decibel_frame("recorded response", [left, right], [low, high], ink)
            .height(HEIGHT)
            .show(ui, |plot| {
                plot.set_plot_bounds_y(low..=high);
                plot.set_plot_bounds_x(left..=right);
                plot.line(
                    Line::new("as found", as_found)
                        .stroke(Stroke::new(THIN, ink.as_found))
                        .style(LineStyle::Dashed { length: DASH })
                        .allow_hover(false),
                );
                plot.line(
                    Line::new("proposed", proposed)
                        .stroke(Stroke::new(THICK, ink.proposed))
                        .allow_hover(false),
                );
                // Last, so that the thin line is seen on the thick one.
                draw(plot, target, offset, [low, high], ink);
            });
        let said = spoken(target, onto, offset);
        response
            .response
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, said.clone()));
    });
    coherence(ui, target, ink);
}

/// The share of the recording that follows from the dry track, over the same frequencies, and the
/// line below which none is trusted.
fn coherence(ui: &mut Ui, target: &Target, ink: Ink) {
    let Some(coherence) = &target.coherence else {
        return;
    };
    let words = "coherence: the share of the recording that follows from the dry track; below the \
                 dotted line nothing is trusted";
    ui.label(egui::RichText::new(words).size(12.0).color(ink.weak));
    let [left, right] = SHOWN_HZ.map(f64::log10);
    let x = target.hz.iter().map(|hz| hz.log10());
    let points: PlotPoints = x.zip(coherence).map(|(x, &y)| [x, y]).collect();
    let bar = [[left, LEAST_COHERENCE], [right, LEAST_COHERENCE]];
    roomy(ui, |ui| {
        let response = frame("coherence", left, right, ink)
            .y_axis_formatter(|mark, _| match mark.value {
                0.0 | 0.5 | 1.0 => fixed(mark.value, 1),
                _ => String::new(),
            })
            .y_grid_spacer(|_| {
                let mark = |value| egui_plot::GridMark {
                    value,
                    step_size: 1.0,
                };
                [0.0, 0.5, 1.0].map(mark).to_vec()
            })
            .height(COHERENCE_HEIGHT)
            .show(ui, |plot| {
                plot.set_plot_bounds_y(-0.02..=1.05);
                plot.set_plot_bounds_x(left..=right);
                plot.line(
                    Line::new("bar", PlotPoints::from(bar.to_vec()))
                        .stroke(Stroke::new(1.0, ink.weak))
                        .style(LineStyle::Dotted { spacing: 5.0 })
                        .allow_hover(false),
                );
                plot.line(
                    Line::new("coherence", points)
                        .stroke(Stroke::new(THIN, ink.ink))
                        .allow_hover(false),
                );
            });
        let below = coherence.iter().filter(|c| **c < LEAST_COHERENCE).count();
        let said = format!(
            "Coherence of {} with the dry track: below {LEAST_COHERENCE} at {below} of {} frequencies.",
            target.name,
            coherence.len()
        );
        response
            .response
            .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, said.clone()));
    });
}

fn legend(ui: &mut Ui, target: &Target, ink: Ink) {
    ui.horizontal_wrapped(|ui| {
        ui.strong(&target.name);
        let weak = |text: &str| egui::RichText::new(text).size(12.0).color(ink.weak);
        ui.label(weak(match target.method {
            Method::WithDryTrack => "measured against the dry track; thin line with its doubt",
            Method::WithoutDryTrack => {
                "from its spectrum alone, the weaker method; thin line with its doubt"
            }
        }));
        ui.label(weak("dotted: not trusted"));
        ui.label(weak("dashed: as found, thick: proposed"));
    });
}

/// The picture for those who do not see it.
fn spoken(target: &Target, onto: Of, offset: f64) -> String {
    let trusted = (0..target.hz.len()).filter(|&i| target.trusted[i]);
    let squares: Vec<f64> = trusted
        .map(|i| (target.db[i] + offset - onto.at(target.hz[i])).powi(2))
        .collect();
    let rms = (squares.iter().sum::<f64>() / squares.len().max(1) as f64).sqrt();
    format!(
        "Response of {} beside the amp's: trusted at {} of {} frequencies, {} dB r.m.s. from the \
         proposed amp.",
        target.name,
        squares.len(),
        target.hz.len(),
        fixed(rms, 1)
    )
}
