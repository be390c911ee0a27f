//! Levels: what comes in, how far each stage is from clipping at that, which clips first, what goes
//! out.

use super::analyses::worker::LatestReports;
use super::edit::{Edit, PluginSetting};
use super::theme::{Ink, heading, ink};
use super::widgets::DIMMED;
use crate::analysis::headroom::{StageHeadroom, first_to_clip};
use crate::live::meters::Meters;
use crate::text::digits::{fixed, signed_db, significant};
use crate::units::decibels_from_ratio;
use egui::{RichText, Sense, Stroke, Ui, vec2};
use std::sync::atomic::Ordering::Relaxed;

/// Fall of a meter, dB a second (own choice).
const FALL: f32 = 24.0;
/// How long the loudest input counts as what is being played, s (own choice).
const HOLD: f64 = 4.0;
/// Range of a meter, dB.
const RANGE: f32 = 60.0;

/// Meters that have fallen and peaks that are held.
#[derive(Clone, Debug, Default)]
pub struct Levels {
    input: f32,
    output: f32,
    /// Loudest volts at the jack of late, and when.
    unsolved: (f32, f64),
    last: f64,
}

impl Levels {
    /// Reads the meters, once a frame.
    pub fn take(&mut self, meters: &Meters, now: f64) {
        let fall = 10f32.powf(-FALL * ((now - self.last) as f32).clamp(0.0, 1.0) / 20.0);
        self.last = now;
        self.input = (self.input * fall).max(Meters::take(&meters.input));
        self.output = (self.output * fall).max(Meters::take(&meters.output));
        let volts = Meters::take(&meters.input_volts);
        if volts >= self.unsolved.0 || now - self.unsolved.1 > HOLD {
            self.unsolved = (volts, now);
        }
    }

    /// Loudest volts at the jack of late; none in silence (less than a tenth of a millivolt).
    pub fn volts(&self) -> Option<f64> {
        (self.unsolved.0 > 1e-4).then_some(f64::from(self.unsolved.0))
    }

    /// Whether a meter still moves.
    pub fn moving(&self) -> bool {
        self.input > 1e-4 || self.output > 1e-4
    }

    /// The two meters, for the top bar.
    pub fn show(&self, ui: &mut Ui) {
        let width = if ui.max_rect().width() < 1000.0 {
            36.0
        } else {
            60.0
        };
        meter(ui, "in", self.input, width);
        meter(ui, "out", self.output, width);
    }
}

/// A meter: bar from −60 to 0 dB of full scale, and the figure.
fn meter(ui: &mut Ui, name: &str, level: f32, width: f32) {
    let ink = ink(ui.visuals());
    let db = 20.0 * level.max(1e-9).log10();
    let text = match db {
        db if db < -RANGE => "quiet".to_owned(),
        db if db >= -0.05 => "over".to_owned(),
        db => format!("{} dB", fixed(f64::from(db), 0)),
    };
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 4.0;
        ui.label(name);
        let (rect, response) = ui.allocate_exact_size(vec2(width, 12.0), Sense::hover());
        bar(ui, rect, db, ink);
        let said = format!("{name}put level {text}");
        response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Meter, true, &said));
        // The figure keeps its width, so that nothing beside it moves.
        let (rect, _) = ui.allocate_exact_size(vec2(46.0, 14.0), Sense::hover());
        let font = egui::FontId::proportional(13.0);
        let at = rect.left_center();
        ui.painter()
            .text(at, egui::Align2::LEFT_CENTER, text, font, ink.ink);
    });
}

fn bar(ui: &Ui, rect: egui::Rect, db: f32, ink: Ink) {
    let painter = ui.painter();
    painter.rect(
        rect,
        0.0,
        ink.field,
        Stroke::new(1.0, ink.weak),
        egui::StrokeKind::Inside,
    );
    let share = ((db + RANGE) / RANGE).clamp(0.0, 1.0);
    let mut filled = rect.shrink(2.0);
    filled.max.x = filled.min.x + filled.width() * share;
    painter.rect_filled(filled, 0.0, ink.ink);
}

/// The loudness match in words.
pub fn matched(edit: &dyn Edit, on: bool) -> String {
    let meters = edit.meters();
    if !on {
        let (a, p) = (
            meters.as_found_lufs.load(Relaxed),
            meters.proposed_lufs.load(Relaxed),
        );
        return if a > -70.0 && p > -70.0 {
            format!("off (proposed is {} LU)", signed_db(f64::from(p - a)))
        } else {
            "off".into()
        };
    }
    format!("{} dB", signed_db(f64::from(meters.match_db.load(Relaxed))))
}

/// That an amp is muted because it howls.
pub fn muted(ui: &mut Ui, edit: &dyn Edit) {
    if edit.meters().howls.load(Relaxed) {
        ui.label("Muted: the amp oscillates with nothing played.");
    }
}

/// The valves that clip right now, of the side that is heard, by designator: what is played is above the
/// level at which their stage clips.
pub fn clipping(levels: &Levels, edit: &dyn Edit, known: &LatestReports) -> Vec<String> {
    let (Some(volts), Some((judged, false))) = (levels.volts(), known.judged()) else {
        return Vec::new();
    };
    let clean = &judged.verdict.clean;
    let stages = if edit.setting(PluginSetting::Heard) < 0.5 {
        &clean.as_found.stages
    } else {
        &clean.proposed.stages
    };
    let over = |stage: &&StageHeadroom| stage.clips_at_input_volts.is_some_and(|at| at < volts);
    let clipped = stages.iter().filter(over);
    clipped.map(|stage| stage.valve.clone()).collect()
}

/// The line of the headrooms, of the side that is heard.
pub fn headroom(ui: &mut Ui, levels: &Levels, edit: &dyn Edit, known: &LatestReports) {
    ui.horizontal_wrapped(|ui| {
        heading(ui, "HEADROOM");
        let volts = levels.volts();
        let Some((judged, stale)) = known.judged() else {
            let told = known.judged.is_some();
            ui.label(if told {
                "not known"
            } else {
                "being computed…"
            });
            return;
        };
        let clean = &judged.verdict.clean;
        let as_found = edit.setting(PluginSetting::Heard) < 0.5;
        let (side, stages) = if as_found {
            ("as found", &clean.as_found.stages)
        } else {
            ("proposed", &clean.proposed.stages)
        };
        let note = if stale { ", of before" } else { "" };
        let boost = match edit.setting(PluginSetting::Boost) {
            db if db > 0.0 => format!(" ({} dB of boost)", significant(db, 2)),
            _ => String::new(),
        };
        ui.label(match volts {
            Some(volts) => format!("{side}{note}, with {} at the jack{boost}:", in_volts(volts)),
            None => {
                format!("{side}{note}; nothing is played, so each stage's clip level at the jack:")
            }
        });
        if stale {
            ui.multiply_opacity(DIMMED);
        }
        let first = first_to_clip(stages).map(|first| &first.stage);
        for stage in stages {
            one(ui, stage, volts, Some(&stage.stage) == first);
        }
    });
}

fn one(ui: &mut Ui, stage: &StageHeadroom, volts: Option<f64>, first: bool) {
    let name = &stage.stage;
    let text = match (stage.clips_at_input_volts, volts) {
        (None, _) => format!("{name} never clips"),
        (Some(limit), Some(volts)) => {
            let left = decibels_from_ratio(limit / volts);
            if left < 0.0 {
                format!("{name} clips, {} dB over", fixed(-left, 0))
            } else {
                format!("{name} {} dB left", fixed(left, 0))
            }
        }
        (Some(limit), None) => format!("{name} {}", in_volts(limit)),
    };
    let why = stage.how.map_or_else(
        || "It does not clip at any level that was tried.".to_owned(),
        |how| format!("{}: {}.", stage.valve, how.in_words()),
    );
    let label = if first {
        RichText::new(format!("{text} (clips first)"))
            .strong()
            .underline()
    } else {
        RichText::new(text)
    };
    ui.label("·");
    ui.label(label).on_hover_text(why);
}

/// Volts or millivolts at the jack, peak.
fn in_volts(volts: f64) -> String {
    if volts < 0.9995 {
        format!("{} mV", significant(1e3 * volts, 2))
    } else {
        format!("{} V", significant(volts, 2))
    }
}
