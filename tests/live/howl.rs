//! An amp that howls in the renderer: muted once nothing is played, and said to be; one in order is not.

use crate::fixture::{RATE, Table};
use engine::circuit::built_in_circuit;
use engine::device::Catalogue;
use engine::live::LiveAmp;
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

#[test]
fn a_howl_is_muted_and_told() {
    let text = built_in_circuit("sluice").expect("a built-in amp").text;
    let line = text.lines().find(|l| l.starts_with("T1 ")).expect("T1");
    let at = line.find("secondary = [\"").expect("its taps") + "secondary = [".len();
    let end = at + line[at..].find(']').expect("its taps");
    let mut taps: Vec<&str> = line[at..end].split(',').map(str::trim).collect();
    taps.reverse();
    let swapped = format!("{}{}{}", &line[..at], taps.join(", "), &line[end..]);
    let text = text.replace(line, &swapped);
    let catalogue = Arc::new(Catalogue::built_in());
    let live = LiveAmp::read(text.as_bytes(), None, catalogue).expect("a sound file");
    let heard = silence(&mut Table::of(live), 3.0);
    println!("{heard:?}");
    assert!(heard[4].0 > 0.003, "it howls at first");
    assert_eq!(heard[29], (0.0, true));
    let heard = silence(&mut Table::new("sluice"), 3.0);
    assert!(heard.iter().all(|(peak, muted)| *peak < 1e-3 && !muted));
}
