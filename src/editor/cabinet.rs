//! What the amps are heard through: loudspeaker, line, or an impulse response of the owner's own.

use super::edit::{Edit, Global};
use super::file_thread::{Order, Want};
use super::files::Files;
use super::theme::heading;
use crate::analysis::listening::{self, loudspeaker_of};
use crate::circuit::Circuit;
use crate::solve::solved::SolvedCircuit;
use crate::sound::impulse::Impulse;
use crate::text::digits::significant;
use egui::{Button, Key, TextEdit, Ui};
use std::path::PathBuf;
use std::sync::Arc;

/// The ways by their number, with what they are.
const WAYS: [(&str, &str); 3] = [
    (
        "loudspeaker",
        "What each amp's loudspeaker radiates, as a microphone hears it.",
    ),
    (
        "line",
        "The voltage at the output, without a loudspeaker's tone.",
    ),
    (
        "impulse response",
        "A recording of a cabinet or a room of your own, from a WAV file.",
    ),
];

/// What the curve and a match take the output to be heard through.
#[derive(Clone, Debug, Default)]
pub enum Through {
    /// Each circuit's own loudspeaker.
    #[default]
    Loudspeaker,
    /// Nothing: the voltage itself.
    Line,
    /// An impulse response.
    Impulse(Arc<Impulse>),
}

impl Through {
    /// What is chosen now; the loudspeaker as long as no impulse response is there.
    pub fn now(edit: &dyn Edit) -> Through {
        match edit.global(Global::Cabinet).round() as usize {
            IMPULSE => edit
                .impulse()
                .map_or_else(Through::default, Through::Impulse),
            1 => Through::Line,
            _ => Through::Loudspeaker,
        }
    }

    /// Whether it is the same.
    pub fn same(&self, other: &Through) -> bool {
        match (self, other) {
            (Through::Impulse(a), Through::Impulse(b)) => Arc::ptr_eq(a, b),
            (Through::Loudspeaker, Through::Loudspeaker) | (Through::Line, Through::Line) => true,
            _ => false,
        }
    }

    /// Its level at frequencies in hertz, dB.
    pub fn levels(&self, side: &SolvedCircuit, hz: &[f64]) -> Vec<f64> {
        let gain = |&hz: &f64| match self {
            Through::Loudspeaker => listening::loudspeaker(side, hz),
            Through::Line => listening::line(side, hz),
            Through::Impulse(impulse) => impulse.at(hz),
        };
        let levels = hz.iter().map(gain);
        levels.map(|gain| 20.0 * gain.norm().log10()).collect()
    }

    /// Its name after "through"; none for the line, and for a loudspeaker where there is none.
    pub fn name(&self, circuit: &Circuit) -> Option<String> {
        match self {
            Through::Loudspeaker => Some(loudspeaker_of(circuit)?.name.clone()),
            Through::Line => None,
            Through::Impulse(impulse) => Some(impulse.name().to_owned()),
        }
    }
}

/// Number of the impulse response among the ways.
pub const IMPULSE: usize = 2;

/// Shows the choice; below it the file, where an impulse response is chosen.
pub fn show(ui: &mut Ui, edit: &dyn Edit, files: &mut Files) {
    let now = edit.global(Global::Cabinet).round() as usize;
    ui.horizontal_wrapped(|ui| {
        heading(ui, "HEARD THROUGH");
        for (index, (name, about)) in WAYS.iter().enumerate() {
            let response = ui.radio(now == index, *name).on_hover_text(*about);
            let response = response.accessible_name(format!("heard through: {name}"));
            if response.clicked() {
                edit.set_global(Global::Cabinet, index as f64);
            }
        }
        if now == IMPULSE {
            file(ui, edit, files);
        }
    });
}

/// The impulse response that is there, and the way to another one.
fn file(ui: &mut Ui, edit: &dyn Edit, files: &mut Files) {
    match edit.impulse() {
        Some(impulse) => {
            let milliseconds = significant(1e3 * impulse.seconds(), 2);
            ui.label(format!("{}, {milliseconds} ms", impulse.name()));
            if ui
                .button("Take away")
                .on_hover_text("Forgets this impulse response; the loudspeaker is heard.")
                .clicked()
            {
                edit.set_impulse(None);
                files.impulse_told.clear();
            }
        }
        None => {
            ui.label("none yet: the loudspeaker is heard");
        }
    }
    let label = ui.label("its WAV file");
    let field = TextEdit::singleline(&mut files.impulse_path)
        .id(egui::Id::unique("impulse response"))
        .desired_width(150.0)
        .hint_text("path of an impulse response");
    let response = ui.add(field).labelled_by(label.id);
    let enter = response.lost_focus() && ui.input(|i| i.key_pressed(Key::Enter));
    let any = !files.impulse_path.trim().is_empty();
    let open = ui.add_enabled(any, Button::new("Open impulse response"));
    if any && (open.clicked() || enter) {
        let path = PathBuf::from(files.impulse_path.trim());
        files.thread.order(Order::OpenImpulse(path));
    }
    if ui.button("Choose an impulse response…").clicked() {
        files.thread.pick(Want::Impulse);
    }
    if !files.impulse_told.is_empty() {
        ui.strong(&files.impulse_told);
    }
}
