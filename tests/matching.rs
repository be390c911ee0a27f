//! The fit of part values to what a recording shows.

mod matching_bench;

use matching_bench::{CASES, errors, loudspeaker, matched, target};
use presolder::analysis::matching::colour::Taken;
use std::time::Instant;

#[test]
fn look() {
    for case in &CASES {
        for (name, chance, taken) in [
            ("line 40 dB", 0.1, Taken::Line),
            ("line 20 dB", 0.8, Taken::Line),
            ("mic", 0.1, Taken::Microphone),
        ] {
            let behind = |hz: f64| match taken {
                Taken::Line => 0.0,
                _ => loudspeaker(hz),
            };
            let t = target(&case.truth(), chance, 1, behind);
            let start = Instant::now();
            let found = matched(
                &case.as_found(),
                &case.names(),
                &t,
                taken,
                presolder::analysis::matching::Others::AsStated,
            );
            println!(
                "== {} {name} {:.2?} left {:?} {:?} {:?} alone {:?}",
                case.amp,
                start.elapsed(),
                found.as_found,
                found.fitted,
                found.rounded,
                found.each_alone
            );
            for (part, (name, off, deviation, told)) in found.parts.iter().zip(errors(case, &found))
            {
                println!(
                    "{name:10} off {off:+.3} dev {deviation:.3} pull {:+.2} {told:?} {:?}\n     {}",
                    off / deviation,
                    part.shown,
                    part.sentence
                );
            }
            for b in &found.bands {
                println!(
                    "   {} {:+.1} {:+.1} s {:+.1}±{:.1}",
                    b.hz, b.as_found_db, b.fitted_db, b.unexplained_db, b.unexplained_deviation_db
                );
            }
            for t in &found.trades {
                println!("  {}", t.sentence);
            }
            println!("  {}", found.unexplained);
            for t in &found.notes {
                println!("  {t}");
            }
            for t in &found.left_out {
                println!("  {t}");
            }
            for t in &found.alternatives {
                println!("  {:?} {:?} {}", t.differs, t.left, t.times_less_likely);
            }
        }
    }
}
