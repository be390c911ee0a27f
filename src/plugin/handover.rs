//! Hand-over of boxed values between threads: to the audio thread, and what it has finished with back
//! to be freed elsewhere.
//!
//! Any thread sends; a value that is still on its way is replaced by a later one. The audio thread
//! takes a value only while the way back has room for the one that it displaces, so it never frees
//! memory and never waits.

use crossbeam_utils::atomic::AtomicCell;
use rtrb::{Consumer, Producer, RingBuffer};
use std::sync::atomic::AtomicBool;
use std::sync::atomic::Ordering::{Acquire, Release};
use std::sync::{Arc, Mutex, PoisonError};

/// Values that may wait to be freed.
const FINISHED: usize = 4;
/// Places that must be free before one more value goes to the audio thread: for the value that it
/// displaces, and for one that is still being faded out.
const ROOM: usize = 2;

/// The way to the audio thread.
struct Way<T> {
    incoming: AtomicCell<Option<Box<T>>>,
    /// Set after a value was put there, cleared before one is taken: never clear while a value
    /// waits.
    waits: AtomicBool,
}

/// The end of every thread but the audio thread.
pub struct Handover<T> {
    way: Arc<Way<T>>,
    finished: Mutex<Consumer<Box<T>>>,
}

/// The audio thread's end.
pub struct AudioEnd<T> {
    way: Arc<Way<T>>,
    finished: Producer<Box<T>>,
}

/// Both ends, with nothing on its way.
pub fn handover<T>() -> (Handover<T>, AudioEnd<T>) {
    let (producer, consumer) = RingBuffer::new(FINISHED);
    let way = Arc::new(Way {
        incoming: AtomicCell::new(None),
        waits: AtomicBool::new(false),
    });
    let handover = Handover {
        way: Arc::clone(&way),
        finished: Mutex::new(consumer),
    };
    let end = AudioEnd {
        way,
        finished: producer,
    };
    (handover, end)
}

impl<T> Handover<T> {
    /// Sends a value; it takes the place of one that is still on its way.
    pub fn send(&self, value: Box<T>) {
        self.collect();
        self.way.incoming.store(Some(value));
        self.way.waits.store(true, Release);
    }

    /// Takes back what is on its way, and frees what the audio thread has finished with.
    pub fn cancel(&self) {
        self.way.waits.store(false, Release);
        self.way.incoming.store(None);
        self.collect();
    }

    /// Frees what the audio thread has finished with.
    pub fn collect(&self) {
        let finished = self.finished.lock();
        let mut finished = finished.unwrap_or_else(PoisonError::into_inner);
        while finished.pop().is_ok() {}
    }
}

impl<T> AudioEnd<T> {
    /// Whether a value is on its way. One that was taken just as it came may count until the next
    /// exchange.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn waits(&self) -> bool {
        self.way.waits.load(Acquire)
    }

    /// An exchange of one value for another; none while the way back is full.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn exchange(&mut self) -> Option<Exchange<'_, T>> {
        (self.finished.slots() >= ROOM).then_some(Exchange { end: self })
    }
}

/// The right to take one value and to give one back, for which there is room.
pub struct Exchange<'a, T> {
    end: &'a mut AudioEnd<T>,
}

impl<T> Exchange<'_, T> {
    /// Takes the value that is on its way.
    ///
    /// # Real-time
    /// Lock-free, frees nothing.
    pub fn take(&self) -> Option<Box<T>> {
        self.end.way.waits.store(false, Release);
        self.end.way.incoming.take()
    }

    /// Gives a value back to be freed elsewhere.
    ///
    /// # Real-time
    /// Lock-free, frees nothing.
    pub fn give_back(self, value: Box<T>) {
        let pushed = self.end.finished.push(value);
        // Only this end writes, and it has seen the room.
        debug_assert!(pushed.is_ok(), "there is room");
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::sync::atomic::AtomicUsize;
    use std::sync::atomic::Ordering::Relaxed;
    use std::thread::ThreadId;

    /// A value that counts itself while it lives and notes the thread that freed it.
    struct Tracked {
        number: u64,
        alive: Arc<AtomicUsize>,
        freed_on: Arc<Mutex<Vec<ThreadId>>>,
    }

    impl Drop for Tracked {
        fn drop(&mut self) {
            self.alive.fetch_sub(1, Relaxed);
            self.freed_on
                .lock()
                .unwrap()
                .push(std::thread::current().id());
        }
    }

    #[derive(Clone, Default)]
    struct Maker {
        alive: Arc<AtomicUsize>,
        freed_on: Arc<Mutex<Vec<ThreadId>>>,
    }

    impl Maker {
        fn make(&self, number: u64) -> Box<Tracked> {
            self.alive.fetch_add(1, Relaxed);
            Box::new(Tracked {
                number,
                alive: Arc::clone(&self.alive),
                freed_on: Arc::clone(&self.freed_on),
            })
        }
    }

    #[test]
    fn a_later_value_replaces_one_that_is_on_its_way() {
        let maker = Maker::default();
        let (handover, mut end) = super::handover::<Tracked>();
        assert!(!end.waits());
        handover.send(maker.make(1));
        handover.send(maker.make(2));
        assert!(end.waits());
        assert_eq!(maker.alive.load(Relaxed), 1);
        let exchange = end.exchange().unwrap();
        assert_eq!(exchange.take().unwrap().number, 2);
        assert!(exchange.take().is_none());
        assert!(!end.waits());
        handover.send(maker.make(3));
        handover.cancel();
        assert!(!end.waits());
        assert!(end.exchange().unwrap().take().is_none());
        assert_eq!(maker.alive.load(Relaxed), 0);
    }

    #[test]
    fn nothing_is_taken_while_the_way_back_is_full() {
        let maker = Maker::default();
        let (handover, mut end) = super::handover::<Tracked>();
        let mut given = 0;
        while let Some(exchange) = end.exchange() {
            exchange.give_back(maker.make(given));
            given += 1;
        }
        assert_eq!(given as usize, FINISHED - ROOM + 1);
        assert_eq!(maker.alive.load(Relaxed), given as usize);
        handover.collect();
        assert_eq!(maker.alive.load(Relaxed), 0);
        assert!(end.exchange().is_some());
    }

    #[test]
    fn the_audio_thread_frees_nothing_and_sees_the_last_value() {
        const LAST: u64 = 20_000;
        let maker = Maker::default();
        let (handover, mut end) = super::handover::<Tracked>();
        let first = maker.make(0);
        let audio = std::thread::spawn(move || {
            let mut playing = first;
            while playing.number < LAST {
                let Some(exchange) = end.exchange() else {
                    continue;
                };
                if let Some(next) = exchange.take() {
                    assert!(next.number > playing.number);
                    exchange.give_back(std::mem::replace(&mut playing, next));
                }
            }
            // What plays outlives the thread.
            (std::thread::current().id(), playing, end)
        });
        for number in 1..=LAST {
            handover.send(maker.make(number));
        }
        while !audio.is_finished() {
            handover.collect();
        }
        let (audio, playing, mut end) = audio.join().unwrap();
        let exchange = end.exchange().expect("all is collected");
        assert!(exchange.take().is_none(), "nothing came behind the last");
        assert!(!end.waits());
        drop((playing, end, handover));
        assert_eq!(maker.alive.load(Relaxed), 0);
        assert!(!maker.freed_on.lock().unwrap().contains(&audio));
    }
}
