//! The ratings report as text: what is over its limit first, then every quantity beside its limit.

use crate::advice::ratings::{
    BiasAdvice, CapacitorRatings, Finding, Line, LoudspeakerRatings, RatingsReport,
    ResistorRatings, When, sentences,
};
use crate::text::digits::printed;
use crate::text::table::{Edge, Table, fixed, significant, volts};
use crate::units::Quantity;
use std::fmt::Write;

impl RatingsReport {
    /// The report for people, ending with a line break.
    pub fn text(&self) -> String {
        let mut text = over_text(&self.over, "");
        list(
            &mut text,
            "Over what is allowed for good, within what is allowed for moments",
            &self.brief_sentences(),
        );
        list(&mut text, "Near a limit", &self.near_sentences());
        list(
            &mut text,
            "Idle of the output valves",
            &self.idle_sentences(),
        );
        let _ = write!(text, "\n{}", valves(self));
        let _ = write!(text, "\n{}", resistors(&self.resistors));
        let _ = write!(text, "\n{}", capacitors(&self.capacitors));
        if !self.loudspeakers.is_empty() {
            let _ = write!(text, "\n{}", loudspeakers(&self.loudspeakers));
        }
        let charged: Vec<String> = self
            .reservoirs
            .iter()
            .map(|r| format!("{}: {}", r.designator, r.in_words))
            .collect();
        list(&mut text, "What stays charged", &charged);
        let loose: Vec<String> = self.loose.iter().map(|l| l.in_words.clone()).collect();
        list(&mut text, "If a joint in the bias path fails", &loose);
        text.push('\n');
        for note in &self.notes {
            let _ = writeln!(text, "{note}");
        }
        text
    }
}

impl BiasAdvice {
    /// The advice for people, ending with a line break.
    pub fn text(&self) -> String {
        let mut text = String::new();
        for sentence in &self.sentences {
            let _ = writeln!(text, "{sentence}");
        }
        text
    }
}

/// What is over its limit, or that nothing is. `side` is "", or " as found" and the like.
pub fn over_text(over: &[Finding], side: &str) -> String {
    if over.is_empty() {
        return format!("No valve or part{side} is over a limit.\n");
    }
    let mut text = format!("Over the limit{side}:\n");
    for sentence in sentences(over) {
        let _ = writeln!(text, "  {sentence}");
    }
    text
}

fn list(text: &mut String, title: &str, sentences: &[String]) {
    if sentences.is_empty() {
        return;
    }
    let _ = writeln!(text, "\n{title}:");
    for sentence in sentences {
        let _ = writeln!(text, "  {sentence}");
    }
}

/// Three digits, two below ten; nothing where nothing is known.
fn figure(value: Option<f64>) -> String {
    let digits = |v: f64| if v.abs() >= 10.0 { 3 } else { 2 };
    value.map_or(String::new(), |v| match v.abs() < 0.005 {
        true => "0".into(),
        false => significant(v, digits(v)),
    })
}

fn valves(report: &RatingsReport) -> Table {
    let mut table = Table::new(&[
        ("Valves", Edge::Left),
        ("At rest", Edge::Right),
        ("Mains +10 %", Edge::Right),
        ("Cold", Edge::Right),
        ("Guitar", Edge::Right),
        ("Full tone", Edge::Right),
        ("Limit", Edge::Right),
        ("For moments", Edge::Right),
        ("", Edge::Left),
    ]);
    for valve in &report.valves {
        let system = match valve.system {
            None => "no limits known".to_string(),
            Some(system) => format!("{system} limits"),
        };
        table.title(&format!(
            "{}: {}, {} of {} V, {system}",
            valve.designator,
            valve.valve,
            valve.bias.in_words(),
            volts(valve.bias_volts)
        ));
        rows(&mut table, &valve.lines);
    }
    for rectifier in &report.rectifiers {
        table.title(&format!(
            "{}: {}",
            rectifier.designator, rectifier.rectifier
        ));
        rows(&mut table, &rectifier.lines);
    }
    table
}

fn rows(table: &mut Table, lines: &[Line]) {
    for line in lines {
        let limit = |l: Option<f64>| l.map_or(String::new(), printed);
        table.row([
            format!("{}, {}", line.what, line.unit),
            figure(line.at_rest),
            figure(line.high_mains),
            figure(line.cold),
            figure(line.phrase),
            figure(line.sine),
            limit(line.limit),
            limit(line.brief_limit),
            over(line).into(),
        ]);
    }
}

/// "OVER" where any figure passes every limit that could hold for it.
fn over(line: &Line) -> &'static str {
    let states = [When::AtRest, When::Phrase, When::Sine];
    let most = states
        .iter()
        .filter_map(|&w| line.figure(w))
        .fold(0.0, f64::max);
    let rest = line.at_rest.unwrap_or(0.0);
    match (line.limit, line.brief_limit) {
        (Some(limit), _) if rest > limit => "OVER",
        (Some(_), Some(brief)) if most > brief => "OVER",
        (Some(limit), Some(_)) if most > limit => "for moments only",
        (Some(limit), None) if most > limit => "OVER",
        _ => "",
    }
}

fn watts(value: f64) -> String {
    if value < 0.001 {
        return "0".into();
    }
    significant(value, 2)
}

fn resistors(resistors: &[ResistorRatings]) -> Table {
    let mut table = Table::new(&[
        ("Resistors", Edge::Left),
        ("", Edge::Left),
        ("Rest, W", Edge::Right),
        ("Guitar, W", Edge::Right),
        ("Full, W", Edge::Right),
        ("Rated, W", Edge::Right),
        ("Peak, V", Edge::Right),
        ("Body, V", Edge::Right),
        ("", Edge::Left),
    ]);
    for r in resistors {
        let optional = |value: Option<f64>| value.map_or(String::new(), watts);
        let most = r
            .rest_watts
            .max(r.phrase_watts.unwrap_or(0.0))
            .max(r.sine_watts.unwrap_or(0.0));
        let is_over = r.rated_watts.is_some_and(|rated| most > rated)
            || r.body_volts.is_some_and(|body| r.peak_volts > body);
        let note = match (is_over, r.rated_watts) {
            (true, _) => "OVER".to_string(),
            (false, None) => format!("wants {} W or more", printed(r.wanted_watts)),
            (false, Some(_)) => String::new(),
        };
        let body = r
            .body_volts
            .map_or(String::new(), |v| match r.body_assumed {
                true => format!("{} assumed", printed(v)),
                false => printed(v),
            });
        table.row([
            format!("{} {}", r.designator, Quantity::Resistance.in_words(r.ohms)),
            r.role.clone(),
            watts(r.rest_watts),
            optional(r.phrase_watts),
            optional(r.sine_watts),
            r.rated_watts.map_or(String::new(), printed),
            fixed(r.peak_volts, 0),
            body,
            note,
        ]);
    }
    table
}

fn loudspeakers(loudspeakers: &[LoudspeakerRatings]) -> Table {
    let mut table = Table::new(&[
        ("Loudspeakers", Edge::Left),
        ("", Edge::Left),
        ("Full, W", Edge::Right),
        ("Driven hard, W", Edge::Right),
        ("Rated, W", Edge::Right),
        ("", Edge::Left),
    ]);
    for one in loudspeakers {
        let over = one.sine_watts.max(one.hard_watts) > one.rated_watts;
        table.row([
            format!("{} {}", one.designator, one.name),
            Quantity::Resistance.in_words(one.rated_ohms),
            watts(one.sine_watts),
            watts(one.hard_watts),
            printed(one.rated_watts),
            if over { "OVER".into() } else { String::new() },
        ]);
    }
    table
}

fn capacitors(capacitors: &[CapacitorRatings]) -> Table {
    let mut table = Table::new(&[
        ("Capacitors", Edge::Left),
        ("", Edge::Left),
        ("Rest, V", Edge::Right),
        ("Worst, V", Edge::Right),
        ("Rated, V", Edge::Right),
        ("Worst comes", Edge::Left),
        ("", Edge::Left),
    ]);
    for c in capacitors {
        let note = match c.rated_volts {
            Some(rated) if c.worst_volts > rated => "OVER".to_string(),
            Some(_) => String::new(),
            None => format!("wants {} V or more", printed(c.wanted_volts)),
        };
        table.row([
            format!(
                "{} {}",
                c.designator,
                Quantity::Capacitance.in_words(c.farads)
            ),
            c.role.clone(),
            volts(c.idle_volts),
            volts(c.worst_volts),
            c.rated_volts.map_or(String::new(), printed),
            c.worst_when.in_words().into(),
            note,
        ]);
    }
    table
}
