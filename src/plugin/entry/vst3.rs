//! The VST3 entry point: a factory that lists the classes and makes instances of them.

use super::vst3_instance::Vst3Instance;
use crate::plugin::class::{CLASSES, Class};
use crate::plugin::shell::Presolder;
use nice_plug::wrapper::setup_logger;
use nice_plug::wrapper::vst3::PluginInfo;
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    FIDString, FUnknown, IPluginFactory, IPluginFactory2, IPluginFactory2Trait, IPluginFactory3,
    IPluginFactory3Trait, IPluginFactoryTrait, PClassInfo, PClassInfo2, PClassInfoW, PFactoryInfo,
    TUID, int32, kInternalError, kInvalidArgument, kResultOk, tresult,
};
use nice_plug::wrapper::vst3::vst3::{Class as ComClass, ComWrapper};
use std::ffi::c_void;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// Identities of the classes in the order of bytes that hosts of this platform use, so that projects
/// can be opened on another.
static IDS: [[u8; 16]; CLASSES.len()] = {
    let mut ids = [[0; 16]; CLASSES.len()];
    let mut index = 0;
    while index < ids.len() {
        ids[index] = in_platform_order(CLASSES[index].vst3_id);
        index += 1;
    }
    ids
};

/// Windows writes the first three fields of an identity with their lowest byte first.
const fn in_platform_order(id: [u8; 16]) -> [u8; 16] {
    let [a, b, c, d, e, f, g, h, rest @ ..] = id;
    let [i, j, k, l, m, n, o, p] = rest;
    match cfg!(target_os = "windows") {
        true => [d, c, b, a, f, e, h, g, i, j, k, l, m, n, o, p],
        false => id,
    }
}

/// What a host is told of a class; the first for an index that there is not.
fn told(index: usize) -> PluginInfo {
    let index = if index < CLASSES.len() { index } else { 0 };
    PluginInfo {
        cid: &IDS[index],
        name: CLASSES[index].name,
        ..PluginInfo::for_plugin::<Presolder>()
    }
}

/// The class that a host means by an index.
fn index_of(index: int32) -> Option<usize> {
    let index = usize::try_from(index).ok()?;
    (index < CLASSES.len()).then_some(index)
}

/// See the module.
struct Factory;

impl ComClass for Factory {
    type Interfaces = (IPluginFactory, IPluginFactory2, IPluginFactory3);
}

/// Writes what a host asks for into its storage; an error for an index or storage that there is not.
///
/// # Safety
/// `into` is null or may be written.
unsafe fn fill<T>(index: int32, into: *mut T, from: impl FnOnce(PluginInfo) -> T) -> tresult {
    match index_of(index) {
        Some(index) if !into.is_null() => {
            // SAFETY: the caller's promise.
            unsafe { into.write(from(told(index))) };
            kResultOk
        }
        _ => kInvalidArgument,
    }
}

// SAFETY for all that follows: a host hands storage for what it asks for, or null.
impl IPluginFactoryTrait for Factory {
    unsafe fn getFactoryInfo(&self, info: *mut PFactoryInfo) -> tresult {
        // SAFETY: see above.
        unsafe { fill(0, info, |told| told.create_factory_info()) }
    }

    unsafe fn countClasses(&self) -> int32 {
        CLASSES.len() as int32
    }

    unsafe fn getClassInfo(&self, index: int32, info: *mut PClassInfo) -> tresult {
        // SAFETY: see above.
        unsafe { fill(index, info, |told| told.create_class_info()) }
    }

    unsafe fn createInstance(
        &self,
        cid: FIDString,
        iid: FIDString,
        object: *mut *mut c_void,
    ) -> tresult {
        if cid.is_null() || iid.is_null() || object.is_null() {
            return kInvalidArgument;
        }
        // SAFETY: an identity has 16 bytes.
        let wanted = unsafe { &*cid.cast::<[u8; 16]>() };
        let classes = IDS.iter().zip(&CLASSES);
        let Some((_, class)) = classes.into_iter().find(|(id, _)| *id == wanted) else {
            return kInvalidArgument;
        };
        let Some(instance) = instance(class) else {
            return kInternalError;
        };
        let Some(unknown) = instance.as_com_ref::<FUnknown>() else {
            return kInternalError;
        };
        let unknown = unknown.as_ptr();
        // SAFETY: `unknown` lives as long as `instance`; the host's storage takes a reference.
        unsafe { ((*(*unknown).vtbl).queryInterface)(unknown, iid.cast::<TUID>(), object) }
    }
}

/// A new instance of a class; none where making it fails: no panic may reach a host.
fn instance(class: &'static Class) -> Option<ComWrapper<Vst3Instance>> {
    catch_unwind(AssertUnwindSafe(|| Vst3Instance::new(class)))
        .ok()
        .map(ComWrapper::new)
}

impl IPluginFactory2Trait for Factory {
    unsafe fn getClassInfo2(&self, index: int32, info: *mut PClassInfo2) -> tresult {
        // SAFETY: see above.
        unsafe { fill(index, info, |told| told.create_class_info_2()) }
    }
}

impl IPluginFactory3Trait for Factory {
    unsafe fn getClassInfoUnicode(&self, index: int32, info: *mut PClassInfoW) -> tresult {
        // SAFETY: see above.
        unsafe { fill(index, info, |told| told.create_class_info_unicode()) }
    }

    unsafe fn setHostContext(&self, _: *mut FUnknown) -> tresult {
        kResultOk
    }
}

/// The factory.
#[unsafe(no_mangle)]
pub extern "system" fn GetPluginFactory() -> *mut c_void {
    ComWrapper::new(Factory)
        .to_com_ptr::<IPluginFactory>()
        .map_or(std::ptr::null_mut(), |factory| factory.into_raw().cast())
}

/// A host has loaded the library.
#[cfg(all(target_family = "unix", not(target_os = "macos")))]
#[unsafe(no_mangle)]
pub extern "C" fn ModuleEntry(_: *mut c_void) -> bool {
    setup_logger::<Presolder>();
    true
}

/// A host is about to unload it.
#[cfg(all(target_family = "unix", not(target_os = "macos")))]
#[unsafe(no_mangle)]
pub extern "C" fn ModuleExit() -> bool {
    true
}

/// A host has loaded the library.
#[cfg(target_os = "macos")]
#[unsafe(no_mangle)]
pub extern "C" fn bundleEntry(_: *mut c_void) -> bool {
    setup_logger::<Presolder>();
    true
}

/// A host is about to unload it.
#[cfg(target_os = "macos")]
#[unsafe(no_mangle)]
pub extern "C" fn bundleExit() -> bool {
    true
}

/// A host has loaded the library.
#[cfg(target_os = "windows")]
#[unsafe(no_mangle)]
pub extern "system" fn InitDll() -> bool {
    setup_logger::<Presolder>();
    true
}

/// A host is about to unload it.
#[cfg(target_os = "windows")]
#[unsafe(no_mangle)]
pub extern "system" fn ExitDll() -> bool {
    true
}
