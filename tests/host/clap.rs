//! A small CLAP host: opens a class of the built plugin as any host would, through its file, and
//! plays through it. Panics where the plugin refuses what it must not refuse.

use super::handlers::{Host, Main, Shared};
use clack_extensions::audio_ports_config::{AudioPortsConfigBuffer, PluginAudioPortsConfig};
use clack_extensions::gui::{GuiApiType, GuiConfiguration, PluginGui, Window};
use clack_extensions::latency::PluginLatency;
use clack_extensions::params::{ParamInfoBuffer, ParamInfoFlags, PluginParams};
use clack_extensions::state::PluginState;
use clack_host::events::event_types::ParamValueEvent;
use clack_host::prelude::*;
use clack_host::process::StoppedPluginAudioProcessor;
use clack_host::utils::ClapId;
use std::ffi::CString;
use std::sync::OnceLock;
use std::sync::atomic::{AtomicBool, Ordering};

/// A parameter as the plugin tells of it.
#[derive(Clone, Debug)]
pub struct Param {
    pub id: ClapId,
    pub name: String,
    pub module: String,
    pub flags: ParamInfoFlags,
    pub range: [f64; 2],
    pub default: f64,
}

impl Param {
    /// A value at a share of its range, whole where the parameter has steps.
    pub fn at(&self, share: f64) -> f64 {
        let [low, high] = self.range;
        let value = low + share * (high - low);
        match self.stepped() {
            true => value.round(),
            false => value,
        }
    }

    pub fn stepped(&self) -> bool {
        self.flags.contains(ParamInfoFlags::IS_STEPPED)
    }

    pub fn hidden(&self) -> bool {
        self.flags.contains(ParamInfoFlags::IS_HIDDEN)
    }
}

/// A value that a parameter gets at a frame.
#[derive(Clone, Copy, Debug)]
pub struct Set {
    pub frame: usize,
    pub id: ClapId,
    pub value: f64,
}

/// An instance of a class.
pub struct Instance {
    instance: PluginInstance<Host>,
    pair: Option<PluginAudioProcessor<Host>>,
    outputs: usize,
}

/// The plugin's file, opened once.
fn entry() -> PluginEntry {
    static ENTRY: OnceLock<PluginEntry> = OnceLock::new();
    let open = || {
        // SAFETY: the file is the one that this project builds; it follows the CLAP interface.
        unsafe { PluginEntry::load(super::clap_file()) }.expect("the plugin opens")
    };
    ENTRY.get_or_init(open).clone()
}

/// Identity and name of every class.
pub fn classes() -> Vec<[String; 2]> {
    let entry = entry();
    let factory = entry.get_plugin_factory().expect("a factory");
    let text = |text: Option<&std::ffi::CStr>| {
        text.map_or_else(String::new, |t| t.to_string_lossy().into_owned())
    };
    let descriptors = factory.plugin_descriptors();
    descriptors
        .map(|d| [text(d.id()), text(d.name())])
        .collect()
}

impl Instance {
    /// A new one; not active.
    pub fn new(class: &str) -> Self {
        let host = HostInfo::new("Test", "Test", "", "1").expect("a name");
        let class = CString::new(class).expect("a name");
        let instance =
            PluginInstance::new(|_| Shared::default(), |_| Main, &entry(), &class, &host);
        Instance {
            instance: instance.expect("an instance"),
            pair: None,
            outputs: 2,
        }
    }

    /// Every parameter.
    pub fn params(&mut self) -> Vec<Param> {
        let handle = self.instance.plugin_handle();
        let params: PluginParams = handle.get_extension().expect("parameters");
        let text = |bytes: &[u8]| String::from_utf8(bytes.to_vec()).expect("text");
        (0..params.count(&handle))
            .map(|index| {
                let mut buffer = ParamInfoBuffer::new();
                let info = params.get_info(&handle, index, &mut buffer).expect("told");
                Param {
                    id: info.id,
                    name: text(info.name),
                    module: text(info.module),
                    flags: info.flags,
                    range: [info.min_value, info.max_value],
                    default: info.default_value,
                }
            })
            .collect()
    }

    /// The parameter of a name.
    pub fn param(&mut self, name: &str) -> Param {
        let found = self.params().into_iter().find(|p| p.name == name);
        found.unwrap_or_else(|| panic!("no parameter {name}"))
    }

    pub fn value(&mut self, id: ClapId) -> f64 {
        let handle = self.instance.plugin_handle();
        let params: PluginParams = handle.get_extension().expect("parameters");
        params.get_value(&handle, id).expect("a value")
    }

    pub fn text(&mut self, id: ClapId, value: f64) -> String {
        let handle = self.instance.plugin_handle();
        let params: PluginParams = handle.get_extension().expect("parameters");
        let mut buffer = [0; 256];
        let text = params.value_to_text(&handle, id, value, &mut buffer);
        String::from_utf8(text.expect("a text").to_vec()).expect("UTF-8")
    }

    pub fn parse(&mut self, id: ClapId, text: &str) -> Option<f64> {
        let handle = self.instance.plugin_handle();
        let params: PluginParams = handle.get_extension().expect("parameters");
        params.text_to_value(&handle, id, &CString::new(text).expect("no NUL"))
    }

    /// Sets values outside playing.
    pub fn set(&mut self, sets: &[(ClapId, f64)]) {
        let mut events = EventBuffer::new();
        for &(id, value) in sets {
            events.push(&ParamValueEvent::new(0, id, Pckn::match_all(), value));
        }
        let mut handle = self.instance.inactive_plugin_handle().expect("not active");
        let params: PluginParams = handle.get_extension().expect("parameters");
        let mut told = EventBuffer::new();
        params.flush(
            &mut handle,
            &InputEvents::from_buffer(&events),
            &mut OutputEvents::from_buffer(&mut told),
        );
    }

    pub fn save(&mut self) -> Vec<u8> {
        let handle = self.instance.plugin_handle();
        let state: PluginState = handle.get_extension().expect("a state");
        let mut bytes = Vec::new();
        state.save(&handle, &mut bytes).expect("saved");
        bytes
    }

    /// Whether the plugin takes the state.
    pub fn load(&mut self, bytes: &[u8]) -> bool {
        let handle = self.instance.plugin_handle();
        let state: PluginState = handle.get_extension().expect("a state");
        state.load(&handle, &mut &bytes[..]).is_ok()
    }

    pub fn latency(&mut self) -> u32 {
        let handle = self.instance.plugin_handle();
        let latency: PluginLatency = handle.get_extension().expect("a latency");
        latency.get(&handle)
    }

    /// Chooses the layout with so many main inputs and outputs; false if there is none.
    pub fn choose(&mut self, inputs: u32, outputs: u32) -> bool {
        let handle = self.instance.plugin_handle();
        let configs: PluginAudioPortsConfig = handle.get_extension().expect("layouts");
        let mut chosen = None;
        for index in 0..configs.count(&handle) {
            let mut buffer = AudioPortsConfigBuffer::new();
            let config = configs.get(&handle, index, &mut buffer).expect("told");
            let channels = |port: Option<clack_extensions::audio_ports_config::MainPortInfo>| {
                port.map_or(0, |port| port.channel_count)
            };
            if (channels(config.main_input), channels(config.main_output)) == (inputs, outputs) {
                chosen = Some(config.id);
            }
        }
        self.outputs = outputs as usize;
        chosen.is_some_and(|id| configs.select(&handle, id).is_ok())
    }

    /// Opens the plugin's window inside one of an X server.
    pub fn open_window(&mut self, parent: u32) {
        let handle = self.instance.plugin_handle();
        let gui: PluginGui = handle.get_extension().expect("a window");
        let kind = GuiConfiguration {
            api_type: GuiApiType::X11,
            is_floating: false,
        };
        assert!(gui.is_api_supported(&handle, kind));
        gui.create(&handle, kind).expect("created");
        let size = gui.get_size(&handle).expect("a size");
        assert!(size.width > 100 && size.height > 100, "{size:?}");
        let parent = Window::from_x11_handle(parent.into());
        // SAFETY: the caller's window stays until after `close_window`.
        unsafe { gui.set_parent(&handle, parent) }.expect("it has a parent");
        // The framework's windows show themselves.
        let _ = gui.show(&handle);
    }

    /// Closes it.
    pub fn close_window(&mut self) {
        let handle = self.instance.plugin_handle();
        let gui: PluginGui = handle.get_extension().expect("a window");
        gui.destroy(&handle);
    }

    /// Makes it ready to play; `block` is the longest block.
    pub fn activate(&mut self, rate: f64, block: usize) {
        let pair = self.instance.activate(
            |_, _| (),
            PluginAudioConfiguration {
                sample_rate: rate,
                min_frames_count: 1,
                max_frames_count: block as u32,
            },
        );
        let pair: StoppedPluginAudioProcessor<Host> = pair.expect("it activates");
        self.pair = Some(pair.into());
    }

    pub fn deactivate(&mut self) {
        let pair = self.pair.take().expect("active");
        self.instance.deactivate(pair.into_stopped());
    }

    pub fn reset(&mut self) {
        self.pair.as_mut().expect("active").reset();
    }

    /// Plays a recording in blocks of the given lengths, the last of which repeats.
    pub fn play(&mut self, input: &[Vec<f32>], blocks: &[usize], sets: &[Set]) -> Vec<Vec<f32>> {
        let frames = input[0].len();
        let mut output = vec![vec![0.0f32; frames]; self.outputs];
        let (mut start, mut index) = (0, 0);
        while start < frames {
            let length = blocks[index.min(blocks.len() - 1)].min(frames - start);
            index += 1;
            let within = start..start + length;
            let mut events = EventBuffer::new();
            for set in sets.iter().filter(|set| within.contains(&set.frame)) {
                let time = (set.frame - start) as u32;
                events.push(&ParamValueEvent::new(
                    time,
                    set.id,
                    Pckn::match_all(),
                    set.value,
                ));
            }
            let ins: Vec<Vec<f32>> = input.iter().map(|c| c[within.clone()].to_vec()).collect();
            let pair = self.pair.as_mut().expect("active");
            for (channel, part) in output
                .iter_mut()
                .zip(block(pair, self.outputs, ins, &events))
            {
                channel[within.clone()].copy_from_slice(&part);
            }
            start += length;
            if self.instance.access_shared_handler(Shared::asked) {
                self.instance.call_on_main_thread_callback();
            }
        }
        output
    }

    /// Plays blocks of a recording over and over on a thread of its own until `work`, which may do
    /// on this thread whatever a host does meanwhile, is done. Gives the loudest sample, which is
    /// not a number if any was none.
    pub fn play_during(&mut self, input: &[Vec<f32>], work: impl FnOnce(&mut Self)) -> f32 {
        let mut pair = self.pair.take().expect("active");
        let (done, outputs) = (AtomicBool::new(false), self.outputs);
        let (pair, most) = std::thread::scope(|scope| {
            let player = scope.spawn(|| {
                let (events, mut most) = (EventBuffer::new(), 0.0f32);
                while !done.load(Ordering::SeqCst) {
                    let peak = super::peak(&block(&mut pair, outputs, input.to_vec(), &events));
                    most = if peak.is_nan() { peak } else { most.max(peak) };
                    if most.is_nan() {
                        break;
                    }
                }
                (pair, most)
            });
            work(self);
            done.store(true, Ordering::SeqCst);
            player.join().expect("it plays on")
        });
        self.pair = Some(pair);
        most
    }
}

/// Plays one block.
fn block(
    pair: &mut PluginAudioProcessor<Host>,
    outputs: usize,
    mut input: Vec<Vec<f32>>,
    events: &EventBuffer,
) -> Vec<Vec<f32>> {
    let length = input[0].len();
    let mut output = vec![vec![f32::NAN; length]; outputs];
    let mut ins = AudioPorts::with_capacity(2, 1);
    let mut outs = AudioPorts::with_capacity(2, 1);
    let ins = ins.with_input_buffers([AudioPortBuffer {
        latency: 0,
        channels: AudioPortBufferType::f32_input_only(input.iter_mut().map(InputChannel::variable)),
    }]);
    let mut outs = outs.with_output_buffers([AudioPortBuffer {
        latency: 0,
        channels: AudioPortBufferType::f32_output_only(output.iter_mut().map(Vec::as_mut_slice)),
    }]);
    let mut told = EventBuffer::new();
    let pair = pair.ensure_processing_started().expect("it starts");
    pair.process(
        &ins,
        &mut outs,
        &InputEvents::from_buffer(events),
        &mut OutputEvents::from_buffer(&mut told),
        None,
        None,
    )
    .expect("it plays");
    output
}

impl Drop for Instance {
    fn drop(&mut self) {
        if self.pair.is_some() {
            self.deactivate();
        }
    }
}
