//! The loudness match: its meter against the crate `ebur128`, its gain within 0.2 LU after three
//! seconds, and never in a hurry.

use crate::fixture::{RATE, Table, phrase};
use engine::live::loudness::Match;
use engine::live::renderer::Heard;
use std::sync::atomic::Ordering::Relaxed;

/// Short-term loudness of the last 3 s by the crate.
fn by_crate(samples: &[f32], rate: u32) -> f64 {
    let mut meter = ebur128::EbuR128::new(1, rate, ebur128::Mode::S).unwrap();
    meter.add_frames_f32(samples).unwrap();
    meter.loudness_shortterm().unwrap()
}

#[test]
fn the_meter_reads_what_the_crate_reads() {
    for rate in [44_100u32, 48_000, 96_000] {
        let phrase = engine::sound::phrase::phrase(rate);
        let three = 3 * rate as usize;
        let sound = &phrase[rate as usize..rate as usize + three];
        let mut matching = Match::new(f64::from(rate), 1);
        for &sample in sound {
            let sample = f64::from(sample);
            matching.sample([sample, 0.0], [0.5 * sample, 0.0]);
        }
        let expected = by_crate(sound, rate);
        // Our windows end on blocks of 100 ms, and blocks of silence are left out.
        let ours = matching.as_found.lufs();
        assert!(
            (ours - expected).abs() < 0.1,
            "{rate}: {ours} for {expected}"
        );
        let half = matching.proposed.lufs();
        assert!((ours - half - 6.0206).abs() < 1e-3, "{ours} {half}");
    }
}

/// Plays the phrase with a change and gives the gain at every 10 ms, and both loudnesses after it.
fn gains(table: &mut Table, seconds: f64) -> Vec<f64> {
    let input = phrase(seconds);
    let mut gains = Vec::new();
    for block in input.chunks(480) {
        table.play([block, block], &[480]);
        gains.push(f64::from(table.meters.match_db.load(Relaxed)));
    }
    gains
}

#[test]
fn three_seconds_of_playing_suffice_and_the_gain_creeps() {
    for (id, text) in [("R204", "100k"), ("C103", "3n3"), ("R205", "10k")] {
        let mut table = Table::new("bradawl");
        table.settings.matched = true;
        table.propose(id, text);
        let gains = gains(&mut table, 3.0);
        let found = table.meters.as_found_lufs.load(Relaxed);
        let proposed = table.meters.proposed_lufs.load(Relaxed);
        let left = f64::from(found - proposed) - gains.last().unwrap();
        println!("{id}: {:.2} dB, {left:.3} LU off", gains.last().unwrap());
        assert!(left.abs() < 0.2, "{id}: {left} LU off");
        // 100 ms are ten blocks.
        let most = gains
            .windows(11)
            .map(|w| (w[10] - w[0]).abs())
            .fold(0.0, f64::max);
        assert!(most <= 0.5, "{id}: {most} dB in 100 ms");
    }
}

#[test]
fn what_is_heard_is_equally_loud_by_the_crate_too() {
    let render = |heard| {
        let mut table = Table::new("bradawl");
        table.settings.matched = true;
        table.settings.heard = heard;
        table.propose("R204", "150k");
        // Three seconds, again and again: every window of the meter holds the same music.
        let bar = phrase(3.0);
        let sound = table.play_mono(&[bar.clone(), bar.clone(), bar].concat());
        by_crate(&sound, RATE as u32)
    };
    let (found, proposed) = (render(Heard::AsFound), render(Heard::Proposed));
    assert!((found - proposed).abs() < 0.2, "{found} {proposed}");
}

#[test]
fn silence_moves_nothing() {
    let mut table = Table::new("mizzle");
    table.settings.matched = true;
    table.play_mono(&vec![0.0; 48_000]);
    assert_eq!(table.meters.match_db.load(Relaxed), 0.0);
}
