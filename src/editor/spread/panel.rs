//! The spread over the right column: how much two amps of this kind differ, as found and as
//! proposed, and whether a change stands out of it.

use super::curve;
use crate::advice::spread::{Band, SideSpread, SpreadReport, ValveSpread, of_a_hundred};
use crate::editor::analyses::background::Repaint;
use crate::editor::analyses::reports::Request;
use crate::editor::panel::{LatestResult, PanelContext};
use crate::editor::theme::heading;
use crate::editor::view::MOST_AMPS;
use crate::editor::widgets::{dimmed, head, scrolled, wide};
use crate::requests::spread::SpreadRequest;
use crate::text::digits::{fixed, printed, significant};
use egui::{DragValue, RichText, Ui};

/// What the panel remembers.
pub struct SpreadPanel {
    drawn: LatestResult<SpreadReport>,
}

impl SpreadPanel {
    /// Nothing is drawn yet.
    pub fn new(repaint: &Repaint) -> Self {
        SpreadPanel {
            drawn: LatestResult::new(repaint),
        }
    }

    /// Shows the panel.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        self.drawn.take();
        ui.horizontal(|ui| head(ui, context.view, "SPREAD", "Close spread"));
        scrolled(ui, "spread", |ui| {
            ui.label(
                "Amps are drawn within the tolerances of their parts and the spread of new \
                     valves, and solved as found and as proposed.",
            );
            self.asked_for(ui, context);
            let Some((answer, stale)) = self.drawn.last(context.request) else {
                return;
            };
            ui.separator();
            if stale {
                let words = "Of before: the values have changed since. Draw again.";
                ui.label(RichText::new(words).strong());
            }
            dimmed(ui, stale, |ui| match &answer.what {
                Ok(report) => show_report(ui, report),
                Err(fault) => {
                    ui.strong(fault);
                }
            });
        });
    }

    fn asked_for(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        ui.horizontal_wrapped(|ui| {
            let runs = self.drawn.runs();
            let (amps, seed) = (context.view.spread_amps, context.view.spread_seed);
            let words = format!("Draw {} amps", thousands(amps));
            let button = ui.add_enabled(!runs, egui::Button::new(words));
            if button.clicked() {
                self.drawn.start(context.request, move |request, go_on| {
                    draw(request, amps, seed, go_on)
                });
            }
            let label = ui.label("amps");
            ui.add(
                DragValue::new(&mut context.view.spread_amps)
                    .range(1..=MOST_AMPS)
                    .speed(10.0),
            )
            .labelled_by(label.id)
            .on_hover_text("More amps take longer and give steadier figures.");
            let label = ui.label("seed");
            ui.add(DragValue::new(&mut context.view.spread_seed).speed(0.05))
                .labelled_by(label.id)
                .on_hover_text("The same seed draws the same amps; another one draws others.");
            self.drawn.progress(ui, "drawing");
        });
    }
}

fn draw(
    request: &Request,
    amps: usize,
    seed: u64,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Result<SpreadReport, String>> {
    let amp = match request.solved_as_asked() {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault)),
    };
    let request = SpreadRequest {
        amp: &amp,
        amps: Some(amps),
        seed: Some(seed),
    };
    request.answer(go_on).map(Ok)
}

fn show_report(ui: &mut Ui, report: &SpreadReport) {
    let settings = report.settings;
    let unsolved = match report.unsolved {
        0 => String::new(),
        n => format!(" {n} of them had no solution at rest and count nowhere."),
    };
    ui.label(format!(
        "{}: {} amps drawn with seed {}.{unsolved}",
        report.amp,
        thousands(settings.amps),
        settings.seed
    ));
    if report.sentences.is_empty() {
        ui.label("No output valve is over its limit in any of them.");
    }
    for sentence in &report.sentences {
        ui.horizontal_top(|ui| {
            ui.label("–");
            ui.add(egui::Label::new(RichText::new(sentence).size(15.0)).wrap());
        });
    }
    ui.add_space(6.0);
    heading(ui, "NINE AMPS IN TEN");
    table(ui, report);
    ui.add_space(6.0);
    curve::show(ui, report);
    ui.add_space(6.0);
    heading(ui, "HOW THE AMPS ARE DRAWN");
    for line in &report.assumptions {
        ui.add(egui::Label::new(line).wrap());
    }
}

/// One figure over all amps.
struct Line {
    name: String,
    unit: &'static str,
    as_found: Band,
    proposed: Option<Band>,
    /// Amps in a hundred over the limit, as found and as proposed; none without a limit.
    over: [Option<f64>; 2],
}

fn lines(report: &SpreadReport) -> Vec<Line> {
    let (a, p) = (&report.as_found, report.proposed.as_ref());
    let mut out = vec![Line {
        name: "gain at 1 kHz".into(),
        unit: "dB",
        as_found: a.gain_db,
        proposed: p.map(|p| p.gain_db),
        over: [None; 2],
    }];
    if let Some(clean) = a.clean_volts {
        out.push(Line {
            name: "clean level at the jack".into(),
            unit: "V",
            as_found: clean,
            proposed: p.and_then(|p| p.clean_volts),
            over: [None; 2],
        });
    }
    // Output valves first: those are the ones that an owner must look at.
    for with_screen in [true, false] {
        for (index, (name, valve)) in a.valves.0.iter().enumerate() {
            if valve.screen_watts.is_some() == with_screen {
                out.extend(of_valve(name, index, a, p));
            }
        }
    }
    out
}

fn of_valve(name: &str, index: usize, a: &SideSpread, p: Option<&SideSpread>) -> Vec<Line> {
    let before = &a.valves.0[index].1;
    let after = p.map(|p| &p.valves.0[index].1);
    let named = |electrode: &str, limit: Option<f64>| {
        let limit = limit.map_or(String::new(), |w| format!(", limit {} W", printed(w)));
        format!("{name} {} {electrode}{limit}", before.valve)
    };
    let mut out = vec![Line {
        name: named("anode", before.anode_limit_watts),
        unit: "W",
        as_found: before.anode_watts,
        proposed: after.map(|v| v.anode_watts),
        over: [Some(before), after].map(|v| v.and_then(|v| v.anode_over_percent)),
    }];
    let screen = |v: &ValveSpread| v.screen_watts;
    if let Some(watts) = screen(before) {
        out.push(Line {
            name: named("screen", before.screen_limit_watts),
            unit: "W",
            as_found: watts,
            proposed: after.and_then(screen),
            over: [Some(before), after].map(|v| v.and_then(|v| v.screen_over_percent)),
        });
    }
    out
}

fn table(ui: &mut Ui, report: &SpreadReport) {
    let weak = crate::editor::theme::ink(ui.visuals()).weak;
    let both = report.proposed.is_some();
    ui.label(
        "Of each figure: what the amp of the file has, and between what nine in ten of those drawn \
         lie.",
    );
    wide(ui, "spread figures", |ui| {
        let mut titles = vec!["", "as found"];
        if both {
            titles.push("proposed");
        }
        titles.push("over the limit");
        for title in titles {
            ui.label(RichText::new(title).size(12.0).color(weak));
        }
        ui.end_row();
        for line in lines(report) {
            ui.label(&line.name);
            cell(ui, &line, "as found", Some(&line.as_found));
            if both {
                cell(ui, &line, "proposed", line.proposed.as_ref());
            }
            over(ui, &line, both);
            ui.end_row();
        }
    });
}

fn cell(ui: &mut Ui, line: &Line, side: &str, band: Option<&Band>) {
    let text = band.map_or("–".into(), |band| band_in_words(band, line.unit));
    let said = format!("{}, {side}: {text}", line.name);
    ui.label(&text)
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
}

/// How many amps are over; told in weight and in words, not in colour.
fn over(ui: &mut Ui, line: &Line, both: bool) {
    let [Some(was), is] = line.over else {
        ui.label("");
        return;
    };
    let text = match is.filter(|_| both) {
        Some(is) if of_a_hundred(is) != of_a_hundred(was) => {
            format!("{} → {}", of_a_hundred(was), of_a_hundred(is))
        }
        _ => of_a_hundred(was),
    };
    let worst = is.unwrap_or(was);
    let rich = match worst > 0.5 {
        true => RichText::new(format!("OVER: {text}")).strong().underline(),
        false => RichText::new(&text),
    };
    let said = format!("{}, over the limit: {text}", line.name);
    ui.label(rich)
        .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
}

/// "12.8 (10.6 to 15.1) W".
fn band_in_words(band: &Band, unit: &str) -> String {
    let (scale, unit) = match unit {
        "V" if band.p95 < 1.0 => (1e3, "mV"),
        unit => (1.0, unit),
    };
    let number = |x: f64| match unit {
        "dB" => fixed(x, 1),
        "W" if x.abs() >= 0.995 => fixed(x, 1),
        _ => significant(scale * x, 2),
    };
    format!(
        "{} ({} to {}) {unit}",
        number(band.nominal),
        number(band.p5),
        number(band.p95)
    )
}

/// "1,000".
fn thousands(number: usize) -> String {
    let digits = number.to_string();
    let mut out = String::new();
    for (place, digit) in digits.chars().enumerate() {
        if place > 0 && (digits.len() - place).is_multiple_of(3) {
            out.push(',');
        }
        out.push(digit);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_told_with_their_band() {
        assert_eq!(thousands(1000), "1,000");
        assert_eq!(thousands(999), "999");
        assert_eq!(thousands(1234567), "1,234,567");
        let band = Band::of(12.84, vec![10.0, 16.0]);
        assert_eq!(band_in_words(&band, "W"), "12.8 (10.3 to 15.7) W");
        let clean = Band::of(0.0314, vec![0.02, 0.04]);
        assert_eq!(band_in_words(&clean, "V"), "31 (21 to 39) mV");
        let none = Band::of(f64::NAN, vec![]);
        assert_eq!(band_in_words(&none, "dB"), "– (– to –) dB");
    }
}
