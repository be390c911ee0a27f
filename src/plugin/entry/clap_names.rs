//! The names of an instance's parameters in a CLAP host: written where the host asks for one, and the
//! host asked to read them again when another file of one's own has been loaded.
//!
//! A file is loaded on whatever thread a window has. That thread only notes it and asks the host for a
//! call on its main thread, which a host lets be asked from anywhere; there the host is asked to read
//! again. A host without parameters in that sense is asked for nothing.

use crate::plugin::instance::Instance;
use clap_sys::ext::params::{
    CLAP_EXT_PARAMS, CLAP_PARAM_RESCAN_INFO, CLAP_PARAM_RESCAN_TEXT, CLAP_PARAM_RESCAN_VALUES,
    clap_host_params,
};
use nice_plug::wrapper::clap::clap_host;
use std::ffi::c_char;
use std::ptr::null_mut;
use std::sync::atomic::{AtomicBool, AtomicPtr, Ordering};
use std::sync::{Arc, Mutex, MutexGuard, PoisonError};

/// See the module.
pub struct Names {
    instance: Arc<Instance>,
    /// For the main thread, where it is there until [`Names::end`].
    host: Host,
    way: Arc<Way>,
}

/// The way to a host. The instance has it too, and may live longer.
struct Way {
    /// Null once the host has destroyed its plugin.
    host: Mutex<Host>,
    params: AtomicPtr<clap_host_params>,
    /// Names have changed, and the host has not been asked yet.
    due: AtomicBool,
}

/// A host's pointer.
#[derive(Clone, Copy)]
struct Host(*const clap_host);

// SAFETY: a host's functions say themselves from which thread they may be called.
unsafe impl Send for Host {}

impl Way {
    fn host(&self) -> MutexGuard<'_, Host> {
        self.host.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Notes that names have changed, and asks for a call on the main thread.
    fn note(&self) {
        self.due.store(true, Ordering::Release);
        // Held through the call, so that no host is called that has destroyed its plugin.
        let host = self.host();
        // SAFETY: the host's pointer stays until it destroys the plugin; the function may be called
        // from any thread.
        unsafe {
            if let Some(ask) = host.0.as_ref().and_then(|host| host.request_callback) {
                ask(host.0);
            }
        }
    }
}

impl Names {
    /// Those of an instance that a host has just had made.
    ///
    /// # Safety
    /// The host's pointer stays until [`Names::end`].
    pub unsafe fn new(host: *const clap_host, instance: Arc<Instance>) -> Self {
        let host = Host(host);
        let way = Arc::new(Way {
            host: Mutex::new(host),
            params: AtomicPtr::new(null_mut()),
            due: AtomicBool::new(false),
        });
        let note = Arc::clone(&way);
        instance.when_renamed(Box::new(move || note.note()));
        Names {
            instance,
            host,
            way,
        }
    }

    /// Learns how the host is asked to read again.
    ///
    /// # Safety
    /// On the main thread, at or after `init`.
    pub unsafe fn begin(&self) {
        let host = self.host;
        // SAFETY: the host is there, and may be asked from here on.
        let params = unsafe {
            let ask = host.0.as_ref().and_then(|host| host.get_extension);
            ask.map(|ask| ask(host.0, CLAP_EXT_PARAMS.as_ptr()))
        };
        let params = params.unwrap_or(std::ptr::null());
        let params = params.cast::<clap_host_params>().cast_mut();
        self.way.params.store(params, Ordering::Release);
    }

    /// Asks the host to read again, if names have changed since the last time.
    ///
    /// # Safety
    /// On the main thread, before [`Names::end`].
    pub unsafe fn tell(&self) {
        if !self.way.due.swap(false, Ordering::AcqRel) {
            return;
        }
        // The lock is not taken: a host may make this call from within the one that asks for it.
        let host = self.host;
        // SAFETY: the extension is the host's, which is there.
        unsafe {
            let params = self.way.params.load(Ordering::Acquire).as_ref();
            if let Some(rescan) = params.and_then(|params| params.rescan) {
                let flags =
                    CLAP_PARAM_RESCAN_INFO | CLAP_PARAM_RESCAN_VALUES | CLAP_PARAM_RESCAN_TEXT;
                rescan(host.0, flags);
            }
        }
    }

    /// The host has destroyed its plugin: it is called no more, from any thread.
    pub fn end(&self) {
        *self.way.host() = Host(std::ptr::null());
        self.way.params.store(null_mut(), Ordering::Release);
    }

    /// Puts the name of the parameter of an index over the one that is there, where it has another.
    pub fn write(&self, index: usize, into: &mut [c_char]) {
        let Some(name) = self.instance.name_of_param(index) else {
            return;
        };
        let fits = name.floor_char_boundary(into.len().saturating_sub(1));
        let bytes = name.as_bytes()[..fits].iter().map(|&byte| byte as c_char);
        let ended = bytes.chain(std::iter::repeat(0));
        into.iter_mut().zip(ended).for_each(|(to, from)| *to = from);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plugin::class::{CLASSES, OWN_CLAP_ID};
    use nice_plug::wrapper::clap::CLAP_VERSION;
    use std::ffi::{CStr, c_void};
    use std::ptr::null;
    use std::sync::atomic::{AtomicU32, AtomicUsize};

    /// What a host was asked.
    #[derive(Default)]
    struct Asked {
        calls: AtomicUsize,
        rescans: AtomicUsize,
        flags: AtomicU32,
    }

    unsafe fn asked<'a>(host: *const clap_host) -> &'a Asked {
        // SAFETY: the tests' hosts have theirs there.
        unsafe { &*(*host).host_data.cast::<Asked>() }
    }

    unsafe extern "C" fn request_callback(host: *const clap_host) {
        // SAFETY: as above.
        unsafe { asked(host) }.calls.fetch_add(1, Ordering::SeqCst);
    }

    unsafe extern "C" fn rescan(host: *const clap_host, flags: u32) {
        // SAFETY: as above.
        let asked = unsafe { asked(host) };
        asked.rescans.fetch_add(1, Ordering::SeqCst);
        asked.flags.store(flags, Ordering::SeqCst);
    }

    static PARAMS: clap_host_params = clap_host_params {
        rescan: Some(rescan),
        clear: None,
        request_flush: None,
    };

    unsafe extern "C" fn with_params(_: *const clap_host, id: *const c_char) -> *const c_void {
        // SAFETY: a text.
        match unsafe { CStr::from_ptr(id) } == CLAP_EXT_PARAMS {
            true => std::ptr::from_ref(&PARAMS).cast(),
            false => null(),
        }
    }

    unsafe extern "C" fn bare(_: *const clap_host, _: *const c_char) -> *const c_void {
        null()
    }

    type Extensions = unsafe extern "C" fn(*const clap_host, *const c_char) -> *const c_void;

    fn host(asked: &Asked, extensions: Extensions) -> clap_host {
        clap_host {
            clap_version: CLAP_VERSION,
            host_data: std::ptr::from_ref(asked).cast_mut().cast(),
            name: null(),
            vendor: null(),
            url: null(),
            version: null(),
            get_extension: Some(extensions),
            request_restart: None,
            request_process: None,
            request_callback: Some(request_callback),
        }
    }

    fn instance() -> Arc<Instance> {
        let own = CLASSES.iter().find(|class| class.clap_id == OWN_CLAP_ID);
        Instance::new(own.expect("a class").parameters()).0
    }

    /// The names of an instance in a host that knows parameters or not.
    fn names(host: &clap_host, instance: &Arc<Instance>) -> Names {
        // SAFETY: the tests end the names before the host goes.
        unsafe {
            let names = Names::new(host, Arc::clone(instance));
            names.begin();
            names
        }
    }

    #[test]
    fn a_window_of_another_thread_asks_for_a_call_and_the_call_asks_to_read_once() {
        let asked = Asked::default();
        let host = host(&asked, with_params);
        let instance = instance();
        let names = names(&host, &instance);
        std::thread::scope(|scope| {
            scope.spawn(|| instance.tell());
        });
        let counts = || [&asked.calls, &asked.rescans].map(|n| n.load(Ordering::SeqCst));
        assert_eq!(counts(), [1, 0]);
        // SAFETY: this is the main thread of this host.
        unsafe {
            names.tell();
            names.tell();
        }
        assert_eq!(counts(), [1, 1]);
        let flags = CLAP_PARAM_RESCAN_INFO | CLAP_PARAM_RESCAN_VALUES | CLAP_PARAM_RESCAN_TEXT;
        assert_eq!(asked.flags.load(Ordering::SeqCst), flags);
        // The instance lives on in its window's thread: nobody is called any more.
        instance.tell();
        names.end();
        instance.tell();
        // SAFETY: as above; it is told of nothing.
        unsafe { names.tell() };
        drop(names);
        instance.tell();
        assert_eq!(counts(), [2, 1]);
    }

    #[test]
    fn a_host_that_goes_meanwhile_is_called_no_more() {
        let instance = instance();
        let asked = Asked::default();
        let host = Box::new(host(&asked, with_params));
        let names = names(&host, &instance);
        std::thread::scope(|scope| {
            let caller = scope.spawn(|| {
                for _ in 0..10_000 {
                    instance.tell();
                }
            });
            while asked.calls.load(Ordering::SeqCst) == 0 {
                std::hint::spin_loop();
            }
            names.end();
            let calls = asked.calls.load(Ordering::SeqCst);
            drop(host);
            caller.join().expect("it ends");
            assert_eq!(asked.calls.load(Ordering::SeqCst), calls);
        });
    }

    /// The interface foresees that a host makes the call later; one that makes it at once is served.
    #[test]
    fn a_host_that_calls_at_once_is_served() {
        thread_local! {
            static SERVED: std::cell::Cell<*const Names> = const { std::cell::Cell::new(null()) };
        }
        unsafe extern "C" fn at_once(_: *const clap_host) {
            // SAFETY: the test below keeps the names there.
            unsafe { SERVED.get().as_ref().expect("names").tell() };
        }
        let asked = Asked::default();
        let mut host = host(&asked, with_params);
        host.request_callback = Some(at_once);
        let instance = instance();
        let names = names(&host, &instance);
        SERVED.set(&names);
        instance.tell();
        assert_eq!(asked.rescans.load(Ordering::SeqCst), 1);
        names.end();
    }

    #[test]
    fn a_host_without_parameters_is_asked_to_read_nothing() {
        let asked = Asked::default();
        let host = host(&asked, bare);
        let instance = instance();
        let names = names(&host, &instance);
        instance.tell();
        // SAFETY: as above.
        unsafe { names.tell() };
        assert_eq!(asked.rescans.load(Ordering::SeqCst), 0);
        names.end();
    }

    #[test]
    fn a_name_too_long_ends_before_a_character() {
        let instance = instance();
        let text = crate::circuit::built_in_circuit("mizzle")
            .expect("an amp")
            .text;
        let role = "Ω".repeat(120);
        let text = text.replace("role = \"anode load\"", &format!("role = \"{role}\""));
        instance.load(text.as_bytes(), None).expect("a sound file");
        let asked = Asked::default();
        let host = host(&asked, bare);
        let names = names(&host, &instance);
        let settings = crate::live::settings::PluginSetting::ALL.len();
        let mut longest = 0;
        for index in 0..settings + instance.class().ids.len() {
            let mut into = [0x55 as c_char; 64];
            names.write(index, &mut into);
            let bytes: Vec<u8> = into.iter().map(|&byte| byte as u8).collect();
            let Ok(name) = CStr::from_bytes_until_nul(&bytes) else {
                assert!(index < settings, "{index}");
                continue;
            };
            let name = name.to_str().expect("whole characters");
            longest = longest.max(name.len());
        }
        assert!((62..=63).contains(&longest), "{longest}");
        names.end();
    }
}
