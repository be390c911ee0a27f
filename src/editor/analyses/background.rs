//! Work that a button asks for and that takes seconds: it runs on a thread of its own, tells how far
//! it is, and can be called off.

use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::JoinHandle;

/// Asks for a new frame.
pub type Repaint = Arc<dyn Fn() + Send + Sync>;

/// What became of the work.
#[derive(Clone, Debug)]
pub enum Outcome<T> {
    /// It is done.
    Done(Arc<T>),
    /// It was called off.
    Cancelled,
    /// It failed in a way that it does not tell.
    Failed,
}

struct State<T> {
    share: f64,
    outcome: Option<Outcome<T>>,
}

struct Running<T> {
    state: Arc<Mutex<State<T>>>,
    cancelled: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

/// One kind of work; at most one piece of it runs. Dropping it calls the work off and waits for it,
/// since a host may unload the library next.
pub struct BackgroundTask<T> {
    repaint: Repaint,
    running: Option<Running<T>>,
}

fn lock<T>(state: &Mutex<State<T>>) -> MutexGuard<'_, State<T>> {
    state.lock().unwrap_or_else(PoisonError::into_inner)
}

impl<T: Send + Sync + 'static> BackgroundTask<T> {
    /// Nothing is asked for yet. `repaint` is called when there is news.
    pub fn new(repaint: Repaint) -> Self {
        BackgroundTask {
            repaint,
            running: None,
        }
    }

    /// Starts the work; what runs is called off first. `work` is told of a share by what it is
    /// given, which answers whether to go on; it gives none when that says no.
    pub fn start(
        &mut self,
        work: impl FnOnce(&mut dyn FnMut(f64) -> bool) -> Option<T> + Send + 'static,
    ) {
        self.end();
        let state = Arc::new(Mutex::new(State {
            share: 0.0,
            outcome: None,
        }));
        let cancelled = Arc::new(AtomicBool::new(false));
        let (told, off, repaint) = (
            Arc::clone(&state),
            Arc::clone(&cancelled),
            Arc::clone(&self.repaint),
        );
        let body = move || {
            let mut go_on = |share: f64| {
                let mut state = lock(&told);
                if share - state.share > 0.01 {
                    state.share = share;
                    drop(state);
                    repaint();
                }
                !off.load(Ordering::Relaxed)
            };
            let outcome = match catch_unwind(AssertUnwindSafe(|| work(&mut go_on))) {
                Ok(Some(done)) => Outcome::Done(Arc::new(done)),
                Ok(None) => Outcome::Cancelled,
                Err(_) => Outcome::Failed,
            };
            lock(&told).outcome = Some(outcome);
            repaint();
        };
        let thread = std::thread::Builder::new().name("background task".into());
        let thread = thread.spawn(body).ok();
        if thread.is_none() {
            lock(&state).outcome = Some(Outcome::Failed);
        }
        self.running = Some(Running {
            state,
            cancelled,
            thread,
        });
    }

    /// Calls the work off, if any runs.
    pub fn call_off(&self) {
        if let Some(running) = &self.running {
            running.cancelled.store(true, Ordering::Relaxed);
        }
    }

    /// Forgets a piece of work that has ended, and what it brought.
    pub fn rest(&mut self) {
        if self.outcome().is_some() {
            self.end();
        }
    }

    /// Share that is done of what runs; none when nothing does.
    pub fn share(&self) -> Option<f64> {
        let state = lock(&self.running.as_ref()?.state);
        state.outcome.is_none().then_some(state.share)
    }

    /// What became of the last piece of work; none while it runs.
    pub fn outcome(&self) -> Option<Outcome<T>> {
        let state = lock(&self.running.as_ref()?.state);
        match state.outcome.as_ref()? {
            Outcome::Done(done) => Some(Outcome::Done(Arc::clone(done))),
            Outcome::Cancelled => Some(Outcome::Cancelled),
            Outcome::Failed => Some(Outcome::Failed),
        }
    }
}

impl<T> BackgroundTask<T> {
    fn end(&mut self) {
        if let Some(mut running) = self.running.take() {
            running.cancelled.store(true, Ordering::Relaxed);
            if let Some(thread) = running.thread.take() {
                let _ = thread.join();
            }
        }
    }
}

impl<T> Drop for BackgroundTask<T> {
    fn drop(&mut self) {
        self.end();
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::time::{Duration, Instant};

    fn wait<T: Send + Sync + 'static>(background: &BackgroundTask<T>) -> Outcome<T> {
        let start = Instant::now();
        loop {
            if let Some(outcome) = background.outcome() {
                return outcome;
            }
            assert!(start.elapsed() < Duration::from_secs(30));
            std::thread::sleep(Duration::from_millis(1));
        }
    }

    #[test]
    fn work_is_done_called_off_replaced_and_may_fail() {
        let mut background = BackgroundTask::<u32>::new(Arc::new(|| {}));
        assert!(background.share().is_none() && background.outcome().is_none());
        background.start(|go_on| go_on(0.5).then_some(7));
        assert!(matches!(wait(&background), Outcome::Done(seven) if *seven == 7));
        assert!(background.share().is_none());
        let forever = |go_on: &mut dyn FnMut(f64) -> bool| {
            while go_on(0.25) {
                std::thread::sleep(Duration::from_millis(1));
            }
            None
        };
        background.start(forever);
        assert!(background.outcome().is_none());
        background.call_off();
        assert!(matches!(wait(&background), Outcome::Cancelled));
        background.start(forever);
        background.start(|_| panic!("on purpose"));
        assert!(matches!(wait(&background), Outcome::Failed));
        background.start(forever);
        drop(background);
    }
}
