//! A fence behind what the framework's own thread has to do for an instance, before the instance goes.
//!
//! The cause, in nice-plug 0.4.2 (`event_loop/background_thread.rs`): all instances of a plugin type
//! share one thread. It returns when it finds a task for an instance that has gone, and the last
//! instance that goes then panics because nobody listens; inside a host's `release` that aborts the
//! host. In VST3 on Linux every parameter change from another thread than the creator's is such a
//! task. Elsewhere, and in CLAP, that thread gets no task and needs no fence.
//!
//! The fence is a task too, the only one of ours. The thread does tasks in their order, so once it
//! has done ours none is left; and once nobody but the caller holds the instance, the thread has let
//! go of it and cannot be the one to end it.

use std::cell::Cell;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::mpsc::{SyncSender, sync_channel};
use std::time::{Duration, Instant};

/// Longest wait: a thread that hangs must not hang its host for good.
const LONGEST: Duration = Duration::from_secs(2);
/// Between two looks at who holds the instance.
const LOOK: Duration = Duration::from_micros(20);

/// Whether the framework's thread gets tasks here at all.
pub const NEEDED: bool = cfg!(all(target_family = "unix", not(target_os = "macos")));

/// The fence's task.
pub struct Mark(SyncSender<()>);

impl Mark {
    /// The framework's thread has come to it.
    pub fn pass(self) {
        // Nobody waits any more: it came too late.
        let _ = self.0.try_send(());
    }
}

/// The way to the framework's thread for one instance.
pub type Post = Box<dyn Fn(Mark) + Send + Sync>;

thread_local! {
    /// That of the instance that is being made on this thread.
    static POST: Cell<Option<Post>> = const { Cell::new(None) };
}

/// Keeps the way that the framework gives an instance while it is made.
pub fn keep(post: Post) {
    POST.set(Some(post));
}

/// Takes what was kept on this thread.
pub fn kept() -> Option<Post> {
    POST.take()
}

/// Waits until the framework's thread has done all its tasks for an instance. Whether it has: not
/// where the thread has ended, and not within two seconds where it hangs.
pub fn wait(post: &Post) -> bool {
    let (sender, passed) = sync_channel(1);
    // A thread that has ended drops the mark, and with it the sender: the wait ends at once.
    post(Mark(sender));
    passed.recv_timeout(LONGEST).is_ok()
}

/// Waits until nobody but the caller holds what `holder` holds; not longer than two seconds.
///
/// # Safety
/// As for [`holders`].
pub unsafe fn wait_for_others<T>(holder: &T) -> bool {
    let start = Instant::now();
    // SAFETY: the caller's promise.
    while unsafe { holders(holder) } > 1 {
        if start.elapsed() > LONGEST {
            return false;
        }
        std::thread::sleep(LOOK);
    }
    true
}

/// Strong references to what `holder` holds.
///
/// # Safety
/// `T` is a struct whose only field is an `Arc`. The framework's wrapper is, but gives its field to
/// nobody.
unsafe fn holders<T>(holder: &T) -> usize {
    const { assert!(size_of::<T>() == size_of::<*const AtomicUsize>()) };
    // SAFETY: a struct of one word whose only field is an `Arc` is that pointer. It points to an
    // allocation that lives as long as `holder` and begins with the strong count, an atomic word; the
    // standard library lays it out in C's order, and a test holds it to that. Another layout would give
    // a wrong number, and with it a wait that is too short, or two seconds long.
    let count = unsafe { *std::ptr::from_ref(holder).cast::<*const AtomicUsize>() };
    // SAFETY: as above.
    unsafe { &*count }.load(Ordering::Acquire)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::Arc;
    use std::sync::mpsc::channel;

    struct Held(#[expect(dead_code, reason = "held")] Arc<[u64; 3]>);

    #[test]
    fn the_count_of_an_arc_is_read() {
        let shared = Arc::new([1, 2, 3]);
        let held = Held(shared.clone());
        let weak = Arc::downgrade(&shared);
        // SAFETY: `Held` has one field, an `Arc`.
        let count = || unsafe { holders(&held) };
        assert_eq!(count(), 2);
        let more = [weak.upgrade(), weak.upgrade()];
        assert_eq!(count(), 4);
        drop((more, shared));
        assert_eq!(count(), 1);
        // SAFETY: as above.
        assert!(unsafe { wait_for_others(&held) });
    }

    #[test]
    fn a_fence_waits_for_what_was_posted_before_it() {
        let (tasks, mine) = channel::<Mark>();
        let post: Post = Box::new(move |mark| tasks.send(mark).expect("it listens"));
        let done = Arc::new(AtomicUsize::new(0));
        let counted = done.clone();
        let worker = std::thread::spawn(move || {
            for mark in mine {
                std::thread::sleep(Duration::from_millis(20));
                counted.fetch_add(1, Ordering::SeqCst);
                mark.pass();
            }
        });
        for _ in 0..3 {
            post(Mark(sync_channel(1).0));
        }
        assert!(wait(&post));
        assert_eq!(done.load(Ordering::SeqCst), 4);
        drop(post);
        worker.join().expect("it ends");
    }

    #[test]
    fn a_thread_that_has_ended_is_not_waited_for() {
        let (tasks, mine) = channel::<Mark>();
        drop(mine);
        // As the framework does: what cannot be posted is dropped without a word.
        let post: Post = Box::new(move |mark| drop(tasks.send(mark)));
        let start = Instant::now();
        assert!(!wait(&post));
        assert!(start.elapsed() < LONGEST);
    }
}
