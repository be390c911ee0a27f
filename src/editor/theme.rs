//! The look: ink on paper or paper on ink, two colours that colour-blind people tell apart, and
//! the strokes that tell as found from proposed without any colour.

use egui::{Color32, CornerRadius, Stroke, Style, Visuals};

/// Colours of one theme.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ink {
    /// Text and frames.
    pub ink: Color32,
    /// Text of lesser weight; still at least 7 to 1 against the paper.
    pub weak: Color32,
    /// Hairlines.
    pub line: Color32,
    /// Background.
    pub paper: Color32,
    /// Background of a field that can be edited.
    pub field: Color32,
    /// Background of a row that is chosen.
    pub chosen: Color32,
    /// Background of a row that is changed.
    pub changed: Color32,
    /// As found: always a thin, dashed line.
    pub as_found: Color32,
    /// Proposed: always a thick, solid line.
    pub proposed: Color32,
    /// The area between them.
    pub difference: Color32,
    /// The spectrum of what plays, behind the curves.
    pub heard: Color32,
    /// The range of a guitar's fundamentals.
    pub guitar: Color32,
}

/// Width of an as-found line, points.
pub const THIN: f32 = 1.5;
/// Width of a proposed line, points.
pub const THICK: f32 = 3.0;
/// Length of a dash, points.
pub const DASH: f32 = 7.0;

/// Vermilion and blue stay apart for every common kind of colour blindness (common practice, no
/// source); the tones are darkened or lightened here for contrast with the paper.
const LIGHT: Ink = Ink {
    ink: Color32::from_rgb(16, 16, 16),
    weak: Color32::from_rgb(74, 74, 74),
    line: Color32::from_rgb(168, 168, 164),
    paper: Color32::from_rgb(247, 247, 244),
    field: Color32::from_rgb(255, 255, 255),
    chosen: Color32::from_rgb(206, 220, 232),
    changed: Color32::from_rgb(228, 236, 242),
    as_found: Color32::from_rgb(168, 64, 0),
    proposed: Color32::from_rgb(0, 84, 150),
    difference: Color32::from_rgb(190, 200, 210),
    heard: Color32::from_rgb(216, 216, 210),
    guitar: Color32::from_rgb(238, 236, 224),
};

const DARK: Ink = Ink {
    ink: Color32::from_rgb(240, 240, 236),
    weak: Color32::from_rgb(184, 184, 180),
    line: Color32::from_rgb(92, 92, 92),
    paper: Color32::from_rgb(22, 22, 24),
    field: Color32::from_rgb(36, 36, 40),
    chosen: Color32::from_rgb(44, 64, 82),
    changed: Color32::from_rgb(34, 44, 54),
    as_found: Color32::from_rgb(242, 164, 72),
    proposed: Color32::from_rgb(116, 190, 246),
    difference: Color32::from_rgb(66, 80, 94),
    heard: Color32::from_rgb(50, 50, 48),
    guitar: Color32::from_rgb(32, 32, 30),
};

/// The colours of the theme in use.
pub fn ink(visuals: &Visuals) -> Ink {
    if visuals.dark_mode { DARK } else { LIGHT }
}

/// Gives a context the fonts; once.
pub fn fonts(context: &egui::Context) {
    let mut fonts = egui::FontDefinitions::default();
    // Arrows and the like stand in the monospace face only.
    let mono = fonts.families.get(&egui::FontFamily::Monospace).cloned();
    let plain = fonts
        .families
        .entry(egui::FontFamily::Proportional)
        .or_default();
    for name in mono.unwrap_or_default() {
        if !plain.contains(&name) {
            plain.push(name);
        }
    }
    context.set_fonts(fonts);
}

/// Gives the whole context our look in one theme.
pub fn dress(context: &egui::Context, dark: bool) {
    let theme = if dark {
        egui::Theme::Dark
    } else {
        egui::Theme::Light
    };
    context.set_theme(theme);
    for theme in [egui::Theme::Dark, egui::Theme::Light] {
        context.style_mut_of(theme, |style| style_of(style, theme == egui::Theme::Dark));
    }
}

fn style_of(style: &mut Style, dark: bool) {
    let ink = if dark { DARK } else { LIGHT };
    let mut visuals = if dark {
        Visuals::dark()
    } else {
        Visuals::light()
    };
    visuals.panel_fill = ink.paper;
    visuals.window_fill = ink.paper;
    visuals.window_stroke = Stroke::new(1.0, ink.ink);
    visuals.window_shadow = egui::Shadow::NONE;
    visuals.popup_shadow = egui::Shadow::NONE;
    visuals.window_corner_radius = CornerRadius::ZERO;
    visuals.menu_corner_radius = CornerRadius::ZERO;
    visuals.extreme_bg_color = ink.field;
    visuals.text_edit_bg_color = Some(ink.field);
    visuals.faint_bg_color = ink.changed;
    visuals.weak_text_color = Some(ink.weak);
    visuals.warn_fg_color = ink.ink;
    visuals.error_fg_color = ink.ink;
    visuals.hyperlink_color = ink.proposed;
    visuals.selection.bg_fill = ink.chosen;
    visuals.selection.stroke = Stroke::new(1.5, ink.ink);
    let states = &mut visuals.widgets;
    for (state, fill, frame) in [
        (&mut states.noninteractive, ink.paper, ink.line),
        (&mut states.inactive, ink.field, ink.weak),
        (&mut states.hovered, ink.chosen, ink.ink),
        (&mut states.active, ink.chosen, ink.ink),
        (&mut states.open, ink.chosen, ink.ink),
    ] {
        state.bg_fill = fill;
        state.weak_bg_fill = fill;
        state.bg_stroke = Stroke::new(1.0, frame);
        state.fg_stroke = Stroke::new(1.5, ink.ink);
        state.corner_radius = CornerRadius::same(2);
        state.expansion = 0.0;
    }
    states.active.bg_stroke = Stroke::new(2.0, ink.ink);
    style.visuals = visuals;
    style.spacing.item_spacing = egui::vec2(8.0, 4.0);
    style.spacing.button_padding = egui::vec2(6.0, 2.0);
    style.spacing.interact_size.y = 20.0;
    style.spacing.scroll = egui::style::ScrollStyle::solid();
    style.spacing.scroll.foreground_color = true;
    style.spacing.scroll.bar_width = 6.0;
    style.animation_time = 0.0;
}

/// A button that stays down.
pub fn toggle(ui: &mut egui::Ui, on: &mut bool, text: &str) -> egui::Response {
    let response = ui.add(egui::Button::selectable(*on, text).frame_when_inactive(true));
    if response.clicked() {
        *on = !*on;
    }
    let down = *on;
    response.widget_info(|| egui::WidgetInfo::selected(egui::Role::Button, true, down, text));
    response
}

/// A heading in capitals, as on a drawing's title block.
pub fn heading(ui: &mut egui::Ui, text: &str) -> egui::Response {
    ui.add(egui::Label::new(egui::RichText::new(text).strong().size(12.0)).selectable(false))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Relative luminance of sRGB (WCAG 2.1, definition of relative luminance; from memory).
    fn luminance(colour: Color32) -> f64 {
        let linear = |byte: u8| {
            let c = f64::from(byte) / 255.0;
            if c <= 0.04045 {
                c / 12.92
            } else {
                ((c + 0.055) / 1.055).powf(2.4)
            }
        };
        0.2126 * linear(colour.r()) + 0.7152 * linear(colour.g()) + 0.0722 * linear(colour.b())
    }

    fn contrast(a: Color32, b: Color32) -> f64 {
        let (a, b) = (luminance(a), luminance(b));
        (a.max(b) + 0.05) / (a.min(b) + 0.05)
    }

    #[test]
    fn text_stands_out_from_every_background() {
        for ink in [LIGHT, DARK] {
            for ground in [ink.paper, ink.field, ink.chosen, ink.changed] {
                // 4.5 to 1 is what WCAG 2.1 asks for of text at level AA, 7 to 1 at AAA.
                assert!(contrast(ink.ink, ground) >= 7.0);
                assert!(contrast(ink.weak, ground) >= 4.5);
            }
            for curve in [ink.as_found, ink.proposed] {
                for ground in [ink.paper, ink.guitar, ink.heard, ink.difference] {
                    // 3 to 1 is what it asks for of lines.
                    assert!(contrast(curve, ground) >= 3.0, "{curve:?} {ground:?}");
                }
            }
        }
    }
}
