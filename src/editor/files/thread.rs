//! Files off the window's thread: reads, writes, watches the amp's file, and asks for paths in the
//! system's dialog.

use crate::circuit::MOST_BYTES;
use crate::live::jack_guitar::OwnGuitar;
use crate::sound::file::read_impulse;
use crate::sound::impulse::Prepared;
use std::fs::File;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};
use std::sync::Arc;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender, channel};
use std::thread::JoinHandle;
use std::time::{Duration, SystemTime};

/// How often the watched file is looked at.
const LOOK: Duration = Duration::from_millis(300);

/// What a path is asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Want {
    /// A circuit to open.
    Circuit,
    /// A proposal to open.
    Proposal,
    /// A place for the proposal.
    SaveProposal,
    /// A place for the job sheet.
    SaveSheet,
    /// A price file.
    Prices,
    /// A recording of a real amp.
    Recording,
    /// The guitar that was played into it.
    Dry,
    /// A file that lists the parts at hand.
    Drawer,
    /// An impulse response.
    Impulse,
    /// A guitar of the owner's own.
    Guitar,
}

/// What the thread is told to do.
#[derive(Debug)]
pub enum Order {
    /// Read a circuit and watch it from now on.
    Open(PathBuf),
    /// Read a proposal.
    OpenProposal(PathBuf),
    /// Read a price file.
    OpenPrices(PathBuf),
    /// Read an impulse response.
    OpenImpulse(PathBuf),
    /// Read a guitar.
    OpenGuitar(PathBuf),
    /// Write a proposal; over a file that is there only if `replace`.
    Save {
        /// Where.
        path: PathBuf,
        /// What.
        text: String,
        /// Whether a file may be replaced.
        replace: bool,
    },
    /// Write a job sheet; over a file that is there only if `replace`.
    WriteSheet {
        /// Where.
        path: PathBuf,
        /// What.
        text: String,
        /// Whether a file may be replaced.
        replace: bool,
    },
    /// Watch this file, or none.
    Watch(Option<PathBuf>),
}

/// What became of a file that was to be written.
#[derive(Debug)]
pub enum Written {
    /// It is there.
    Done(PathBuf),
    /// There is a file already, which was left alone.
    Exists(PathBuf),
    /// What went wrong, in a sentence.
    Fault(String),
}

/// What the thread tells.
#[derive(Debug)]
pub enum News {
    /// A circuit file's bytes; `again` if it changed while it was watched.
    Circuit {
        /// Where from.
        path: PathBuf,
        /// What it holds.
        bytes: Vec<u8>,
        /// Whether it was read because it changed.
        again: bool,
    },
    /// A proposal file's bytes.
    Proposal(PathBuf, Vec<u8>),
    /// A price file's bytes.
    Prices(PathBuf, Vec<u8>),
    /// An impulse response, or what is wrong with it.
    Impulse(Box<Result<Prepared, String>>),
    /// A guitar, or what is wrong with it.
    Guitar(Result<OwnGuitar, String>),
    /// The proposal was written.
    Saved(PathBuf),
    /// There is a file already.
    Exists(PathBuf),
    /// What became of the job sheet.
    Sheet(Written),
    /// What went wrong, in a sentence.
    Fault(String),
    /// A path was chosen.
    Picked(Want, PathBuf),
}

/// The thread. Dropping it ends and joins it.
pub struct FileThread {
    orders: Option<Sender<Order>>,
    news: Receiver<News>,
    news_in: Sender<News>,
    repaint: Repaint,
    thread: Option<JoinHandle<()>>,
}

type Repaint = Arc<dyn Fn() + Send + Sync>;

impl FileThread {
    /// Starts it. `repaint` is called when there is news.
    pub fn new(repaint: impl Fn() + Send + Sync + 'static) -> FileThread {
        let repaint: Repaint = Arc::new(repaint);
        let (orders, orders_out) = channel();
        let (news_in, news) = channel();
        let (told, ask) = (news_in.clone(), Arc::clone(&repaint));
        let thread = std::thread::Builder::new()
            .name("files".into())
            .spawn(move || work(&orders_out, &told, &ask))
            .ok();
        FileThread {
            orders: Some(orders),
            news,
            news_in,
            repaint,
            thread,
        }
    }

    /// Gives an order.
    pub fn order(&self, order: Order) {
        if let Some(orders) = &self.orders {
            // Fails only if the thread could not be started; then there are no files.
            let _ = orders.send(order);
        }
    }

    /// The next news, if any.
    pub fn news(&self) -> Option<News> {
        self.news.try_recv().ok()
    }

    /// Asks for a path in the system's dialog, on a thread of its own: it may stay open for long.
    pub fn pick(&self, want: Want) {
        let (news, repaint) = (self.news_in.clone(), Arc::clone(&self.repaint));
        let dialog = move || {
            let (kind, ending) = match want {
                Want::SaveSheet => ("HTML", "html"),
                Want::Recording | Want::Dry | Want::Impulse => ("WAV", "wav"),
                _ => ("TOML", "toml"),
            };
            let dialog = rfd::FileDialog::new().add_filter(kind, &[ending]);
            let picked = match want {
                Want::SaveSheet => dialog
                    .set_title("Save the job sheet")
                    .set_file_name("sheet.html")
                    .save_file(),
                Want::Prices => dialog.set_title("Open a price file").pick_file(),
                Want::Recording => dialog.set_title("Open a recording").pick_file(),
                Want::Dry => dialog.set_title("Open the dry track").pick_file(),
                Want::Drawer => dialog.set_title("Open a drawer file").pick_file(),
                Want::Impulse => dialog.set_title("Open an impulse response").pick_file(),
                Want::Guitar => dialog.set_title("Open a guitar").pick_file(),
                Want::Circuit => dialog.set_title("Open a circuit").pick_file(),
                Want::Proposal => dialog.set_title("Open a proposal").pick_file(),
                Want::SaveProposal => dialog.set_title("Save the proposal").save_file(),
            };
            if let Some(path) = picked {
                let _ = news.send(News::Picked(want, path));
                repaint();
            }
        };
        let spawned = std::thread::Builder::new()
            .name("file dialog".into())
            .spawn(dialog);
        if spawned.is_err() {
            let fault = "The file dialog could not be opened; type the path instead.";
            let _ = self.news_in.send(News::Fault(fault.into()));
        }
    }
}

impl Drop for FileThread {
    fn drop(&mut self) {
        self.orders = None;
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}

/// What tells that a file changed.
type Stamp = (SystemTime, u64);

fn stamp(path: &Path) -> Option<Stamp> {
    let about = std::fs::metadata(path).ok()?;
    Some((about.modified().ok()?, about.len()))
}

/// A watched file.
struct Watched {
    path: PathBuf,
    /// As it was read last.
    read: Option<Stamp>,
    /// As it was seen last; it is read when it has stood still for one look, since editors write in
    /// pieces.
    seen: Option<Stamp>,
}

fn watch(path: PathBuf) -> Watched {
    let now = stamp(&path);
    Watched {
        path,
        read: now,
        seen: now,
    }
}

fn work(orders: &Receiver<Order>, news: &Sender<News>, repaint: &Repaint) {
    let mut watched: Option<Watched> = None;
    let tell = |what: News| {
        let _ = news.send(what);
        repaint();
    };
    loop {
        let order = match orders.recv_timeout(LOOK) {
            Ok(order) => Some(order),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => return,
        };
        match order {
            Some(Order::Open(path)) => {
                let candidate = watch(path.clone());
                match read(&path) {
                    Ok(bytes) => {
                        watched = Some(candidate);
                        let again = false;
                        tell(News::Circuit { path, bytes, again });
                    }
                    Err(fault) => tell(News::Fault(fault)),
                }
            }
            Some(Order::OpenProposal(path)) => match read(&path) {
                Ok(bytes) => tell(News::Proposal(path, bytes)),
                Err(fault) => tell(News::Fault(fault)),
            },
            Some(Order::OpenPrices(path)) => match read(&path) {
                Ok(bytes) => tell(News::Prices(path, bytes)),
                Err(fault) => tell(News::Fault(fault)),
            },
            Some(Order::OpenImpulse(path)) => {
                let read = read_impulse(&path).map_err(|fault| fault.to_string());
                tell(News::Impulse(Box::new(read)));
            }
            Some(Order::OpenGuitar(path)) => {
                let read = read(&path).and_then(|bytes| guitar(&path, &bytes));
                tell(News::Guitar(read));
            }
            Some(Order::Save {
                path,
                text,
                replace,
            }) => tell(match save(path, &text, replace) {
                Written::Done(path) => News::Saved(path),
                Written::Exists(path) => News::Exists(path),
                Written::Fault(fault) => News::Fault(fault),
            }),
            Some(Order::WriteSheet {
                path,
                text,
                replace,
            }) => tell(News::Sheet(save(path, &text, replace))),
            Some(Order::Watch(path)) => watched = path.map(watch),
            None => {
                if let Some(watched) = &mut watched
                    && let Some(news) = theme(watched)
                {
                    tell(news);
                }
            }
        }
    }
}

fn theme(watched: &mut Watched) -> Option<News> {
    let now = stamp(&watched.path);
    let still = now == watched.seen;
    watched.seen = now;
    if !still || now == watched.read || now.is_none() {
        return None;
    }
    watched.read = now;
    let path = watched.path.clone();
    Some(match read(&path) {
        Ok(bytes) => News::Circuit {
            path,
            bytes,
            again: true,
        },
        Err(fault) => News::Fault(fault),
    })
}

fn guitar(path: &Path, bytes: &[u8]) -> Result<OwnGuitar, String> {
    OwnGuitar::read(bytes).map_err(|faults| {
        let told = faults.iter().map(|fault| format!("\n{fault}"));
        let told: String = told.collect();
        format!("{} was not opened:{told}", path.display())
    })
}

fn read(path: &Path) -> Result<Vec<u8>, String> {
    let told = |why: std::io::Error| format!("{} cannot be read: {why}.", path.display());
    if path.is_dir() {
        return Err(format!("{} is a folder.", path.display()));
    }
    let file = File::open(path).map_err(told)?;
    let mut bytes = Vec::new();
    // One byte more than is allowed, so that the reader can say that it is too much.
    let most = MOST_BYTES as u64 + 1;
    file.take(most).read_to_end(&mut bytes).map_err(told)?;
    Ok(bytes)
}

/// Writes beside the place and renames, so that a file is never half written.
fn save(path: PathBuf, text: &str, replace: bool) -> Written {
    if path.is_dir() {
        return Written::Fault(format!("{} is a folder.", path.display()));
    }
    if !replace && path.exists() {
        return Written::Exists(path);
    }
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let written = tempfile::NamedTempFile::new_in(folder).and_then(|mut file| {
        file.write_all(text.as_bytes())?;
        file.persist(&path).map_err(|fault| fault.error)
    });
    match written {
        Ok(_) => Written::Done(path),
        Err(why) => Written::Fault(format!("{} cannot be written: {why}.", path.display())),
    }
}
