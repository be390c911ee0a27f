//! What a draw of a thousand amps costs, as found and proposed both: wall time on all cores and
//! processor time.

use engine::advice::spread::{SpreadSettings, spread};
use engine::device::Catalogue;
use engine::solve::solved::SolvedAmp;
use std::time::Instant;

/// Prints the cost.
///
/// # Errors
/// When the demo's amp cannot be solved.
pub fn bench(repeats: usize) -> Result<(), String> {
    let catalogue = Catalogue::built_in();
    let (amp, proposal) = super::verdict::demo(&catalogue)?;
    let proposed = proposal
        .apply(&amp, &catalogue)
        .map_err(|faults| format!("{faults:?}"))?;
    let settings = SpreadSettings::default();
    let mut least = f64::INFINITY;
    for _ in 0..repeats.max(1) {
        let start = Instant::now();
        let solved = SolvedAmp::new(&amp, Some(&proposed)).map_err(|fault| fault.to_string())?;
        spread(&solved, settings, &mut |_| true).ok_or("given up")?;
        least = least.min(start.elapsed().as_secs_f64());
    }
    println!(
        "\nSpread, {} amps as found and proposed: {least:.2} s on all cores (at most 3 s)",
        settings.amps
    );
    Ok(())
}
