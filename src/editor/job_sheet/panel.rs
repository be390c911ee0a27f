//! The job sheet over the right column: what it will say in short, where it goes, and the button
//! that makes and writes it.

use super::order::Wanted;
use crate::advice::job::{Item, Job};
use crate::advice::safety::JOB_CAUTIONS;
use crate::advice::verdict::Cache;
use crate::editor::analyses::background::Repaint;
use crate::editor::analyses::reports::Request;
use crate::editor::files::prices;
use crate::editor::files::state::Files;
use crate::editor::files::thread::{Order as FileOrder, Want, Written};
use crate::editor::panel::{LatestResult, PanelContext, TaskResult};
use crate::editor::theme::heading;
use crate::editor::view::Over;
use crate::editor::widgets::{dimmed, head, scrolled};
use crate::requests::sheet::Sheet;
use crate::requests::verdict::in_words;
use crate::text::digits::{fixed, printed};
use egui::{Button, Label, RichText, TextEdit, Ui};
use std::path::PathBuf;
use std::sync::Arc;

/// What the panel remembers.
pub struct SheetPanel {
    /// What the sheet says in short; made anew whenever the values have moved.
    short: LatestResult<Job>,
    /// What it was made with beside the numbers.
    short_of: Option<Wanted>,
    sheet: LatestResult<Sheet>,
    /// Likewise.
    sheet_of: Option<Wanted>,
    /// Where the sheet goes that is being made, and whether a file there may be replaced.
    goes_to: Option<(PathBuf, bool)>,
    /// A file that is there already.
    exists: Option<PathBuf>,
    /// What became of the last sheet, in a sentence.
    message: String,
}

impl SheetPanel {
    /// Nothing is made yet.
    pub fn new(repaint: &Repaint) -> Self {
        SheetPanel {
            short: LatestResult::new(repaint),
            short_of: None,
            sheet: LatestResult::new(repaint),
            sheet_of: None,
            goes_to: None,
            exists: None,
            message: String::new(),
        }
    }

    /// Shows the panel.
    pub fn show(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        self.keep_short(context);
        ui.horizontal(|ui| head(ui, context.view, "JOB SHEET", "Close job sheet"));
        scrolled(ui, "job sheet", |ui| {
            ui.label(
                "To print: the cautions, what to buy, the order of work, the voltages to \
                     expect with room for those measured, and why.",
            );
            self.where_to(ui, context);
            ui.separator();
            self.in_short(ui, context);
        });
    }

    /// Takes what the background task and the file thread brought, whether the panel is open or not.
    pub fn pump(&mut self, files: &mut Files, now: &Request) {
        if let Some(written) = files.sheet.take() {
            self.told(written);
        }
        if self.sheet.take()
            && let Some((answer, _)) = self.sheet.last_of_any_amp(now)
        {
            self.made(&answer, files);
        }
    }

    /// Keeps the short one up to date.
    fn keep_short(&mut self, context: &PanelContext) {
        self.short.take();
        let wanted = Wanted::of(context);
        let stale = self
            .short
            .last(context.request)
            .is_none_or(|(_, stale)| stale)
            || self.short_of.as_ref() != Some(&wanted);
        if stale && context.still && !self.short.runs() && context.request.anything_proposed() {
            self.short_of = Some(wanted.clone());
            self.short.start(context.request, move |request, _| {
                let job = wanted.order(request).and_then(|order| {
                    let job = order.brief();
                    job.map_err(|fault| in_words(&fault))
                });
                Some(job)
            });
        }
    }

    fn where_to(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        let mut write = None;
        let proposed = context.request.anything_proposed();
        ui.horizontal(|ui| {
            let label = ui.label("job sheet file");
            let width = (ui.available_width() - 130.0).max(80.0);
            let field = TextEdit::singleline(&mut context.view.sheet_path)
                .id(egui::Id::unique("job sheet file"))
                .desired_width(width)
                .hint_text("sheet.html");
            let response = ui.add(field).labelled_by(label.id);
            let enter = response.lost_focus() && ui.input(|i| i.key_pressed(egui::Key::Enter));
            let ready =
                proposed && !context.view.sheet_path.trim().is_empty() && !self.sheet.runs();
            let button = ui
                .add_enabled(ready, Button::new("Write job sheet"))
                .on_disabled_hover_text("It wants a path, and something that is proposed.");
            if ready && (button.clicked() || enter) {
                write = Some((PathBuf::from(context.view.sheet_path.trim()), false));
            }
        });
        ui.horizontal_wrapped(|ui| {
            if ui.button("Choose where…").clicked() {
                context.files.thread.pick(Want::SaveSheet);
            }
            if let Some(path) = self.exists.clone().filter(|_| !self.sheet.runs())
                && ui.button("Replace that file").clicked()
            {
                write = Some((path, true));
            }
            self.sheet.progress(ui, "working out the job");
        });
        ui.horizontal_wrapped(|ui| {
            ui.label(prices::in_use(context.view));
            if ui
                .button("Other prices…")
                .on_hover_text("Opens the files, where the price file is chosen.")
                .clicked()
            {
                context.view.over = Over::Files;
            }
        });
        if !proposed {
            let words = "Nothing is proposed yet: change a part on the left first.";
            ui.strong(words);
        }
        if !self.message.is_empty() {
            ui.add(Label::new(RichText::new(&self.message).strong()).wrap());
        }
        if let Some((path, replace)) = write {
            self.write(path, replace, context);
        }
    }

    /// Makes the sheet, which is written when it is done; one that is made already for these
    /// numbers is written at once.
    fn write(&mut self, path: PathBuf, replace: bool, context: &mut PanelContext) {
        self.exists = None;
        self.message.clear();
        self.goes_to = Some((path, replace));
        let wanted = Wanted::of(context);
        if self.sheet_of.as_ref() == Some(&wanted)
            && let Some((answer, false)) = self.sheet.last(context.request)
        {
            return self.made(&answer, context.files);
        }
        self.sheet_of = Some(wanted.clone());
        self.sheet.start(context.request, move |request, go_on| {
            let order = match wanted.order(request) {
                Ok(order) => order,
                Err(fault) => return Some(Err(fault)),
            };
            let sheet = order.answer(&mut Cache::default(), go_on)?;
            Some(sheet.map_err(|fault| in_words(&fault)))
        });
    }

    fn made(&mut self, answer: &Arc<TaskResult<Sheet>>, files: &Files) {
        let Some((path, replace)) = self.goes_to.take() else {
            return;
        };
        match &answer.what {
            Ok(sheet) => files.thread.order(FileOrder::WriteSheet {
                path,
                text: sheet.page.clone(),
                replace,
            }),
            Err(fault) => self.message = format!("No sheet was written. {fault}"),
        }
    }

    fn told(&mut self, written: Written) {
        self.message = match written {
            Written::Done(path) => {
                let path = std::path::absolute(&path).unwrap_or(path);
                format!(
                    "Written: {}. Open it in a browser and print it.",
                    path.display()
                )
            }
            Written::Exists(path) => {
                let words = format!("{} is there already. It was left as it is.", path.display());
                self.exists = Some(path);
                words
            }
            Written::Fault(fault) => fault,
        };
    }

    fn in_short(&mut self, ui: &mut Ui, context: &mut PanelContext) {
        heading(ui, "WHAT IT SAYS IN SHORT");
        let (catchword, meaning) = JOB_CAUTIONS[0];
        ui.add(Label::new(RichText::new(format!("{catchword} {meaning}")).strong()).wrap());
        if !context.request.anything_proposed() {
            return;
        }
        // The sheet itself knows more, once it is made.
        if self.sheet_of.as_ref() == Some(&Wanted::of(context))
            && let Some((answer, false)) = self.sheet.last(context.request)
            && let Ok(sheet) = &answer.what
        {
            return short(ui, &sheet.job);
        }
        let Some((answer, stale)) = self.short.last(context.request) else {
            ui.label("Being computed…");
            return;
        };
        if stale {
            ui.label("Of before; being recomputed.");
        }
        dimmed(ui, stale, |ui| match &answer.what {
            Ok(job) => short(ui, job),
            Err(fault) => {
                ui.add(Label::new(RichText::new(fault).strong()).wrap());
            }
        });
    }
}

fn short(ui: &mut Ui, job: &Job) {
    let over = &job.over;
    if !(over.still.is_empty() && over.brought.is_empty()) {
        ui.strong("Over a limit as proposed:");
    }
    let lists = [&over.still, &over.brought, &over.brief, &over.loose];
    for sentence in lists.into_iter().flatten() {
        line(ui, sentence);
    }
    if !over.mended.is_empty() {
        ui.strong("Over a limit as found, within it as proposed:");
    }
    for sentence in &over.mended {
        line(ui, sentence);
    }
    ui.add_space(4.0);
    heading(ui, "TO BUY");
    let currency = job.prices.as_ref().map(|[currency, _]| currency.as_str());
    for item in &job.items {
        line(ui, &in_a_line(item, currency));
    }
    ui.add(Label::new(totals(job)).wrap());
    ui.add_space(4.0);
    heading(ui, "ORDER OF WORK");
    for (number, opening) in job.openings.iter().enumerate() {
        let (parts, why) = (opening.parts.join(", "), opening.why.as_str());
        // The reason often begins with the part's name itself.
        let words = match why.starts_with(&parts) {
            true => why.to_owned(),
            false if why.is_empty() => parts,
            false => format!("{parts}. {why}"),
        };
        ui.add(Label::new(format!("{}. {words}", number + 1)).wrap());
    }
}

/// "R505 bias feed: resistor 15 kΩ ±5 %, 0.5 W; 0.20 coins".
fn in_a_line(item: &Item, currency: Option<&str>) -> String {
    let name = format!("{} {}", item.designator, item.role);
    let name = name.trim();
    let Some(buy) = &item.buy else {
        return format!(
            "{name}: nothing to buy ({} → {})",
            item.as_found, item.proposed
        );
    };
    let number = match buy.quantity {
        1 => String::new(),
        n => format!("{n} × "),
    };
    let tolerance = buy.tolerance;
    let tolerance = tolerance.map(|t| format!(" ±{} %", printed(100.0 * t)));
    let rating = |value: Option<f64>, unit: &str| {
        value.map_or(String::new(), |v| format!(", {} {unit}", printed(v)))
    };
    let price = match (buy.price, currency) {
        (Some(price), Some(currency)) => format!("; {} {currency}", fixed(price, 2)),
        (None, Some(_)) => "; no price in the file".into(),
        _ => String::new(),
    };
    format!(
        "{name}: {number}{} {}{}{}{}{price}",
        item.kind.in_words(),
        buy.value,
        tolerance.unwrap_or_default(),
        rating(buy.watts, "W"),
        rating(buy.volts, "V"),
    )
}

/// Price and time of everything, and where they come from.
fn totals(job: &Job) -> String {
    let Some([currency, about]) = &job.prices else {
        return String::new();
    };
    let cost = match job.cost {
        _ if job.items.iter().all(|item| item.buy.is_none()) => "There is nothing to buy.".into(),
        Some(cost) => format!("All parts: {} {currency}.", fixed(cost, 2)),
        None => "Not every price is known.".into(),
    };
    let opened = match job.openings.iter().filter(|o| o.opens_chassis).count() {
        0 => "the chassis stays closed".into(),
        1 => "the chassis is opened once".into(),
        2 => "the chassis is opened twice".into(),
        n => format!("the chassis is opened {n} times"),
    };
    let work = match job.minutes {
        Some(minutes) => format!("Work: about {} minutes; {opened}.", fixed(minutes, 0)),
        None => format!("How long the work takes is for a technician to say; {opened}."),
    };
    format!("{cost} {work} {about}")
}

fn line(ui: &mut Ui, text: &str) {
    ui.horizontal_top(|ui| {
        ui.label("–");
        ui.add(Label::new(text).wrap());
    });
}
