//! The prices that the verdict and the job sheet go by: those of the owner's file, whose text the
//! project keeps, or the invented ones of the program.

use crate::advice::prices::Prices;
use crate::circuit::Diagnostic;
use crate::editor::view::{PriceFile, View};
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
    pub fn follow(&mut self, view: &View) -> Followed {
        if self.of.as_ref() == Some(&view.prices) {
            return Followed::Nothing;
        }
        let first = self.of.is_none();
        self.of = Some(view.prices.clone());
        let Some(file) = &view.prices else {
            self.prices = Arc::new(Prices::built_in());
            // A project of before kept the path alone.
            let path = view.price_path.trim();
            return match first && !path.is_empty() {
                true => Followed::Open(PathBuf::from(path)),
                false => Followed::Nothing,
            };
        };
        match Prices::parse(&file.text) {
            Ok(prices) => {
                self.prices = Arc::new(prices);
                Followed::Nothing
            }
            // Written by a program that knew more, or by hand.
            Err(faults) => {
                self.prices = Arc::new(Prices::built_in());
                Followed::Unusable {
                    message: format!(
                        "The prices that the project keeps of {} cannot be used; invented ones \
                         are.",
                        file.path
                    ),
                    faults,
                }
            }
        }
    }
}

/// What is to be done after the view's price file was looked at.
#[derive(Clone, Debug, PartialEq)]
pub enum Followed {
    /// Nothing.
    Nothing,
    /// The file is to be opened.
    Open(PathBuf),
    /// What the project keeps has faults.
    Unusable {
        /// In a sentence.
        message: String,
        /// The faults.
        faults: Vec<Diagnostic>,
    },
}

/// A price file that was read, and a sentence about it.
///
/// # Errors
/// Its faults; the prices in use then stay.
pub fn opened(path: &str, bytes: &[u8]) -> Result<(PriceFile, String), Vec<Diagnostic>> {
    let (text, currency) = text(bytes)?;
    let message = format!(
        "Opened {path}: the verdict and the job sheet go by these prices, in {currency}. The \
         project keeps them; open the file again when it has changed."
    );
    let path = path.into();
    Ok((PriceFile { path, text }, message))
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
