//! The names of an instance's parameters in a VST3 host: written where the host asks for one, and the
//! host asked to read them again when another file of one's own has been loaded.
//!
//! A host may be asked for that on its own thread only. A window of ours that is on that thread asks at
//! once. One that has a thread of its own, as on Linux, rings a bell that hangs in the host's run loop
//! while the window is open. Where there is neither, the host is asked with the next of its calls that
//! may change much: a state, activation, another window.

use crate::plugin::instance::Instance;
use nice_plug::wrapper::vst3::vst3::ComPtr;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    IComponentHandler, IComponentHandlerTrait, RestartFlags_, TChar,
};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};
use std::thread::{ThreadId, current};

/// See the module.
pub struct Names {
    instance: Arc<Instance>,
    way: Arc<Way>,
}

/// The way to a host. The instance and an open window have it too, and may live longer.
pub struct Way {
    /// The thread that the host makes instances on.
    own: ThreadId,
    /// While the host has one.
    handler: Mutex<Option<ComPtr<IComponentHandler>>>,
    /// While it hangs in the host's run loop.
    bell: Mutex<Option<Ring>>,
    /// Names have changed, and the host has not been asked yet.
    due: AtomicBool,
}

/// Rings a bell, from any thread.
pub type Ring = Box<dyn Fn() + Send>;

/// A lock that somebody panicked under holds nothing that could be half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

impl Way {
    /// Notes that names have changed, and sees to it that the host is asked to read them.
    fn note(&self) {
        self.due.store(true, Ordering::Release);
        if current().id() == self.own {
            // SAFETY: this is the host's own thread.
            return unsafe { self.tell() };
        }
        if let Some(ring) = &*locked(&self.bell) {
            ring();
        }
    }

    /// Asks the host to read again, if names have changed since the last time. Without a handler they
    /// stay so.
    ///
    /// # Safety
    /// On the host's thread.
    pub unsafe fn tell(&self) {
        // A host may do whatever it likes meanwhile, so the lock is not held.
        let handler = locked(&self.handler).clone();
        if let Some(handler) = handler
            && self.due.swap(false, Ordering::AcqRel)
        {
            let flags = RestartFlags_::kParamTitlesChanged | RestartFlags_::kParamValuesChanged;
            // SAFETY: the reference keeps the host's handler alive; the thread is the host's.
            unsafe { handler.restartComponent(flags) };
        }
    }

    /// Hangs up a bell, or takes it down. Rings it at once where something is due.
    pub fn hang(&self, ring: Option<Ring>) {
        let mut bell = locked(&self.bell);
        *bell = ring;
        if let Some(ring) = bell.as_ref().filter(|_| self.due.load(Ordering::Acquire)) {
            ring();
        }
    }
}

impl Names {
    /// Those of an instance that is being made on this thread.
    pub fn new(instance: Arc<Instance>) -> Self {
        let way = Arc::new(Way {
            own: current().id(),
            handler: Mutex::new(None),
            bell: Mutex::new(None),
            due: AtomicBool::new(false),
        });
        let note = Arc::clone(&way);
        instance.when_renamed(Box::new(move || note.note()));
        Names { instance, way }
    }

    /// The way to the host, for a window; none for a class whose names stay.
    pub fn way(&self) -> Option<Arc<Way>> {
        self.instance.class().own.then(|| Arc::clone(&self.way))
    }

    /// Takes the host's handler, or lets go of it: without one no host is called.
    pub fn take(&self, handler: Option<ComPtr<IComponentHandler>>) {
        let last = std::mem::replace(&mut *locked(&self.way.handler), handler);
        // A host's destructor runs without the lock.
        drop(last);
    }

    /// See [`Way::tell`].
    ///
    /// # Safety
    /// On the host's thread.
    pub unsafe fn tell(&self) {
        // SAFETY: the caller's promise.
        unsafe { self.way.tell() }
    }

    /// Puts the name of the parameter of an index over those that are there, where it has another.
    pub fn write(&self, index: usize, into: [&mut [TChar]; 2]) {
        let Some(name) = self.instance.name_of_param(index) else {
            return;
        };
        for into in into {
            let fits = into.len().saturating_sub(1);
            let units = name.encode_utf16().take(fits).map(|unit| unit as TChar);
            let ended = units.chain(std::iter::repeat(0));
            into.iter_mut().zip(ended).for_each(|(to, from)| *to = from);
        }
    }
}
