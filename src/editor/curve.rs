//! The response: as found thin and dashed, proposed thick and solid, the difference filled, what
//! plays behind it.

use super::recorded::Recorded;
use super::reports::Quick;
use super::spectrum::Spectrum;
use super::target_curve::{self, Of};
use super::theme::{DASH, Ink, THICK, THIN, heading, ink};
use super::view::View;
use crate::analysis::cabinet_model::CabinetModel;
use crate::live::LiveAmp;
use crate::recording::Target;
use crate::text::digits::{fixed, printed_hertz, signed_db};
use egui::{Color32, Stroke, Ui, vec2};
use egui_plot::{
    FilledArea, GridMark, Line, LineStyle, Plot, PlotPoint, PlotPoints, Span, Text, VLine,
};

/// Range of the axis, Hz.
const HZ: [f64; 2] = [20.0, 20_000.0];

/// Fundamentals of a guitar in normal tuning: the open low E is 82 Hz, the 22nd fret of the high E
/// about 1.2 kHz.
pub const GUITAR_HZ: [f64; 2] = [82.0, 1200.0];

/// Lines of the grid, Hz, and whether they carry a figure.
const GRID: [(f64, bool); 10] = [
    (20.0, true),
    (50.0, true),
    (100.0, true),
    (200.0, true),
    (500.0, true),
    (1e3, true),
    (2e3, true),
    (5e3, true),
    (10e3, true),
    (20e3, true),
];

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
    recorded: Option<&Recorded>,
    view: &mut View,
) {
    // A recording is of what is heard, not of a point inside.
    let recorded = recorded.filter(|_| view.node.is_none());
    let cabinet = quick.map(|quick| quick.request.cabinet.clone());
    let heard = heard(amp, &cabinet.unwrap_or_default());
    head(ui, amp, heard, recorded.is_some(), view);
    let Some(quick) = quick else {
        ui.label("The curve is being computed…");
        return;
    };
    let target = recorded.map(|recorded| &recorded.target);
    roomy(ui, |ui| plot(ui, quick, spectrum, target));
}

/// Leaves room for half of the last figure of the axis.
pub fn roomy(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    let room = egui::Frame::NONE.inner_margin(egui::Margin {
        right: 14,
        ..egui::Margin::ZERO
    });
    room.show(ui, content);
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
    let response = frame("response", left, right, ink)
        .include_y(low)
        .include_y(high)
        .y_axis_formatter(move |mark, _| {
            // The lowest figure would stand on the first of the frequencies.
            if mark.value < low + 2.0 {
                return String::new();
            }
            format!("{} dB", fixed(mark.value, 0))
        })
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
                let offset = target_curve::offset(target, onto);
                target_curve::draw(plot, target, offset, [low, high], ink);
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

/// A plot over frequency with the grid of all our plots and nothing that moves.
pub fn frame<'a>(id: &str, left: f64, right: f64, ink: Ink) -> Plot<'a> {
    Plot::new(id.to_owned())
        .allow_drag(false)
        .allow_zoom(false)
        .allow_scroll(false)
        .allow_boxed_zoom(false)
        .allow_double_click_reset(false)
        .allow_axis_zoom_drag(false)
        .show_x(false)
        .show_y(false)
        .include_x(left)
        .include_x(right)
        .set_margin_fraction(egui::Vec2::ZERO)
        .x_grid_spacer(|_| {
            GRID.iter()
                .map(|&(hz, _)| GridMark {
                    value: hz.log10(),
                    step_size: 1.0,
                })
                .collect()
        })
        .x_axis_formatter(|mark, _| {
            let hz = 10f64.powf(mark.value).round();
            if hz >= 1e3 {
                format!("{}k", hz / 1e3)
            } else {
                format!("{hz}")
            }
        })
        .y_axis_min_width(44.0)
        .grid_color(ink.line)
        .cursor_color(ink.weak)
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

fn at(quick: &Quick, hz: f64) -> Option<[f64; 2]> {
    let after = quick.hz.partition_point(|&x| x < hz);
    let after = after.clamp(1, quick.hz.len().checked_sub(1)?);
    let [x0, x1] = [quick.hz[after - 1].ln(), quick.hz[after].ln()];
    let share = ((hz.ln() - x0) / (x1 - x0)).clamp(0.0, 1.0);
    let between = |y: &[f64]| y[after - 1] + share * (y[after] - y[after - 1]);
    Some([between(&quick.db.as_found), between(&quick.db.proposed)])
}

fn in_words(quick: &Quick, hz: f64) -> String {
    let Some([a, p]) = at(quick, hz) else {
        return String::new();
    };
    format!(
        "{}: as found {} dB, proposed {} dB, difference {} dB",
        printed_hertz(hz),
        fixed(a, 1),
        fixed(p, 1),
        signed_db(p - a)
    )
}

/// The picture for those who do not see it.
fn spoken(quick: &Quick) -> String {
    let points: Vec<String> = [82.0, 1e3, 5e3]
        .iter()
        .map(|&hz| in_words(quick, hz))
        .collect();
    format!("Response from the input. {}.", points.join(". "))
}

/// The largest difference within a range of frequencies: where, and how much, dB.
pub fn largest_difference(quick: &Quick, range: [f64; 2]) -> Option<(f64, f64)> {
    let pairs = quick.db.as_found.iter().zip(&quick.db.proposed);
    quick
        .hz
        .iter()
        .zip(pairs)
        .filter(|(hz, _)| (range[0]..=range[1]).contains(*hz))
        .map(|(&hz, (a, p))| (hz, p - a))
        .filter(|(_, db)| db.is_finite())
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}

/// Gain at a frequency, dB: as found and proposed.
pub fn gain_at(quick: &Quick, hz: f64) -> Option<[f64; 2]> {
    at(quick, hz)
}
