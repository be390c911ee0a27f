//! What a VST3 host holds: an instance around the framework's wrapper, which passes every call on and
//! keeps from the host what the wrapper of nice-plug 0.4.2 does wrong.
//!
//! - `setupProcessing` stores the mode of the call before, so that off-line quality comes one call
//!   late: it is passed on twice.
//! - `getParameterInfo` panics, and so aborts the host, for an index equal to the count: it is refused.
//! - `setState` does not say whose state it is: the class is meant meanwhile.
//! - `release` of the last reference may panic, and so abort the host: see [`super::fence`].

use super::fence::{self, Post};
use crate::plugin::class::{Class, mean};
use crate::plugin::rates;
use crate::plugin::shell::Presolder;
use nice_plug::wrapper::vst3::Wrapper;
use nice_plug::wrapper::vst3::vst3::Class as ComClass;
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
use std::mem::ManuallyDrop;
use std::panic::{AssertUnwindSafe, catch_unwind};

/// See the module.
pub struct Vst3Instance {
    wrapper: ManuallyDrop<Wrapper<Presolder>>,
    class: &'static Class,
    post: Option<Post>,
}

impl Vst3Instance {
    /// A new instance of a class.
    pub fn new(class: &'static Class) -> Self {
        // What an instance left that could not be made.
        drop(fence::kept());
        Vst3Instance {
            wrapper: ManuallyDrop::new(mean(class, Wrapper::new)),
            class,
            post: fence::kept(),
        }
    }
}

impl Drop for Vst3Instance {
    fn drop(&mut self) {
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
        terminate() -> tresult;
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
        setActive(state: TBool) -> tresult;
        getState(state: *mut IBStream) -> tresult;
    }

    unsafe fn setState(&self, state: *mut IBStream) -> tresult {
        // SAFETY: as in `passed_on`.
        mean(self.class, || unsafe {
            IComponentTrait::setState(&*self.wrapper, state)
        })
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
        setComponentHandler(handler: *mut IComponentHandler) -> tresult;
    }

    unsafe fn createView(&self, name: FIDString) -> *mut IPlugView {
        // SAFETY: as in `passed_on`.
        let view = unsafe { self.wrapper.createView(name) };
        #[cfg(target_os = "linux")]
        // SAFETY: the view is null or comes with a reference.
        let view = unsafe { super::vst3_view::around(view) };
        view
    }

    unsafe fn getParameterInfo(&self, index: int32, info: *mut ParameterInfo) -> tresult {
        // SAFETY: as in `passed_on`.
        unsafe {
            match (0..self.getParameterCount()).contains(&index) {
                true => self.wrapper.getParameterInfo(index, info),
                false => kInvalidArgument,
            }
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
