//! The quick sweep against the plain one that only waits.

use engine::analysis::drive::{Drive, DriveOptions, Level, Pace, drive_with};
use engine::circuit::{built_in_circuits, read};
use engine::device::Catalogue;
use engine::solve::solved::SolvedAmp;

fn run(amp: &SolvedAmp, pace: Pace) -> Drive {
    let asked = DriveOptions {
        pace,
        ..DriveOptions::default()
    };
    drive_with(&amp.network, amp.asked_for(), asked, &mut |_| true).unwrap()
}

/// Two brackets of 6 %, straight in logarithms within one, meet within a small share of that; the
/// project asks for 2 % of the input.
#[test]
fn quick_is_as_good_as_waiting() {
    let catalogue = Catalogue::built_in();
    for built_in in built_in_circuits() {
        let found = read(built_in.text, &catalogue).unwrap();
        let amp = SolvedAmp::new(&found, None).unwrap();
        let [plain, quick] = [Pace::Plain, Pace::Quick].map(|pace| run(&amp, pace));
        assert_eq!((quick.unsolved, quick.restless), (0, 0), "{}", built_in.key);
        let near = |what: &str, a: Option<Level>, b: Option<Level>| {
            let (Some(a), Some(b)) = (a, b) else {
                panic!("{} {what}: {a:?} {b:?}", built_in.key);
            };
            println!("{} {what}: {a:?} {b:?}", built_in.key);
            let volts = b.input_volts / a.input_volts - 1.0;
            let watts = b.watts.unwrap() / a.watts.unwrap() - 1.0;
            assert!(volts.abs() < 0.02, "{} {what}: {volts}", built_in.key);
            assert!(watts.abs() < 0.02, "{} {what}: {watts}", built_in.key);
        };
        for (a, b) in plain.limits.iter().zip(&quick.limits) {
            near(&format!("{} %", a.percent), a.at, b.at);
        }
        near("grid current", plain.grid_current.at, quick.grid_current.at);
        assert_eq!(plain.grid_current.valve, quick.grid_current.valve);
        // Harmonics that stand out of the rest, within half a decibel.
        let five = [&plain, &quick].map(|d| d.harmonics_at_5_percent.as_ref().unwrap().db);
        for (a, b) in five[0].iter().zip(&five[1]) {
            if let (Some(a), Some(b)) = (a, b)
                && *a > -50.0
            {
                assert!((a - b).abs() < 0.5, "{}: {five:?}", built_in.key);
            }
        }
    }
}
