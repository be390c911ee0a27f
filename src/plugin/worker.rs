//! The thread beside an active instance: makes circuit pairs with other oversampling or another guitar
//! and frees what the audio thread has finished with.
//!
//! It begins when the instance is activated and has ended when `drop` returns. The framework has a
//! thread for this too, but it ends with the first instance that goes while work is on its way, and
//! aborts the host with the last (see [`super::entry::fence`]); so none of its tasks are used.

use super::instance::Instance;
use crate::live::jack_guitar::JackGuitar;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread::{self, JoinHandle};

/// What is asked of the thread.
#[derive(Default)]
struct Asked {
    /// Doublings of the rate for a new circuit pair; 0 for none.
    doublings: AtomicUsize,
    /// Number of another guitar for the jack, and one; 0 for none.
    guitar: AtomicUsize,
    collect: AtomicBool,
    end: AtomicBool,
}

/// See the module.
pub struct Worker {
    asked: Arc<Asked>,
    /// Taken when it is joined.
    thread: Option<JoinHandle<()>>,
}

impl Worker {
    /// Begins; none where the system has no thread left to give.
    pub fn begin(instance: Arc<Instance>) -> Option<Self> {
        let asked = Arc::new(Asked::default());
        let heard = asked.clone();
        let thread = thread::Builder::new()
            .name("presolder-work".into())
            .spawn(move || work(&instance, &heard))
            .ok()?;
        Some(Worker {
            asked,
            thread: Some(thread),
        })
    }

    /// Asks for a circuit pair with so many doublings of the rate, at least 1.
    ///
    /// # Real-time
    /// Allocates nothing, waits for nothing.
    pub fn rebuild(&self, doublings: usize) {
        self.asked.doublings.store(doublings, Ordering::Release);
        self.wake();
    }

    /// Asks for this guitar in the jack.
    ///
    /// # Real-time
    /// Allocates nothing, waits for nothing.
    pub fn plug_in(&self, guitar: JackGuitar) {
        self.asked
            .guitar
            .store(guitar as usize + 1, Ordering::Release);
        self.wake();
    }

    /// Asks for freeing what the audio thread has finished with.
    ///
    /// # Real-time
    /// Allocates nothing, waits for nothing.
    pub fn collect(&self) {
        self.asked.collect.store(true, Ordering::Release);
        self.wake();
    }

    fn wake(&self) {
        if let Some(thread) = &self.thread {
            thread.thread().unpark();
        }
    }
}

impl Drop for Worker {
    fn drop(&mut self) {
        self.asked.end.store(true, Ordering::Release);
        self.wake();
        if let Some(thread) = self.thread.take() {
            // It catches its panics: there is nothing to be told.
            let _ = thread.join();
        }
    }
}

fn work(instance: &Instance, asked: &Asked) {
    while !asked.end.load(Ordering::Acquire) {
        let doublings = asked.doublings.swap(0, Ordering::AcqRel);
        let collect = asked.collect.swap(false, Ordering::AcqRel);
        let guitar = asked.guitar.swap(0, Ordering::AcqRel);
        if doublings == 0 && guitar == 0 && !collect {
            // Who asked since then has woken it: parking returns at once.
            thread::park();
            continue;
        }
        // A circuit pair that cannot be made leaves the one that plays.
        let _ = catch_unwind(AssertUnwindSafe(|| {
            if let Some(&guitar) = guitar.checked_sub(1).and_then(|at| JackGuitar::ALL.get(at)) {
                instance.plug_in(guitar);
            }
            match doublings {
                0 => instance.collect(),
                doublings => instance.rebuild(Some(doublings)),
            }
        }));
    }
}
