//! What the verdict costs after an edit: wall time on all cores, as the window sees it.

use engine::advice::prices::Prices;
use engine::advice::verdict::{Cache, CalibratedSound, Question, verdict};
use engine::circuit::{self, Circuit, WrittenProposal, read_proposal};
use engine::device::Catalogue;
use engine::solve::solved::SolvedAmp;
use engine::sound::Sound;
use engine::sound::phrase::phrase;
use std::sync::Arc;
use std::time::Instant;

/// Rate at which the phrase is played, Hz.
const RATE: u32 = 48_000;
/// What the owner tries next, so that no circuit has been met: bias loads about the demo's.
const TRIES: [&str; 5] = ["15k", "16k", "14k", "18k", "13k"];

/// The demo's amp and proposal.
pub fn demo(catalogue: &Catalogue) -> Result<(Circuit, WrittenProposal), String> {
    let built_in = circuit::built_in_circuit("bradawl").ok_or("no demo amp")?;
    let amp = circuit::read(built_in.text, catalogue).map_err(|faults| format!("{faults:?}"))?;
    let mut proposals = built_in.proposals.iter();
    let text = proposals
        .find(|p| p.key == "cooler")
        .ok_or("no demo proposal")?;
    let proposal = read_proposal(text.text).map_err(|faults| format!("{faults:?}"))?;
    Ok((amp, proposal))
}

/// Prints the cost of the first verdict and of one after each of some edits.
///
/// # Errors
/// When there is no verdict.
pub fn bench() -> Result<(), String> {
    let catalogue = Catalogue::built_in();
    let (amp, mut proposal) = demo(&catalogue)?;
    let sound = Sound {
        name: "phrase".into(),
        rate: RATE,
        channels: vec![phrase(RATE)],
    };
    let played = CalibratedSound {
        sound: Arc::new(sound),
        input_volts: 1.0,
        output_volts: 20.0,
        may_exceed: true,
    };
    let prices = Prices::built_in();
    let mut cache = Cache::default();
    println!("\nFull verdict on the demo's proposal, wall time on all cores:");
    for (round, value) in TRIES.into_iter().enumerate() {
        proposal.changes[0].value = value.into();
        let resolved = proposal.resolve(&amp, &catalogue);
        let resolved = resolved.map_err(|faults| format!("{faults:?}"))?;
        let start = Instant::now();
        let solved = SolvedAmp::new(&amp, None).map_err(|fault| fault.to_string())?;
        let question = Question {
            amp: &solved,
            proposal: &resolved,
            prices: &prices,
            played: &played,
            thorough: false,
            idle_percent: None,
            boost_db: None,
        };
        let answer = verdict(&question, &mut cache, &mut |_| true);
        let took = 1e3 * start.elapsed().as_secs_f64();
        answer
            .ok_or("given up")?
            .map_err(|why| format!("{why:?}"))?;
        let what = match round {
            0 => "the first, both sides",
            _ => "after an edit",
        };
        println!("  R505 = {value}, {what}: {took:.0} ms");
    }
    Ok(())
}
