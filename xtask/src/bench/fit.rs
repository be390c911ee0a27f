//! What a match of six parts costs: wall time on all cores, from two sounds to the report.

use super::verdict::demo;
use engine::analysis::performance::{NoGauge, perform};
use engine::device::Catalogue;
use engine::recording::fit::colour::Taken;
use engine::recording::fit::{Choice, Dry, Others, Question, fit, unknowns};
use engine::recording::with_dry_track;
use engine::solve::solved::SolvedAmp;
use engine::sound::Sound;
use engine::sound::phrase::{SECONDS, phrase};
use engine::units::Series;
use std::time::Instant;

/// Sample rate, Hz.
const RATE: u32 = 48_000;
/// The phrase is played so softly that the amp stays clean; and as loud as it is, so that it is driven.
const SOFT: f32 = 0.06;
const HARD: f32 = 1.0;
/// What a sample of 1 is in the recording, V (own choice, above any peak).
const FULL_SCALE_VOLTS: f32 = 60.0;
/// What is varied, and what is hidden in the amp that is recorded.
const VARIED: [&str; 6] = ["C103", "R308", "C101", "C201", "Volume", "R403"];
const HIDDEN: [&str; 2] = ["C103=560p", "R308=56k"];

/// Prints the cost of the curve and of the match, by line and by microphone,
/// and of an amp that was driven.
///
/// # Errors
/// When there is no match.
pub fn bench() -> Result<(), String> {
    let catalogue = Catalogue::built_in();
    let (amp, _) = demo(&catalogue)?;
    let changes: Result<Vec<_>, _> = HIDDEN.iter().map(|c| c.parse()).collect();
    let truth = amp.with_written_changes(&changes.map_err(|e| format!("{e}"))?, &catalogue);
    let truth = truth.map_err(|faults| format!("{faults:?}"))?;
    let rest = SolvedAmp::new(&truth, None).map_err(|why| why.to_string())?;
    let names = VARIED.map(String::from);
    let unknowns = unknowns(&amp, &names).map_err(|faults| format!("{faults:?}"))?;
    println!("\nMatch of six parts, {SECONDS} s of guitar, wall time on all cores:");
    for (what, share, taken) in [
        ("line", SOFT, Taken::Line),
        ("microphone", SOFT, Taken::Microphone),
        ("driven, line", HARD, Taken::Line),
    ] {
        let [recording, dry] = recorded(&rest, share)?;
        let start = Instant::now();
        let target = with_dry_track(&recording, &dry).map_err(|why| why.to_string())?;
        let curve = 1e3 * start.elapsed().as_secs_f64();
        let request = Question {
            circuit: &amp,
            unknowns: &unknowns,
            target: &target,
            taken,
            behind: None,
            dry: Some(Dry {
                sound: &dry,
                full_scale_volts: 1.0,
            }),
            others: Others::WithinTolerance,
            choice: Choice::Series(Series::E12),
        };
        let start = Instant::now();
        let found = fit(request, &mut |_| true);
        let took = 1e3 * start.elapsed().as_secs_f64();
        let found = found.ok_or("given up")?.map_err(|why| why.to_string())?;
        println!(
            "  {what}: the recording's curve {curve:.0} ms, the match {took:.0} ms, {:.2} dB left of {:.2}",
            found.fitted.db, found.as_found.db
        );
    }
    Ok(())
}

/// The amp that is recorded, and the dry track: the built-in phrase, `share` as loud.
fn recorded(amp: &SolvedAmp, share: f32) -> Result<[Sound; 2], String> {
    let played: Vec<f32> = phrase(RATE).iter().map(|v| share * v).collect();
    let heard = perform(
        &amp.network,
        &[&amp.as_found],
        &[played.as_slice()],
        RATE,
        &NoGauge,
        &mut |_| true,
    );
    let heard = heard
        .and_then(|all| all.into_iter().next())
        .ok_or("given up")?;
    let sound = |name: &str, channels: Vec<Vec<f32>>| Sound {
        name: name.into(),
        rate: RATE,
        channels,
    };
    let scaled = |v: &Vec<f32>| v.iter().map(|v| v / FULL_SCALE_VOLTS).collect();
    let recording = sound("recording", heard.volts.iter().map(scaled).collect());
    Ok([recording, sound("dry", vec![played])])
}
