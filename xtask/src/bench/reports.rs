//! How long the reports take that the window shows at once, and those that play a sound.

use engine::analysis::headroom::stage_headroom;
use engine::analysis::part_effect::part_effect;
use engine::analysis::response::{Path, axis, response};
use engine::analysis::sensitivity::sensitivity;
use engine::analysis::valve_chart::valve_chart;
use engine::analysis::valves_playing::valves_playing;
use engine::device::Catalogue;
use engine::solve::solved::{NoOperatingPoint, SolvedAmp};
use engine::sound::phrase::phrase;
use std::sync::Arc;
use std::time::Instant;

/// Prints the times on the demo's amp and proposal, ms on the clock.
///
/// # Errors
/// When the demo's amp cannot be solved.
pub fn bench() -> Result<(), String> {
    println!("\nReports on the demo's amp and proposal, median (and worst) on the clock:");
    let catalogue = Catalogue::built_in();
    let (found, proposal) = super::verdict::demo(&catalogue)?;
    let proposed = proposal.apply(&found, &catalogue);
    let proposed = proposed.map_err(|faults| format!("{faults:?}"))?;
    let solved = || SolvedAmp::new(&found, Some(&proposed));
    let amp = solved().map_err(|why: NoOperatingPoint| why.to_string())?;
    time("operating points, topology compiled again", 40, &mut || {
        let _ = solved();
    });
    time("operating points of a compiled topology", 40, &mut || {
        let _ = SolvedAmp::with_network(Arc::clone(&amp.network), &found, Some(&proposed));
    });
    time("response", 40, &mut || {
        response(&amp, Path::default());
    });
    time("valve chart", 40, &mut || {
        valve_chart(&amp, None);
    });
    let hz = axis();
    time("sensitivity of all parts", 40, &mut || {
        sensitivity(&amp.network, &amp.as_found, Path::default(), &hz);
    });
    for part in ["R505", "C102", "C401", "R401", "VR102"] {
        let id = found.find_part(part).ok_or("no such part")?;
        time(part, 40, &mut || {
            part_effect(&amp, id, Path::default());
        });
    }
    time("headroom of both sides", 3, &mut || {
        for side in [&amp.as_found, amp.asked_for()] {
            stage_headroom(&amp.network, side, &mut |_| true);
        }
    });
    let sound = phrase(48_000);
    time("valves over the built-in phrase", 3, &mut || {
        valves_playing(&amp, &sound, 48_000, &mut |_| true);
    });
    Ok(())
}

fn time(what: &str, repeats: usize, work: &mut dyn FnMut()) {
    let once = |_| {
        let start = Instant::now();
        work();
        1e3 * start.elapsed().as_secs_f64()
    };
    let mut times: Vec<f64> = (0..repeats).map(once).collect();
    times.sort_by(f64::total_cmp);
    let (median, worst) = (times[repeats / 2], times[repeats - 1]);
    println!("  {what}: {median:.2} ms ({worst:.2})");
}
