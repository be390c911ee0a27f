//! Curves as a picture: plain slices in, SVG out, drawn by the crate `plotters`.
//!
//! The look is the same everywhere: as found thin and dashed, proposed thick and solid, the
//! difference filled; colour comes second.

use super::axis::{axis, decibels, hertz};
use plotters::coord::Shift;
use plotters::coord::combinators::{LogCoord, WithKeyPoints};
use plotters::coord::types::RangedCoordf64;
use plotters::prelude::*;
use std::fmt::Display;

/// What to draw.
pub struct Curves<'a> {
    /// Headline.
    pub title: &'a str,
    /// A sentence under the headline; may be empty.
    pub note: &'a str,
    /// What the vertical axis counts, such as "Gain, dB".
    pub axis: &'a str,
    /// Frequencies, Hz, rising.
    pub hz: &'a [f64],
    /// As found, dB; one value a frequency.
    pub as_found: &'a [f64],
    /// Proposed, dB.
    pub proposed: Option<&'a [f64]>,
    /// Width and height, px; the letters keep their size.
    pub size: (u32, u32),
}

/// The usual size, px.
pub const SIZE: (u32, u32) = (1000, 680);
/// Height of the headline and the note.
const HEAD: u32 = 64;
/// Height of the lower picture, which shows the difference alone, with its frequency labels.
const LOWER: u32 = 210;
const LABEL_WIDTH: u32 = 64;
const FONT: &str = "sans-serif";

/// The frequencies with a label, Hz.
const LABELLED_HZ: [f64; 10] = [20.0, 50.0, 100.0, 200.0, 500.0, 1e3, 2e3, 5e3, 10e3, 20e3];
const LOWEST_HZ: f64 = 20.0;
const HIGHEST_HZ: f64 = 20e3;

/// Fundamentals of a guitar from the open low E to the highest fret of the high E, Hz.
const GUITAR_HZ: [f64; 2] = [82.4, 1_200.0];

/// What lies further below the highest point is left out: nobody hears it beside the rest, dB.
const DEPTH_DB: f64 = 60.0;

const INK: RGBColor = RGBColor(0x1a, 0x1a, 0x1a);
const GRID: RGBColor = RGBColor(0xd0, 0xd0, 0xd0);
const FINE_GRID: RGBColor = RGBColor(0xec, 0xec, 0xec);
const GUITAR: RGBColor = RGBColor(0xf3, 0xf1, 0xe8);
const PROPOSED: RGBColor = RGBColor(0x00, 0x4b, 0x8d);
const DIFFERENCE: RGBColor = RGBColor(0xe6, 0x8a, 0x00);

type Canvas<'a> = DrawingArea<SVGBackend<'a>, Shift>;
type Chart<'a> =
    ChartContext<'a, SVGBackend<'a>, Cartesian2d<WithKeyPoints<LogCoord<f64>>, RangedCoordf64>>;
type Drawn = Result<(), String>;

/// Draws the curves.
///
/// # Panics
/// When the slices differ in length, or the picture is lower than 400 px.
///
/// # Errors
/// When no value is finite, or the drawing crate fails.
pub fn curve_svg(curves: &Curves<'_>) -> Result<String, String> {
    assert_eq!(curves.hz.len(), curves.as_found.len());
    assert!(curves.size.1 >= 400, "the picture is too low for its parts");
    let mut svg = String::new();
    {
        let canvas = SVGBackend::with_string(&mut svg, curves.size).into_drawing_area();
        draw(&canvas, curves)?;
        canvas.present().map_err(|fault| fault.to_string())?;
    }
    Ok(svg)
}

fn draw(canvas: &Canvas<'_>, curves: &Curves<'_>) -> Drawn {
    canvas.fill(&WHITE).map_err(text)?;
    let (head, body) = canvas.split_vertically(HEAD);
    head.draw_text(curves.title, &font(22, FontStyle::Bold), (16, 12))
        .map_err(text)?;
    head.draw_text(curves.note, &font(15, FontStyle::Normal), (16, 42))
        .map_err(text)?;
    match curves.proposed {
        None => draw_response(&body, curves, true),
        Some(proposed) => {
            assert_eq!(curves.hz.len(), proposed.len());
            let (upper, lower) = body.split_vertically(curves.size.1 - HEAD - LOWER);
            draw_response(&upper, curves, false)?;
            draw_difference(&lower, curves.hz, curves.as_found, proposed)
        }
    }
}

fn text(fault: impl Display) -> String {
    fault.to_string()
}

fn font(size: u32, style: FontStyle) -> TextStyle<'static> {
    (FONT, size, style, &INK).into_text_style(&SIZE)
}

/// The finite points within the audible range.
fn points(hz: &[f64], db: &[f64]) -> Vec<(f64, f64)> {
    hz.iter()
        .zip(db)
        .map(|(hz, db)| (*hz, *db))
        .filter(|(hz, db)| (LOWEST_HZ..=HIGHEST_HZ).contains(hz) && db.is_finite())
        .collect()
}

/// Axes in decibels over the audible range.
struct Axes<'a> {
    /// Lowest and highest value, dB.
    range: [f64; 2],
    /// How many labels.
    labels: usize,
    /// What the vertical axis counts.
    name: &'a str,
    /// Whether rises bear a plus.
    signed: bool,
    /// Whether frequencies are labelled.
    hertz_labels: bool,
    /// Room below, px.
    below: u32,
}

/// A chart with its axes, its grid and the range of the guitar.
fn chart<'a>(canvas: &Canvas<'a>, axes: &Axes<'_>) -> Result<Chart<'a>, String> {
    let [low, high] = axes.range;
    let mut chart = ChartBuilder::on(canvas)
        .margin_right(24)
        .margin_left(14)
        .margin_top(4)
        .margin_bottom(axes.below)
        .y_label_area_size(LABEL_WIDTH)
        .x_label_area_size(if axes.hertz_labels { 52 } else { 8 })
        .build_cartesian_2d(
            (LOWEST_HZ..HIGHEST_HZ)
                .log_scale()
                .with_key_points(LABELLED_HZ.to_vec()),
            low..high,
        )
        .map_err(text)?;
    let [from, to] = GUITAR_HZ;
    chart
        .draw_series([Rectangle::new([(from, low), (to, high)], GUITAR.filled())])
        .map_err(text)?;
    chart.draw_series(fine_grid(low, high)).map_err(text)?;
    let value = |db: &f64| decibels(*db, axes.signed);
    let mut mesh = chart.configure_mesh();
    mesh.bold_line_style(GRID)
        .light_line_style(TRANSPARENT)
        .axis_style(INK)
        .label_style(font(14, FontStyle::Normal))
        .axis_desc_style(font(15, FontStyle::Normal))
        .y_desc(axes.name)
        .y_labels(axes.labels)
        .y_label_formatter(&value);
    if axes.hertz_labels {
        mesh.x_desc("Frequency, Hz").x_label_formatter(&hertz);
    } else {
        mesh.x_label_formatter(&|_| String::new());
    }
    mesh.draw().map_err(text)?;
    Ok(chart)
}

fn draw_response(canvas: &Canvas<'_>, curves: &Curves<'_>, hertz_labels: bool) -> Drawn {
    let as_found = points(curves.hz, curves.as_found);
    let proposed = curves.proposed.map(|db| points(curves.hz, db));
    let values = || {
        let all = as_found.iter().chain(proposed.iter().flatten());
        all.map(|(_, db)| *db)
    };
    let highest = values().fold(f64::NEG_INFINITY, f64::max);
    if !highest.is_finite() {
        return Err("the curve has no finite value between 20 Hz and 20 kHz".into());
    }
    let lowest = values().fold(highest, f64::min).max(highest - DEPTH_DB);
    // A little room above, where the legend and the range of the guitar stand.
    let (low, high, labels) = axis(lowest, highest + 0.25 * (highest - lowest).max(1.0));
    let axes = Axes {
        range: [low, high],
        labels: labels.len(),
        name: curves.axis,
        signed: false,
        hertz_labels,
        below: 0,
    };
    let mut chart = chart(canvas, &axes)?;
    chart
        .draw_series([Text::new(
            "the guitar's own notes, 82 Hz to 1.2 kHz",
            (GUITAR_HZ[0] * 1.03, high - 0.012 * (high - low)),
            font(13, FontStyle::Italic),
        )])
        .map_err(text)?;
    if let Some(proposed) = &proposed {
        draw_proposed(&mut chart, &as_found, proposed, [low, high])?;
    }
    // Last, so that the thin line stays visible where both run together.
    draw_as_found(&mut chart, &as_found, low)?;
    chart
        .configure_series_labels()
        .position(SeriesLabelPosition::UpperRight)
        .legend_area_size(52)
        .margin(10)
        .label_font(font(15, FontStyle::Normal))
        .background_style(WHITE.mix(0.9))
        .border_style(GRID)
        .draw()
        .map_err(text)
}

/// The proposed curve, and the difference to as found, filled.
fn draw_proposed(
    chart: &mut Chart<'_>,
    as_found: &[(f64, f64)],
    proposed: &[(f64, f64)],
    [low, high]: [f64; 2],
) -> Drawn {
    let clamped = |(hz, db): &(f64, f64)| (*hz, db.clamp(low, high));
    let there = as_found.iter().map(clamped);
    let back = proposed.iter().rev().map(clamped);
    let outline: Vec<_> = there.chain(back).collect();
    chart
        .draw_series([Polygon::new(outline, DIFFERENCE.mix(0.45))])
        .map_err(text)?
        .label("difference")
        .legend(|(x, y)| {
            Rectangle::new([(x, y - 6), (x + 40, y + 6)], DIFFERENCE.mix(0.45).filled())
        });
    for (i, piece) in above(proposed, low).into_iter().enumerate() {
        let series = LineSeries::new(piece, PROPOSED.stroke_width(4));
        let drawn = chart.draw_series(series).map_err(text)?;
        if i == 0 {
            drawn
                .label("proposed")
                .legend(|(x, y)| PathElement::new([(x, y), (x + 40, y)], PROPOSED.stroke_width(4)));
        }
    }
    Ok(())
}

/// The curve as found, dashed.
fn draw_as_found(chart: &mut Chart<'_>, as_found: &[(f64, f64)], low: f64) -> Drawn {
    for (i, piece) in above(as_found, low).into_iter().enumerate() {
        let style = INK.stroke_width(2);
        let series = DashedLineSeries::new(piece, 9, 6, style);
        let drawn = chart.draw_series(series).map_err(text)?;
        if i == 0 {
            drawn.label("as found").legend(|(x, y)| {
                let dash = |n| {
                    PathElement::new([(x + 15 * n, y), (x + 15 * n + 9, y)], INK.stroke_width(2))
                };
                EmptyElement::at((0, 0)) + dash(0) + dash(1) + dash(2)
            });
        }
    }
    Ok(())
}

/// Lines at every frequency between the labelled ones.
fn fine_grid(low: f64, high: f64) -> Vec<PathElement<(f64, f64)>> {
    let decades = [10.0, 100.0, 1e3, 1e4];
    decades
        .iter()
        .flat_map(|decade| (1..10).map(move |n| decade * f64::from(n)))
        .filter(|hz| (LOWEST_HZ..HIGHEST_HZ).contains(hz))
        .map(|hz| PathElement::new([(hz, low), (hz, high)], FINE_GRID))
        .collect()
}

/// Runs of points that are not below `low`; a curve that dives leaves the picture.
fn above(points: &[(f64, f64)], low: f64) -> Vec<Vec<(f64, f64)>> {
    points
        .split(|(_, db)| *db < low)
        .filter(|piece| piece.len() > 1)
        .map(<[_]>::to_vec)
        .collect()
}

fn draw_difference(canvas: &Canvas<'_>, hz: &[f64], as_found: &[f64], proposed: &[f64]) -> Drawn {
    let change: Vec<f64> = proposed.iter().zip(as_found).map(|(p, a)| p - a).collect();
    let change = points(hz, &change);
    // At least one decibel each way, so that nothing is made to look large that nobody hears.
    let (low, high, labels) = axis(
        change.iter().fold(-1.0, |m, (_, db)| db.min(m)),
        change.iter().fold(1.0, |m, (_, db)| db.max(m)),
    );
    let axes = Axes {
        range: [low, high],
        labels: labels.len(),
        name: "Difference, dB",
        signed: true,
        hertz_labels: true,
        below: 6,
    };
    let mut chart = chart(canvas, &axes)?;
    let area = AreaSeries::new(change.iter().copied(), 0.0, DIFFERENCE.mix(0.45));
    chart
        .draw_series(area.border_style(DIFFERENCE.stroke_width(2)))
        .map_err(text)?;
    let zero = [(LOWEST_HZ, 0.0), (HIGHEST_HZ, 0.0)];
    chart
        .draw_series([PathElement::new(zero, INK.stroke_width(1))])
        .map_err(text)?;
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const HZ: [f64; 4] = [10.0, 20.0, 1000.0, 20_000.0];

    fn curves(as_found: &[f64; 4], proposed: Option<&[f64; 4]>) -> Result<String, String> {
        curve_svg(&Curves {
            title: "Gain of <C3> & friends",
            note: "Largest difference +6 dB.",
            axis: "Gain, dB",
            hz: &HZ,
            as_found,
            proposed: proposed.map(|p| &p[..]),
            size: SIZE,
        })
    }

    #[test]
    fn the_legend_the_axes_and_the_title_are_in_words() {
        let svg = curves(&[0.0, 0.0, 30.0, 20.0], Some(&[0.0, 6.0, 30.0, 20.0])).unwrap();
        for word in [
            "as found",
            "proposed",
            "difference",
            "20k",
            "200",
            "Hz",
            "own notes",
        ] {
            assert!(svg.contains(word), "{word}");
        }
        assert!(svg.contains("&lt;C3&gt; &amp; friends"));
        let alone = curves(&[0.0, 0.0, 30.0, 20.0], None).unwrap();
        assert!(alone.contains("as found") && !alone.contains("proposed"));
    }

    #[test]
    fn values_that_are_no_numbers_are_left_out() {
        let svg = curves(&[0.0, f64::NEG_INFINITY, 30.0, f64::NAN], None).unwrap();
        assert!(!svg.contains("NaN") && !svg.contains("inf"));
        assert!(curves(&[f64::NAN; 4], None).is_err());
    }
}
