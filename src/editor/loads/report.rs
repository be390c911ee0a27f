//! What the ways of connecting loudspeakers do, as a table with a row for each, and everything about
//! the row that is chosen.

use crate::analysis::load::{Driven, LoadCase, LoadReport, LoudspeakerLoad, Nominal, Way};
use crate::circuit::RIGHT_RATIO;
use crate::editor::theme::{heading, ink};
use crate::editor::widgets::{dimmed, sentence, wide};
use crate::text::digits::{percent, printed, significant, volts};
use egui::{Button, RichText, Ui};

/// Widest name of a row before it goes on in the next line, points.
const NAME_WIDTH: f32 = 136.0;

/// A figure of the table: its text, and whether it is over a limit.
struct Figure {
    text: String,
    over: bool,
}

impl Figure {
    fn plain(text: String) -> Figure {
        Figure { text, over: false }
    }

    /// Watts against a limit in per cent.
    fn watts(watts: f64, share: Option<f64>) -> Figure {
        let watts = significant(watts, 2);
        Figure {
            text: share.map_or_else(
                || format!("{watts} W"),
                |share| format!("{watts} W, {}", percent(share)),
            ),
            over: share.is_some_and(|share| share > 100.0),
        }
    }

    /// What is shown; over a limit in weight, with a line under it and in words.
    fn rich(&self) -> RichText {
        match self.over {
            true => RichText::new(format!("{}, OVER", self.text))
                .strong()
                .underline(),
            false => RichText::new(&self.text),
        }
    }

    fn said(&self) -> String {
        let over = if self.over { ", over the limit" } else { "" };
        format!("{}{over}", self.text)
    }
}

/// The title of what the valves see; below it stands what they are meant to see.
const SEEN: &str = "valves see";

/// Titles and what they mean, in two lines, since all of them are to be seen at once. What an owner
/// decides by comes first, since a narrow column shows no more of it.
const COLUMNS: [(&str, &str); 8] = [
    ("plugged in", "What is plugged into the amp."),
    (
        "ohms\non the tap",
        "Rated impedance of all that is plugged in, and of the tap that it hangs on.",
    ),
    (
        SEEN,
        "The load that the transformer shows the output valves, by rated impedances, beside what \
         it is meant to show them.",
    ),
    (
        "screen,\ndriven hard",
        "The output valve whose screen gets hottest, 12 dB beyond full output, against its limit.",
    ),
    (
        "anode,\ndriven hard",
        "The output valve whose anode gets hottest, 12 dB beyond full output, against its limit.",
    ),
    (
        "loudspeaker\ngets",
        "The most that one of them gets when the amp is driven hard, and what it is rated for.",
    ),
    (
        "clean",
        "Power into all loudspeakers at 5 % distortion, a tone of 1 kHz.",
    ),
    (
        "damping",
        "How firmly the amp holds the cone: below 1 loosely, so that the loudspeaker's own \
         resonance and treble come out; the higher, the firmer.",
    ),
];

/// The figures of a row, in the order of the columns but for the first.
fn figures(case: &LoadCase) -> [Figure; 7] {
    let nominal = case.nominal.as_ref();
    let dash = || Figure::plain("–".into());
    let known = |text: Option<String>| text.map_or_else(dash, Figure::plain);
    let connected = !case.loudspeakers.is_empty();
    let hottest = case.loudspeakers.iter();
    let hottest = hottest.max_by(|a, b| a.percent().total_cmp(&b.percent()));
    let hard = &case.hard;
    [
        known(nominal.map(|n| format!("{} on {} Ω", printed(n.ohms), printed(n.meant_ohms)))),
        nominal.map_or_else(|| Figure::plain("no load".into()), |n| known(Some(seen(n)))),
        hard.screen_watts
            .map_or_else(dash, |watts| Figure::watts(watts, hard.screen_percent)),
        Figure::watts(hard.anode_watts, hard.anode_percent),
        hottest.map_or_else(dash, gets),
        known(connected.then(|| format!("{} W", significant(case.clean_watts, 2)))),
        known(case.damping.map(|damping| significant(damping, 2))),
    ]
}

/// "4 kΩ, too low".
fn seen(nominal: &Nominal) -> String {
    let seen = printed(nominal.primary_ohms / 1000.0);
    let word = match nominal.ratio {
        ratio if ratio > RIGHT_RATIO => ", too high",
        ratio if ratio < 1.0 / RIGHT_RATIO => ", too low",
        _ => "",
    };
    format!("{seen} kΩ{word}")
}

fn gets(load: &LoudspeakerLoad) -> Figure {
    let [most, rated] = [significant(load.most_watts(), 2), printed(load.rated_watts)];
    Figure {
        text: format!("{most} of {rated} W"),
        over: load.percent() > 100.0,
    }
}

/// "Tin Ten + Anvil Twelve".
pub fn plugged_in(case: &LoadCase) -> String {
    let names: Vec<&str> = case.loudspeakers.iter().map(|l| l.name.as_str()).collect();
    names.join(" + ")
}

/// What a way is called; the first with what is plugged in.
fn name(case: &LoadCase) -> String {
    match case.way {
        Way::AsItIs if !case.loudspeakers.is_empty() => {
            format!("{}: {}", case.name, plugged_in(case))
        }
        _ => case.name.clone(),
    }
}

/// The rows in order: as it is; what is over a limit, the worst first; the others as reported.
fn in_order(report: &LoadReport) -> Vec<&LoadCase> {
    let mut cases: Vec<&LoadCase> = report.cases.iter().collect();
    let key = |case: &&LoadCase| match case.most_percent() {
        _ if case.way == Way::AsItIs => f64::NEG_INFINITY,
        over if over > 100.0 => -over,
        _ => 0.0,
    };
    cases.sort_by(|a, b| key(a).total_cmp(&key(b)));
    cases
}

/// "meant 8 kΩ": the transformer is the same in every row.
fn meant(report: &LoadReport) -> String {
    let nominal = report.cases.iter().find_map(|case| case.nominal.as_ref());
    nominal.map_or_else(String::new, |n| {
        format!("meant {} kΩ", printed(n.meant_primary_ohms / 1000.0))
    })
}

/// Shows the table. The way whose row was clicked.
pub fn table(ui: &mut Ui, report: &LoadReport, chosen: &Way, now: Option<&Way>) -> Option<Way> {
    let weak = ink(ui.visuals()).weak;
    let mut clicked = None;
    wide(ui, "loudspeakers table", |ui| {
        for (title, about) in COLUMNS {
            let title = match title {
                SEEN => format!("{title},\n{}", meant(report)),
                title => title.into(),
            };
            ui.label(RichText::new(title).size(12.0).color(weak))
                .on_hover_text(about);
        }
        ui.end_row();
        for case in in_order(report) {
            let figures = figures(case);
            let here = now == Some(&case.way) && case.way != Way::AsItIs;
            let mut name = name(case);
            if here {
                name.push_str(" ● proposed");
            }
            let told = COLUMNS[1..].iter().zip(&figures);
            let told: Vec<String> = told
                .map(|((title, _), figure)| {
                    format!("{} {}", title.replace('\n', " "), figure.said())
                })
                .collect();
            let said = format!("{name}: {}", told.join("; "));
            let on = case.way == *chosen;
            let row = ui.scope(|ui| {
                ui.set_max_width(NAME_WIDTH);
                ui.add(Button::selectable(on, &name).wrap())
            });
            row.inner.widget_info(|| {
                egui::WidgetInfo::selected(egui::Role::Button, true, on, said.clone())
            });
            if row.inner.clicked() {
                clicked = Some(case.way.clone());
            }
            for figure in &figures {
                ui.label(figure.rich());
            }
            ui.end_row();
        }
    });
    clicked
}

/// Everything about one way; `propose` shows what can be done about it.
pub fn details(ui: &mut Ui, case: &LoadCase, stale: bool, propose: impl FnOnce(&mut Ui)) {
    heading(ui, &name(case).to_uppercase());
    propose(ui);
    dimmed(ui, stale, |ui| {
        if case.sentences.is_empty() {
            sentence(
                ui,
                "The load is what the transformer is meant for, and nothing is over a limit that is known.",
            );
        }
        for line in &case.sentences {
            sentence(ui, line);
        }
        ui.add_space(4.0);
        both_tones(ui, case);
        loudspeakers(ui, case);
    });
}

/// The output valves on either tone.
fn both_tones(ui: &mut Ui, case: &LoadCase) {
    let weak = ink(ui.visuals()).weak;
    let row = |ui: &mut Ui, what: &str, of: &dyn Fn(&Driven) -> Figure| {
        ui.label(what);
        for (driven, when) in [(&case.clean, "at clean power"), (&case.hard, "driven hard")] {
            let figure = of(driven);
            let said = format!("{what}, {when}: {}", figure.said());
            ui.label(figure.rich())
                .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
        }
        ui.end_row();
    };
    wide(ui, "loudspeakers tones", |ui| {
        for title in [
            "output valves, the hottest",
            "at clean power",
            "driven hard",
        ] {
            ui.label(RichText::new(title).size(12.0).color(weak));
        }
        ui.end_row();
        row(ui, "guitar at the jack", &|driven| {
            Figure::plain(format!("{} mV", significant(1e3 * driven.input_volts, 2)))
        });
        row(ui, "anode", &|driven| {
            Figure::watts(driven.anode_watts, driven.anode_percent)
        });
        if case.hard.screen_watts.is_some() {
            row(ui, "screen", &|driven| {
                Figure::watts(driven.screen_watts.unwrap_or(0.0), driven.screen_percent)
            });
        }
        row(ui, "most current of a cathode", &|driven| {
            Figure::plain(format!("{} mA", significant(1e3 * driven.peak_amps, 2)))
        });
        row(ui, "voltage of the anodes", &|driven| {
            let [low, high] = [driven.anode_low_volts, driven.anode_high_volts].map(volts);
            Figure::plain(format!("{low} to {high} V"))
        });
    });
}

/// What each loudspeaker gets.
fn loudspeakers(ui: &mut Ui, case: &LoadCase) {
    if case.loudspeakers.is_empty() {
        return;
    }
    let weak = ink(ui.visuals()).weak;
    ui.add_space(4.0);
    wide(ui, "loudspeakers shares", |ui| {
        for title in ["loudspeaker", "rated", "at clean power", "driven hard"] {
            ui.label(RichText::new(title).size(12.0).color(weak));
        }
        ui.end_row();
        for load in &case.loudspeakers {
            let who = format!("{} {}", load.designator, load.name);
            ui.label(&who);
            let rated = [printed(load.rated_ohms), printed(load.rated_watts)];
            ui.label(format!("{} Ω, {} W", rated[0], rated[1]));
            let tones = [
                (Some(load.clean_watts), "at clean power"),
                (load.hard_watts, "driven hard"),
            ];
            for (watts, when) in tones {
                let figure = Figure {
                    text: watts.map_or("–".into(), |w| format!("{} W", significant(w, 2))),
                    over: watts.is_some_and(|w| w > load.rated_watts),
                };
                let said = format!("{who}, {when}: {}", figure.said());
                ui.label(figure.rich())
                    .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
            }
            ui.end_row();
        }
    });
}
