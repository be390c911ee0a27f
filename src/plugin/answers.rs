//! A window on X11 that never waits for good.
//!
//! The cause (`baseview` 0.4.2, `platform/x11/present.rs`): before each frame the window asks the
//! server when the next one can be shown, and asks again only once it has been answered. It asks even
//! before it is mapped, when it has not yet selected for answers: that answer is lost, and the window
//! stays blank for good. From outside it cannot be made to ask again.
//!
//! But the server sends every answer to all who selected for answers, whoever asked. So whenever the
//! window has not drawn for a moment, a thread here asks in its place, on a connection of its own, with
//! the number that the window waits for. A window that waits for nothing ignores answers with other
//! numbers than its last one. The numbers are known because this thread hears the answers too.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::thread::JoinHandle;
use std::time::Duration;

/// Between two looks at whether the window has drawn.
const LOOK: Duration = Duration::from_millis(100);

/// Frames of a window that were drawn, as the window counts them.
#[derive(Clone, Debug, Default)]
pub struct Drawn(Arc<AtomicU64>);

impl Drawn {
    /// Counts one.
    pub fn count(&self) {
        self.0.fetch_add(1, Relaxed);
    }

    fn frames(&self) -> u64 {
        self.0.load(Relaxed)
    }
}

/// The thread for a window. Ends, and is waited for, when dropped.
#[derive(Debug)]
pub struct Answers {
    done: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Answers {
    /// Starts it for a window of the X server. `redraw` asks the window for another frame. Without a
    /// connection of its own, or without the server's extension, it ends by itself.
    pub fn of<R: Fn() + Send + 'static>(window: u32, drawn: Drawn, redraw: R) -> Self {
        let done = Arc::new(AtomicBool::new(false));
        let ended = done.clone();
        let run = move || {
            // A server that is gone has nothing to answer.
            let _ = on_x11::run(window, &drawn, &redraw, &ended);
        };
        let thread = std::thread::Builder::new().name("window answers".into());
        Answers {
            done,
            thread: thread.spawn(run).ok(),
        }
    }
}

impl Drop for Answers {
    fn drop(&mut self) {
        self.done.store(true, Relaxed);
        if let Some(thread) = self.thread.take() {
            thread.thread().unpark();
            let _ = thread.join();
        }
    }
}

/// Most questions of our own without an answer that are remembered.
const REMEMBERED: usize = 64;

/// Numbers of the window's questions, as the answers tell of them.
#[derive(Debug, Default)]
struct Numbers {
    /// The number that the window waits for, or asks with next.
    next: u32,
    /// What was asked from here and is not answered yet.
    own: Vec<u32>,
    /// The window has been answered since the last look.
    heard: bool,
    /// Frames at the last look.
    frames: u64,
}

impl Numbers {
    /// An answer came.
    fn answered(&mut self, number: u32) {
        match self.own.iter().position(|&own| own == number) {
            Some(own) => drop(self.own.swap_remove(own)),
            None => {
                self.next = number.wrapping_add(1);
                self.heard = true;
            }
        }
    }

    /// Looks at how many frames the window has drawn. Numbers to ask with, if it has not drawn since
    /// the last look: the one it waits for, and the two beside it, since an answer to the window and
    /// one to a question from here can be taken for each other.
    fn look(&mut self, frames: u64) -> Option<[u32; 3]> {
        let drew = std::mem::replace(&mut self.frames, frames) != frames;
        let heard = std::mem::take(&mut self.heard);
        if drew {
            if !heard {
                // What was asked from here was what it waited for.
                self.next = self.next.wrapping_add(1);
            }
            return None;
        }
        let next = self.next;
        let numbers = [next, next.wrapping_add(1), next.wrapping_sub(1)];
        if self.own.len() >= REMEMBERED {
            self.own.clear();
        }
        self.own.extend(numbers);
        Some(numbers)
    }
}

#[cfg(target_os = "linux")]
mod on_x11 {
    //! The thread's work.

    use super::{Drawn, LOOK, Numbers};
    use std::error::Error;
    use std::sync::atomic::{AtomicBool, Ordering::Relaxed};
    use x11rb::connection::Connection;
    use x11rb::protocol::Event;
    use x11rb::protocol::present::{CompleteKind, ConnectionExt as _, EventMask};

    /// Answers the window until `ended`.
    pub fn run(
        window: u32,
        drawn: &Drawn,
        redraw: &dyn Fn(),
        ended: &AtomicBool,
    ) -> Result<(), Box<dyn Error>> {
        let (connection, _) = x11rb::connect(None)?;
        connection.present_query_version(1, 0)?.reply()?;
        let events = connection.generate_id()?;
        let answers = EventMask::COMPLETE_NOTIFY;
        connection
            .present_select_input(events, window, answers)?
            .check()?;
        let mut numbers = Numbers::default();
        // An answer that the window heard must be followed by a frame; it may have missed it.
        let mut owed = false;
        while !ended.load(Relaxed) {
            while let Some(event) = connection.poll_for_event()? {
                if let Event::PresentCompleteNotify(answer) = event
                    && answer.kind == CompleteKind::NOTIFY_MSC
                {
                    numbers.answered(answer.serial);
                }
            }
            let heard = numbers.heard;
            match numbers.look(drawn.frames()) {
                None => owed = false,
                Some(ask) => {
                    for number in ask {
                        connection.present_notify_msc(window, number, 0, 1, 0)?;
                    }
                    if owed || drawn.frames() == 0 {
                        redraw();
                    }
                    owed = heard;
                }
            }
            connection.flush()?;
            std::thread::park_timeout(LOOK);
        }
        Ok(())
    }
}

#[cfg(not(target_os = "linux"))]
mod on_x11 {
    //! Elsewhere windows need no answers.

    use super::Drawn;
    use std::convert::Infallible;
    use std::sync::atomic::AtomicBool;

    /// Nothing.
    pub fn run(_: u32, _: &Drawn, _: &dyn Fn(), _: &AtomicBool) -> Result<(), Infallible> {
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::Numbers;

    /// The framework's window as far as numbers go.
    #[derive(Default)]
    struct Window {
        asked: Option<u32>,
        answered: Option<u32>,
        frames: u64,
    }

    impl Window {
        /// Asks, unless it waits for an answer; the number.
        fn ask(&mut self) -> Option<u32> {
            let number = match (self.asked, self.answered) {
                (None, _) => 0,
                (Some(asked), Some(answered)) if asked == answered => asked.wrapping_add(1),
                _ => return None,
            };
            self.asked = Some(number);
            Some(number)
        }

        /// Hears an answer, and draws if it is the one that it waits for.
        fn hear(&mut self, number: u32) {
            if self.asked == Some(number) && self.answered != Some(number) {
                self.answered = Some(number);
                self.frames += 1;
            }
        }
    }

    /// Looks once, with the server answering what is asked from here.
    fn look(numbers: &mut Numbers, window: &mut Window) {
        for number in numbers.look(window.frames).into_iter().flatten() {
            numbers.answered(number);
            window.hear(number);
        }
    }

    #[test]
    fn a_window_goes_on_whichever_of_its_answers_are_lost() {
        // Every pattern of twelve answers lost or heard.
        for lost in 0u32..1 << 12 {
            let (mut numbers, mut window) = (Numbers::default(), Window::default());
            for question in 0..12 {
                let number = window.ask().expect("it waits for nothing");
                if lost >> question & 1 == 0 {
                    numbers.answered(number);
                    window.hear(number);
                }
                let before = window.frames;
                for _ in 0..3 {
                    look(&mut numbers, &mut window);
                }
                let waits = window.asked != window.answered;
                assert!(
                    !waits,
                    "{lost:b}, question {question}: {before}, {numbers:?}"
                );
            }
            assert_eq!(window.frames, 12, "{lost:b}");
        }
    }

    #[test]
    fn a_window_that_rests_is_not_made_to_draw() {
        let (mut numbers, mut window) = (Numbers::default(), Window::default());
        let number = window.ask().expect("asked");
        numbers.answered(number);
        window.hear(number);
        for _ in 0..1_000 {
            look(&mut numbers, &mut window);
        }
        assert_eq!(window.frames, 1);
        assert!(numbers.own.len() <= super::REMEMBERED + 3);
    }
}
