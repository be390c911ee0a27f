//! A host plays live at 2 times oversampling and renders at 8 times, in whatever order it says so: what
//! is heard is what a host hears that has asked for 2 or 8 times itself.

use crate::fixture::clap;
use crate::fixture::vst3::{self, Mode};
use crate::fixture::{bits, pluck};

const RATE: f64 = 48_000.0;

/// What a host may say, one activation after another.
const SEQUENCES: [&[Mode]; 7] = [
    &[Mode::Realtime, Mode::Offline, Mode::Realtime],
    &[Mode::Offline],
    &[Mode::Offline, Mode::Realtime, Mode::Offline],
    &[Mode::Offline, Mode::Offline, Mode::Offline],
    &[Mode::Realtime, Mode::Realtime, Mode::Offline, Mode::Offline],
    &[Mode::Prefetch, Mode::Offline, Mode::Prefetch],
    &[Mode::Offline, Mode::Offline, Mode::Realtime, Mode::Realtime],
];

type Bits = Vec<Vec<u32>>;

/// What is heard with a fixed oversampling, live and off line: they must be the same, so that the
/// mode plays no part in what the others are held against.
fn fixed(play: impl Fn(f64, Mode) -> Bits) -> [Bits; 2] {
    let [twice, eight_times] = [1.0 / 3.0, 1.0].map(|position| {
        let live = play(position, Mode::Realtime);
        assert!(live == play(position, Mode::Offline), "{position}");
        live
    });
    assert!(twice != eight_times, "they cannot be told apart");
    [twice, eight_times]
}

fn expected(of: &[Bits; 2], mode: Mode) -> &Bits {
    match mode {
        Mode::Realtime | Mode::Prefetch => &of[0],
        Mode::Offline => &of[1],
    }
}

#[test]
fn vst3_quality_follows_the_mode_at_once() {
    let input = pluck(RATE, 2_500, 2, 0.5);
    for class in [vst3::CLASSES[0], vst3::CLASSES[4]] {
        let played = |instance: &mut vst3::Instance, mode| {
            assert!(instance.set_up(mode, RATE, 512));
            assert!(instance.set_active(true));
            let heard = bits(&instance.play(&input, &[]));
            assert!(instance.set_active(false));
            heard
        };
        let fixed = fixed(|position, mode| {
            let mut instance = vst3::Instance::new(class);
            instance.set(instance.param("Oversampling"), position);
            played(&mut instance, mode)
        });
        for sequence in SEQUENCES {
            let mut instance = vst3::Instance::new(class);
            for (step, &mode) in sequence.iter().enumerate() {
                let heard = played(&mut instance, mode);
                assert!(
                    heard == *expected(&fixed, mode),
                    "{sequence:?}, step {step}"
                );
            }
        }
    }
}

#[test]
fn clap_quality_follows_the_mode_at_once() {
    let input = pluck(RATE, 2_500, 2, 0.5);
    let class = crate::fixture::CLASSES[0];
    let played = |instance: &mut clap::Instance, mode| {
        instance.render(mode == Mode::Offline);
        instance.activate(RATE, 512);
        let heard = bits(&instance.play(&input, &[512], &[]));
        instance.deactivate();
        heard
    };
    let fixed = fixed(|position, mode| {
        let mut instance = clap::Instance::new(class);
        let param = instance.param("Oversampling");
        instance.set(&[(param.id, param.at(position))]);
        played(&mut instance, mode)
    });
    for sequence in SEQUENCES {
        let mut instance = clap::Instance::new(class);
        for (step, &mode) in sequence.iter().enumerate() {
            let heard = played(&mut instance, mode);
            assert!(
                heard == *expected(&fixed, mode),
                "{sequence:?}, step {step}"
            );
        }
    }
}
