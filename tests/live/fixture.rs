//! A rig on a built-in amp for the tests of what is heard: parameters by slot id, blocks of any
//! length, mono or stereo.
#![allow(dead_code)]

use engine::circuit::built_in_circuit;
use engine::device::Catalogue;
use engine::live::LiveAmp;
use engine::live::cabinets::CabinetChoice;
use engine::live::circuit_pair::{CircuitPair, Format};
use engine::live::meters::Meters;
use engine::live::parameter_map::ParameterMap;
use engine::live::renderer::{Heard, RenderSettings, Renderer};
use std::sync::Arc;

pub const RATE: f64 = 48_000.0;
/// Output for a volt at the loudspeaker: 40 V are full scale.
pub const OUTPUT_GAIN: f64 = 1.0 / 40.0;

pub struct Table {
    pub map: Arc<ParameterMap>,
    pub renderer: Renderer,
    pub positions: Vec<f32>,
    pub settings: RenderSettings,
    pub meters: Meters,
}

pub fn map_of(amp: &str) -> ParameterMap {
    let text = built_in_circuit(amp).unwrap().text;
    let catalogue = Arc::new(Catalogue::built_in());
    map_with(LiveAmp::read(text.as_bytes(), None, catalogue).unwrap())
}

/// A parameter for each slot.
fn map_with(live: LiveAmp) -> ParameterMap {
    let ids: Vec<String> = live.adjustables().iter().map(|s| s.id.clone()).collect();
    ParameterMap::for_parameters(live, &ids)
}

pub fn format(rate: f64, doublings: usize) -> Format {
    Format {
        rate,
        doublings,
        live: true,
    }
}

impl Table {
    pub fn new(amp: &str) -> Self {
        Self::at(amp, format(RATE, 1), 2)
    }

    pub fn at(amp: &str, format: Format, outputs: usize) -> Self {
        Self::with(map_of(amp), format, outputs)
    }

    /// A table with any amp, in stereo.
    pub fn of(live: LiveAmp) -> Self {
        Self::with(map_with(live), format(RATE, 1), 2)
    }

    fn with(map: ParameterMap, format: Format, outputs: usize) -> Self {
        let map = Arc::new(map);
        let positions = (0..map.amp().adjustables().len())
            .map(|p| {
                map.position_of(p, map.amp().adjustables()[p].filed)
                    .unwrap()
            })
            .collect();
        let pair = Box::new(CircuitPair::new(map.clone(), format).unwrap());
        Table {
            renderer: Renderer::new(pair, outputs),
            positions,
            settings: RenderSettings {
                heard: Heard::Proposed,
                through: CabinetChoice::Line,
                matched: false,
                input_volts: 1.0,
                output_gain: OUTPUT_GAIN,
                bypass: false,
                glide_milliseconds: 5.0,
                serial: map.serial(),
            },
            meters: Meters::default(),
            map,
        }
    }

    /// Proposes a value by the text that one would type.
    pub fn propose(&mut self, id: &str, text: &str) {
        let adjustable = self.map.amp().find(id).expect(id);
        let value = self.map.amp().adjustables()[adjustable]
            .read(text)
            .expect(text);
        let place = self.map.remember(adjustable, value).unwrap();
        self.positions[adjustable] = place;
    }

    /// Plays a stereo signal in blocks of the lengths given, over and over.
    pub fn play(&mut self, input: [&[f32]; 2], blocks: &[usize]) -> [Vec<f32>; 2] {
        let mut out = input.map(<[f32]>::to_vec);
        let mut blocks = blocks.iter().cycle();
        let mut start = 0;
        let length = out[0].len();
        while start < length {
            let end = (start + blocks.next().unwrap()).min(length);
            let [left, right] = &mut out;
            let mut block = [&mut left[start..end], &mut right[start..end]];
            self.renderer
                .process(&self.settings, &self.positions, &mut block, 2, &self.meters);
            start = end;
        }
        out
    }

    /// The same signal on both sides.
    pub fn play_mono(&mut self, input: &[f32]) -> Vec<f32> {
        let [left, _] = self.play([input, input], &[64]);
        left
    }
}

/// A sine, peak volts.
pub fn sine(hz: f64, peak: f64, seconds: f64) -> Vec<f32> {
    let count = (seconds * RATE) as usize;
    (0..count)
        .map(|i| (peak * (std::f64::consts::TAU * hz * i as f64 / RATE).sin()) as f32)
        .collect()
}

/// Root mean square.
pub fn rms(samples: &[f32]) -> f64 {
    let sum: f64 = samples.iter().map(|&s| f64::from(s).powi(2)).sum();
    (sum / samples.len() as f64).sqrt()
}

/// Level of the difference of two signals against the first, dB.
pub fn difference_db(a: &[f32], b: &[f32]) -> f64 {
    let difference: Vec<f32> = a.iter().zip(b).map(|(a, b)| a - b).collect();
    20.0 * (rms(&difference) / rms(a)).log10()
}

/// The built-in phrase at [`RATE`], V, so many seconds of it.
pub fn phrase(seconds: f64) -> Vec<f32> {
    let mut phrase = engine::sound::phrase::phrase(RATE as u32);
    phrase.truncate((seconds * RATE) as usize);
    phrase
}
