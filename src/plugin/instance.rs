//! What one instance shares between the host's threads: the parameter map, the way to the audio
//! thread and back, meters, and what the window keeps.

use super::class::ClassParameters;
use super::handover::{AudioEnd, Handover, handover};
use super::jack::Jack;
use super::response::SharedResponse;
use crate::circuit::Proposal;
use crate::live::NotLoaded;
use crate::live::cabinets::Response;
use crate::live::circuit_pair::{CircuitPair, Format};
use crate::live::jack_guitar::{JackGuitar, OwnGuitar};
use crate::live::meters::Meters;
use crate::live::parameter_map::ParameterMap;
use crate::sound::impulse::Impulse;
use arc_swap::ArcSwap;
use atomic_float::AtomicF32;
use crossbeam_utils::atomic::AtomicCell;
use rtrb::{Consumer, Producer, RingBuffer};
use std::path::Path;
use std::sync::atomic::{AtomicBool, AtomicU64, Ordering::Relaxed};
use std::sync::{Arc, Mutex, MutexGuard, OnceLock};

/// Window at first, logical pixels.
const FIRST_WINDOW: (f32, f32) = (1280.0, 800.0);
/// Samples of what was heard that are kept for the spectrum: a third of a second at 48 kHz.
const HEARD: usize = 16_384;

/// See the module.
pub struct Instance {
    class: &'static ClassParameters,
    map: ArcSwap<ParameterMap>,
    /// The parameter map's number, for the audio thread.
    serial: AtomicU64,
    pairs: Handover<CircuitPair>,
    response: SharedResponse,
    heard: Mutex<Consumer<f32>>,
    format: Mutex<Option<Format>>,
    /// Positions of the host's parameters, as last seen by whoever looked.
    positions: Vec<AtomicF32>,
    meters: Meters,
    window: AtomicCell<(f32, f32)>,
    /// Proposed numbers that the parameters begin with, one for each adjustable.
    first: Mutex<Vec<f64>>,
    stepped: AtomicBool,
    /// What drives the jack; the map's amp has it.
    jack: Jack,
    view: Mutex<String>,
    notes: Mutex<Vec<String>>,
    /// Whether parameters have the names of what was loaded.
    named: AtomicBool,
    renamed: OnceLock<Renamed>,
}

/// What is done when the parameters of one's own file have other names; on any thread but the audio
/// thread.
pub type Renamed = Box<dyn Fn() + Send + Sync>;

/// The audio thread's ends of what an [`Instance`] shares.
pub struct AudioEnds {
    /// Circuit pairs that come and go.
    pub pairs: AudioEnd<CircuitPair>,
    /// Impulse responses that come and go.
    pub responses: AudioEnd<Response>,
    /// What was heard.
    pub heard: Producer<f32>,
}

/// A lock that somebody panicked under holds nothing that could be half done.
fn locked<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    mutex
        .lock()
        .unwrap_or_else(|poisoned| poisoned.into_inner())
}

impl Instance {
    /// An instance of a class with its own amp.
    pub fn new(class: &'static ClassParameters) -> (Arc<Self>, AudioEnds) {
        let (pairs, pairs_end) = handover();
        let (response, responses) = SharedResponse::new();
        let (heard, listened) = RingBuffer::new(HEARD);
        let map = class.parameter_map();
        let positions = (0..class.ids.len())
            .map(|parameter| AtomicF32::new(map.default_position(parameter)))
            .collect();
        let instance = Instance {
            class,
            serial: AtomicU64::new(map.serial()),
            map: ArcSwap::from_pointee(map),
            pairs,
            response,
            heard: Mutex::new(listened),
            format: Mutex::new(None),
            positions,
            meters: Meters::default(),
            window: AtomicCell::new(FIRST_WINDOW),
            first: Mutex::new(Vec::new()),
            stepped: AtomicBool::new(true),
            jack: Jack::default(),
            view: Mutex::new(String::new()),
            notes: Mutex::new(Vec::new()),
            named: AtomicBool::new(false),
            renamed: OnceLock::new(),
        };
        let ends = AudioEnds {
            pairs: pairs_end,
            responses,
            heard,
        };
        (Arc::new(instance), ends)
    }

    /// Its class.
    pub fn class(&self) -> &'static ClassParameters {
        self.class
    }

    /// Its parameter map.
    pub fn parameter_map(&self) -> Arc<ParameterMap> {
        let map = self.map.load_full();
        map.set_stepped(self.stepped.load(Relaxed));
        map
    }

    /// Notes whether positions are drawn to preferred values.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn set_stepped(&self, stepped: bool) {
        self.stepped.store(stepped, Relaxed);
    }

    /// Number of the parameter map that the parameters belong to.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn serial(&self) -> u64 {
        self.serial.load(Relaxed)
    }

    /// Its meters.
    pub fn meters(&self) -> &Meters {
        &self.meters
    }

    /// Rate and oversampling while it is active.
    pub fn format(&self) -> Option<Format> {
        *locked(&self.format)
    }

    /// Its impulse response, on the way to the audio thread and back.
    pub fn response(&self) -> &SharedResponse {
        &self.response
    }

    /// Puts an impulse response into place, or takes it away.
    pub fn put_impulse(&self, impulse: Option<Arc<Impulse>>) {
        let rate = self.format().map(|format| format.rate);
        self.response.put(impulse, rate);
    }

    /// Notes rate and oversampling, and makes the first circuit pair and impulse response for it.
    pub fn activate(&self, format: Format) -> (Box<CircuitPair>, Box<Response>) {
        *locked(&self.format) = Some(format);
        // What is on its way was made for another format.
        self.pairs.cancel();
        let response = self.response.activate(format.rate);
        (self.pair(&self.parameter_map(), format), response)
    }

    /// No audio runs any more.
    pub fn deactivate(&self) {
        *locked(&self.format) = None;
        self.pairs.cancel();
        self.response.deactivate();
    }

    /// Puts a parameter map into place; audio goes on with it after a cross-fade. Once the positions
    /// are those that belong to it, [`Instance::tell`] is to follow.
    pub fn put(&self, map: ParameterMap) {
        let guitar = self.jack.plugged();
        self.put_with(map, *guitar);
        drop(guitar);
        self.named.store(true, Relaxed);
        self.rebuild(None);
    }

    /// Lets a host know that names, values and texts of the parameters are those of another file.
    pub fn tell(&self) {
        if let Some(renamed) = self.renamed.get().filter(|_| self.class.own) {
            renamed();
        }
    }

    /// Says what is done then; the first to say it stays.
    pub fn when_renamed(&self, renamed: Renamed) {
        let _ = self.renamed.set(renamed);
    }

    /// Whether parameters have the names of what was loaded.
    pub fn is_named(&self) -> bool {
        self.named.load(Relaxed)
    }

    /// What it has in its amp's jack; [`Instance::plug_in`] and [`Instance::put_guitar`] change it.
    pub fn jack(&self) -> &Jack {
        &self.jack
    }

    /// Puts a guitar into the jack, unless it is there; audio goes on with it after a cross-fade.
    pub fn plug_in(&self, guitar: JackGuitar) {
        let mut now = self.jack.plugged();
        if std::mem::replace(&mut *now, guitar) != guitar {
            self.plug_again(now);
        }
    }

    /// Replaces the owner's own guitar, or takes it away, in the jack too if it is there.
    pub fn put_guitar(&self, own: Option<OwnGuitar>) {
        let now = self.jack.plugged();
        self.jack.bring(own);
        if *now == JackGuitar::Own {
            self.plug_again(now);
        }
    }

    fn plug_again(&self, now: MutexGuard<'_, JackGuitar>) {
        let map = self.parameter_map();
        match map.with_guitar(self.jack.guitar(*now)) {
            Ok(map) => self.place(map),
            // One that leaves the circuit without an operating point stays out.
            Err(_) => return,
        }
        drop(now);
        self.rebuild(None);
    }

    /// Puts a map into place with this guitar in its jack, as far as it goes.
    fn put_with(&self, map: ParameterMap, guitar: JackGuitar) {
        let played = match self.jack.guitar(guitar) {
            Some(guitar) => map.with_guitar(Some(guitar)).unwrap_or(map),
            None => map,
        };
        self.place(played);
    }

    fn place(&self, map: ParameterMap) {
        self.serial.store(map.serial(), Relaxed);
        self.map.store(Arc::new(map));
    }

    /// Makes the circuit pair again, with other oversampling if given, and sends it to the audio
    /// thread.
    pub fn rebuild(&self, doublings: Option<usize>) {
        let format = {
            let mut format = locked(&self.format);
            if let (Some(format), Some(doublings)) = (format.as_mut(), doublings) {
                format.doublings = doublings;
            }
            *format
        };
        if let Some(format) = format {
            self.pairs.send(self.pair(&self.parameter_map(), format));
        }
    }

    /// A circuit pair at its operating point with the values that the host has now.
    fn pair(&self, map: &Arc<ParameterMap>, format: Format) -> Box<CircuitPair> {
        let mut pair = match CircuitPair::new(map.clone(), format) {
            Ok(pair) => pair,
            // With its as-found values the amp has no operating point; with its file's it has.
            Err(_) => {
                for (adjustable, value) in map.amp().filed().into_iter().enumerate() {
                    map.set_as_found(adjustable, value);
                }
                CircuitPair::new(map.clone(), format).expect("it was checked when it was loaded")
            }
        };
        let positions: Vec<f32> = self.positions.iter().map(|p| p.load(Relaxed)).collect();
        pair.follow(&positions, 0.0);
        pair.settle();
        Box::new(pair)
    }

    /// Notes a parameter's position.
    ///
    /// # Real-time
    /// Lock-free.
    pub fn note_position(&self, parameter: usize, place: f32) {
        self.positions[parameter].store(place, Relaxed);
    }

    /// Frees what the audio thread has finished with.
    pub fn collect(&self) {
        self.pairs.collect();
        self.response.collect();
    }

    /// Loads another circuit file, proposed as found.
    ///
    /// # Errors
    /// Why it cannot be loaded; the present one then stays.
    pub fn load(&self, bytes: &[u8], path: Option<&Path>) -> Result<(), NotLoaded> {
        self.put(self.map_for(bytes, path)?);
        self.tell();
        Ok(())
    }

    /// A parameter map of another file. Parts of an amp of the same name keep their slots.
    ///
    /// # Errors
    /// Why it cannot be loaded.
    pub fn map_for(&self, bytes: &[u8], path: Option<&Path>) -> Result<ParameterMap, NotLoaded> {
        let now = self.parameter_map();
        self.class.map_for(bytes, path, |amp| {
            let again = amp.circuit().name() == now.amp().circuit().name();
            super::slots::slots(amp, &if again { now.slots() } else { Vec::new() })
        })
    }

    /// Lets the parameters begin with what is proposed; before they are made.
    pub fn propose_first(&self, proposal: &Proposal) {
        let map = self.parameter_map();
        if let Ok((values, _)) = map.amp().with_proposal(proposal, &map.amp().filed()) {
            for &adjustable in map.unbound() {
                map.set_loose(adjustable, values[adjustable]);
            }
            *locked(&self.first) = values;
        }
    }

    /// Position that a parameter begins with; its value is remembered exactly.
    pub fn first_position(&self, parameter: usize) -> f32 {
        let map = self.parameter_map();
        let first = locked(&self.first);
        let place = match (first.is_empty(), map.binding(parameter)) {
            (false, Some(binding)) => match binding.fitted {
                Some(fitted) if first[fitted] < 0.5 => ParameterMap::OUT,
                _ => map
                    .remember(parameter, first[binding.adjustable])
                    .unwrap_or(0.0),
            },
            _ => map.default_position(parameter),
        };
        self.note_position(parameter, place);
        place
    }

    /// Appends what was heard since the last call.
    pub fn take_heard(&self, into: &mut Vec<f32>) {
        let mut heard = locked(&self.heard);
        let count = heard.slots();
        if let Ok(chunk) = heard.read_chunk(count) {
            into.extend(chunk);
        }
    }

    /// What the window keeps with the project.
    pub fn view(&self) -> String {
        locked(&self.view).clone()
    }

    /// Replaces what the window keeps with the project.
    pub fn set_view(&self, view: String) {
        *locked(&self.view) = view;
    }

    /// Size of the window, logical pixels.
    pub fn window_size(&self) -> (f32, f32) {
        self.window.load()
    }

    /// Notes the size of the window, as far as it makes sense.
    pub fn set_window_size(&self, width: f32, height: f32) {
        if (100.0..=16_384.0).contains(&width) && (100.0..=16_384.0).contains(&height) {
            self.window.store((width, height));
        }
    }

    /// What could not be restored.
    pub fn notes(&self) -> Vec<String> {
        locked(&self.notes).clone()
    }

    /// Replaces what could not be restored.
    pub fn set_notes(&self, notes: Vec<String>) {
        *locked(&self.notes) = notes;
    }
}
