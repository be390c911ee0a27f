//! The built plugin in a VST3 host, through its bundle: every class loads, its parameters have
//! texts, values take effect at their frame, a project comes back and sounds the same, rates and
//! blocks, several instances, hostile projects.

use crate::fixture::{Dice, bits, first_difference, peak, pluck};
use std::collections::BTreeSet;
use vst3_host::audio::{AudioBuffers, BusArrangements, SpeakerArrangement};
use vst3_host::{Plugin, Vst3Host};

const RATE: f64 = 48_000.0;

/// Identities of the classes: these never change.
const CLASSES: [&[u8; 16]; 5] = [
    b"PresolderBradawl",
    b"PresolderMizzle5",
    b"PresolderSpokesh",
    b"PresolderSluice4",
    b"PresolderOwnFile",
];

fn instance(class: &[u8; 16], rate: f64, block: usize) -> Plugin {
    let mut host = Vst3Host::builder()
        .sample_rate(rate)
        .block_size(block)
        .build()
        .expect("a host");
    let id: String = class.iter().map(|byte| format!("{byte:02X}")).collect();
    let loaded = host.load_plugin_class(crate::fixture::vst3_folder(), &id);
    loaded.unwrap_or_else(|fault| panic!("{}: {fault}", String::from_utf8_lossy(class)))
}

/// Plays in blocks of a length; a value may come at a frame.
fn play(
    plugin: &mut Plugin,
    input: &[Vec<f32>],
    block: usize,
    set: Option<(usize, u32, f64)>,
) -> Vec<Vec<f32>> {
    let frames = input[0].len();
    let rate = plugin.sample_rate();
    let mut output = vec![Vec::new(); 2];
    for start in (0..frames).step_by(block) {
        let length = block.min(frames - start);
        let mut buffers = AudioBuffers::new(input.len(), 2, length, rate);
        for (buffer, channel) in buffers.inputs.iter_mut().zip(input) {
            buffer.copy_from_slice(&channel[start..start + length]);
        }
        if let Some((frame, id, value)) = set
            && (start..start + length).contains(&frame)
        {
            plugin
                .set_parameter_at(id, value, (frame - start) as i32)
                .expect("queued");
        }
        plugin.process_audio(&mut buffers).expect("it plays");
        for (all, channel) in output.iter_mut().zip(&buffers.outputs) {
            all.extend_from_slice(&channel[..length]);
        }
    }
    output
}

fn started(class: &[u8; 16], rate: f64, block: usize) -> Plugin {
    let mut plugin = instance(class, rate, block);
    plugin.start_processing().expect("it starts");
    plugin
}

#[test]
fn parameters_are_listed_with_unique_ids_and_texts() {
    for class in CLASSES {
        let plugin = instance(class, RATE, 512);
        let params = plugin.get_parameters().expect("parameters");
        let ids: BTreeSet<u32> = params.iter().map(|p| p.id).collect();
        assert_eq!(
            ids.len(),
            params.len(),
            "{:?}: ids clash",
            plugin.info().name
        );
        assert!(params.iter().filter(|p| p.is_bypass).count() == 1);
        for param in &params {
            assert!(!param.name.is_empty());
            assert!((0.0..=1.0).contains(&param.default), "{param:?}");
            assert!((param.value - param.default).abs() < 1e-6, "{param:?}");
            for step in 0..=10 {
                let text = plugin.format_parameter(param.id, f64::from(step) / 10.0);
                let text = text.unwrap_or_else(|e| panic!("{}: {e}", param.name));
                assert!(!text.is_empty(), "{} says nothing at {step}", param.name);
            }
        }
    }
}

#[test]
fn a_value_takes_effect_at_its_frame_and_not_before() {
    const FRAME: usize = 777;
    let input = pluck(RATE, 2_000, 2, 0.5);
    for (class, name) in [
        (CLASSES[0], "R103 anode load"),
        (CLASSES[0], "Volume"),
        (CLASSES[0], "Bypass"),
        (CLASSES[4], "Part 1"),
    ] {
        let mut without = started(class, RATE, 512);
        let without = play(&mut without, &input, 512, None);
        let mut with = started(class, RATE, 512);
        let param = with.find_parameter(name).expect("a parameter");
        let value = if param.value < 0.5 { 1.0 } else { 0.1 };
        let with = play(&mut with, &input, 512, Some((FRAME, param.id, value)));
        let first = first_difference(&without, &with);
        assert!(
            first.is_some_and(|frame| frame >= FRAME),
            "{name}: {first:?}"
        );
    }
}

#[test]
fn a_project_comes_back_and_sounds_the_same() {
    let mut dice = Dice::new(17);
    let input = pluck(RATE, 2_000, 2, 0.3);
    for class in CLASSES {
        let mut one = instance(class, RATE, 512);
        let params = one.get_parameters().expect("parameters");
        for param in params.iter().filter(|p| !p.is_read_only && !p.is_bypass) {
            let fitted = param.name.ends_with("fitted") && dice.roll() < 0.95;
            if !fitted {
                one.set_parameter(param.id, dice.roll()).expect("set");
            }
        }
        // The values reach the plugin with a block; then it begins anew from them.
        one.start_processing().expect("it starts");
        play(&mut one, &input, 512, None);
        one.stop_processing().expect("it stops");
        let state = one.save_state().expect("saved");
        let mut other = instance(class, RATE, 512);
        other.load_state(&state).expect("loaded");
        for param in &params {
            let values = [&one, &other].map(|p| p.get_parameter(param.id).expect("a value"));
            let near = (values[0] - values[1]).abs() < 1e-6;
            let texts =
                [&one, &other].map(|p| p.format_parameter(param.id, values[0]).expect("a text"));
            assert!(near || texts[0] == texts[1], "{}: {values:?}", param.name);
        }
        one.load_state(&state).expect("loaded");
        let mut heard = Vec::new();
        for plugin in [&mut one, &mut other] {
            plugin.start_processing().expect("it starts");
            heard.push(play(plugin, &input, 512, None));
        }
        assert_eq!(
            first_difference(&heard[0], &heard[1]),
            None,
            "{:?}",
            one.info().name
        );
        assert!(peak(&heard[0]).is_finite());
    }
}

#[test]
fn rates_and_blocks_of_every_size() {
    for rate in [44_100.0, 48_000.0, 88_200.0, 96_000.0, 176_400.0, 192_000.0] {
        let input = pluck(rate, 2_000, 2, 0.5);
        let results: Vec<_> = [1, 37, 512, 4096]
            .map(|block| {
                let mut plugin = started(CLASSES[1], rate, block);
                // A latency that is told on activation is read anew when the plugin asks for it.
                plugin.service_host_requests().expect("served");
                assert!(plugin.latency_samples() > 0, "{rate} Hz");
                let output = play(&mut plugin, &input, block, None);
                assert!(
                    peak(&output) > 1e-3 && peak(&output) < 2.0,
                    "{rate} {block}"
                );
                bits(&output)
            })
            .into();
        assert!(results.iter().all(|r| *r == results[0]), "{rate}");
    }
}

#[test]
fn mono_goes_in_and_the_plugin_begins_anew() {
    let input = pluck(RATE, 2_000, 1, 0.3);
    let mut plugin = instance(CLASSES[0], RATE, 512);
    let layout = BusArrangements {
        inputs: vec![SpeakerArrangement::MONO],
        outputs: vec![SpeakerArrangement::STEREO],
    };
    assert!(
        plugin
            .set_bus_arrangements(&layout.inputs, &layout.outputs)
            .is_ok()
    );
    let mut results = Vec::new();
    for _ in 0..3 {
        plugin.start_processing().expect("it starts");
        let output = play(&mut plugin, &input, 512, None);
        plugin.stop_processing().expect("it stops");
        assert_eq!(bits(&output)[0], bits(&output)[1]);
        assert!(peak(&output) > 1e-3);
        results.push(bits(&output));
    }
    assert!(results.iter().all(|r| *r == results[0]));
}

#[test]
fn instances_do_not_disturb_each_other() {
    let input = pluck(RATE, 1_024, 2, 0.4);
    let expected = play(&mut started(CLASSES[0], RATE, 256), &input, 256, None);
    let mut one = started(CLASSES[0], RATE, 256);
    let mut other = started(CLASSES[3], RATE, 256);
    let mut heard = vec![Vec::new(); 2];
    for start in (0..1_024).step_by(256) {
        let part: Vec<Vec<f32>> = input
            .iter()
            .map(|c| c[start..start + 256].to_vec())
            .collect();
        for (all, channel) in heard.iter_mut().zip(play(&mut one, &part, 256, None)) {
            all.extend(channel);
        }
        play(&mut other, &part, 256, None);
    }
    assert_eq!(first_difference(&expected, &heard), None);
}

#[test]
fn hostile_projects_are_survived() {
    let mut dice = Dice::new(23);
    let input = pluck(RATE, 1_000, 2, 0.3);
    for class in [CLASSES[0], CLASSES[4]] {
        let mut plugin = instance(class, RATE, 512);
        let good = plugin.save_state().expect("saved");
        for number in 0..60 {
            let bytes: Vec<u8> = match number % 3 {
                0 => (0..dice.below(500))
                    .map(|_| (dice.roll() * 256.0) as u8)
                    .collect(),
                1 => good[..dice.below(good.len())].to_vec(),
                _ => {
                    let mut bytes = good.clone();
                    for _ in 0..3 {
                        let at = dice.below(bytes.len());
                        bytes[at] = (dice.roll() * 256.0) as u8;
                    }
                    bytes
                }
            };
            // Whether it is taken is the plugin's choice.
            let _ = plugin.load_state(&bytes);
        }
        plugin
            .load_state(&good)
            .expect("a good one is taken after all that");
        plugin.start_processing().expect("it starts");
        let output = play(&mut plugin, &input, 512, None);
        assert!(peak(&output) > 1e-3 && peak(&output) < 4.0);
    }
}
