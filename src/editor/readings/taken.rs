//! Readings taken as what the amp has now: what was done, in words, and the way back.

use crate::advice::readings::AsFound;
use crate::editor::panel::PanelContext;
use egui::{Label, RichText, Ui};

/// What became of readings that were taken as found.
#[derive(Default)]
pub struct Taken {
    said: String,
    /// The circuit before and after, where its supplies were changed.
    texts: Option<[String; 2]>,
}

impl Taken {
    /// Takes them: what was proposed, when the amp was measured after the work (`left`), and the
    /// circuit `text` with other supplies, if there is one.
    pub fn take(
        next: &AsFound,
        text: Option<&str>,
        left: bool,
        context: &mut PanelContext,
    ) -> Taken {
        let mut said = Vec::new();
        let mut texts = None;
        if left {
            let changed = context.editing.changed_parts();
            context.editing.adopt(&changed);
            said.push("What was proposed is as found now.".to_owned());
        }
        said.extend(next.notes.iter().cloned());
        match text {
            None if next.notes.is_empty() => said.push(
                "None of these readings tells what a supply gives, so no supply was changed."
                    .into(),
            ),
            None => {}
            Some(text) => {
                let before = context.editing.edit.amp().text().to_owned();
                said.push(match load_circuit(text, context) {
                    Ok(()) => {
                        texts = Some([before, text.to_owned()]);
                        "The circuit on the bench has them now; its file was left as it is.".into()
                    }
                    Err(why) => why,
                });
            }
        }
        Taken {
            said: said.join(" "),
            texts,
        }
    }

    /// Shows what was done, and the button that takes the supplies back while that circuit is the
    /// one that is loaded.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        if self.said.is_empty() {
            return;
        }
        ui.add(Label::new(RichText::new(&self.said).strong()).wrap());
        let Some([before, after]) = &self.texts else {
            return;
        };
        if context.editing.edit.amp().text() != after {
            return;
        }
        let button = ui.button("Put the supplies back").on_hover_text(
            "The supplies as they were before these readings. Undo takes back what became as \
             found of the parts.",
        );
        if button.clicked() {
            let before = before.clone();
            *self = Taken {
                said: match load_circuit(&before, context) {
                    Ok(()) => "The supplies are as they were before the readings.".into(),
                    Err(why) => why,
                },
                texts: None,
            };
        }
    }
}

/// Loads a circuit with other supplies.
///
/// # Errors
/// In a sentence, why it did not go.
fn load_circuit(text: &str, context: &mut PanelContext) -> Result<(), String> {
    if let Err(why) = context.editing.edit.may_load() {
        return Err(format!("The supplies stay as they were. {why}"));
    }
    let path = context.editing.amp.path().map(std::path::Path::to_path_buf);
    let editing = &mut *context.editing;
    let loaded = context.files.load(
        text.as_bytes(),
        path.as_deref(),
        editing.edit,
        editing.state,
        context.view,
        editing.now,
    );
    match loaded {
        true => Ok(()),
        false => Err(
            "The circuit with these supplies could not be loaded; it plays on as it was.".into(),
        ),
    }
}
