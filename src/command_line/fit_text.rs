//! A match as text: what is left over at each stage, the parts with what the recording tells of
//! them, and the combinations that are nearly as good.

use crate::recording::Method;
use crate::recording::fit::colour::Taken;
use crate::recording::fit::{Certainty, FitReport, Residual};
use crate::text::digits::printed_hertz;
use crate::text::list::listed;
use crate::text::table::{Edge, Table, fixed, signed_db, significant};
use std::fmt::Write;

/// The whole text, ending with a line break. `changes` are what is to be soldered and turned, `hint`
/// a sentence about how hard the amp was driven.
pub fn text(
    report: &FitReport,
    changes: &[[String; 2]],
    written: Option<&str>,
    hint: Option<&str>,
) -> String {
    let mut text = head(report);
    let _ = write!(text, "\n{}", parts(report));
    for part in &report.parts {
        let _ = writeln!(text, "  {}", part.sentence);
    }
    for trade in &report.trades {
        let _ = writeln!(text, "  {}", trade.sentence);
    }
    let _ = write!(
        text,
        "\nWhat is left over, recording less amp, the level being free\n{}",
        bands(report)
    );
    let _ = write!(text, "\n{}", stages(report));
    let _ = writeln!(text, "\n{}", report.unexplained);
    text.push('\n');
    if changes.is_empty() {
        text.push_str("Nothing is to be changed.\n");
    } else {
        let list: Vec<String> = changes.iter().map(|[n, v]| format!("{n}={v}")).collect();
        let _ = writeln!(text, "To solder and to turn: {}", list.join("  "));
    }
    if let Some(path) = written {
        let _ = writeln!(
            text,
            "Written as a proposal: {path}. Hear it with --proposal {path}."
        );
    }
    alternatives(report, &mut text);
    if let Some(hint) = hint {
        let _ = writeln!(text, "\n{hint}");
    }
    if !report.left_out.is_empty() {
        text.push_str("\nLeft out, since a limit would be broken that is kept as found\n");
        for sentence in &report.left_out {
            let _ = writeln!(text, "  {sentence}");
        }
    }
    text.push('\n');
    for note in &report.notes {
        let _ = writeln!(text, "{note}");
    }
    text
}

fn head(report: &FitReport) -> String {
    let mut text = format!("{} matched to {}", report.amp, report.recording);
    if let Some(dry) = &report.dry_track {
        let _ = write!(text, ", played with {dry}");
    }
    let taken = match report.taken {
        Taken::Line => "as the voltage at the loudspeaker",
        Taken::Microphone => "with a microphone before an unknown loudspeaker",
        Taken::KnownLoudspeaker => "with a microphone before a known loudspeaker",
    };
    let method = match report.method {
        Method::WithDryTrack => "measured against the dry track",
        Method::WithoutDryTrack => {
            "guessed from the long-term spectrum alone, which is the weaker method"
        }
    };
    let _ = writeln!(text, "\nTaken {taken}; {method}");
    if let Some(behind) = &report.behind {
        let _ = writeln!(text, "Behind the amp: {behind}");
    }
    let firm = report.with_certainty(Certainty::Firm);
    let nothing = report.with_certainty(Certainty::Nothing);
    if firm.is_empty() {
        text.push_str("The recording tells no part for certain.\n");
    } else {
        let _ = writeln!(text, "The recording tells {}.", listed(&firm));
    }
    if !nothing.is_empty() {
        let _ = writeln!(text, "It says nothing about {}.", listed(&nothing));
    }
    text
}

fn parts(report: &FitReport) -> Table {
    let mut table = Table::new(&[
        ("Part", Edge::Left),
        ("Role", Edge::Left),
        ("As found", Edge::Right),
        ("Fits", Edge::Right),
        ("Take", Edge::Right),
        ("Certainty", Edge::Left),
    ]);
    for part in &report.parts {
        let [as_found, fits, take] = part.shown.clone();
        let told = part.certainty.in_words().to_string();
        table.row([
            part.name.clone(),
            part.role.clone(),
            as_found,
            fits,
            take,
            told,
        ]);
    }
    table
}

fn bands(report: &FitReport) -> Table {
    let mut table = Table::new(&[
        ("", Edge::Right),
        ("As found, dB", Edge::Right),
        ("Fits, dB", Edge::Right),
        ("Take, dB", Edge::Right),
        ("No part explains, dB", Edge::Right),
        ("Coherence", Edge::Right),
    ]);
    for band in &report.bands {
        table.row([
            printed_hertz(band.hz),
            signed_db(band.as_found_db),
            signed_db(band.fitted_db),
            band.rounded_db.map_or("–".into(), signed_db),
            format!(
                "{} ± {}",
                signed_db(band.unexplained_db),
                fixed(band.unexplained_deviation_db, 1)
            ),
            band.coherence.map_or("–".into(), |c| fixed(c, 2)),
        ]);
    }
    table
}

fn stages(report: &FitReport) -> Table {
    let mut table = Table::new(&[
        ("R.m.s., as the ear weighs", Edge::Left),
        ("all, dB", Edge::Right),
        ("beyond what no part explains, dB", Edge::Right),
    ]);
    let mut row = |name: &str, residual: &Residual| {
        table.row([
            name.to_string(),
            fixed(residual.db, 2),
            fixed(residual.beyond_colour_db, 2),
        ]);
    };
    row("As found", &report.as_found);
    row("Values that fit", &report.fitted);
    if let Some(left) = &report.rounded {
        row("Parts that exist", left);
    }
    if let Some(left) = &report.each_alone {
        row("Each part rounded by itself", left);
    }
    table.row([
        "Chance, at half of them".to_string(),
        fixed(report.noise_db, 2),
    ]);
    table
}

fn alternatives(report: &FitReport, text: &mut String) {
    if report.alternatives.is_empty() {
        return;
    }
    text.push_str("\nNearly as good\n");
    for other in &report.alternatives {
        let differs: Vec<String> = other
            .differs
            .iter()
            .map(|[name, value]| format!("{name} {value}"))
            .collect();
        let likely = other.times_less_likely;
        let likely = if likely < 1.05 {
            "as likely".to_string()
        } else if likely > 1000.0 {
            "over 1000 times less likely".into()
        } else {
            format!("{} times less likely", significant(likely, 2))
        };
        let _ = writeln!(
            text,
            "  {}: {} dB, {likely}",
            differs.join(", "),
            fixed(other.residual.beyond_colour_db, 2),
        );
    }
}
