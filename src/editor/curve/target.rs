//! A recording's curve in a plot: a line with the band that it lies in 19 times of 20, grey where the
//! recording cannot be trusted. Its level is free, so it is laid onto a curve of the amp.

use crate::editor::theme::{Ink, THIN};
use crate::recording::Target;
use egui::Stroke;
use egui_plot::{FilledArea, Line, LineStyle, PlotPoints, PlotUi};

/// Standard deviations to either side that hold 19 of 20 (normal distribution).
const BAND: f64 = 1.96;

/// No frequency counts as more certain than this when a curve is laid onto another, dB: what is seen
/// in a picture.
const CERTAIN_DB: f64 = 0.5;

/// A curve of the amp: frequencies rising, Hz, and levels, dB.
#[derive(Clone, Copy)]
pub struct Of<'a> {
    /// Frequencies.
    pub hz: &'a [f64],
    /// Levels.
    pub db: &'a [f64],
}

impl Of<'_> {
    /// The level at a frequency, between two points along the logarithm.
    pub fn at(&self, hz: f64) -> f64 {
        let after = self
            .hz
            .partition_point(|&x| x < hz)
            .clamp(1, self.hz.len() - 1);
        let [x0, x1] = [self.hz[after - 1].ln(), self.hz[after].ln()];
        let share = ((hz.ln() - x0) / (x1 - x0)).clamp(0.0, 1.0);
        self.db[after - 1] + share * (self.db[after] - self.db[after - 1])
    }
}

/// What is to be added to a target's levels to lay it onto a curve, dB: the mean difference where it
/// is trusted, each frequency counting for as much as it is certain.
pub fn offset(target: &Target, onto: Of) -> f64 {
    let trusted = (0..target.hz.len()).filter(|&i| target.trusted[i]);
    let (mut sum, mut weights) = (0.0, 0.0);
    for i in trusted {
        let difference = onto.at(target.hz[i]) - target.db[i];
        if difference.is_finite() {
            let weight = 1.0 / (CERTAIN_DB * CERTAIN_DB + target.deviation_db[i].powi(2));
            sum += weight * difference;
            weights += weight;
        }
    }
    if weights > 0.0 { sum / weights } else { 0.0 }
}

/// Draws a target into a plot over the logarithm of frequency, within `low` to `high` dB.
pub fn draw(plot: &mut PlotUi, target: &Target, offset: f64, [low, high]: [f64; 2], ink: Ink) {
    let inside = |db: f64| (db + offset).clamp(low, high);
    for (from, to) in runs(&target.trusted, true) {
        let x: Vec<f64> = target.hz[from..to].iter().map(|hz| hz.log10()).collect();
        let band = |sign: f64| -> Vec<f64> {
            (from..to)
                .map(|i| inside(target.db[i] + sign * BAND * target.deviation_db[i]))
                .collect()
        };
        if x.len() > 1 {
            plot.add(
                FilledArea::new("recording's doubt", &x, &band(-1.0), &band(1.0))
                    .fill_color(ink.line.gamma_multiply(0.6))
                    .allow_hover(false),
            );
        }
        let points: PlotPoints = (from..to)
            .map(|i| [target.hz[i].log10(), inside(target.db[i])])
            .collect();
        plot.line(
            Line::new("recording", points)
                .stroke(Stroke::new(THIN, ink.ink))
                .allow_hover(false),
        );
    }
    for (from, to) in runs(&target.trusted, false) {
        // Joined to its neighbours, so that it is seen to go on.
        let (from, to) = (from.saturating_sub(1), (to + 1).min(target.hz.len()));
        let points: PlotPoints = (from..to)
            .map(|i| [target.hz[i].log10(), inside(target.db[i])])
            .collect();
        plot.line(
            Line::new("not trusted", points)
                .stroke(Stroke::new(1.0, ink.line))
                .style(LineStyle::Dotted { spacing: 5.0 })
                .allow_hover(false),
        );
    }
}

/// Stretches in which a flag has this value: first, and one after the last.
fn runs(flags: &[bool], value: bool) -> Vec<(usize, usize)> {
    let mut runs = Vec::new();
    let mut start = None;
    for (i, &flag) in flags.iter().chain([&!value]).enumerate() {
        match (flag == value, start) {
            (true, None) => start = Some(i),
            (false, Some(from)) => {
                runs.push((from, i));
                start = None;
            }
            _ => {}
        }
    }
    runs
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_are_found() {
        let flags = [false, true, true, false, true];
        assert_eq!(runs(&flags, true), [(1, 3), (4, 5)]);
        assert_eq!(runs(&flags, false), [(0, 1), (3, 4)]);
        assert!(runs(&[], true).is_empty());
    }
}
