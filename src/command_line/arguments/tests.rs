//! The command line's definition: no contradictions, and what must be refused is.

use super::*;
use clap::CommandFactory;

fn parse(line: &str) -> Result<Arguments, clap::Error> {
    Arguments::try_parse_from(line.split_whitespace())
}

#[test]
fn the_definition_has_no_contradiction() {
    Arguments::command().debug_assert();
}

#[test]
fn changes_are_repeatable_and_stand_anywhere() {
    let line = "presolder voltages amp.toml --set R14=33k --control Volume=0.6 --set C9=out";
    let Word::Voltages(voltages) = parse(line).unwrap().word else {
        panic!("another word");
    };
    assert_eq!(voltages.changes.set, ["R14=33k", "C9=out"]);
    assert_eq!(voltages.changes.control, ["Volume=0.6"]);
    assert!(voltages.changes.any() && !voltages.json);
}

#[test]
fn levels_may_be_negative_but_not_absurd() {
    let render = |level: &str| {
        parse(&format!(
            "presolder render a.toml in.wav out.wav --full-scale-dbu {level}"
        ))
    };
    let Word::Render(render_minus_six) = render("-6").unwrap().word else {
        panic!("another word");
    };
    assert_eq!(render_minus_six.levels.full_scale_dbu, -6.0);
    for wrong in ["90", "loud", "NaN", "inf"] {
        assert!(render(wrong).is_err(), "{wrong}");
    }
}

#[test]
fn a_change_needs_a_name_and_a_value() {
    for wrong in ["R14", "=33k", "R14="] {
        assert!(parse(&format!("presolder check a.toml --set {wrong}")).is_err());
    }
}

#[test]
fn as_many_amps_are_drawn_as_elsewhere() {
    use crate::advice::spread::SpreadSettings;
    let Word::Compare(compare) = parse("presolder compare a.toml --spread").unwrap().word else {
        panic!("another word");
    };
    let usual = SpreadSettings::default();
    assert_eq!(compare.spread.map(|amps| amps as usize), Some(usual.amps));
    assert_eq!(compare.seed, usual.seed);
}
