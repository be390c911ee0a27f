//! The prices that the verdict and the job sheet go by: those of the owner's file, whose text the
//! project keeps, or the invented ones of the program.

use super::file_thread::Order;
use super::files::Files;
use super::view::{PriceFile, View};
use crate::advice::prices::Prices;
use crate::circuit::Diagnostic;
use std::path::PathBuf;
use std::sync::Arc;

/// Longest price file that is kept with a project, bytes: several times the built-in one, and in the
/// quotes of the stored view still half of what a project may keep of it (own choice).
const MOST_BYTES: usize = 16 << 10;

/// The prices in use.
pub struct InUse {
    /// The file that they are of, as the view had it last; nothing before a view was looked at.
    of: Option<Option<PriceFile>>,
    prices: Arc<Prices>,
}

impl InUse {
    /// The invented ones.
    pub fn new() -> InUse {
        InUse {
            of: None,
            prices: Arc::new(Prices::built_in()),
        }
    }

    /// The prices.
    pub fn now(&self) -> Arc<Prices> {
        Arc::clone(&self.prices)
    }

    /// Another project's view is there: its prices are looked at anew.
    pub fn forget(&mut self) {
        self.of = None;
    }

    /// Follows the file that the view has, once a frame.
    pub fn follow(&mut self, view: &View, files: &mut Files) {
        if self.of.as_ref() == Some(&view.prices) {
            return;
        }
        let first = self.of.is_none();
        self.of = Some(view.prices.clone());
        match view
            .prices
            .as_ref()
            .map(|file| (file, Prices::parse(&file.text)))
        {
            None => self.prices = Arc::new(Prices::built_in()),
            Some((_, Ok(prices))) => self.prices = Arc::new(prices),
            // Written by a program that knew more, or by hand.
            Some((file, Err(faults))) => {
                self.prices = Arc::new(Prices::built_in());
                files.message = format!(
                    "The prices that the project keeps of {} cannot be used; invented ones are.",
                    file.path
                );
                files.faults = faults;
            }
        }
        // A project of before kept the path alone.
        let path = view.price_path.trim();
        if first && view.prices.is_none() && !path.is_empty() {
            files.thread.order(Order::OpenPrices(PathBuf::from(path)));
        }
    }
}

/// Takes over a price file that was read. One with faults leaves the prices as they are.
pub fn opened(files: &mut Files, path: &str, bytes: &[u8], view: &mut View) {
    match text(bytes) {
        Ok((text, currency)) => {
            files.faults.clear();
            files.message = format!(
                "Opened {path}: the verdict and the job sheet go by these prices, in {currency}. \
                 The project keeps them; open the file again when it has changed."
            );
            view.prices = Some(PriceFile {
                path: path.into(),
                text,
            });
        }
        Err(faults) => {
            files.message = format!("{path} was not opened; the prices in use stay.");
            files.faults = faults;
        }
    }
}

/// The text of a price file without faults, and its currency.
fn text(bytes: &[u8]) -> Result<(String, String), Vec<Diagnostic>> {
    let prices = Prices::parse_bytes(bytes)?;
    if bytes.len() > MOST_BYTES {
        return Err(vec![Diagnostic::error(
            format!(
                "the file has {} bytes; the project keeps at most {MOST_BYTES} (16 KiB)",
                bytes.len()
            ),
            "leave out what you do not buy",
        )]);
    }
    // They were read as text just now.
    let text = String::from_utf8_lossy(bytes).into_owned();
    Ok((text, prices.currency().to_owned()))
}

/// Which prices are in use, in a sentence.
pub fn in_use(view: &View) -> String {
    match &view.prices {
        None => "Prices in use: those of the program, which are invented.".into(),
        Some(file) => format!(
            "Prices in use: those of {}, kept with the project.",
            file.path
        ),
    }
}
