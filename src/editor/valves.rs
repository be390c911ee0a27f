//! The valves: what each dissipates against its limit, at rest and while the phrase plays, as found
//! beside proposed, in words and in a bar; its bias, and how far the supplies sag.

use super::analyses::reports::Quick;
use super::analyses::worker::LatestReports;
use super::theme::{Ink, heading, ink};
use super::widgets::{dimmed, progress, scrolled};
use crate::analysis::valve_chart::{Load, ValveChart, ValveFigures, ValveLine, over};
use crate::analysis::voltages::ValveReading;
use crate::device::Electrode;
use crate::text::digits::{fixed, percent, printed, significant};
use egui::{RichText, Sense, Stroke, Ui, vec2};

/// Shows the panel.
pub fn show(ui: &mut Ui, known: &LatestReports) {
    scrolled(ui, "valves", |ui| match &known.quick {
        Some(Ok(quick)) => {
            table(ui, quick, known);
            supplies(ui, known);
        }
        Some(Err(fault)) => {
            ui.label(fault);
        }
        None => {
            ui.label("Being computed…");
        }
    });
}

/// One valve section: at rest as found and as proposed, and while playing.
struct Line<'a> {
    names: Vec<&'a str>,
    before: &'a ValveReading,
    after: &'a ValveReading,
    played: Option<&'a ValveLine>,
}

/// Valves that read alike share a line.
fn lines<'a>(quick: &'a Quick, played: Option<&'a ValveChart>) -> Vec<Line<'a>> {
    let key = |line: &Line| {
        let shown = |x: Option<f64>| x.map(|x| significant(x, 2));
        let rest = [line.before, line.after].map(|v| {
            let bias = Some(v.grid_volts - v.cathode_volts);
            let figures = [Some(v.anode_watts), v.screen_watts, bias].map(shown);
            (v.valve.clone(), v.fitted, figures)
        });
        let watts = |f: &ValveFigures| {
            let load = |l: &Option<Load>| shown(l.as_ref().map(|l| l.watts));
            (
                load(&f.anode.playing),
                f.screen.as_ref().and_then(|s| load(&s.playing)),
            )
        };
        let played = line
            .played
            .map(|p| (watts(&p.as_found), p.proposed.as_ref().map(watts)));
        (rest, played)
    };
    let mut lines: Vec<Line> = Vec::new();
    let before = &quick.charts.as_found.valves.0;
    for ((name, before), (_, after)) in before.iter().zip(&quick.charts.proposed.valves.0) {
        let line = Line {
            names: vec![name],
            before,
            after,
            played: played.and_then(|p| p.valves.iter().find(|v| v.designator == *name)),
        };
        match lines.iter_mut().find(|other| key(other) == key(&line)) {
            Some(other) => other.names.push(name),
            None => lines.push(line),
        }
    }
    // The hottest first: those are the ones that an owner must look at.
    lines.sort_by(|a, b| {
        let share = |l: &Line| l.before.anode_percent.unwrap_or(0.0);
        share(b).total_cmp(&share(a))
    });
    lines
}

fn table(ui: &mut Ui, quick: &Quick, known: &LatestReports) {
    let ink = ink(ui.visuals());
    let played = known.judged();
    let stale = played.is_none_or(|(_, stale)| stale);
    ui.horizontal_wrapped(|ui| {
        heading(ui, "VALVES");
        ui.label("dissipation against the limit, as found → proposed");
        if let Some(share) = known.slow_progress.filter(|_| stale) {
            let of = progress(played.is_some(), share);
            ui.label(format!("(while playing: {of})"));
        }
    });
    // In a narrow place the columns stand under one another.
    let narrow = ui.available_width() < FOUR;
    egui::Grid::new(("valves", narrow))
        .num_columns(if narrow { 2 } else { 4 })
        .spacing(vec2(16.0, 3.0))
        .show(ui, |ui| {
            if !narrow {
                for title in TITLES {
                    ui.label(RichText::new(title).size(12.0).color(ink.weak));
                }
                ui.end_row();
            }
            for line in lines(quick, played.map(|(judged, _)| &judged.valves)) {
                row(ui, &line, stale, ink, narrow);
            }
        });
}

/// Width from which four columns stand beside each other, points.
const FOUR: f32 = 720.0;
const TITLES: [&str; 4] = ["valve", "at rest", "while the phrase plays", "bias"];

/// An electrode's loads: as found and proposed.
type Pair<'a> = [(f64, Option<f64>); 2];

fn row(ui: &mut Ui, line: &Line, stale: bool, ink: Ink, narrow: bool) {
    let (before, after) = (line.before, line.after);
    let kind = if before.valve == after.valve {
        before.valve.clone()
    } else {
        format!("{} → {}", before.valve, after.valve)
    };
    let who = format!("{} {kind}", line.names.join(", "));
    let system = match after.rating_system {
        None => "No limit is known for it.".to_owned(),
        Some(system) => format!("The limits are the maker's, {system} ratings."),
    };
    let played = |pick: &dyn Fn(&ValveFigures) -> Option<Load>| {
        let line = line.played?;
        let pair = [pick(&line.as_found)?, pick(line.proposed.as_ref()?)?];
        Some(pair.map(|load| (load.watts, load.limit_watts)))
    };
    let anode_played = played(&|f| f.anode.playing.clone());
    let screen_played = played(&|f| f.screen.as_ref()?.playing.clone());
    let screen = before.screen_watts.zip(after.screen_watts).map(|(a, p)| {
        [
            (a, before.screen_limit_watts),
            (p, after.screen_limit_watts),
        ]
    });
    let anode = [
        (before.anode_watts, before.anode_limit_watts),
        (after.anode_watts, after.anode_limit_watts),
    ];
    let fitted = [before.fitted, after.fitted];
    let electrodes = [
        (Electrode::Anode, Some(anode), anode_played),
        (Electrode::Screen, screen, screen_played),
    ];
    for (electrode, rest, played) in electrodes {
        let Some(rest) = rest else {
            continue;
        };
        let first = electrode == Electrode::Anode;
        let name = if first {
            who.clone()
        } else {
            line.names.join(", ")
        };
        let both = if screen.is_some() {
            electrode.name()
        } else {
            ""
        };
        ui.label(RichText::new(format!("{name} {both}").trim()).strong())
            .on_hover_text(&system);
        let cells = |ui: &mut Ui| {
            titled(ui, TITLES[1], narrow, |ui| {
                let what = format!("{who}, {electrode}, at rest");
                loads(ui, &what, rest, fitted, ink);
            });
            titled(ui, TITLES[2], narrow, |ui| {
                dimmed(ui, stale, |ui| match played {
                    Some(pair) => {
                        let what = format!("{who}, {electrode}, while playing");
                        loads(ui, &what, pair, fitted, ink);
                    }
                    None => {
                        ui.label("–");
                    }
                });
            });
            if first {
                titled(ui, TITLES[3], narrow, |ui| bias_of(ui, &who, before, after));
            }
        };
        if narrow {
            ui.vertical(cells);
        } else {
            cells(ui);
        }
        ui.end_row();
    }
}

/// A cell of the table; in a narrow place with its title before it.
fn titled(ui: &mut Ui, title: &str, narrow: bool, cell: impl FnOnce(&mut Ui)) {
    if !narrow {
        return cell(ui);
    }
    ui.horizontal(|ui| {
        let ink = ink(ui.visuals());
        ui.label(RichText::new(title).size(12.0).color(ink.weak));
        cell(ui);
    });
}

/// A valve's bias, as found and as proposed.
fn bias_of(ui: &mut Ui, who: &str, before: &ValveReading, after: &ValveReading) {
    let bias = |v: &ValveReading| significant(v.grid_volts - v.cathode_volts, 3);
    let (a, p) = (bias(before), bias(after));
    let text = if a == p {
        format!("{a} V")
    } else {
        format!("{a} → {p} V")
    };
    let said = format!("{who}, bias {text}");
    ui.label(text)
        .on_hover_text("Grid against cathode, without signal.")
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
}

/// As found and proposed beside each other.
fn loads(ui: &mut Ui, what: &str, pair: Pair, fitted: [bool; 2], ink: Ink) {
    ui.horizontal(|ui| {
        ui.spacing_mut().item_spacing.x = 5.0;
        for (index, side) in ["as found", "proposed"].into_iter().enumerate() {
            if index == 1 {
                ui.label("→");
            }
            if fitted[index] {
                load(ui, &format!("{what}, {side}"), pair[index], ink);
            } else {
                ui.label("not fitted");
            }
        }
    });
}

/// Width of the window from which there is room for the bars, points.
const WIDE: f32 = 1050.0;

/// Watts with the digits that they deserve.
fn watts_in_words(watts: f64) -> String {
    if watts >= 0.995 {
        fixed(watts, 1)
    } else {
        significant(watts, 2)
    }
}

fn load(ui: &mut Ui, what: &str, (watts, limit): (f64, Option<f64>), ink: Ink) {
    let share = limit.map(|limit| 100.0 * watts / limit);
    let figure = watts_in_words(watts);
    let text = match (limit, share) {
        (Some(limit), Some(share)) => {
            if ui.ctx().content_rect().width() >= WIDE {
                bar(ui, share, ink);
            }
            format!("{figure} of {} W, {}", printed(limit), percent(share))
        }
        _ => format!("{figure} W"),
    };
    let over = share.and_then(over);
    let rich = match &over {
        Some(_) => RichText::new(format!("{text}, OVER")).strong().underline(),
        None => RichText::new(&text),
    };
    let mut response = ui.label(rich);
    let said = match &over {
        Some(over) => format!("{what}: {text}, {over}"),
        None => format!("{what}: {text}"),
    };
    if let Some(over) = over {
        response = response.on_hover_text(over);
    }
    response.widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
}

/// A bar to 150 % with a tick at the limit; beyond the limit it is hatched.
fn bar(ui: &mut Ui, share: f64, ink: Ink) {
    let (rect, _) = ui.allocate_exact_size(vec2(30.0, 10.0), Sense::hover());
    let painter = ui.painter_at(rect.expand(2.0));
    let x = |percent: f64| rect.left() + rect.width() * (percent / 150.0).clamp(0.0, 1.0) as f32;
    let mut filled = rect;
    filled.max.x = x(share);
    let stroke = Stroke::new(1.0, ink.line);
    painter.rect_stroke(rect, 0.0, stroke, egui::StrokeKind::Inside);
    painter.rect_filled(filled, 0.0, ink.weak);
    let limit = x(100.0);
    let mut at = limit;
    while share > 100.0 && at < filled.max.x {
        let line = [
            egui::pos2(at, rect.bottom()),
            egui::pos2(at + 4.0, rect.top()),
        ];
        painter.line_segment(line, Stroke::new(1.5, ink.paper));
        at += 4.0;
    }
    let tick = rect.expand2(vec2(0.0, 2.0)).y_range();
    painter.vline(limit, tick, Stroke::new(2.0, ink.ink));
}

/// What the supplies do while the phrase plays.
fn supplies(ui: &mut Ui, known: &LatestReports) {
    let Some((judged, stale)) = known.judged() else {
        return;
    };
    dimmed(ui, stale, |ui| {
        ui.horizontal_wrapped(|ui| {
            heading(ui, "SUPPLY SAG");
            for supply in &judged.valves.supplies {
                let a = &supply.as_found.in_words;
                let text = match supply.proposed.as_ref().map(|p| &p.in_words) {
                    Some(p) if p != a => format!("{}: {a} → {p};", supply.node),
                    _ => format!("{}: {a};", supply.node),
                };
                ui.label(text);
            }
        });
    });
}
