//! Two threads beside the window: one for the quick work, one for the slow. The latest request wins;
//! slow work that has been overtaken is given up.

use super::reports::{Judged, Quick, Request, effect, quick, slow};
use crate::advice::verdict::Cache;
use crate::analysis::part_effect::PartEffect;
use crate::live::LiveAmp;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::{Arc, Condvar, Mutex, MutexGuard};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Slow work begins when the values have stood still for so long (own choice: longer than the pause
/// between two notches of a wheel).
const STILL: Duration = Duration::from_millis(350);

/// Said when an analysis failed in a way that it does not tell.
const FAILED: &str = "This could not be computed.";

/// What is to be done, and what was.
#[derive(Default)]
struct Board {
    /// The amp that the last request is about. Nothing of another one is kept: its valves may have
    /// the same names.
    amp: Option<Arc<LiveAmp>>,
    quick_due: Option<Request>,
    slow_due: Option<(Request, Instant)>,
    quick_busy: bool,
    slow_busy: bool,
    /// Counts requests of slow work; a running one whose number is old gives up.
    number: u64,
    progress: f64,
    quick: Option<Result<Arc<Quick>, String>>,
    effect: Option<Arc<Effect>>,
    judged: Option<Aged<Result<Judged, String>>>,
    slow_took: Option<Duration>,
    closing: bool,
}

impl Board {
    /// Forgets everything of another amp than this one.
    fn follow(&mut self, amp: &Arc<LiveAmp>) {
        if !self.is_about(amp) {
            self.amp = Some(Arc::clone(amp));
            self.quick = None;
            self.effect = None;
            self.judged = None;
        }
    }

    fn is_about(&self, amp: &Arc<LiveAmp>) -> bool {
        let same = |known| Arc::ptr_eq(known, amp);
        self.amp.as_ref().is_some_and(same)
    }
}

/// A result and the number of the request that it answers.
struct Aged<T> {
    what: Arc<T>,
    number: u64,
}

/// What a part does.
#[derive(Clone, Debug)]
pub struct Effect {
    /// Adjustable of the part.
    pub adjustable: usize,
    /// The report, or why there is none.
    pub report: Result<PartEffect, String>,
    request: Request,
}

/// A result of slow work, and whether the values have changed since.
#[derive(Clone, Debug)]
pub struct Slow<T> {
    /// The result.
    pub what: Arc<T>,
    /// Whether it is of before.
    pub stale: bool,
}

#[derive(Default)]
struct Shared {
    board: Mutex<Board>,
    changed: Condvar,
}

impl Shared {
    fn lock(&self) -> MutexGuard<'_, Board> {
        // A panic cannot leave the board half written: every change of it is one assignment.
        self.board
            .lock()
            .unwrap_or_else(std::sync::PoisonError::into_inner)
    }
}

/// The two threads. Dropping it ends and joins them, since a host may unload the library next.
pub struct Worker {
    shared: Arc<Shared>,
    threads: Vec<JoinHandle<()>>,
    last: Option<Request>,
}

impl LatestReports {
    /// What playing tells, if it could be told, and whether it is of before.
    pub fn judged(&self) -> Option<(&Judged, bool)> {
        let slow = self.judged.as_ref()?;
        Some((slow.what.as_ref().as_ref().ok()?, slow.stale))
    }
}

/// What is known now.
#[derive(Clone, Default)]
pub struct LatestReports {
    /// The quick work of the last request that was finished.
    pub quick: Option<Result<Arc<Quick>, String>>,
    /// What the part that is looked at does, when it is known for the present values.
    pub effect: Option<Arc<Effect>>,
    /// What playing the phrase tells.
    pub judged: Option<Slow<Result<Judged, String>>>,
    /// How long the last slow work took that was done to its end.
    pub slow_took: Option<Duration>,
    /// Share of the slow work that is done, while it runs or waits.
    pub slow_progress: Option<f64>,
}

fn aged<T>(aged: &Option<Aged<T>>, number: u64) -> Option<Slow<T>> {
    aged.as_ref().map(|aged| Slow {
        what: Arc::clone(&aged.what),
        stale: aged.number != number,
    })
}

/// What a thread does.
type Body = fn(&Shared, &Repaint);

/// Asks for a new frame.
type Repaint = Arc<dyn Fn() + Send + Sync>;

impl Worker {
    /// Starts the threads. `repaint` is called whenever something new is known.
    pub fn new(repaint: impl Fn() + Send + Sync + 'static) -> Worker {
        let shared = Arc::<Shared>::default();
        let repaint: Repaint = Arc::new(repaint);
        let mut threads = Vec::new();
        let bodies: [(&str, Body); 2] = [
            ("quick analyses", quick_thread),
            ("slow analyses", slow_thread),
        ];
        for (name, body) in bodies {
            let (shared, repaint) = (Arc::clone(&shared), Arc::clone(&repaint));
            let thread = std::thread::Builder::new().name(name.into());
            // Without a thread there are no pictures, but there is still sound.
            threads.extend(thread.spawn(move || body(&shared, &repaint)));
        }
        Worker {
            shared,
            threads,
            last: None,
        }
    }

    /// Asks for work, unless the same was asked for last.
    pub fn ask(&mut self, request: Request) {
        if self.last.as_ref().is_some_and(|last| last.same(&request)) {
            return;
        }
        let mut board = self.shared.lock();
        board.follow(&request.amp);
        let anew = self.last.as_ref();
        if !anew.is_some_and(|last| last.same_values(&request) && last.same_prices(&request)) {
            board.number += 1;
            board.slow_due = Some((request.clone(), Instant::now() + STILL));
            board.progress = 0.0;
        }
        board.quick_due = Some(request.clone());
        self.shared.changed.notify_all();
        drop(board);
        self.last = Some(request);
    }

    /// What is known now.
    pub fn known(&self) -> LatestReports {
        let board = self.shared.lock();
        let running = board.slow_busy || board.slow_due.is_some();
        let effect = board.effect.as_ref();
        let effect = effect.filter(|e| self.last.as_ref().is_some_and(|l| l.same(&e.request)));
        LatestReports {
            quick: board.quick.clone(),
            effect: effect.cloned(),
            judged: aged(&board.judged, board.number),
            slow_took: board.slow_took,
            slow_progress: running.then_some(board.progress),
        }
    }

    /// Waits until the quick work is done, or for so long. Whether it is done.
    pub fn wait_quick(&self, longest: Duration) -> bool {
        self.wait(longest, |b| b.quick_due.is_none() && !b.quick_busy)
    }

    /// Waits until all work is done, or for so long. Whether it is done.
    pub fn wait_all(&self, longest: Duration) -> bool {
        self.wait(longest, |b| {
            b.quick_due.is_none() && !b.quick_busy && b.slow_due.is_none() && !b.slow_busy
        })
    }

    fn wait(&self, longest: Duration, done: impl Fn(&Board) -> bool) -> bool {
        let board = self.shared.lock();
        let waited = self
            .shared
            .changed
            .wait_timeout_while(board, longest, |board| !done(board));
        waited.is_ok_and(|(board, _)| done(&board))
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        let mut board = self.shared.lock();
        board.closing = true;
        board.number += 1;
        drop(board);
        self.shared.changed.notify_all();
        for thread in self.threads.drain(..) {
            let _ = thread.join();
        }
    }
}

fn quick_thread(shared: &Shared, repaint: &Repaint) {
    let mut last: Option<Request> = None;
    loop {
        let mut board = shared.lock();
        let request = loop {
            if board.closing {
                return;
            }
            if let Some(request) = board.quick_due.take() {
                break request;
            }
            board = shared
                .changed
                .wait(board)
                .unwrap_or_else(std::sync::PoisonError::into_inner);
        };
        board.quick_busy = true;
        drop(board);
        if !last.as_ref().is_some_and(|last| last.same_curve(&request)) {
            let result = guarded(|| quick(&request));
            let mut board = shared.lock();
            if board.is_about(&request.amp) {
                board.quick = Some(result.map(Arc::new));
            }
            drop(board);
            repaint();
        }
        // The curve comes first, and what follows it only if no newer one is asked for.
        if let Some(adjustable) = request.adjustable
            && shared.lock().quick_due.is_none()
        {
            let report = guarded(|| effect(&request, adjustable));
            let request = request.clone();
            let mut board = shared.lock();
            if board.is_about(&request.amp) {
                board.effect = Some(Arc::new(Effect {
                    adjustable,
                    report,
                    request,
                }));
            }
        }
        last = Some(request);
        shared.lock().quick_busy = false;
        shared.changed.notify_all();
        repaint();
    }
}

/// Does work that may fail in a way that it does not tell.
fn guarded<T>(work: impl FnOnce() -> Result<T, String>) -> Result<T, String> {
    catch_unwind(AssertUnwindSafe(work)).unwrap_or_else(|_| Err(FAILED.into()))
}

fn slow_thread(shared: &Shared, repaint: &Repaint) {
    let mut cache = Cache::default();
    loop {
        let mut board = shared.lock();
        let request = loop {
            if board.closing {
                return;
            }
            let now = Instant::now();
            let ready = !board.quick_busy && board.quick_due.is_none();
            let wait = match &board.slow_due {
                Some((_, due)) if *due <= now && ready => {
                    break board.slow_due.take().expect("just seen").0;
                }
                Some((_, due)) if *due > now => *due - now,
                _ => Duration::from_secs(3600),
            };
            board = match shared.changed.wait_timeout(board, wait) {
                Ok((board, _)) => board,
                Err(poisoned) => poisoned.into_inner().0,
            };
        };
        board.slow_busy = true;
        let number = board.number;
        drop(board);
        let start = Instant::now();
        let mut go_on = |share: f64| {
            let mut board = shared.lock();
            let on = board.number == number;
            if on && share - board.progress > 0.02 {
                board.progress = share;
                drop(board);
                repaint();
            }
            on
        };
        // What takes longest follows when the rest is shown.
        for thorough in [false, true] {
            let work = AssertUnwindSafe(|| slow(&request, &mut cache, thorough, &mut go_on));
            let judged = catch_unwind(work).unwrap_or_else(|_| Some(Err(FAILED.into())));
            let Some(judged) = judged else {
                break;
            };
            let mut board = shared.lock();
            if !board.is_about(&request.amp) {
                break;
            }
            let what = Arc::new(judged);
            board.judged = Some(Aged { what, number });
            if board.number == number && !thorough {
                board.slow_took = Some(start.elapsed());
            }
            drop(board);
            repaint();
        }
        let mut board = shared.lock();
        board.slow_busy = false;
        drop(board);
        shared.changed.notify_all();
        repaint();
    }
}

#[cfg(test)]
#[path = "worker_tests.rs"]
mod tests;
