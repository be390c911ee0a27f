//! A window that is closed when it says so: waits for the window's thread to end.
//!
//! The framework's window on X11 has a thread of its own, and gives up joining it when the thread
//! is already on its way out. A host that unloads the library, or ends, at that moment would pull
//! the code away from under it. So what is handed to the host is the framework's editor in a
//! wrapper whose window, when dropped, waits until that thread is gone, and ours beside it.

use super::answers::Answers;
use super::asking::{Host, Wish};
use nice_plug::context::gui::GuiContext;
use nice_plug::editor::dpi::NativeSize;
use nice_plug::editor::{EditorHandle, HostMethods, Modifiers, SpawnedEditor, VirtualKeyCode};
use nice_plug::prelude::*;
use nice_plug_egui::{EguiEditor, EguiEditorHandle, NiceEguiApp};
use std::error::Error;
use std::path::PathBuf;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// Longest wait for a window's thread: closing takes some milliseconds; a thread that hangs must
/// not hang its host for good.
const LONGEST: Duration = Duration::from_secs(5);
/// Between two looks.
const LOOK: Duration = Duration::from_millis(1);

/// What an open window has besides itself.
#[derive(Debug, Default)]
struct Open {
    /// The window's thread: its folder in the system's list of threads.
    thread: Option<PathBuf>,
    /// What keeps the window drawing.
    answers: Option<Answers>,
}

/// Where the window's thread leaves word of itself.
#[derive(Clone, Debug, Default)]
pub struct Opening(Arc<Mutex<Open>>);

impl Opening {
    /// Called on the window's thread once it runs, with what keeps the window drawing.
    pub fn on_its_thread(&self, answers: Option<Answers>) {
        // Elsewhere windows live on the host's own thread, which goes on.
        let thread = match cfg!(target_os = "linux") {
            true => std::fs::read_link("/proc/thread-self").ok(),
            false => None,
        };
        self.put(Open {
            thread: thread.map(|own| PathBuf::from("/proc").join(own)),
            answers,
        });
    }

    fn put(&self, open: Open) -> Open {
        std::mem::replace(
            &mut self.0.lock().unwrap_or_else(PoisonError::into_inner),
            open,
        )
    }

    fn wait(&self) {
        let Open { thread, answers } = self.put(Open::default());
        drop(answers);
        let start = Instant::now();
        while thread.as_ref().is_some_and(|folder| folder.exists()) && start.elapsed() < LONGEST {
            std::thread::sleep(LOOK);
        }
    }
}

/// The framework's editor, in the wrapper.
pub struct WindowEditor<A: NiceEguiApp> {
    inner: EguiEditor<A>,
    opening: Opening,
    wish: Wish,
}

impl<A: NiceEguiApp> WindowEditor<A> {
    /// Wraps the framework's editor; `opening` is what its window calls once it runs, `wish` what it
    /// asks for other sizes.
    pub fn new(inner: EguiEditor<A>, opening: Opening, wish: Wish) -> Self {
        WindowEditor {
            inner,
            opening,
            wish,
        }
    }
}

impl<A: NiceEguiApp> Editor for WindowEditor<A> {
    type Handle = Handle;

    fn spawn(
        &self,
        parent: Option<ParentWindowHandle>,
        wait_for_parent: bool,
        fallback_scale_factor: Option<f64>,
        gui_context: GuiContext,
        host: Option<HostMethods>,
    ) -> Result<SpawnedEditor<Handle>, Box<dyn Error>> {
        self.opening.put(Open::default());
        let (methods, host) = host.map(|host| self.wish.between(host)).unzip();
        let spawned = self.inner.spawn(
            parent,
            wait_for_parent,
            fallback_scale_factor,
            gui_context,
            methods,
        )?;
        Ok(SpawnedEditor {
            handle: Handle(spawned.handle),
            window: Closing {
                window: Some(spawned.window),
                opening: self.opening.clone(),
                host,
            },
        })
    }

    fn size(&self) -> NativeSize<u32> {
        self.inner.size()
    }

    fn resize_hint(&self) -> ResizeHint {
        self.inner.resize_hint()
    }

    fn track_info_updated(&self, info: TrackInfo) {
        self.inner.track_info_updated(info);
    }

    unsafe fn assume_standalone_in_process(&self) {
        // SAFETY: what the caller promises is what the framework's editor asks for.
        unsafe { self.inner.assume_standalone_in_process() }
    }
}

/// The framework's window, whose end is waited for.
pub struct Closing {
    /// Taken when it is closed.
    window: Option<<EguiEditorHandle as EditorHandle>::Window>,
    opening: Opening,
    host: Option<Host>,
}

impl Closing {
    fn window(&self) -> &<EguiEditorHandle as EditorHandle>::Window {
        self.window.as_ref().expect("taken only when it is closed")
    }
}

impl Drop for Closing {
    fn drop(&mut self) {
        drop(self.window.take());
        self.opening.wait();
    }
}

/// The framework's handle, in the wrapper.
pub struct Handle(EguiEditorHandle);

impl EditorHandle for Handle {
    type Window = Closing;
    type Error = <EguiEditorHandle as EditorHandle>::Error;

    fn run_until_closed(mut window: Closing) -> Result<(), Self::Error> {
        let inner = window.window.take().expect("taken only when it is closed");
        EguiEditorHandle::run_until_closed(inner)
    }

    fn set_parent(&self, parent: ParentWindowHandle, window: &Closing) -> Result<(), Self::Error> {
        self.0.set_parent(parent, window.window())
    }

    fn show(&self, window: &Closing) -> Result<(), Self::Error> {
        // A host that gets no time just now: a test sees that the window is drawn all the same.
        #[cfg(debug_assertions)]
        if let Some(late) = std::env::var_os("PRESOLDER_SHOW_LATE") {
            let late = late.to_str().and_then(|text| text.parse().ok());
            std::thread::sleep(Duration::from_millis(late.unwrap_or(0)));
        }
        self.0.show(window.window())
    }

    fn hide(&self, window: &Closing) -> Result<(), Self::Error> {
        self.0.hide(window.window())
    }

    fn set_size(&self, size: NativeSize<u32>, window: &Closing) -> Result<(), Self::Error> {
        self.0.set_size(size, window.window())
    }

    fn host_main_thread_callback(&self, window: &Closing) {
        if let Some(host) = &window.host {
            host.serve();
        }
        self.0.host_main_thread_callback(window.window());
    }

    fn adjust_size(&self, size: NativeSize<u32>, window: &Closing) -> Option<NativeSize<u32>> {
        self.0.adjust_size(size, window.window())
    }

    fn set_fallback_scale_factor(&self, scale: f64, window: &Closing) -> Result<(), Self::Error> {
        self.0.set_fallback_scale_factor(scale, window.window())
    }

    fn on_virtual_key_from_host(
        &self,
        key: VirtualKeyCode,
        is_down: bool,
        modifiers: Modifiers,
    ) -> bool {
        self.0.on_virtual_key_from_host(key, is_down, modifiers)
    }

    fn state_changed(&self) {
        self.0.state_changed();
    }

    fn param_value_changed(&self, id: &str, normalized_value: f32) {
        self.0.param_value_changed(id, normalized_value);
    }

    fn param_modulation_changed(&self, id: &str, modulation_offset: f32) {
        self.0.param_modulation_changed(id, modulation_offset);
    }
}
