//! The response: as found thin and dashed, proposed thick and solid, the difference filled, what
//! plays behind it.

use super::axes::{GUITAR_HZ, HZ, decibel_frame, roomy};
use super::figures::{in_words, spoken};
use super::target::{self, Of};
use crate::analysis::cabinet_model::CabinetModel;
use crate::editor::analyses::reports::Quick;
use crate::editor::spectrum::Spectrum;
use crate::editor::theme::{DASH, Ink, THICK, THIN, heading, ink};
use crate::editor::view::View;
use crate::live::LiveAmp;
use crate::recording::Target;
use egui::{Color32, Stroke, Ui, vec2};
use egui_plot::{FilledArea, Line, LineStyle, PlotPoint, PlotPoints, Span, Text, VLine};

/// Least height of the axis, dB: a change of a tenth of a decibel must not look like a mountain.
const LEAST_DB: f64 = 18.0;
/// Greatest height, dB below the highest point.
const MOST_DB: f64 = 42.0;

/// Shows the curve with its heading.
pub fn show(
    ui: &mut Ui,
    amp: &LiveAmp,
    quick: Option<&Quick>,
    spectrum: &Spectrum,
    target: Option<&Target>,
    view: &mut View,
) {
    // A recording is of what is heard, not of a point inside.
    let target = target.filter(|_| view.node.is_none());
    let cabinet = quick.map(|quick| quick.request.cabinet.clone());
    let heard = heard(amp, &cabinet.unwrap_or_default());
    head(ui, amp, heard, target.is_some(), view);
    let Some(quick) = quick else {
        ui.label("The curve is being computed…");
        return;
    };
    roomy(ui, |ui| plot(ui, quick, spectrum, target));
}

fn head(ui: &mut Ui, amp: &LiveAmp, heard: String, recorded: bool, view: &mut View) {
    let ink = ink(ui.visuals());
    ui.horizontal_wrapped(|ui| {
        heading(ui, "RESPONSE");
        let wide = ui.available_width() > 480.0;
        let label = ui.label(if wide { "from the input to" } else { "at" });
        let shown = match &view.node {
            Some(node) => format!("node {node}"),
            None if wide => heard.clone(),
            None => "output".into(),
        };
        let response = egui::ComboBox::from_id_salt("node")
            .selected_text(shown)
            .width(if wide { 110.0 } else { 70.0 })
            .show_ui(ui, |ui| {
                ui.selectable_value(&mut view.node, None, heard);
                for name in amp.circuit().nodes().iter().skip(1) {
                    let text = format!("node {name}");
                    ui.selectable_value(&mut view.node, Some(name.clone()), text);
                }
            })
            .response;
        response.labelled_by(label.id).on_hover_text(
            "Where the voltage is measured: the loudspeaker, or any point of the circuit.",
        );
        legend(ui, recorded, ink);
    });
}

/// What is heard, by name.
fn heard(amp: &LiveAmp, cabinet: &CabinetModel) -> String {
    let id = amp.circuit().output().loudspeaker;
    let designator = id.map(|id| amp.circuit().part(id).designator.clone());
    match (cabinet, designator) {
        (CabinetModel::Impulse(_), _) => "impulse response".into(),
        (CabinetModel::Loudspeaker, Some(designator)) => format!("loudspeaker {designator}"),
        (CabinetModel::Line, Some(designator)) => format!("line at {designator}"),
        (_, None) => "output".into(),
    }
}

/// The kinds of drawing.
#[derive(Clone, Copy)]
enum Drawn {
    AsFound,
    Proposed,
    Difference,
    Recording,
}

/// The kinds of drawing, each beside its name.
fn legend(ui: &mut Ui, recorded: bool, ink: Ink) {
    let recording = recorded.then_some((Drawn::Recording, "recording"));
    let always = [
        (Drawn::AsFound, "as found"),
        (Drawn::Proposed, "proposed"),
        (Drawn::Difference, "difference"),
    ];
    for (drawn, name) in always.into_iter().chain(recording) {
        let text =
            ui.painter()
                .layout_no_wrap(name.to_owned(), egui::FontId::proportional(13.0), ink.ink);
        let size = vec2(24.0 + text.size().x, text.size().y);
        let (rect, _) = ui.allocate_exact_size(size, egui::Sense::hover());
        let sample = egui::Rect::from_min_size(rect.min, vec2(19.0, rect.height()));
        let ends = [sample.left_center(), sample.right_center()];
        match drawn {
            Drawn::AsFound => {
                let stroke = Stroke::new(THIN, ink.as_found);
                let dashes = egui::Shape::dashed_line(&ends, stroke, 5.0, 3.0);
                ui.painter().extend(dashes);
            }
            Drawn::Proposed => {
                let stroke = Stroke::new(THICK, ink.proposed);
                ui.painter().line_segment(ends, stroke);
            }
            Drawn::Recording => {
                let stroke = Stroke::new(THIN, ink.ink);
                ui.painter().line_segment(ends, stroke);
            }
            Drawn::Difference => {
                ui.painter()
                    .rect_filled(sample.shrink2(vec2(0.0, 3.0)), 0.0, ink.difference);
            }
        }
        let at = rect.min + vec2(23.0, 0.0);
        ui.painter().galley(at, text, ink.ink);
    }
}

fn plot(ui: &mut Ui, quick: &Quick, spectrum: &Spectrum, target: Option<&Target>) {
    let ink = ink(ui.visuals());
    let x: Vec<f64> = quick.hz.iter().map(|hz| hz.log10()).collect();
    let [low, high] = range(quick);
    let points = |y: &[f64]| -> PlotPoints<'static> {
        // What cannot be drawn is drawn at the lower edge: a node without signal.
        let clean = |y: f64| if y.is_finite() { y } else { low };
        x.iter().zip(y).map(|(&x, &y)| [x, clean(y)]).collect()
    };
    let as_found = Line::new("as found", points(&quick.db.as_found))
        .stroke(Stroke::new(THIN, ink.as_found))
        .style(LineStyle::Dashed { length: DASH })
        .allow_hover(false);
    let proposed = Line::new("proposed", points(&quick.db.proposed))
        .stroke(Stroke::new(THICK, ink.proposed))
        .allow_hover(false);
    let pairs = || quick.db.as_found.iter().zip(&quick.db.proposed);
    let lower: Vec<f64> = pairs().map(|(a, p)| a.min(*p).max(low)).collect();
    let upper: Vec<f64> = pairs().map(|(a, p)| a.max(*p).max(low)).collect();
    let difference = FilledArea::new("difference", &x, &lower, &upper)
        .fill_color(ink.difference)
        .allow_hover(false);
    let [guitar_low, guitar_high] = GUITAR_HZ.map(f64::log10);
    let guitar = Span::new("", guitar_low..=guitar_high)
        .fill(ink.guitar)
        .border_color(Color32::TRANSPARENT);
    let at = PlotPoint::new(0.5 * (guitar_low + guitar_high), low + 0.02 * (high - low));
    let words = egui::RichText::new("guitar, 82 Hz to 1.2 kHz").size(12.0);
    let guitar_name = Text::new("guitar", at, words)
        .anchor(egui::Align2::CENTER_BOTTOM)
        .color(ink.weak)
        .allow_hover(false);
    let heard = spectrum.drawn(low, high).map(|(x, floor, top)| {
        FilledArea::new("what plays", &x, &floor, &top)
            .fill_color(ink.heard)
            .allow_hover(false)
    });
    let pointed = ui
        .data(|d| d.get_temp::<Option<f64>>(ui.scope_id().with("pointed")))
        .flatten();
    let [left, right] = HZ.map(f64::log10);
    let response = decibel_frame("response", [left, right], [low, high], ink)
        .height(ui.available_height())
        .show(ui, |plot| {
            plot.set_plot_bounds_y(low..=high);
            plot.set_plot_bounds_x(left..=right);
            plot.span(guitar);
            if let Some(heard) = heard {
                plot.add(heard);
            }
            plot.text(guitar_name);
            plot.add(difference);
            plot.line(as_found);
            plot.line(proposed);
            if let Some(target) = target {
                let onto = Of {
                    hz: &quick.hz,
                    db: &quick.db.proposed,
                };
                let offset = target::offset(target, onto);
                target::draw(plot, target, offset, [low, high], ink);
            }
            if let Some(x) = pointed {
                let line = VLine::new("cursor", x).stroke(Stroke::new(1.0, ink.ink));
                plot.vline(line.allow_hover(false));
            }
            plot.pointer_coordinate().map(|at| at.x.clamp(left, right))
        });
    let said = spoken(quick);
    response
        .response
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, said.clone()));
    let pointed = response.inner.filter(|_| response.response.hovered());
    ui.data_mut(|d| d.insert_temp(ui.scope_id().with("pointed"), pointed));
    if let Some(x) = pointed {
        readout(
            ui,
            response.response.rect,
            &in_words(quick, 10f64.powf(x)),
            ink,
        );
    }
}

/// The figures at the cursor, at the foot of the curve.
fn readout(ui: &Ui, plot: egui::Rect, text: &str, ink: Ink) {
    let font = egui::FontId::proportional(13.0);
    let text = ui.painter().layout_no_wrap(text.to_owned(), font, ink.ink);
    let centre = plot.center_bottom() - vec2(0.0, 34.0);
    let rect = egui::Rect::from_center_size(centre, text.size() + vec2(12.0, 6.0));
    let stroke = Stroke::new(1.0, ink.ink);
    ui.painter()
        .rect(rect, 0.0, ink.paper, stroke, egui::StrokeKind::Inside);
    ui.painter()
        .galley(rect.min + vec2(6.0, 3.0), text, ink.ink);
}

/// Range of the vertical axis, whole steps of 6 dB.
fn range(quick: &Quick) -> [f64; 2] {
    let finite = |y: &&f64| y.is_finite() && **y > -200.0;
    let all = || quick.db.as_found.iter().chain(&quick.db.proposed);
    let top = all()
        .filter(finite)
        .fold(f64::NEG_INFINITY, |a, &b| a.max(b));
    if !top.is_finite() {
        return [-LEAST_DB, 0.0];
    }
    let bottom = all().filter(finite).fold(f64::INFINITY, |a, &b| a.min(b));
    let high = (top / 6.0).ceil() * 6.0 + 3.0;
    let low = (bottom / 6.0).floor() * 6.0;
    [low.max(high - MOST_DB).min(high - LEAST_DB), high]
}
