//! Another loudspeaker is judged by what it radiates, not only by what its impedance does to the amp:
//! the ear's bands of a sound behind a loudspeaker against the sound filtered, and the report on a
//! swap against its two halves. Own derivations.

use crate::changes_fixture::{RATE, amp, report, report_with};
use engine::advice::changes::{Caveat, Figures, figures};
use engine::analysis::audibility::erb::bands;
use engine::analysis::audibility::{Heard, compare, profile};
use engine::device::Catalogue;
use engine::realtime::cabinet::{Sections, Voicing};
use engine::solve::solved::SolvedCircuit;
use engine::sound::phrase::phrase;
use engine::units::decibels_from_ratio;

/// The power of a band behind a filter lies between what its least and its largest gain within the
/// band make of it, whatever lies in the band. Hann windows spill into the neighbouring bands: 0.3 dB
/// (own choice). Loudness, which is reckoned from the bands, comes within half of what is heard at
/// all of that of the filtered sound.
#[test]
fn bands_behind_a_loudspeaker_are_those_of_the_filtered_sound() {
    let sound = phrase(RATE);
    let before = profile(&[&sound], RATE);
    for driver in &Catalogue::built_in().loudspeakers {
        let gain = |hz: f64| decibels_from_ratio(driver.acoustic.at(hz).norm());
        let mut line: Vec<f64> = sound.iter().map(|&s| f64::from(s)).collect();
        let voicing = Voicing::new(driver.acoustic.analog(), f64::from(RATE));
        Sections::new([&voicing]).process(&mut [&mut line]);
        let filtered: Vec<f32> = line.iter().map(|&s| s as f32).collect();
        let filtered = profile(&[&filtered], RATE);
        let all = bands();
        let spans = all.iter().map(|band| {
            let ratio = band.high_hz / band.low_hz;
            let within = (0..=20).map(|i| gain(band.low_hz * ratio.powf(f64::from(i) / 20.0)));
            let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
            within.for_each(|db| (least, most) = (least.min(db), most.max(db)));
            (least, most)
        });
        let spans: Vec<(f64, f64)> = spans.collect();
        let middles: Vec<f64> = spans.iter().map(|(a, b)| 0.5 * (a + b)).collect();
        let behind = before.radiated_by(&middles);
        let loudest = filtered.whole.iter().copied().fold(0.0, f64::max);
        let mut compared = 0;
        for (i, band) in bands().iter().enumerate().take(filtered.whole.len()) {
            // The digital sections are right up to 10 kHz; far below the loudest band windows spill.
            if band.high_hz > 10e3 || filtered.whole[i] < 1e-5 * loudest {
                continue;
            }
            let half = 0.5 * (spans[i].1 - spans[i].0);
            let off = 10.0 * (behind.whole[i] / filtered.whole[i]).log10();
            assert!(
                off.abs() < half + 0.3,
                "{} at {:.0} Hz: {off:.2} dB, half the span {half:.2} dB",
                driver.name,
                band.hz
            );
            compared += 1;
        }
        assert!(compared > 20, "{compared}");
        let off = behind.lufs.unwrap() - filtered.lufs.unwrap();
        assert!(off.abs() < 0.25, "{}: {off:.2} LU", driver.name);
    }
}

/// A swap's difference in each band is that at the terminals, and what the one loudspeaker radiates
/// less the other, but for one loudness for all bands.
#[test]
fn a_swap_is_heard_as_terminals_and_loudspeaker() {
    let circuit = amp("bradawl");
    let plan = crate::changes_fixture::plan(&circuit, &["LS1=Anvil Twelve"]);
    let amp = plan.solved().unwrap();
    let network = &amp.network;
    let places = 0..plan.circuits.len();
    let sides = places.map(|place| plan.solved_circuit(&amp, place).unwrap());
    let sides: Vec<SolvedCircuit> = sides.collect();
    let sides: Vec<&SolvedCircuit> = sides.iter().collect();
    let sound = phrase(RATE);
    let sound = &sound[67 * RATE as usize / 10..79 * RATE as usize / 10];
    let both: Vec<Figures> = figures(network, &sides, &[sound], RATE, &mut |_| true).unwrap();
    let [was, is] = [&both[0], &both[plan.proposed]];
    assert_ne!(was.loudspeaker, is.loudspeaker);
    let terminals = compare(&was.heard, &is.heard).unwrap();
    let told = report_with(&circuit, &["LS1=Anvil Twelve"], sound);
    let effect = told.rows[0].alone.as_ref().unwrap();
    let heard = effect.played.as_ref().unwrap();
    let left: Vec<f64> = (0..heard.bands.len())
        .filter(|&i| heard.bands[i].counts)
        .map(|i| {
            let own = is.radiates_db[i] - was.radiates_db[i];
            let amp = terminals.bands[i].difference_db.unwrap();
            heard.bands[i].difference_db.unwrap() - amp - own
        })
        .collect();
    assert!(left.len() > 20);
    for off in &left {
        assert!((off - left[0]).abs() < 1e-9, "{off} and {}", left[0]);
    }
    // No file says how loud a loudspeaker is beside another.
    assert_eq!(heard.louder_db, terminals.louder_db);
}

#[test]
fn a_loudspeaker_is_no_matter_of_its_impedance_alone() {
    for driver in ["Harbour Ten", "Anvil Twelve"] {
        let told = report("bradawl", &[&format!("LS1={driver}")]);
        let row = &told.rows[0];
        let effect = row.alone.as_ref().unwrap();
        for heard in [&effect.played, &effect.response] {
            let heard = heard.as_ref().unwrap();
            assert_eq!(heard.verdict, Heard::ClearlyAudible, "{}", row.sentence);
            // A 10-inch driver with its break-up higher, and one lower: more than the 1 to 2 dB that
            // the impedances do.
            assert!(heard.summary.largest_db.abs() > 3.0, "{}", row.sentence);
        }
        assert_eq!(row.caveat, Some(Caveat::OwnSound));
        assert!(row.worth_it);
        assert!(told.notes.iter().any(|n| n.contains("what each radiates")));
    }
    // What else changes beside a loudspeaker that stays is judged at the terminals as ever.
    let told = report("bradawl", &["LS1=Tin Ten"]);
    assert!(told.rows.is_empty());
}
