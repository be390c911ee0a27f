//! How the window asks its host for another size.
//!
//! The cause (`baseview` 0.4.2, `platform/x11/sizing.rs`): the framework gives its own window the new
//! size first and asks the host once the window has it. A host that keeps a window in its own from
//! changing its size, as GTK's sockets do, thus never hears of it. Here the host is asked first, on its
//! main thread, and then gives the size as it does when it changes it by itself.

use nice_plug::editor::dpi::Size;
use nice_plug::editor::{HostCallbacks, HostMainThreadCaller, HostMethods};
use std::cell::RefCell;
use std::error::Error;
use std::rc::Rc;
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// A size, and the pixels for each of its points.
type Wanted = (Size, f64);

/// What the window's thread leaves for the host's main thread.
#[derive(Default)]
struct Left {
    wanted: Option<Wanted>,
    /// Wakes the main thread while a window is open.
    caller: Option<Box<dyn HostMainThreadCaller>>,
}

/// The window's end.
#[derive(Clone, Default)]
pub struct Wish(Arc<Mutex<Left>>);

impl Wish {
    fn left(&self) -> MutexGuard<'_, Left> {
        self.0.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Asks the host for a size. False if there is no host to ask, or none that must be asked: off X11
    /// the framework's windows live on the main thread and do it right.
    pub fn ask(&self, size: Size, scale: f64) -> bool {
        let mut left = self.left();
        left.wanted = Some((size, scale));
        match &mut left.caller {
            Some(caller) => caller.call_main_thread(),
            None => return false,
        }
        true
    }

    /// Stands between a host and the framework's editor while a window is open.
    pub fn between(&self, host: HostMethods) -> (HostMethods, Host) {
        let callbacks = Rc::new(RefCell::new(host.callbacks));
        let caller = Arc::new(Mutex::new(host.main_thread_caller));
        if cfg!(target_os = "linux") {
            self.left().caller = Some(Box::new(Caller(caller.clone())));
        }
        let methods = HostMethods {
            callbacks: Box::new(Callbacks(callbacks.clone())),
            main_thread_caller: Box::new(Caller(caller)),
        };
        (methods, Host(callbacks, self.clone()))
    }
}

/// The host's callbacks, which two may call.
type Shared = Rc<RefCell<Box<dyn HostCallbacks>>>;

/// The main thread's end; of one open window.
pub struct Host(Shared, Wish);

impl Host {
    /// Passes on what the window asked for. On the main thread.
    pub fn serve(&self) {
        let wanted = self.1.left().wanted.take();
        if let Some((size, scale)) = wanted
            && let Ok(mut callbacks) = self.0.try_borrow_mut()
        {
            // A host may refuse; the window then stays as it is.
            let _ = callbacks.request_resize(size, scale);
        }
    }
}

impl Drop for Host {
    fn drop(&mut self) {
        *self.1.left() = Left::default();
    }
}

/// What the framework calls in place of the host.
struct Callbacks(Shared);

impl HostCallbacks for Callbacks {
    fn request_resize(&mut self, size: Size, scale: f64) -> Result<(), Box<dyn Error>> {
        self.0.try_borrow_mut()?.request_resize(size, scale)
    }

    fn destroyed(&mut self) {
        if let Ok(mut callbacks) = self.0.try_borrow_mut() {
            callbacks.destroyed();
        }
    }
}

/// Wakes the host's main thread, for two.
struct Caller(Arc<Mutex<Box<dyn HostMainThreadCaller>>>);

impl HostMainThreadCaller for Caller {
    fn call_main_thread(&mut self) {
        let mut caller = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        caller.call_main_thread();
    }
}
