//! A guitar of the owner's own, from the text of a small TOML file: gives a [`Guitar`] or every fault
//! at once.

use super::Taper;
use super::diagnostics::{Diagnostic, in_order, shorten};
use super::guitar::{Guitar, NamedGuitar};
use super::text::{self, Entry, Raw};
use super::values::{check_format, plain_text, unknown_key, value_fault};
use crate::units::Quantity;

/// A key of the table with what stands there and where it goes.
type Key = (&'static str, Quantity, fn(&mut Guitar, f64));

const KEYS: [Key; 12] = [
    ("inductance", Quantity::Inductance, |g, v| {
        g.pickup_henries = v;
    }),
    ("resistance", Quantity::WindingResistance, |g, v| {
        g.pickup_ohms = v;
    }),
    ("capacitance", Quantity::Capacitance, |g, v| {
        g.pickup_farads = v;
    }),
    ("loss", Quantity::Resistance, |g, v| g.loss_ohms = v),
    ("volume_pot", Quantity::Resistance, |g, v| g.volume.ohms = v),
    ("volume", Quantity::Share, |g, v| g.volume.set = v),
    ("tone_pot", Quantity::Resistance, |g, v| g.tone.ohms = v),
    ("tone", Quantity::Share, |g, v| g.tone.set = v),
    ("tone_capacitor", Quantity::Capacitance, |g, v| {
        g.tone_farads = v;
    }),
    ("lead", Quantity::Capacitance, |g, v| g.lead_farads = v),
    ("interface", Quantity::Resistance, |g, v| {
        g.interface_ohms = v;
    }),
    ("interface_capacitance", Quantity::Capacitance, |g, v| {
        g.interface_farads = v;
    }),
];
/// Keys without a number.
const LIKE: &str = "like";
const NAME: &str = "name";
/// A key of a taper and where it goes.
type TaperKey = (&'static str, fn(&mut Guitar, Taper));
const TAPERS: [TaperKey; 2] = [
    ("volume_taper", |g, taper| g.volume.taper = taper),
    ("tone_taper", |g, taper| g.tone.taper = taper),
];

/// Reads a guitar file: `format = 1` and a table `[guitar]`. `like` names the guitar whose values
/// stand where the file states none, the humbucker if it names none.
///
/// # Errors
/// Every fault found, in the order of the file.
pub fn read_guitar(bytes: &[u8]) -> Result<Guitar, Vec<Diagnostic>> {
    let text = text::decode(bytes).map_err(|fault| vec![fault])?;
    let mut faults = Vec::new();
    let (_, entries) = text::parse(text, &mut faults);
    check_format(&entries, &mut faults);
    let mut table: &[Entry] = &[];
    let mut there = false;
    for entry in &entries {
        match (entry.key.as_str(), &entry.item.raw) {
            ("format", _) => {}
            ("guitar", Raw::Table(inner)) => (table, there) = (inner, true),
            _ => faults.push(unknown_key(entry, &["format", "guitar"])),
        }
    }
    if !there {
        let message = "the file has no [guitar]";
        let remedy = "add a line [guitar] with its entries below";
        faults.push(Diagnostic::error(message, remedy));
    }
    let guitar = of_table(table, &mut faults);
    match faults.is_empty() {
        true => Ok(guitar),
        false => Err(in_order(faults)),
    }
}

fn of_table(table: &[Entry], faults: &mut Vec<Diagnostic>) -> Guitar {
    let like = table.iter().find(|entry| entry.key == LIKE);
    let like = like.map_or(Ok(NamedGuitar::Humbucker), named);
    let mut guitar = match like {
        Ok(like) => like.guitar(),
        Err(fault) => {
            faults.push(fault);
            NamedGuitar::Humbucker.guitar()
        }
    };
    guitar.name = "guitar of a file".into();
    for entry in table.iter().filter(|entry| entry.key != LIKE) {
        let key = entry.key.as_str();
        let number = KEYS.iter().find(|(word, ..)| *word == key);
        let taper = TAPERS.iter().find(|(word, _)| *word == key);
        let read = match (number, taper) {
            (Some((_, quantity, put)), _) => {
                value(entry, *quantity).map(|value| put(&mut guitar, value))
            }
            (_, Some((_, put))) => self::taper(entry).map(|taper| put(&mut guitar, taper)),
            _ if key == NAME => plain_text(entry).map(|name| guitar.name = name),
            _ => {
                let numbers = KEYS.iter().map(|(word, ..)| *word);
                let tapers = TAPERS.iter().map(|(word, _)| *word);
                let all: Vec<&str> = [NAME, LIKE]
                    .into_iter()
                    .chain(numbers)
                    .chain(tapers)
                    .collect();
                Err(unknown_key(entry, &all))
            }
        };
        faults.extend(read.err());
    }
    guitar
}

fn value(entry: &Entry, quantity: Quantity) -> Result<f64, Diagnostic> {
    let (Raw::Text(text) | Raw::Number(text)) = &entry.item.raw else {
        let message = format!("{} is not a {}", entry.key, quantity.name());
        let remedy = format!("write {} = \"…\"", entry.key);
        return Err(Diagnostic::error(message, remedy).line(entry.line));
    };
    let read = quantity.parse(text);
    read.map_err(|fault| value_fault(&fault, text, Some(&entry.key)).line(entry.line))
}

fn word<T: Copy>(entry: &Entry, words: &[(&str, T)]) -> Result<T, Diagnostic> {
    let text = match &entry.item.raw {
        Raw::Text(text) => text.as_str(),
        _ => "",
    };
    let found = words
        .iter()
        .find(|(word, _)| word.eq_ignore_ascii_case(text));
    found.map(|(_, value)| *value).ok_or_else(|| {
        let message = format!("\"{}\" is not a value of {}", shorten(text), entry.key);
        let words: Vec<&str> = words.iter().map(|(word, _)| *word).collect();
        let remedy = format!("write {}", words.join(" or "));
        Diagnostic::error(message, remedy)
            .line(entry.line)
            .value(text)
    })
}

fn named(entry: &Entry) -> Result<NamedGuitar, Diagnostic> {
    word(entry, &NamedGuitar::ALL.map(|one| (one.word(), one)))
}

fn taper(entry: &Entry) -> Result<Taper, Diagnostic> {
    let tapers = [
        ("linear", Taper::Linear),
        ("log", Taper::Log),
        ("reverse", Taper::Reverse),
    ];
    word(entry, &tapers)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_stated_is_like_the_guitar_that_is_named() {
        let file = b"format = 1\n[guitar]\nname = \"my own\"\nlike = \"single-coil\"\ninductance = \"3 H\"\nvolume = 0.5\nvolume_taper = \"linear\"\nlead = \"1n\"\ninterface = \"500k\"\n";
        let mut expected = NamedGuitar::SingleCoil.guitar();
        expected.name = "my own".into();
        expected.pickup_henries = 3.0;
        expected.volume.set = 0.5;
        expected.volume.taper = Taper::Linear;
        expected.lead_farads = 1e-9;
        expected.interface_ohms = 500e3;
        assert_eq!(read_guitar(file), Ok(expected));
    }

    #[test]
    fn the_example_of_the_manual_is_a_guitar() {
        let manual = include_str!("../../../presets/README.md");
        let (_, part) = manual
            .split_once("## Guitars")
            .expect("a part about guitars");
        let (_, example) = part.split_once("```toml").expect("an example");
        let (example, _) = example.split_once("```").expect("its end");
        let guitar = read_guitar(example.as_bytes()).expect("a guitar");
        let like = NamedGuitar::SingleCoil.guitar();
        assert_eq!((guitar.pickup_ohms, guitar.volume.set), (6.8e3, 0.7));
        assert_eq!((guitar.tone, guitar.loss_ohms), (like.tone, like.loss_ohms));
    }

    #[test]
    fn all_faults_are_told_with_their_lines() {
        let file = b"format = 1\n[guitar]\nlike = \"bass\"\ninductance = \"3 q\"\nvolume = 1.5\ntone_taper = 1\nstrings = 6\nlead = true\n";
        let faults = read_guitar(file).expect_err("faulty");
        let lines: Vec<Option<usize>> = faults.iter().map(|fault| fault.line).collect();
        assert_eq!(
            lines,
            [Some(3), Some(4), Some(5), Some(6), Some(7), Some(8)]
        );
        assert!(faults.iter().all(|fault| !fault.remedy.is_empty()));
        for file in [
            &b"format = 1\n"[..],
            b"[guitar]\n",
            b"format = 1\nguitar = 1\n",
            b"\xff",
        ] {
            assert!(read_guitar(file).is_err());
        }
    }
}
