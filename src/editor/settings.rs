//! The settings, in a window over the sheet: levels, quality, theme and size.

use super::edit::{Edit, Global};
use super::theme::heading;
use super::view::View;
use crate::units::peak_volts_from_dbu;
use egui::Ui;

/// Range of the input's full scale, dBu: from a consumer line input to a studio one.
const FULL_SCALE_DBU: std::ops::RangeInclusive<f64> = -20.0..=30.0;

/// Shows the window while it is open.
pub fn show(ui: &Ui, edit: &dyn Edit, view: &mut View, open: &mut bool) {
    egui::Window::new("Settings")
        .open(open)
        .collapsible(false)
        .resizable(false)
        .default_width(440.0)
        .anchor(egui::Align2::RIGHT_TOP, egui::vec2(-12.0, 40.0))
        .show(ui.ctx(), |ui| {
            let most = ui.ctx().content_rect().height() - 140.0;
            egui::ScrollArea::vertical()
                .max_height(most)
                .show(ui, |ui| content(ui, edit, view));
        });
}

fn content(ui: &mut Ui, edit: &dyn Edit, view: &mut View) {
    heading(ui, "LEVELS");
    let full_scale = edit.global(Global::InputFullScale);
    figure(
        ui,
        edit,
        Global::InputFullScale,
        "input full scale",
        FULL_SCALE_DBU,
        " dBu",
    );
    let peak = peak_volts_from_dbu(full_scale);
    ui.label(format!(
        "A full-scale sine at your interface's instrument input is {} V peak at the jack. The \
         interface's data sheet names it as \"maximum input level\" at the gain that you use; at \
         lowest gain instrument inputs usually take +8 to +15 dBu. With a wrong figure the amp \
         distorts too early or too late.",
        crate::text::digits::significant(peak, 2)
    ));
    figure(
        ui,
        edit,
        Global::OutputLevel,
        "output level",
        -40.0..=24.0,
        " dB",
    );
    ui.add_space(6.0);
    heading(ui, "QUALITY");
    choice(
        ui,
        edit,
        Global::Oversampling,
        "oversampling",
        &["automatic", "2 times", "4 times", "8 times"],
    );
    ui.add_space(6.0);
    heading(ui, "PART VALUES");
    choice(
        ui,
        edit,
        Global::Steps,
        "the host's parameters move through",
        &["every value", "preferred values"],
    );
    figure(
        ui,
        edit,
        Global::Glide,
        "a changed value glides for",
        1.0..=100.0,
        " ms",
    );
    ui.add_space(6.0);
    heading(ui, "WINDOW");
    ui.horizontal(|ui| {
        let label = ui.label("size of everything");
        let mut percent = 100.0 * view.zoom;
        egui::ComboBox::from_id_salt("zoom")
            .selected_text(format!("{percent:.0} %"))
            .show_ui(ui, |ui| {
                for choice in [100.0, 125.0, 150.0, 175.0, 200.0] {
                    ui.selectable_value(&mut percent, choice, format!("{choice} %"));
                }
            })
            .response
            .labelled_by(label.id);
        view.zoom = percent / 100.0;
    });
    ui.horizontal(|ui| {
        ui.label("theme");
        ui.radio_value(&mut view.dark, false, "light");
        ui.radio_value(&mut view.dark, true, "dark");
    });
}

fn figure(
    ui: &mut Ui,
    edit: &dyn Edit,
    global: Global,
    name: &str,
    range: std::ops::RangeInclusive<f64>,
    unit: &str,
) {
    ui.horizontal(|ui| {
        let label = ui.label(name);
        let mut value = edit.global(global);
        let field = egui::DragValue::new(&mut value)
            .range(range)
            .speed(0.1)
            .max_decimals(1)
            .suffix(unit.to_owned());
        if ui.add(field).labelled_by(label.id).changed() {
            edit.set_global(global, value);
        }
    });
}

fn choice(ui: &mut Ui, edit: &dyn Edit, global: Global, name: &str, names: &[&str]) {
    ui.horizontal(|ui| {
        let label = ui.label(name);
        let now = (edit.global(global).max(0.0).round() as usize).min(names.len() - 1);
        egui::ComboBox::from_id_salt(name)
            .selected_text(names[now])
            .show_ui(ui, |ui| {
                for (index, text) in names.iter().enumerate() {
                    if ui.selectable_label(now == index, *text).clicked() {
                        edit.set_global(global, index as f64);
                    }
                }
            })
            .response
            .labelled_by(label.id);
    });
}
