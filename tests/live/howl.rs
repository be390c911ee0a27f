//! An amp that howls in the renderer: muted once nothing is played, and said to be; one in order is not.

use crate::fixture::{RATE, Table, rms, sine};
use engine::circuit::built_in_circuit;
use engine::device::Catalogue;
use engine::live::LiveAmp;
use engine::solve::solved::SolvedAmp;
use std::sync::Arc;
use std::sync::atomic::Ordering::Relaxed;

/// Peak of each tenth of a second of silence, and whether the amp is muted at its end.
fn silence(table: &mut Table, seconds: f64) -> Vec<(f32, bool)> {
    let tenth = (0.1 * RATE) as usize;
    let count = (10.0 * seconds) as usize;
    let mut out = Vec::new();
    for _ in 0..count {
        let (mut left, mut right) = (vec![0f32; tenth], vec![0f32; tenth]);
        let mut block = [&mut left[..], &mut right[..]];
        let positions = table.positions.clone();
        table
            .renderer
            .process(&table.settings, &positions, &mut block, 2, &table.meters);
        let peak = left.iter().chain(&right).fold(0f32, |m, x| m.max(x.abs()));
        out.push((peak, table.meters.howls.load(Relaxed)));
    }
    out
}

/// The amp with its feedback the wrong way round.
fn reversed() -> LiveAmp {
    let text = built_in_circuit("sluice").expect("a built-in amp").text;
    let line = text.lines().find(|l| l.starts_with("T1 ")).expect("T1");
    let at = line.find("secondary = [\"").expect("its taps") + "secondary = [".len();
    let end = at + line[at..].find(']').expect("its taps");
    let mut taps: Vec<&str> = line[at..end].split(',').map(str::trim).collect();
    taps.reverse();
    let swapped = format!("{}{}{}", &line[..at], taps.join(", "), &line[end..]);
    let text = text.replace(line, &swapped);
    let catalogue = Arc::new(Catalogue::built_in());
    LiveAmp::read(text.as_bytes(), None, catalogue).expect("a sound file")
}

#[test]
fn a_howl_is_muted_and_told() {
    let heard = silence(&mut Table::of(reversed()), 3.0);
    println!("{heard:?}");
    assert!(heard[4].0 > 0.003, "it howls at first");
    assert_eq!(heard[29], (0.0, true));
    let heard = silence(&mut Table::new("sluice"), 3.0);
    assert!(heard.iter().all(|(peak, muted)| *peak < 1e-3 && !muted));
}

/// A loop that is opened so far that nothing grows: ten times the resistor that closes it.
const OPENED: &str = "R305";

#[test]
fn an_amp_that_is_dragged_back_to_stability_sounds_again_within_half_a_second() {
    let mut table = Table::of(reversed());
    let found = silence(&mut table, 2.0);
    assert_eq!(found[19], (0.0, true));
    let index = table.map.amp().find(OPENED).expect("the feedback resistor");
    let filed = table.map.amp().adjustables()[index].filed;
    let (_, most) = table.map.amp().adjustables()[index].range();
    assert!((most / filed - 10.0).abs() < 1e-9, "{most} of {filed}");
    // As far as the equations say, that is stable.
    let mut numbers = table.map.amp().filed();
    numbers[index] = most;
    let circuit = table.map.amp().circuit_with(&numbers).expect("a value");
    let solved = SolvedAmp::new(&circuit, None).expect("an operating point");
    assert!(solved.fit_to_judge().is_ok(), "it howls with {most} ohms");
    // Dragged there within a tenth of a second, then left alone: what is not muted sounds.
    let tune = sine(196.0, 0.02, 0.2);
    for step in 1..=10 {
        let value = filed * (most / filed).powf(f64::from(step) / 10.0);
        table.positions[index] = table.map.remember(index, value).expect("a place");
        let silent = vec![0.0; (0.01 * RATE) as usize];
        table.play_mono(&silent);
    }
    let after = silence(&mut table, 0.5);
    println!("{after:?}");
    assert!(!after[4].1, "muted after half a second");
    let heard = rms(&table.play_mono(&tune));
    let mut never = Table::of(reversed());
    never.positions.clone_from(&table.positions);
    never.map.remember(index, most).expect("a place");
    let wanted = rms(&never.play_mono(&tune));
    assert!((heard / wanted - 1.0).abs() < 0.05, "{heard} of {wanted}");
}

#[test]
fn an_amp_that_is_mended_while_it_is_played_sounds_again() {
    let mut table = Table::of(reversed());
    silence(&mut table, 2.0);
    let tune = sine(196.0, 0.02, 0.3);
    // Played over, it stays muted; with the loop opened meanwhile it is heard.
    assert_eq!(table.play_mono(&tune)[tune.len() - 1], 0.0);
    let index = table.map.amp().find(OPENED).expect("the feedback resistor");
    let (_, most) = table.map.amp().adjustables()[index].range();
    table.positions[index] = table.map.remember(index, most).expect("a place");
    assert!(rms(&table.play_mono(&tune)) > 1e-3);
    let after = silence(&mut table, 2.0);
    assert!(!after[19].1, "muted though it is mended");
}
