//! The settings, in a window over the sheet: levels, quality, theme and size.

use super::edit::{Edit, PluginSetting};
use super::files::state::Files;
use super::guitar;
use super::theme::heading;
use super::view::View;
use crate::live::settings::{Section, SettingKind};
use crate::units::peak_volts_from_dbu;
use egui::Ui;

/// Shows the window while it is open.
pub fn show(ui: &Ui, edit: &dyn Edit, files: Option<&mut Files>, view: &mut View, open: &mut bool) {
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
                .show(ui, |ui| content(ui, edit, files, view));
        });
}

fn content(ui: &mut Ui, edit: &dyn Edit, mut files: Option<&mut Files>, view: &mut View) {
    for (section, name) in [
        (Section::Levels, "LEVELS"),
        (Section::Quality, "QUALITY"),
        (Section::PartValues, "PART VALUES"),
    ] {
        heading(ui, name);
        for &setting in PluginSetting::ALL {
            if let Some((place, label)) = setting.row().shown
                && place == section
            {
                control(ui, edit, setting, label);
                if setting == PluginSetting::Guitar
                    && let Some(files) = files.as_deref_mut()
                {
                    guitar::show(ui, edit, files);
                }
            }
        }
        ui.add_space(6.0);
    }
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

/// The control of a setting, and what there is to say about it.
fn control(ui: &mut Ui, edit: &dyn Edit, setting: PluginSetting, label: &str) {
    match setting.row().kind {
        SettingKind::Choice { names, .. } => choice(ui, edit, setting, label, names),
        SettingKind::Figure { range, unit, .. } => figure(ui, edit, setting, label, range, unit),
        SettingKind::Toggle { .. } | SettingKind::Bypass => flag(ui, edit, setting, label),
        SettingKind::Counter { .. } => {}
    }
    if setting == PluginSetting::InputFullScale {
        let peak = peak_volts_from_dbu(edit.setting(setting));
        ui.label(format!(
            "A full-scale sine at your interface's instrument input is {} V peak at the jack. The \
             interface's data sheet names it as \"maximum input level\" at the gain that you use; at \
             lowest gain instrument inputs usually take +8 to +15 dBu. With a wrong figure the amp \
             distorts too early or too late.",
            crate::text::digits::significant(peak, 2)
        ));
    }
    if setting == PluginSetting::Guitar {
        ui.label(
            "A guitar's pickup, pots and lead work with the amp's input. The track that comes in counts \
             as recorded through an instrument input of 1 MΩ with that guitar. None is for a pedal \
             with a buffer; \"own file\" is a guitar file of yours, which the project keeps.",
        );
    }
    if setting == PluginSetting::Boost {
        ui.label(
            "A pedal in front that lifts the level. It stands between guitar and amp: with it the \
             guitar no longer drives the jack. Headroom and verdict say whether the amp stays clean.",
        );
    }
}

fn figure(
    ui: &mut Ui,
    edit: &dyn Edit,
    setting: PluginSetting,
    label: &str,
    (least, most): (f32, f32),
    unit: &'static str,
) {
    ui.horizontal(|ui| {
        let label = ui.label(label);
        let mut value = edit.setting(setting);
        let field = egui::DragValue::new(&mut value)
            .range(f64::from(least)..=f64::from(most))
            .speed(0.1)
            .max_decimals(1)
            // What lies outside is not taken for the end of the range.
            .custom_parser(move |text| {
                let number: f64 = text.trim().trim_end_matches(unit).trim().parse().ok()?;
                let range = f64::from(least)..=f64::from(most);
                range.contains(&number).then_some(number)
            })
            .suffix(format!(" {unit}"));
        let range = format!("From {least} to {most} {unit}.");
        let response = ui.add(field).labelled_by(label.id).on_hover_text(range);
        if response.changed() {
            edit.set_setting(setting, value);
        }
    });
}

fn flag(ui: &mut Ui, edit: &dyn Edit, setting: PluginSetting, label: &str) {
    let mut on = edit.setting(setting) > 0.5;
    if ui.checkbox(&mut on, label).changed() {
        edit.set_setting(setting, f64::from(u8::from(on)));
    }
}

fn choice(ui: &mut Ui, edit: &dyn Edit, setting: PluginSetting, label: &str, names: &[&str]) {
    ui.horizontal(|ui| {
        let name = ui.label(label);
        let now = (edit.setting(setting).max(0.0).round() as usize).min(names.len() - 1);
        egui::ComboBox::from_id_salt(label)
            .selected_text(names[now].to_lowercase())
            .show_ui(ui, |ui| {
                for (index, text) in names.iter().enumerate() {
                    let text = text.to_lowercase();
                    if ui.selectable_label(now == index, text).clicked() {
                        edit.set_setting(setting, index as f64);
                    }
                }
            })
            .response
            .labelled_by(name.id);
    });
}
