//! What a match found: the parts, what is left over, what no part explains, and the next best.

use crate::circuit::Proposal;
use crate::editor::theme::{heading, ink};
use crate::editor::widgets::sentence;
use crate::editor::widgets::wide;
use crate::recording::fit::{BandResidual, Certainty, FitReport, Residual};
use crate::text::digits::{fixed, hertz, signed_db};
use egui::{Label, RichText, Ui};

/// Shows it; the proposal that the user takes over, if he does. `said` is what the panel says of the
/// recording already.
pub fn show(ui: &mut Ui, found: &FitReport, said: &[String]) -> Option<Proposal> {
    let mut take = None;
    parts(ui, found);
    ui.horizontal_wrapped(|ui| {
        let any = !found.proposal.is_empty();
        if ui
            .add_enabled(any, egui::Button::new("Propose these values"))
            .on_hover_text("Puts them beside the values as found, to be heard and judged.")
            .clicked()
        {
            take = Some(found.proposal.clone());
        }
    });
    for part in &found.parts {
        sentence(ui, &part.sentence);
    }
    for trade in &found.trades {
        sentence(ui, &trade.sentence);
    }
    ui.add_space(4.0);
    heading(ui, "WHAT IS LEFT OVER");
    left(ui, found);
    sentence(ui, &found.unexplained);
    for note in found.notes.iter().filter(|note| !said.contains(note)) {
        sentence(ui, note);
    }
    for line in &found.left_out {
        sentence(ui, line);
    }
    if !found.alternatives.is_empty() {
        ui.add_space(4.0);
        heading(ui, "NEARLY AS GOOD");
        if let Some(proposal) = alternatives(ui, found) {
            take = Some(proposal);
        }
    }
    ui.collapsing("By third-octave bands", |ui| bands(ui, &found.bands));
    take
}

fn parts(ui: &mut Ui, found: &FitReport) {
    heading(ui, "THE PARTS");
    let weak = ink(ui.visuals()).weak;
    wide(ui, "match parts", |ui| {
        for title in [
            "part",
            "as found",
            "fits best",
            "take",
            "the recording tells it",
        ] {
            ui.label(RichText::new(title).size(12.0).color(weak));
        }
        ui.end_row();
        for part in &found.parts {
            let [as_found, fitted, rounded] = &part.shown;
            ui.strong(&part.name).on_hover_text(&part.role);
            ui.label(as_found);
            ui.label(fitted);
            let told = part.certainty.in_words();
            let said = format!(
                "{}: as found {as_found}, fits best {fitted}, take {rounded}, told {told}",
                part.name
            );
            let taken = match part.certainty {
                Certainty::Nothing => RichText::new(rounded),
                _ => RichText::new(rounded).strong(),
            };
            ui.label(taken)
                .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
            ui.label(told);
            ui.end_row();
        }
    });
}

fn left(ui: &mut Ui, found: &FitReport) {
    let weak = ink(ui.visuals()).weak;
    let rows: [(&str, Option<Residual>); 4] = [
        ("as found", Some(found.as_found)),
        ("values that fit best", Some(found.fitted)),
        ("parts that exist", found.rounded),
        ("each part rounded by itself", found.each_alone),
    ];
    wide(ui, "match left over", |ui| {
        let beyond = "beyond loudspeaker and room";
        for title in ["", "dB r.m.s.", beyond] {
            ui.label(RichText::new(title).size(12.0).color(weak));
        }
        ui.end_row();
        for (name, left) in rows {
            let Some(left) = left else { continue };
            ui.label(name);
            let (all, beyond) = (fixed(left.db, 2), fixed(left.beyond_colour_db, 2));
            let said =
                format!("{name}: {all} dB left over, {beyond} dB beyond loudspeaker and room");
            ui.label(all)
                .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Label, true, &said));
            ui.label(beyond);
            ui.end_row();
        }
        ui.label("chance, at half of the frequencies");
        ui.label(fixed(found.noise_db, 2));
        ui.end_row();
    });
}

fn alternatives(ui: &mut Ui, found: &FitReport) -> Option<Proposal> {
    let mut take = None;
    for (index, other) in found.alternatives.iter().enumerate() {
        ui.horizontal_wrapped(|ui| {
            let differs: Vec<String> = other
                .differs
                .iter()
                .map(|[name, value]| format!("{name} {value}"))
                .collect();
            let button = ui.button("Propose this");
            let name = format!("Propose alternative {}", index + 1);
            button
                .widget_info(|| egui::WidgetInfo::labeled(egui::Role::Button, true, name.clone()));
            if button.clicked() {
                take = Some(other.proposal.clone());
            }
            ui.label(format!(
                "{}: {} dB left over, {} times less likely.",
                differs.join(", "),
                fixed(other.residual.db, 2),
                fixed(other.times_less_likely, 1)
            ));
        });
    }
    take
}

fn bands(ui: &mut Ui, bands: &[BandResidual]) {
    let weak = ink(ui.visuals()).weak;
    ui.add(
        Label::new(
            "Recording less amp in each band, dB, the level being free; and how much of it no part \
             explains.",
        )
        .wrap(),
    );
    wide(ui, "match bands", |ui| {
        for title in [
            "band",
            "as found",
            "fits best",
            "parts that exist",
            "no part",
        ] {
            ui.label(RichText::new(title).size(12.0).color(weak));
        }
        ui.end_row();
        for band in bands {
            ui.label(hertz(band.hz));
            ui.label(signed_db(band.as_found_db));
            ui.label(signed_db(band.fitted_db));
            ui.label(band.rounded_db.map_or("–".into(), signed_db));
            ui.label(format!(
                "{} ± {}",
                signed_db(band.unexplained_db),
                fixed(band.unexplained_deviation_db, 1)
            ));
            ui.end_row();
        }
    });
}
