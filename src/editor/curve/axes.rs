//! The frame of all our curves over frequency: grid, figures and room.

use crate::editor::theme::Ink;
use crate::text::digits::fixed;
use egui::Ui;
use egui_plot::{GridMark, Plot};

/// Range of the axis, Hz.
pub const HZ: [f64; 2] = [20.0, 20_000.0];

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

/// Leaves room for half of the last figure of the axis.
pub fn roomy(ui: &mut Ui, content: impl FnOnce(&mut Ui)) {
    let room = egui::Frame::NONE.inner_margin(egui::Margin {
        right: 14,
        ..egui::Margin::ZERO
    });
    room.show(ui, content);
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

/// [`frame`] with decibels from `low` to `high`.
pub fn decibel_frame<'a>(id: &str, x: [f64; 2], [low, high]: [f64; 2], ink: Ink) -> Plot<'a> {
    frame(id, x[0], x[1], ink)
        .include_y(low)
        .include_y(high)
        .y_axis_formatter(move |mark, _| match mark.value < low + 2.0 {
            // The lowest figure would stand on the first of the frequencies.
            true => String::new(),
            false => format!("{} dB", fixed(mark.value, 0)),
        })
}
