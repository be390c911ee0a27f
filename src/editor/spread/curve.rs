//! The response of many amps: the band that nine in ten keep within, as found between dashed edges,
//! proposed between solid ones.

use crate::advice::spread::{Band, SpreadReport};
use crate::editor::curve::axes::{decibel_frame, roomy};
use crate::editor::history::Version;
use crate::editor::theme::{DASH, Ink, THIN, heading, ink};
use crate::text::digits::{fixed, printed_hertz};
use egui::{Color32, Stroke, Ui, vec2};
use egui_plot::{FilledArea, Line, LineStyle, PlotPoints, PlotUi};

/// Height of the plot, points.
const HEIGHT: f32 = 190.0;
/// Width of the proposed band's edges, points.
const EDGE: f32 = 2.0;
/// Least height of the axis, dB, and the greatest below the highest point.
const LEAST_DB: f64 = 18.0;
const MOST_DB: f64 = 48.0;

/// Shows the plot under its heading.
pub fn show(ui: &mut Ui, report: &SpreadReport) {
    let ink = ink(ui.visuals());
    ui.horizontal_wrapped(|ui| {
        heading(ui, "RESPONSE, NINE AMPS IN TEN");
        sample(ui, "as found", ink, false);
        if report.proposed.is_some() {
            sample(ui, "proposed", ink, true);
        }
    });
    if report.hz.len() > 1 {
        roomy(ui, |ui| plot(ui, report, ink));
    }
}

/// Colour of a side, solid for an edge and thinned for the area.
fn colours(ink: Ink, proposed: bool) -> [Color32; 2] {
    let edge = match proposed {
        true => ink.proposed,
        false => ink.as_found,
    };
    [edge, edge.gamma_multiply(0.18)]
}

fn sample(ui: &mut Ui, name: &str, ink: Ink, proposed: bool) {
    let font = egui::FontId::proportional(13.0);
    let text = ui.painter().layout_no_wrap(name.to_owned(), font, ink.ink);
    let size = vec2(27.0 + text.size().x, text.size().y);
    let (rect, _) = ui.allocate_exact_size(size, egui::Sense::hover());
    let box_ = egui::Rect::from_min_size(rect.min, vec2(22.0, rect.height()));
    let box_ = box_.shrink2(vec2(0.0, 3.0));
    let [edge, area] = colours(ink, proposed);
    ui.painter().rect_filled(box_, 0.0, area);
    for ends in [
        [box_.left_top(), box_.right_top()],
        [box_.left_bottom(), box_.right_bottom()],
    ] {
        if proposed {
            ui.painter().line_segment(ends, Stroke::new(EDGE, edge));
        } else {
            let stroke = Stroke::new(THIN, edge);
            let dashes = egui::Shape::dashed_line(&ends, stroke, 5.0, 3.0);
            ui.painter().extend(dashes);
        }
    }
    ui.painter()
        .galley(rect.min + vec2(26.0, 0.0), text, ink.ink);
}

fn plot(ui: &mut Ui, report: &SpreadReport, ink: Ink) {
    let x: Vec<f64> = report.hz.iter().map(|hz| hz.log10()).collect();
    let (left, right) = (x[0], x[x.len() - 1]);
    let [low, high] = range(report);
    let response = decibel_frame("response of many amps", [left, right], [low, high], ink)
        .height(HEIGHT)
        .show(ui, |plot| {
            plot.set_plot_bounds_y(low..=high);
            plot.set_plot_bounds_x(left..=right);
            let sides = std::iter::once((false, &report.as_found));
            for (proposed, side) in sides.chain(report.proposed.iter().map(|p| (true, p))) {
                let side_shown = match proposed {
                    true => Version::Proposed,
                    false => Version::AsFound,
                };
                let colours = colours(ink, proposed);
                band(plot, side_shown, &x, &side.curve_db, low, colours);
            }
        });
    let said = spoken(report);
    response
        .response
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Image, true, &said));
}

fn band(
    plot: &mut PlotUi,
    side: Version,
    x: &[f64],
    bands: &[Band],
    low: f64,
    [edge, area]: [Color32; 2],
) {
    let name = side.name();
    // What cannot be drawn is drawn at the lower edge.
    let clean = |y: f64| if y.is_finite() { y.max(low) } else { low };
    let lower: Vec<f64> = bands.iter().map(|b| clean(b.p5)).collect();
    let upper: Vec<f64> = bands.iter().map(|b| clean(b.p95)).collect();
    if lower.len() != x.len() {
        return;
    }
    plot.add(
        FilledArea::new(name, x, &lower, &upper)
            .fill_color(area)
            .allow_hover(false),
    );
    for y in [&lower, &upper] {
        let points: PlotPoints<'_> = x.iter().zip(y).map(|(&x, &y)| [x, y]).collect();
        let line = Line::new(name, points).allow_hover(false);
        plot.line(match side {
            Version::Proposed => line.stroke(Stroke::new(EDGE, edge)),
            Version::AsFound => line
                .stroke(Stroke::new(THIN, edge))
                .style(LineStyle::Dashed { length: DASH }),
        });
    }
}

/// Range of the vertical axis, whole steps of 6 dB.
fn range(report: &SpreadReport) -> [f64; 2] {
    let sides = std::iter::once(&report.as_found).chain(&report.proposed);
    let all: Vec<f64> = sides
        .flat_map(|side| side.curve_db.iter().flat_map(|b| [b.p5, b.p95]))
        .filter(|y| y.is_finite())
        .collect();
    let top = all.iter().fold(f64::NEG_INFINITY, |a, &b| a.max(b));
    if !top.is_finite() {
        return [-LEAST_DB, 0.0];
    }
    let bottom = all.iter().fold(f64::INFINITY, |a, &b| a.min(b));
    let high = (top / 6.0).ceil() * 6.0 + 3.0;
    let low = (bottom / 6.0).floor() * 6.0;
    [low.max(high - MOST_DB).min(high - LEAST_DB), high]
}

/// The picture for those who do not see it.
fn spoken(report: &SpreadReport) -> String {
    let at = |wanted: f64| {
        let last = report.hz.len() - 1;
        let index = report.hz.partition_point(|hz| *hz < 0.9 * wanted).min(last);
        let band = |bands: &[Band]| {
            bands.get(index).map_or("nothing".into(), |b| {
                format!("{} to {} dB", fixed(b.p5, 1), fixed(b.p95, 1))
            })
        };
        let proposed = report.proposed.as_ref();
        let proposed = proposed.map_or(String::new(), |p| {
            format!(", proposed {}", band(&p.curve_db))
        });
        format!(
            "{}: as found {}{proposed}",
            printed_hertz(report.hz[index]),
            band(&report.as_found.curve_db)
        )
    };
    format!(
        "Response, nine amps in ten lie within. {}. {}. {}.",
        at(80.0),
        at(1e3),
        at(5e3)
    )
}
