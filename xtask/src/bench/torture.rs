//! What the governor must hold within its time: signals that no guitar gives, parts that jump.

use super::cost::Cost;
use super::subject::{RATE, Subject};
use cpu_time::ThreadTime;
use engine::numeric::random::Random;
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Processor, Settings};

/// Signals that no guitar gives, a fifth of a second each.
pub fn signals() -> Vec<(&'static str, Vec<f64>)> {
    let mut noise = noise();
    let count = 9600;
    let at = |f: &mut dyn FnMut(f64) -> f64| {
        (0..count).map(|n| f(n as f64 / RATE)).collect::<Vec<f64>>()
    };
    vec![
        (
            "square 440 Hz, ±5 V",
            at(&mut |t| if (t * 440.0).fract() < 0.5 { 5.0 } else { -5.0 }),
        ),
        (
            "steps of ±50 V",
            at(&mut |t| {
                if (t * 50.0).fract() < 0.5 {
                    50.0
                } else {
                    -50.0
                }
            }),
        ),
        (
            "sine 7 kHz, 20 V",
            at(&mut |t| 20.0 * (std::f64::consts::TAU * 7000.0 * t).sin()),
        ),
        ("white noise ±2 V", at(&mut |_| 2.0 * noise())),
        ("white noise ±50 V", at(&mut |_| 50.0 * noise())),
    ]
}

/// Three parts jump by ×0.1 to ×10 on every sample, in all lanes, while 3 V at 440 Hz clips.
pub fn jumping(subject: &Subject, settings: Settings) -> Cost {
    let lanes = [(&subject.values, subject.point.solution.as_slice()); 4];
    let mut processor =
        Processor::<4>::new(&subject.network, lanes, settings, Instructions::detect());
    let mut noise = noise();
    let nominal = &subject.values.branches;
    let mut blocks = Vec::new();
    for block in 0..75 {
        let start = ThreadTime::now();
        for n in 0..64 {
            for _ in 0..3 {
                let branch = ((noise() * 0.5 + 0.5) * (nominal.len() - 1) as f64) as usize;
                let value = nominal[branch].scaled(10f64.powf(noise()));
                (0..4).for_each(|lane| processor.set_branch(lane, branch, value));
            }
            let t = (block * 64 + n) as f64 / RATE;
            let x = [3.0 * (std::f64::consts::TAU * 440.0 * t).sin()];
            let mut y = [[0.0]; 4];
            let [a, b, c, d] = &mut y;
            processor.process(&[&x; 4], &mut [a, b, c, d]);
        }
        blocks.push(start.elapsed().as_secs_f64() / (64.0 / RATE));
    }
    let mean = blocks.iter().sum::<f64>() / blocks.len() as f64;
    blocks.sort_by(f64::total_cmp);
    Cost {
        mean,
        blocks,
        counts: processor.counts(),
    }
}

/// Uniform noise from −1 to 1.
fn noise() -> impl FnMut() -> f64 {
    let mut random = Random::new(1, 0);
    move || random.even()
}
