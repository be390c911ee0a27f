//! What the verdict costs after an edit: wall time on all cores, as the window sees it.

use presolder::analysis::at_rest::{AtRest, Side};
use presolder::analysis::drive::drive;
use presolder::analysis::headroom::stage_headroom;
use presolder::analysis::performance::{NoGauge, perform};
use presolder::analysis::phrase::phrase;
use presolder::circuit::{self, read_proposal};
use presolder::device::Catalogue;
use std::time::Instant;

/// Rate at which the phrase is played, Hz.
const RATE: u32 = 48_000;

/// The demo's amp and proposal.
pub fn demo() -> Result<AtRest, String> {
    let catalogue = Catalogue::built_in();
    let built_in = circuit::built_in_circuit("bradawl").ok_or("no demo amp")?;
    let amp = circuit::read(built_in.text, &catalogue).map_err(|faults| format!("{faults:?}"))?;
    let mut proposals = built_in.proposals.iter();
    let text = proposals
        .find(|p| p.key == "cooler")
        .ok_or("no demo proposal")?;
    let proposal = read_proposal(text.text).map_err(|faults| format!("{faults:?}"))?;
    let proposed = amp
        .with_changes(&proposal.changes, &catalogue)
        .map_err(|faults| format!("{faults:?}"))?;
    AtRest::new(&amp, Some(&proposed)).map_err(|fault| fault.to_string())
}

/// Least wall time of some runs, ms.
fn least(repeats: usize, mut work: impl FnMut()) -> f64 {
    let times = (0..repeats.max(1)).map(|_| {
        let start = Instant::now();
        work();
        1e3 * start.elapsed().as_secs_f64()
    });
    times.fold(f64::INFINITY, f64::min)
}

/// Prints the cost of each piece.
///
/// # Errors
/// When the demo's amp cannot be solved.
pub fn bench(repeats: usize) -> Result<(), String> {
    let amp = demo()?;
    let side: &Side = amp.asked_for();
    let sound = phrase(RATE);
    println!("\nVerdict on the demo's proposal, one side, wall time on all cores:");
    let played = least(repeats, || {
        perform(
            &amp.network,
            &[side],
            &[&sound],
            RATE,
            &NoGauge,
            &mut |_| true,
        );
    });
    println!("phrase, 9.6 s: {played:.0} ms");
    let sweep = least(repeats, || {
        drive(&amp.network, side, &mut |_| {});
    });
    println!("sine sweep: {sweep:.0} ms");
    let stages = least(repeats, || {
        stage_headroom(&amp.network, side, &mut |_| true);
    });
    println!("stages: {stages:.0} ms");
    Ok(())
}
