//! What a VST3 host holds: an instance around the framework's wrapper, which passes every call on and
//! keeps from the host what the wrapper of nice-plug 0.4.2 does wrong.
//!
//! - `setupProcessing` stores the mode of the call before, so that off-line quality comes one call
//!   late: it is passed on twice.
//! - `getParameterInfo` panics, and so aborts the host, for an index equal to the count: it is refused.
//!   And it gives names as they were when the instance was made: one's own file has others, which the
//!   host is asked to read ([`super::vst3_names`]).
//! - `setState` does not say whose state it is: the class is meant meanwhile.
//! - `release` of the last reference may panic, and so abort the host: see [`super::fence`].

use super::fence::{self, Post};
use super::made;
use super::vst3_names::Names;
use crate::plugin::class::{Class, mean};
use crate::plugin::rates;
use crate::plugin::shell::Presolder;
use nice_plug::wrapper::vst3::Wrapper;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::ChannelContext::{
    IInfoListener, IInfoListenerTrait,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::{
    BusDirection, BusInfo, CString, IAttributeList, IAudioProcessor, IAudioProcessorTrait,
    IComponent, IComponentHandler, IComponentTrait, IEditController, IEditControllerTrait,
    IProcessContextRequirements, IProcessContextRequirementsTrait, IUnitInfo, IUnitInfoTrait,
    IoMode, MediaType, ParamID, ParamValue, ParameterInfo, ProcessData, ProcessSetup,
    ProgramListID, ProgramListInfo, RoutingInfo, SpeakerArrangement, String128, TChar, UnitID,
    UnitInfo,
};
use nice_plug::wrapper::vst3::vst3::Steinberg::{
    FIDString, FUnknown, IBStream, IPlugView, IPluginBaseTrait, TBool, TUID, int16, int32,
    kInvalidArgument, kResultOk, tresult, uint32,
};
use nice_plug::wrapper::vst3::vst3::{Class as ComClass, ComRef};
use std::mem::ManuallyDrop;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::ptr::null_mut;

/// See the module.
pub struct Vst3Instance {
    wrapper: ManuallyDrop<Wrapper<Presolder>>,
    class: &'static Class,
    names: Option<Names>,
    post: Option<Post>,
}

impl Vst3Instance {
    /// A new instance of a class.
    pub fn new(class: &'static Class) -> Self {
        // What an instance left that could not be made.
        drop((fence::kept(), made::kept()));
        Vst3Instance {
            wrapper: ManuallyDrop::new(mean(class, Wrapper::new)),
            class,
            names: made::kept().map(Names::new),
            post: fence::kept(),
        }
    }

    /// Takes the host's handler, or lets go of it.
    fn take(&self, handler: *mut IComponentHandler) {
        // SAFETY: null, or the host's handler.
        let handler = unsafe { ComRef::from_raw(handler) };
        if let Some(names) = &self.names {
            names.take(handler.map(|handler| handler.to_com_ptr()));
        }
    }

    /// Asks the host to read names again, if they have changed.
    ///
    /// # Safety
    /// Within a call that the host makes on its own thread.
    unsafe fn tell(&self) {
        if let Some(names) = &self.names {
            // SAFETY: the caller's promise.
            unsafe { names.tell() };
        }
    }
}

impl Drop for Vst3Instance {
    fn drop(&mut self) {
        // From here on the host hears nothing more, whoever still holds our instance.
        self.take(null_mut());
        if fence::NEEDED
            && let Some(post) = &self.post
        {
            fence::wait(post);
            // SAFETY: the wrapper's only field is the `Arc` of what it wraps.
            unsafe { fence::wait_for_others(&*self.wrapper) };
        }
        let wrapper = &mut self.wrapper;
        // SAFETY: nothing uses it afterwards.
        let end = || unsafe { ManuallyDrop::drop(wrapper) };
        // A panic has been logged; it must not reach the host.
        let _ = catch_unwind(AssertUnwindSafe(end));
    }
}

impl ComClass for Vst3Instance {
    type Interfaces = (
        IComponent,
        IEditController,
        IAudioProcessor,
        IProcessContextRequirements,
        IUnitInfo,
        IInfoListener,
    );
}

/// Methods that pass a call on to the wrapper as it came.
macro_rules! passed_on {
    ($interface:ident; $($name:ident($($argument:ident: $kind:ty),*) -> $result:ty;)*) => {
        $(unsafe fn $name(&self, $($argument: $kind),*) -> $result {
            // SAFETY: what the host promises the instance is what the wrapper asks for.
            unsafe { $interface::$name(&*self.wrapper, $($argument),*) }
        })*
    };
}

impl IPluginBaseTrait for Vst3Instance {
    passed_on! { IPluginBaseTrait;
        initialize(context: *mut FUnknown) -> tresult;
    }

    unsafe fn terminate(&self) -> tresult {
        self.take(null_mut());
        // SAFETY: as in `passed_on`; the framework's wrapper has a reference of its own.
        unsafe {
            self.wrapper.setComponentHandler(null_mut());
            IPluginBaseTrait::terminate(&*self.wrapper)
        }
    }
}

impl IComponentTrait for Vst3Instance {
    passed_on! { IComponentTrait;
        getControllerClassId(id: *mut TUID) -> tresult;
        setIoMode(mode: IoMode) -> tresult;
        getBusCount(media: MediaType, direction: BusDirection) -> int32;
        getBusInfo(media: MediaType, direction: BusDirection, index: int32, info: *mut BusInfo)
            -> tresult;
        getRoutingInfo(input: *mut RoutingInfo, output: *mut RoutingInfo) -> tresult;
        activateBus(media: MediaType, direction: BusDirection, index: int32, state: TBool)
            -> tresult;
        getState(state: *mut IBStream) -> tresult;
    }

    unsafe fn setActive(&self, state: TBool) -> tresult {
        // SAFETY: as in `passed_on`.
        unsafe {
            let result = IComponentTrait::setActive(&*self.wrapper, state);
            self.tell();
            result
        }
    }

    unsafe fn setState(&self, state: *mut IBStream) -> tresult {
        // SAFETY: as in `passed_on`.
        unsafe {
            let take = || IComponentTrait::setState(&*self.wrapper, state);
            let result = mean(self.class, take);
            self.tell();
            result
        }
    }
}

impl IEditControllerTrait for Vst3Instance {
    passed_on! { IEditControllerTrait;
        setComponentState(state: *mut IBStream) -> tresult;
        setState(state: *mut IBStream) -> tresult;
        getState(state: *mut IBStream) -> tresult;
        getParameterCount() -> int32;
        getParamStringByValue(id: ParamID, value: ParamValue, text: *mut String128) -> tresult;
        getParamValueByString(id: ParamID, text: *mut TChar, value: *mut ParamValue) -> tresult;
        normalizedParamToPlain(id: ParamID, value: ParamValue) -> ParamValue;
        plainParamToNormalized(id: ParamID, value: ParamValue) -> ParamValue;
        getParamNormalized(id: ParamID) -> ParamValue;
        setParamNormalized(id: ParamID, value: ParamValue) -> tresult;
    }

    unsafe fn setComponentHandler(&self, handler: *mut IComponentHandler) -> tresult {
        self.take(handler);
        // SAFETY: as in `passed_on`.
        unsafe { self.wrapper.setComponentHandler(handler) }
    }

    unsafe fn createView(&self, name: FIDString) -> *mut IPlugView {
        // SAFETY: as in `passed_on`.
        let view = unsafe {
            self.tell();
            self.wrapper.createView(name)
        };
        #[cfg(target_os = "linux")]
        let way = self.names.as_ref().and_then(Names::way);
        #[cfg(target_os = "linux")]
        // SAFETY: the view is null or comes with a reference.
        let view = unsafe { super::vst3_view::around(view, way) };
        view
    }

    unsafe fn getParameterInfo(&self, index: int32, info: *mut ParameterInfo) -> tresult {
        // SAFETY: as in `passed_on`; what is told is whole.
        unsafe {
            if !(0..self.getParameterCount()).contains(&index) {
                return kInvalidArgument;
            }
            let result = self.wrapper.getParameterInfo(index, info);
            let told = info.as_mut().filter(|_| result == kResultOk);
            if let Some((names, info)) = self.names.as_ref().zip(told) {
                names.write(index as usize, [&mut info.title, &mut info.shortTitle]);
            }
            result
        }
    }
}

impl IAudioProcessorTrait for Vst3Instance {
    passed_on! { IAudioProcessorTrait;
        setBusArrangements(inputs: *mut SpeakerArrangement, input_count: int32,
            outputs: *mut SpeakerArrangement, output_count: int32) -> tresult;
        getBusArrangement(direction: BusDirection, index: int32, into: *mut SpeakerArrangement)
            -> tresult;
        canProcessSampleSize(size: int32) -> tresult;
        getLatencySamples() -> uint32;
        setProcessing(state: TBool) -> tresult;
        process(data: *mut ProcessData) -> tresult;
        getTailSamples() -> uint32;
    }

    unsafe fn setupProcessing(&self, setup: *mut ProcessSetup) -> tresult {
        // SAFETY: null, or what a host hands over.
        let Some(asked) = (unsafe { setup.as_ref() }) else {
            return kInvalidArgument;
        };
        // What activation would refuse is refused where the host can still choose.
        if !rates::plays_at(asked.sampleRate) || asked.maxSamplesPerBlock < 0 {
            return kInvalidArgument;
        }
        // SAFETY: as in `passed_on`; the wrapper takes the mode from the call before.
        unsafe {
            match self.wrapper.setupProcessing(setup) {
                result if result == kResultOk => self.wrapper.setupProcessing(setup),
                refused => refused,
            }
        }
    }
}

impl IProcessContextRequirementsTrait for Vst3Instance {
    passed_on! { IProcessContextRequirementsTrait;
        getProcessContextRequirements() -> uint32;
    }
}

impl IInfoListenerTrait for Vst3Instance {
    passed_on! { IInfoListenerTrait;
        setChannelContextInfos(list: *mut IAttributeList) -> tresult;
    }
}

impl IUnitInfoTrait for Vst3Instance {
    passed_on! { IUnitInfoTrait;
        getUnitCount() -> int32;
        getUnitInfo(index: int32, info: *mut UnitInfo) -> tresult;
        getProgramListCount() -> int32;
        getProgramListInfo(index: int32, info: *mut ProgramListInfo) -> tresult;
        getProgramName(list: ProgramListID, index: int32, name: *mut String128) -> tresult;
        getProgramInfo(list: ProgramListID, index: int32, key: CString, value: *mut String128)
            -> tresult;
        hasProgramPitchNames(list: ProgramListID, index: int32) -> tresult;
        getProgramPitchName(list: ProgramListID, index: int32, pitch: int16, name: *mut String128)
            -> tresult;
        getSelectedUnit() -> UnitID;
        selectUnit(id: UnitID) -> tresult;
        getUnitByBus(media: MediaType, direction: BusDirection, index: int32, channel: int32,
            unit: *mut UnitID) -> tresult;
        setUnitProgramData(id: int32, index: int32, data: *mut IBStream) -> tresult;
    }
}
