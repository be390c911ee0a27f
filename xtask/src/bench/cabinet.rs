//! What it costs to be heard through something: the longest impulse response in both amps, left and
//! right, and the sections of the loudspeakers.

use super::subject::RATE;
use cpu_time::ThreadTime;
use engine::device::Catalogue;
use engine::numeric::random::Random;
use engine::realtime::cabinet::{Cabinet, Convolver, Sections, Voicing};
use engine::sound::impulse::MOST_SECONDS;

/// Lanes: as found and proposed, left and right.
const LANES: usize = 4;

/// Shares of a block's time, sorted, for blocks of `block` frames of noise.
fn shares(block: usize, mut process: impl FnMut(&mut [Vec<f64>; LANES])) -> Vec<f64> {
    let mut random = Random::new(1, 0);
    // As many seconds as the impulse response has, to fill its memory, and once more.
    let blocks = (2.0 * MOST_SECONDS * RATE) as usize / block;
    let mut lines: [Vec<f64>; LANES] = std::array::from_fn(|_| vec![0.0; block]);
    let mut shares: Vec<f64> = (0..blocks)
        .map(|_| {
            lines
                .iter_mut()
                .flatten()
                .for_each(|sample| *sample = random.even());
            let start = ThreadTime::now();
            process(&mut lines);
            start.elapsed().as_secs_f64() / (block as f64 / RATE)
        })
        .skip(blocks / 2)
        .collect();
    shares.sort_by(f64::total_cmp);
    shares
}

fn report(what: &str, block: usize, shares: &[f64]) {
    let mean = shares.iter().sum::<f64>() / shares.len() as f64;
    let at = |share: f64| 100.0 * shares[((shares.len() - 1) as f64 * share) as usize];
    println!(
        "{what:52} {:6.2} % of a core; {block}-frame blocks p99 {:5.1} %, worst {:5.1} %",
        100.0 * mean,
        at(0.99),
        at(1.0)
    );
}

/// Prints what each way costs.
pub fn bench() {
    println!("\nHeard through, both amps in stereo (4 lanes), 48 kHz:");
    let mut random = Random::new(7, 0);
    let taps: Vec<f64> = (0..(MOST_SECONDS * RATE) as usize)
        .map(|n| 0.05 * random.even() * (-(n as f64) / (0.3 * RATE)).exp())
        .collect();
    let drivers = Catalogue::built_in().loudspeakers;
    let voicings: Vec<Voicing> = drivers
        .iter()
        .map(|driver| Voicing::new(driver.acoustic.analog(), RATE))
        .collect();
    let sections = Sections::new(std::array::from_fn(|lane| &voicings[lane % voicings.len()]));
    let mut ways: Vec<(String, Cabinet<LANES>)> =
        vec![("loudspeakers".into(), Cabinet::Acoustic(Box::new(sections)))];
    for seconds in [0.1, MOST_SECONDS] {
        let convolver = Convolver::new(&taps[..(seconds * RATE) as usize]);
        let name = format!("impulse response of {seconds} s");
        ways.push((name, Cabinet::Impulse(Box::new(convolver))));
    }
    for (what, cabinet) in &mut ways {
        for block in [64, 1] {
            let shares = shares(block, |lines| {
                cabinet.process(&mut lines.each_mut().map(Vec::as_mut_slice));
            });
            report(what, block, &shares);
        }
    }
}
