//! The framework's view of the plugin: lifecycle and the audio thread.

use super::class::{OWN_CLAP_ID, OWN_NAME, OWN_VST3_ID, meant};
use super::closing::WindowEditor;
use super::entry::fence::{self, Mark};
use super::entry::made;
use super::instance::{AudioEnds, Instance};
use super::params::AmpParams;
use super::player::Player;
use super::rates;
use super::window::Window;
use super::worker::Worker;
use crate::live::circuit_pair::Format;
use crate::live::jack_guitar::JackGuitar;
use crate::live::meters::Meters;
use crate::live::renderer::{Heard, Renderer};
use nice_plug::prelude::*;
use std::sync::Arc;
use std::time::Instant;

/// The plugin, whatever its class.
pub struct Presolder {
    params: Arc<AmpParams>,
    ends: AudioEnds,
    renderer: Option<Renderer>,
    positions: Vec<f32>,
    inputs: usize,
    /// At which the amp is computed, Hz.
    rate: f64,
    offline: bool,
    /// Whether part values move through preferred values, as the pair was told last.
    stepped: Option<bool>,
    /// A circuit pair with other oversampling has been asked for.
    asked: usize,
    /// What is to drive the jack, as was asked for last.
    plugged: JackGuitar,
    player: Player,
    /// While it is active.
    worker: Option<Worker>,
}

impl Default for Presolder {
    fn default() -> Self {
        let (instance, ends) = Instance::new(meant().parameters());
        super::launch::prepare(&instance);
        made::keep(&instance);
        let player = Player::new();
        let params = Arc::new(AmpParams::new(instance));
        Presolder {
            // None is known yet: a position of 0 is noted too.
            positions: vec![f32::NAN; params.adjustables.len()],
            stepped: None,
            params,
            ends,
            renderer: None,
            inputs: 2,
            rate: 48_000.0,
            offline: false,
            asked: 0,
            plugged: JackGuitar::None,
            player,
            worker: None,
        }
    }
}

impl Plugin for Presolder {
    const NAME: &'static str = OWN_NAME;
    const VENDOR: &'static str = "Presolder";
    const URL: &'static str = "";
    const EMAIL: &'static str = "";
    const VERSION: &'static str = env!("CARGO_PKG_VERSION");

    const AUDIO_IO_LAYOUTS: &'static [AudioIOLayout] = &[layout(2, 2), layout(1, 2), layout(1, 1)];

    const SAMPLE_ACCURATE_AUTOMATION: bool = true;
    const INPUT_EVENT_CAPACITY: usize = 8192;

    type Editor = WindowEditor<Window>;
    type SysExMessage = ();
    /// The framework's thread does nothing for us but to say that it has done all.
    type BackgroundTask = Mark;

    fn task_executor(&mut self) -> TaskExecutor<Self> {
        Box::new(Mark::pass)
    }

    fn params(&self) -> Arc<dyn Params> {
        self.params.clone()
    }

    fn editor(&mut self, executor: AsyncExecutor<Self>) -> Option<WindowEditor<Window>> {
        fence::keep(Box::new(move |mark| executor.execute_background(mark)));
        Window::editor(self.params.clone(), self.player.controls())
    }

    fn filter_state(state: &mut PluginState) {
        super::state::filter(state);
    }

    fn activate(
        &mut self,
        layout: &AudioIOLayout,
        config: &BufferConfig,
        context: &mut impl ActivateContext<Self>,
    ) -> bool {
        let channels = |count: Option<std::num::NonZeroU32>| count.map_or(0, |n| n.get() as usize);
        self.inputs = channels(layout.main_input_channels);
        let outputs = channels(layout.main_output_channels).clamp(1, 2);
        self.offline = config.process_mode == ProcessMode::Offline;
        if !rates::plays_at(f64::from(config.sample_rate)) {
            return false;
        }
        self.rate = rates::worked(f64::from(config.sample_rate));
        let (rate, doublings) = (self.rate, self.doublings());
        self.params.restore_numbers();
        self.note_positions();
        let format = Format {
            rate,
            doublings,
            live: !self.offline,
        };
        // What it was asked for before belongs to another format.
        self.worker = None;
        self.plugged = self.params.guitar();
        self.params.instance.plug_in(self.plugged);
        let (pair, response) = self.params.instance.activate(format);
        self.worker = Worker::begin(self.params.instance.clone());
        let mut renderer = Renderer::new(pair, outputs);
        drop(renderer.give_response(response));
        self.renderer = Some(renderer);
        self.asked = doublings;
        context.set_latency_samples(Format::latency(rate) as u32);
        let most_frames = config.max_buffer_size as usize;
        self.player.prepare(config.sample_rate, most_frames);
        if context.plugin_api() == PluginApi::Standalone {
            self.player.activate();
        }
        true
    }

    fn deactivate(&mut self) {
        self.worker = None;
        self.params.instance.deactivate();
        self.renderer = None;
    }

    fn reset(&mut self) {
        if let Some(renderer) = &mut self.renderer {
            renderer.reset();
        }
    }

    fn process(
        &mut self,
        buffer: &mut Buffer,
        _: &mut AuxiliaryBuffers,
        context: &mut impl ProcessContext<Self>,
    ) -> ProcessStatus {
        let start = Instant::now();
        // Copying a variable that is set allocates: a test sees that it would be noticed.
        #[cfg(debug_assertions)]
        drop(std::env::var_os("PRESOLDER_ALLOCATE"));
        self.params.restore_numbers();
        self.note_positions();
        self.hand_over();
        let Some(renderer) = &mut self.renderer else {
            return ProcessStatus::Error("not active");
        };
        let channels = buffer.as_slice();
        self.player.process(channels, self.inputs);
        let mut settings = self.params.render_settings();
        if self.player.hears_recording() {
            settings.heard = Heard::Recording;
        }
        renderer.process_beside(
            &settings,
            &self.positions,
            channels,
            self.inputs,
            self.params.instance.meters(),
            self.player.beside(),
        );
        let count = channels.first().map_or(0, |channel| channel.len());
        self.show(count, buffer);
        let time = count as f32 / context.transport().sample_rate;
        let meters = self.params.instance.meters();
        if count > 0 {
            Meters::raise(&meters.load, start.elapsed().as_secs_f32() / time);
        }
        // The power supply goes on after the music has stopped.
        ProcessStatus::KeepAlive
    }
}

const fn layout(inputs: u32, outputs: u32) -> AudioIOLayout {
    AudioIOLayout {
        main_input_channels: std::num::NonZeroU32::new(inputs),
        main_output_channels: std::num::NonZeroU32::new(outputs),
        ..AudioIOLayout::const_default()
    }
}

impl Presolder {
    /// Doublings of the rate as the host has set them.
    fn doublings(&self) -> usize {
        rates::doublings(self.rate, self.params.doublings(self.offline))
    }

    fn note_positions(&mut self) {
        for (index, (adjustable, place)) in self
            .params
            .adjustables
            .iter()
            .zip(&mut self.positions)
            .enumerate()
        {
            let now = adjustable.position();
            if now.to_bits() != place.to_bits() {
                *place = now;
                self.params.instance.note_position(index, now);
            }
        }
    }

    /// Takes a circuit pair that has come, gives back one that has gone, asks for one with other
    /// oversampling.
    fn hand_over(&mut self) {
        let Some(renderer) = &mut self.renderer else {
            return;
        };
        // There is one while it is active, unless the system had no thread to give.
        let collect = || self.worker.iter().for_each(Worker::collect);
        let stepped = self.params.stepped();
        if self.stepped != Some(stepped) {
            self.stepped = Some(stepped);
            renderer.pair().parameter_map().set_stepped(stepped);
        }
        if let Some(exchange) = self.ends.pairs.exchange() {
            let mut gone = renderer.finished();
            if gone.is_none()
                && renderer.takes_pair()
                && let Some(pair) = exchange.take()
            {
                pair.parameter_map().set_stepped(stepped);
                gone = renderer.give(pair);
            }
            if let Some(pair) = gone {
                exchange.give_back(pair);
                collect();
            }
        } else {
            collect();
        }
        if let Some(exchange) = self.ends.responses.exchange() {
            let mut gone = renderer.finished_response();
            if gone.is_none()
                && renderer.takes_response()
                && let Some(response) = exchange.take()
            {
                gone = renderer.give_response(response);
            }
            if let Some(response) = gone {
                exchange.give_back(response);
                collect();
            }
        } else {
            collect();
        }
        let wanted = self.doublings();
        if wanted != self.asked {
            self.asked = wanted;
            self.worker.iter().for_each(|worker| worker.rebuild(wanted));
        }
        let guitar = self.params.guitar();
        if guitar != self.plugged {
            self.plugged = guitar;
            self.worker.iter().for_each(|worker| worker.plug_in(guitar));
        }
    }

    /// Passes on what is heard, in mono, as far as there is room.
    fn show(&mut self, count: usize, buffer: &mut Buffer) {
        let channels = buffer.as_slice_immutable();
        let room = self.ends.heard.slots().min(count);
        for i in 0..room {
            let sum: f32 = channels.iter().map(|channel| channel[i]).sum();
            let _ = self.ends.heard.push(sum / channels.len() as f32);
        }
    }
}

impl ClapPlugin for Presolder {
    const CLAP_ID: &'static str = OWN_CLAP_ID;
    const CLAP_DESCRIPTION: Option<&'static str> = Some(
        "Hear a part before you solder it: a valve guitar amplifier solved from its parts list",
    );
    const CLAP_MANUAL_URL: Option<&'static str> = None;
    const CLAP_SUPPORT_URL: Option<&'static str> = None;
    const CLAP_FEATURES: &'static [ClapFeature] = &[
        ClapFeature::AudioEffect,
        ClapFeature::Distortion,
        ClapFeature::Stereo,
        ClapFeature::Mono,
    ];
}

impl Vst3Plugin for Presolder {
    const VST3_CLASS_ID: [u8; 16] = OWN_VST3_ID;
    const VST3_SUBCATEGORIES: &'static [Vst3SubCategory] = &[
        Vst3SubCategory::Fx,
        Vst3SubCategory::Distortion,
        Vst3SubCategory::Mono,
        Vst3SubCategory::Stereo,
    ];
}
