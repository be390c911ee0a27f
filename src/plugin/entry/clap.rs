//! The CLAP entry point: a factory that lists the classes and makes instances of them.
//!
//! A host gets a plugin of ours that has the framework's functions with some replaced, which keep from
//! the host what the wrapper of nice-plug 0.4.2 does wrong:
//!
//! - `get_info` of the parameters panics, and so aborts the host, for an index equal to the count: it
//!   is refused. And it gives names as they were when the instance was made: one's own file has others.
//! - `load` of the state does not say whose state it is: the class is meant meanwhile.
//! - Nothing asks the host to read names again: `init` learns how, `load` and `on_main_thread` do it.
//! - `destroy` may panic, and so abort the host: the panic is caught. The framework's thread gets no
//!   task in CLAP, so that there is nothing to wait for (see [`super::fence`]).

use super::clap_names::Names;
use super::{fence, made};
use crate::plugin::class::{CLASSES, Class, mean};
use crate::plugin::shell::Presolder;
use clap_sys::ext::params::{CLAP_EXT_PARAMS, clap_param_info, clap_plugin_params};
use clap_sys::ext::state::{CLAP_EXT_STATE, clap_plugin_state};
use clap_sys::stream::clap_istream;
use nice_plug::prelude::ClapPlugin;
use nice_plug::prelude::Plugin;
use nice_plug::wrapper::clap::{
    CLAP_PLUGIN_FACTORY_ID, CLAP_VERSION, Wrapper, clap_host, clap_plugin, clap_plugin_descriptor,
    clap_plugin_entry, clap_plugin_factory,
};
use nice_plug::wrapper::setup_logger;
use std::ffi::{CStr, CString, c_char, c_void};
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::ptr::null;
use std::sync::{Arc, OnceLock};

/// What a host is told of a class, for as long as the library is loaded.
struct Listed {
    class: &'static Class,
    descriptor: clap_plugin_descriptor,
}

// SAFETY: the descriptor's pointers lead to texts that are never written and never freed.
unsafe impl Send for Listed {}
// SAFETY: as above.
unsafe impl Sync for Listed {}

/// A text that stays.
fn kept(text: &str) -> *const c_char {
    // Ours hold no NUL; if one did, it would end there for the host.
    let until = text.split('\0').next().unwrap_or_default();
    CString::new(until).unwrap_or_default().into_raw()
}

/// The classes, listed once.
fn listed() -> &'static [Listed] {
    static LISTED: OnceLock<Vec<Listed>> = OnceLock::new();
    LISTED.get_or_init(|| {
        let features = Presolder::CLAP_FEATURES.iter();
        let features = features.map(|feature| kept(feature.as_str()));
        let features: Vec<_> = features.chain([null()]).collect();
        let features = features.leak().as_ptr();
        let listed = |class: &'static Class| Listed {
            class,
            descriptor: clap_plugin_descriptor {
                clap_version: CLAP_VERSION,
                id: kept(class.clap_id),
                name: kept(class.name),
                vendor: kept(Presolder::VENDOR),
                url: kept(Presolder::URL),
                manual_url: null(),
                support_url: null(),
                version: kept(Presolder::VERSION),
                description: Presolder::CLAP_DESCRIPTION.map_or(null(), kept),
                features,
            },
        };
        CLASSES.iter().map(listed).collect()
    })
}

/// What a host holds of an instance: a plugin whose functions find the framework's wrapper by
/// `plugin_data`, and what ours need.
#[repr(C)]
struct Held {
    plugin: clap_plugin,
    class: &'static Class,
    names: Names,
}

/// What a host holds; nothing for null.
///
/// # Safety
/// `plugin` is null or what `create_plugin` gave the host, and not destroyed.
unsafe fn held<'a>(plugin: *const clap_plugin) -> Option<&'a Held> {
    // SAFETY: `create_plugin` gave a pointer to a whole `Held`, of which the plugin is the first field.
    unsafe { plugin.cast::<Held>().as_ref() }
}

/// What the framework's plugin does where ours stands before it.
struct Behind {
    init: unsafe extern "C" fn(*const clap_plugin) -> bool,
    main_thread: unsafe extern "C" fn(*const clap_plugin),
    extension: unsafe extern "C" fn(*const clap_plugin, *const c_char) -> *const c_void,
    params: clap_plugin_params,
    state: clap_plugin_state,
}

/// The same for all instances, since they are of one type.
static BEHIND: OnceLock<Behind> = OnceLock::new();
/// The framework's functions for parameters, with ours among them.
static PARAMS: OnceLock<clap_plugin_params> = OnceLock::new();
/// The framework's functions for the state, with ours among them.
static STATE: OnceLock<clap_plugin_state> = OnceLock::new();

impl Behind {
    /// Reads what an instance of the framework's has.
    ///
    /// # Safety
    /// `plugin` is one that the framework has just made.
    unsafe fn of(plugin: *const clap_plugin) -> Option<Self> {
        // SAFETY: the framework's plugin is whole, and answers for its extensions from the start;
        // they are of the kinds that their names say.
        unsafe {
            let extension = (*plugin).get_extension?;
            let params = extension(plugin, CLAP_EXT_PARAMS.as_ptr());
            let state = extension(plugin, CLAP_EXT_STATE.as_ptr());
            Some(Behind {
                init: (*plugin).init?,
                main_thread: (*plugin).on_main_thread?,
                extension,
                params: *params.cast::<clap_plugin_params>().as_ref()?,
                state: *state.cast::<clap_plugin_state>().as_ref()?,
            })
        }
    }
}

// SAFETY for all functions below that a host calls: it hands what the interface says, and a plugin
// that `create_plugin` gave it.

unsafe extern "C" fn get_extension(plugin: *const clap_plugin, id: *const c_char) -> *const c_void {
    let Some(behind) = BEHIND.get().filter(|_| !id.is_null()) else {
        return null();
    };
    // SAFETY: see above.
    let wanted = unsafe { CStr::from_ptr(id) };
    if wanted == CLAP_EXT_PARAMS {
        let ours = || clap_plugin_params {
            get_info: Some(get_info),
            ..behind.params
        };
        return std::ptr::from_ref(PARAMS.get_or_init(ours)).cast();
    }
    if wanted == CLAP_EXT_STATE {
        let ours = || clap_plugin_state {
            load: Some(load),
            ..behind.state
        };
        return std::ptr::from_ref(STATE.get_or_init(ours)).cast();
    }
    // SAFETY: see above.
    unsafe { (behind.extension)(plugin, id) }
}

unsafe extern "C" fn init(plugin: *const clap_plugin) -> bool {
    // SAFETY: see above.
    let (held, behind) = (unsafe { held(plugin) }, BEHIND.get());
    let Some((held, behind)) = held.zip(behind) else {
        return false;
    };
    // SAFETY: see above. From `init` on a host may be asked for its extensions.
    unsafe {
        if !(behind.init)(plugin) {
            return false;
        }
        held.names.begin();
    }
    true
}

unsafe extern "C" fn on_main_thread(plugin: *const clap_plugin) {
    // SAFETY: see above.
    let (held, behind) = (unsafe { held(plugin) }, BEHIND.get());
    if let Some((held, behind)) = held.zip(behind) {
        // SAFETY: see above; this is the main thread.
        unsafe {
            (behind.main_thread)(plugin);
            held.names.tell();
        }
    }
}

unsafe extern "C" fn get_info(
    plugin: *const clap_plugin,
    index: u32,
    info: *mut clap_param_info,
) -> bool {
    let params = BEHIND.get().map(|behind| behind.params);
    let Some((count, told)) = params.and_then(|params| params.count.zip(params.get_info)) else {
        return false;
    };
    // SAFETY: see above.
    unsafe {
        let known = index < count(plugin) && told(plugin, index, info);
        if known && let Some((held, info)) = held(plugin).zip(info.as_mut()) {
            held.names.write(index as usize, &mut info.name);
        }
        known
    }
}

unsafe extern "C" fn load(plugin: *const clap_plugin, stream: *const clap_istream) -> bool {
    let taken = BEHIND.get().and_then(|behind| behind.state.load);
    // SAFETY: see above.
    let held = unsafe { held(plugin) };
    let Some((taken, held)) = taken.zip(held) else {
        return false;
    };
    // SAFETY: see above; a host loads on its main thread.
    unsafe {
        let done = mean(held.class, || taken(plugin, stream));
        held.names.tell();
        done
    }
}

unsafe extern "C" fn destroy(plugin: *const clap_plugin) {
    // SAFETY: see above; `create_plugin` gave the host what comes back here.
    let held = unsafe { Box::from_raw(plugin.cast_mut().cast::<Held>()) };
    // From here on the host hears nothing more, whoever still holds the instance.
    held.names.end();
    // SAFETY: as above.
    let wrapper = unsafe { Arc::from_raw(held.plugin.plugin_data.cast::<Wrapper<Presolder>>()) };
    // A panic has been logged; it must not reach the host.
    let _ = catch_unwind(AssertUnwindSafe(|| drop(wrapper)));
}

unsafe extern "C" fn get_plugin_count(_: *const clap_plugin_factory) -> u32 {
    listed().len() as u32
}

unsafe extern "C" fn get_plugin_descriptor(
    _: *const clap_plugin_factory,
    index: u32,
) -> *const clap_plugin_descriptor {
    let one = listed().get(index as usize);
    one.map_or(null(), |one| std::ptr::from_ref(&one.descriptor))
}

unsafe extern "C" fn create_plugin(
    _: *const clap_plugin_factory,
    host: *const clap_host,
    id: *const c_char,
) -> *const clap_plugin {
    if host.is_null() || id.is_null() {
        return null();
    }
    // SAFETY: see above.
    let wanted = unsafe { CStr::from_ptr(id) };
    let mut all = listed().iter();
    let Some(one) = all.find(|one| wanted.to_bytes() == one.class.clap_id.as_bytes()) else {
        return null();
    };
    // SAFETY: the host's pointer stays for the life of the instance.
    let make = || mean(one.class, || unsafe { Wrapper::<Presolder>::new(host) });
    // No panic may reach a host.
    let made = catch_unwind(AssertUnwindSafe(make));
    // The fence is not needed here.
    drop(fence::kept());
    let (Ok(wrapper), Some(instance)) = (made, made::kept()) else {
        return null();
    };
    let plugin = wrapper.clap_plugin.as_ptr();
    if BEHIND.get().is_none() {
        // SAFETY: it has just been made.
        if let Some(behind) = unsafe { Behind::of(plugin) } {
            let _ = BEHIND.set(behind);
        }
    }
    let plugin = clap_plugin {
        desc: &one.descriptor,
        init: Some(init),
        get_extension: Some(get_extension),
        on_main_thread: Some(on_main_thread),
        destroy: Some(destroy),
        ..*wrapper.clap_plugin.borrow()
    };
    // SAFETY: the host's pointer stays for the life of the instance.
    let names = unsafe { Names::new(host, instance) };
    // The host's reference to the wrapper is the pointer in `plugin_data`: both come back in `destroy`.
    let _ = Arc::into_raw(wrapper);
    let class = one.class;
    Box::into_raw(Box::new(Held {
        plugin,
        class,
        names,
    }))
    .cast()
}

static FACTORY: clap_plugin_factory = clap_plugin_factory {
    get_plugin_count: Some(get_plugin_count),
    get_plugin_descriptor: Some(get_plugin_descriptor),
    create_plugin: Some(create_plugin),
};

extern "C" fn begin(_: *const c_char) -> bool {
    setup_logger::<Presolder>();
    true
}

extern "C" fn deinit() {}

extern "C" fn get_factory(id: *const c_char) -> *const c_void {
    // SAFETY: a host hands a text, or null.
    match !id.is_null() && unsafe { CStr::from_ptr(id) } == CLAP_PLUGIN_FACTORY_ID {
        true => std::ptr::from_ref(&FACTORY).cast(),
        false => null(),
    }
}

/// What a CLAP host looks for.
#[allow(non_upper_case_globals, reason = "the interface's name")]
#[unsafe(no_mangle)]
#[used]
pub static clap_entry: clap_plugin_entry = clap_plugin_entry {
    clap_version: CLAP_VERSION,
    init: Some(begin),
    deinit: Some(deinit),
    get_factory: Some(get_factory),
};
