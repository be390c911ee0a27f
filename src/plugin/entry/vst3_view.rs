//! What a VST3 host holds of an open editor on Linux: a view around the framework's, which passes every
//! call on, and stands between it and the host's run loop.
//!
//! The cause (nice-plug 0.4.2, `wrapper/vst3/view.rs`): each time a host gives its frame, the framework's
//! view makes two sockets and registers a handler with the host's run loop, and keeps one reference
//! to the handler too many. So the handler never ends: two file descriptors and the registration
//! stay behind at every opening. Here the registration is taken back when the frame goes, and the
//! reference that nobody holds is given up.
//!
//! In the same run loop hangs the bell by which a window's thread lets the host's know that parameters
//! have other names ([`super::vst3_names`]).

use super::vst3_names::Way;
use nice_plug::wrapper::vst3::vst3::Steinberg::Linux::{
    FileDescriptor, IEventHandler, IEventHandlerTrait, IRunLoop, IRunLoopTrait, ITimerHandler,
    TimerInterval,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    FIDString, IPlugFrame, IPlugFrameTrait, IPlugView, IPlugViewContentScaleSupport,
    IPlugViewContentScaleSupport_::ScaleFactor, IPlugViewContentScaleSupportTrait, IPlugViewTrait,
    TBool, ViewRect, char16, int16, kInvalidArgument, kNotImplemented, kResultOk, tresult,
};
use nice_plug::wrapper::vst3::vst3::com_scrape_types::Unknown;
use nice_plug::wrapper::vst3::vst3::{Class, ComPtr, ComRef, ComWrapper};
use std::ffi::c_void;
use std::io::{Read, Write};
use std::os::fd::AsRawFd;
use std::os::unix::net::UnixStream;
use std::ptr::null_mut;
use std::sync::atomic::{AtomicPtr, Ordering::Relaxed};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// Puts a view of the framework's into one of ours, with the way to its host where names may change.
/// Null stays null.
///
/// # Safety
/// `view` is null or a view that the caller holds a reference to; that reference goes over, and one to
/// the new view comes back.
pub unsafe fn around(view: *mut IPlugView, way: Option<Arc<Way>>) -> *mut IPlugView {
    // SAFETY: as the caller promises.
    let Some(view) = (unsafe { ComPtr::from_raw(view) }) else {
        return null_mut();
    };
    let scale = view.cast();
    let outer = ComWrapper::new(View {
        view,
        way,
        scale,
        own: AtomicPtr::default(),
        frame: Mutex::default(),
    });
    let own = outer.to_com_ptr::<IPlugView>();
    let own = own.map_or(null_mut(), ComPtr::into_raw);
    outer.own.store(own, Relaxed);
    own
}

/// A lock that somebody panicked under holds nothing that could be half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// See the module.
struct View {
    view: ComPtr<IPlugView>,
    way: Option<Arc<Way>>,
    scale: Option<ComPtr<IPlugViewContentScaleSupport>>,
    /// This view, as the host knows it; no reference.
    own: AtomicPtr<IPlugView>,
    /// What stands in for the host's frame while there is one.
    frame: Mutex<Option<ComWrapper<LoopFrame>>>,
}

impl Class for View {
    type Interfaces = (IPlugView, IPlugViewContentScaleSupport);
}

impl View {
    /// Gives the framework's view another frame, and takes back what it left with the last one.
    fn give_frame(
        &self,
        frame: *mut IPlugFrame,
        stand_in: Option<ComWrapper<LoopFrame>>,
    ) -> tresult {
        // SAFETY: the frame is the host's or our own, and lives until after the next one is given.
        let result = unsafe { self.view.setFrame(frame) };
        let last = std::mem::replace(&mut *locked(&self.frame), stand_in);
        if let Some(last) = last {
            last.end();
        }
        result
    }
}

impl Drop for View {
    fn drop(&mut self) {
        // Not every host takes its frame away before it lets the view go.
        if locked(&self.frame).is_some() {
            self.give_frame(null_mut(), None);
        }
    }
}

/// Methods that pass a call on to the framework's view as it came.
macro_rules! passed_on {
    ($($name:ident($($argument:ident: $kind:ty),*);)*) => {
        $(unsafe fn $name(&self, $($argument: $kind),*) -> tresult {
            // SAFETY: what the host promises this view is what the framework's asks for.
            unsafe { self.view.$name($($argument),*) }
        })*
    };
}

impl IPlugViewTrait for View {
    passed_on! {
        isPlatformTypeSupported(kind: FIDString);
        attached(parent: *mut c_void, kind: FIDString);
        removed();
        onWheel(distance: f32);
        onKeyDown(key: char16, code: int16, modifiers: int16);
        onKeyUp(key: char16, code: int16, modifiers: int16);
        getSize(size: *mut ViewRect);
        onSize(size: *mut ViewRect);
        onFocus(state: TBool);
        canResize();
        checkSizeConstraint(size: *mut ViewRect);
    }

    unsafe fn setFrame(&self, frame: *mut IPlugFrame) -> tresult {
        // SAFETY: null, or the host's frame.
        let host = unsafe { ComRef::from_raw(frame) };
        let run_loop = host.and_then(|host| Some((host, host.cast::<IRunLoop>()?)));
        // Without a run loop there is nothing to take back.
        let Some((host, run_loop)) = run_loop else {
            return self.give_frame(frame, None);
        };
        let way = self.way.as_ref();
        let stand_in = ComWrapper::new(LoopFrame {
            frame: host.to_com_ptr(),
            bell: way.and_then(|way| Bell::hung(way, &run_loop)),
            run_loop,
            view: AtomicPtr::new(self.own.load(Relaxed)),
            handlers: Mutex::default(),
        });
        match stand_in.to_com_ptr::<IPlugFrame>() {
            Some(frame) => self.give_frame(frame.as_ptr(), Some(stand_in)),
            None => kNotImplemented,
        }
    }
}

impl IPlugViewContentScaleSupportTrait for View {
    unsafe fn setContentScaleFactor(&self, factor: ScaleFactor) -> tresult {
        match &self.scale {
            // SAFETY: as in `passed_on`.
            Some(scale) => unsafe { scale.setContentScaleFactor(factor) },
            None => kNotImplemented,
        }
    }
}

/// Stands in for a host's frame with a run loop, and knows what was registered with it.
struct LoopFrame {
    frame: ComPtr<IPlugFrame>,
    run_loop: ComPtr<IRunLoop>,
    /// The view as the host knows it.
    view: AtomicPtr<IPlugView>,
    handlers: Mutex<Vec<ComPtr<IEventHandler>>>,
    bell: Option<ComWrapper<Bell>>,
}

/// A bell in a host's run loop: its thread asks the host to read names again.
struct Bell {
    way: Arc<Way>,
    rung: UnixStream,
}

impl Class for Bell {
    type Interfaces = (IEventHandler,);
}

impl Bell {
    /// Hangs one up, if the system has the sockets for it and the host takes it.
    fn hung(way: &Arc<Way>, run_loop: &ComPtr<IRunLoop>) -> Option<ComWrapper<Bell>> {
        let (rope, rung) = UnixStream::pair().ok()?;
        rope.set_nonblocking(true).ok()?;
        rung.set_nonblocking(true).ok()?;
        let descriptor = rung.as_raw_fd();
        let bell = ComWrapper::new(Bell {
            way: Arc::clone(way),
            rung,
        });
        let handler = bell.as_com_ref::<IEventHandler>()?;
        // SAFETY: the handler lives until it has been taken back.
        let taken = unsafe { run_loop.registerEventHandler(handler.as_ptr(), descriptor) };
        (taken == kResultOk).then(|| {
            // One that is full rings already.
            let ring = move || drop((&rope).write(&[0]));
            way.hang(Some(Box::new(ring)));
            bell
        })
    }

    /// Takes it down.
    fn down(&self, own: &ComWrapper<Bell>, run_loop: &ComPtr<IRunLoop>) {
        self.way.hang(None);
        if let Some(handler) = own.as_com_ref::<IEventHandler>() {
            // SAFETY: the host knows the handler from its registration.
            unsafe { run_loop.unregisterEventHandler(handler.as_ptr()) };
        }
    }
}

impl IEventHandlerTrait for Bell {
    unsafe fn onFDIsSet(&self, _: FileDescriptor) {
        let mut rung = [0; 64];
        while (&self.rung).read(&mut rung).is_ok_and(|count| count > 0) {}
        // SAFETY: a host serves its run loop on its own thread.
        unsafe { self.way.tell() };
    }
}

impl Class for LoopFrame {
    type Interfaces = (IPlugFrame, IRunLoop);
}

impl LoopFrame {
    /// Takes back what is still registered. The framework's view has let go of it before.
    fn end(&self) {
        if let Some(bell) = &self.bell {
            bell.down(bell, &self.run_loop);
        }
        let left = std::mem::take(&mut *locked(&self.handlers));
        for handler in left {
            let pointer = handler.as_ptr();
            // SAFETY: the host knows the handler from its registration.
            unsafe { self.run_loop.unregisterEventHandler(pointer) };
            // SAFETY: the reference in `handler` keeps it alive meanwhile, and what is released here
            // beside the one just taken is the one that the framework took and let go of.
            unsafe {
                IEventHandler::add_ref(pointer);
                if IEventHandler::release(pointer) > 1 {
                    IEventHandler::release(pointer);
                }
            }
        }
    }
}

impl IPlugFrameTrait for LoopFrame {
    unsafe fn resizeView(&self, _: *mut IPlugView, size: *mut ViewRect) -> tresult {
        // SAFETY: the view asks while it lives. The host knows it by the outer view.
        unsafe { self.frame.resizeView(self.view.load(Relaxed), size) }
    }
}

impl IRunLoopTrait for LoopFrame {
    unsafe fn registerEventHandler(
        &self,
        handler: *mut IEventHandler,
        descriptor: FileDescriptor,
    ) -> tresult {
        // SAFETY: null, or the framework's handler.
        let Some(known) = (unsafe { ComRef::from_raw(handler) }) else {
            return kInvalidArgument;
        };
        // SAFETY: passed on as it came.
        let result = unsafe { self.run_loop.registerEventHandler(handler, descriptor) };
        if result == kResultOk {
            locked(&self.handlers).push(known.to_com_ptr());
        }
        result
    }

    unsafe fn unregisterEventHandler(&self, handler: *mut IEventHandler) -> tresult {
        let known = {
            let mut handlers = locked(&self.handlers);
            let index = handlers.iter().position(|known| known.as_ptr() == handler);
            index.map(|index| handlers.swap_remove(index))
        };
        match known {
            // SAFETY: passed on as it came; `known` keeps the handler alive meanwhile.
            Some(_) => unsafe { self.run_loop.unregisterEventHandler(handler) },
            // The handler is on its way out and was taken back before; the host must not touch it.
            None => kResultOk,
        }
    }

    unsafe fn registerTimer(
        &self,
        handler: *mut ITimerHandler,
        interval: TimerInterval,
    ) -> tresult {
        // SAFETY: passed on as it came.
        unsafe { self.run_loop.registerTimer(handler, interval) }
    }

    unsafe fn unregisterTimer(&self, handler: *mut ITimerHandler) -> tresult {
        // SAFETY: passed on as it came.
        unsafe { self.run_loop.unregisterTimer(handler) }
    }
}
