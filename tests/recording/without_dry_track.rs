//! A recording without its dry track: the long-term spectrum against another playing's.

use crate::chi_square::assert_as_stated;
use crate::fixture::*;
use engine::recording::{Method, without_dry_track};
use engine::sound::phrase::{PARTS, phrase};

/// The same playing on both sides: the filter itself is recovered, smoothed as the ear does. Within
/// the ear's band (a quarter of an octave and more) a slope of 12 dB an octave and a bell of 7 dB leave
/// less than 1.5 dB.
#[test]
fn the_same_playing_shows_the_filter() {
    let played = guitar(RATE, 1);
    let sections = amp(RATE);
    let heard = through(&sections, &played);
    let target = without_dry_track(
        &sound("amp.wav", RATE, &[&single(&heard)]),
        &sound("the phrase", RATE, &[&single(&played)]),
    )
    .unwrap();
    assert_eq!(target.method, Method::WithoutDryTrack);
    assert!(target.coherence.is_none() && target.delay_seconds.is_none());
    assert!(target.deviation_db.iter().all(|&d| d >= 6.0));
    println!("{:#?}", target.notes);
    assert!(target.notes[0].contains("weaker method"));
    let differences = differences(&target, |hz| db_at(&sections, hz, RATE));
    let (hz, db) = worst(&differences);
    println!("worst {db:.2} dB at {hz:.0} Hz of {}", differences.len());
    assert!(differences.len() > 70);
    assert!(db.abs() < 1.5, "{db} dB at {hz} Hz");
}

/// How far apart the smoothed spectra of two playings are: the four parts of the phrase against the
/// whole, in r.m.s. over the frequencies that both have. The doubt that is stated lies among them, and
/// the differences are as large as it is: within the bounds for 28 independent ones, seven octaves by
/// quarters (the smoothing), as if the four parts of one phrase all told the same.
#[test]
fn different_playing_differs_by_what_is_stated() {
    let whole = guitar(RATE, 1);
    let phrase = phrase(RATE);
    let (mut apart, mut pulls) = (Vec::new(), Vec::new());
    for &(name, from, to) in PARTS {
        let frames = |s: f64| (s * f64::from(RATE)) as usize;
        let part = &phrase[frames(from)..frames(to)];
        // Each part as often as it takes to be long enough.
        let looped: Vec<f32> = part
            .iter()
            .copied()
            .cycle()
            .take(6 * RATE as usize)
            .collect();
        let target = without_dry_track(
            &sound(name, RATE, &[&looped]),
            &sound("the phrase", RATE, &[&single(&whole)]),
        );
        let target = target.unwrap();
        let differences = differences(&target, |_| 0.0);
        let stated = (0..target.hz.len()).filter(|&i| target.trusted[i]);
        let stated = stated.map(|i| target.deviation_db[i]);
        pulls.extend(differences.iter().zip(stated).map(|(d, s)| d.1 / s));
        let sum: f64 = differences.iter().map(|d| d.1 * d.1).sum();
        let rms = (sum / differences.len() as f64).sqrt();
        println!(
            "{name}: {rms:.1} dB r.m.s. over {} frequencies",
            differences.len()
        );
        apart.push(rms);
    }
    let mean = (apart.iter().map(|a| a * a).sum::<f64>() / apart.len() as f64).sqrt();
    println!("together {mean:.1} dB");
    assert!((3.0..8.0).contains(&mean), "{mean}");
    assert_as_stated("spectra of other playing", &pulls, 28);
}
