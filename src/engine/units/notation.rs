//! Text to value: "4k7", "0.022 µF", "5 %".
//!
//! Digits are joined with the power of ten of their prefix and converted once, so "22n" and
//! "0.022u" are the same double.

use super::marking::Tolerance;
use super::notation_error::NotationError;
use super::{Quantity, Unit};

/// Longer texts are not values; 17 digits with sign, prefix and unit fit well.
const LONGEST: usize = 48;

impl Quantity {
    /// Reads text in any usual spelling and checks the range; SI units.
    ///
    /// # Errors
    /// [`NotationError`] says what is wrong and how to mend it.
    pub fn parse(self, text: &str) -> Result<f64, NotationError> {
        let value = parse(self, text)?;
        self.check(value)?;
        Ok(value)
    }

    /// Checks that a value in SI units lies in the allowed range.
    ///
    /// # Errors
    /// [`NotationError::OutOfRange`] also for what is not a number.
    pub fn check(self, value: f64) -> Result<(), NotationError> {
        let (least, greatest) = self.range();
        if (least..=greatest).contains(&value) {
            Ok(())
        } else {
            Err(NotationError::OutOfRange {
                quantity: self,
                value,
            })
        }
    }
}

/// The digits of a number and what scales them.
#[derive(Default)]
struct Digits {
    whole: String,
    fraction: String,
    /// Power of ten.
    exponent: i32,
    /// Of "1/4 W"; none without a stroke.
    divisor: Option<f64>,
}

impl Digits {
    fn is_empty(&self) -> bool {
        self.whole.is_empty() && self.fraction.is_empty()
    }
}

/// Reads `text`; the range is the caller's.
fn parse(quantity: Quantity, text: &str) -> Result<f64, NotationError> {
    let malformed = NotationError::Malformed { quantity };
    if text.len() > LONGEST {
        return Err(malformed);
    }
    let text: Vec<char> = text.trim().chars().map(plain_sign).collect();
    if quantity.family() == Unit::Percent
        && let [letter] = text[..]
        && let Some(Tolerance::Share(share)) = Tolerance::of_resistor(letter)
    {
        return Ok(share);
    }
    let mut rest = &text[..];
    let sign = take_sign(&mut rest);
    let mut digits = Digits {
        whole: take_digits(&mut rest),
        ..Digits::default()
    };
    take_fraction(quantity, &mut rest, &mut digits)?;
    if !take_exponent(quantity, &mut rest, &mut digits)? {
        take_letter(quantity, &mut rest, &mut digits)?;
    }
    if digits.is_empty() {
        return Err(malformed);
    }
    let Digits {
        whole,
        fraction,
        exponent,
        divisor,
    } = digits;
    let exponent = exponent + suffix(quantity, skip_spaces(rest))?;
    let value: f64 = format!("{sign}{whole}.{fraction}0e{exponent}")
        .parse()
        .map_err(|_| malformed)?;
    let value = value / divisor.unwrap_or(1.0);
    // Minus nothing is nothing; and the one zero prints as one text.
    Ok(if value == 0.0 { 0.0 } else { value })
}

/// The sign before the digits, as Rust reads it.
fn take_sign(rest: &mut &[char]) -> &'static str {
    match rest {
        ['-', tail @ ..] => {
            *rest = skip_spaces(tail);
            "-"
        }
        ['+' | '±', tail @ ..] => {
            *rest = skip_spaces(tail);
            ""
        }
        _ => "",
    }
}

/// What follows the whole digits after a point, a comma, or the stroke of "1/4 W".
fn take_fraction(
    quantity: Quantity,
    rest: &mut &[char],
    digits: &mut Digits,
) -> Result<(), NotationError> {
    match *rest {
        ['/', tail @ ..] if quantity.family() == Unit::Watt => {
            *rest = tail;
            let divisor = take_digits(rest).parse().unwrap_or(0.0);
            if divisor == 0.0 {
                return Err(NotationError::Malformed { quantity });
            }
            digits.divisor = Some(divisor);
        }
        [separator @ ('.' | ','), tail @ ..] => {
            *rest = tail;
            digits.fraction = take_digits(rest);
            let thousands = digits.fraction.len() == 3 && digits.whole.chars().any(|c| c != '0');
            if *separator == ',' && thousands {
                return Err(NotationError::DoubtfulComma);
            }
        }
        _ => {}
    }
    Ok(())
}

/// The power of ten of "4.7e3". Whether there is one.
fn take_exponent(
    quantity: Quantity,
    rest: &mut &[char],
    digits: &mut Digits,
) -> Result<bool, NotationError> {
    let ['e' | 'E', tail @ ..] = *rest else {
        return Ok(false);
    };
    if digits.is_empty() {
        return Ok(false);
    }
    let (sign, mut tail) = match tail {
        ['-', t @ ..] => (-1, t),
        ['+', t @ ..] => (1, t),
        _ => (1, tail),
    };
    let power = take_digits(&mut tail).parse::<u16>();
    let power = power.map_err(|_| NotationError::Malformed { quantity })?;
    digits.exponent = i32::from(power) * sign;
    *rest = tail;
    Ok(true)
}

/// IEC 60062: the letter stands in place of the decimal point.
fn take_letter(
    quantity: Quantity,
    rest: &mut &[char],
    digits: &mut Digits,
) -> Result<(), NotationError> {
    let family = quantity.family();
    let plain_digits = digits.fraction.is_empty() && digits.divisor.is_none_or(|d| d == 1.0);
    let [letter, digit, ..] = **rest else {
        return Ok(());
    };
    let lettered = matches!(family, Unit::Ohm | Unit::Farad | Unit::Henry);
    if !(plain_digits && lettered && digit.is_ascii_digit()) {
        return Ok(());
    }
    *rest = &rest[1..];
    digits.fraction = take_digits(rest);
    if digits.whole.is_empty() {
        digits.whole.push('0');
    }
    digits.exponent = match letter {
        'R' | 'r' | 'Ω' if family == Unit::Ohm => 0,
        'F' if family == Unit::Farad => 0,
        'H' if family == Unit::Henry => 0,
        _ => prefix(quantity, letter)?,
    };
    let tail = skip_spaces(rest);
    if !tail.is_empty() && unit(family, tail).is_none_or(|factor| factor != 0) {
        return Err(NotationError::Malformed { quantity });
    }
    *rest = &[];
    Ok(())
}

/// One sign for each of the look-alikes.
fn plain_sign(c: char) -> char {
    match c {
        '\u{2212}' | '\u{2013}' => '-',
        '\u{2126}' => 'Ω',
        '\u{3bc}' => 'µ',
        '\u{a0}' | '\u{2009}' | '\u{202f}' | '\t' => ' ',
        c => c,
    }
}

fn skip_spaces(mut text: &[char]) -> &[char] {
    while let [' ', tail @ ..] = text {
        text = tail;
    }
    text
}

fn take_digits(text: &mut &[char]) -> String {
    let count = text.iter().take_while(|c| c.is_ascii_digit()).count();
    let (digits, rest) = text.split_at(count);
    *text = rest;
    digits.iter().collect()
}

/// Power of ten of a prefix letter. Kilo may be a capital; mega and milli must keep their case.
fn prefix(quantity: Quantity, letter: char) -> Result<i32, NotationError> {
    let family = quantity.family();
    let scaled = !matches!(family, Unit::Percent | Unit::Plain | Unit::Decibel);
    let power = match letter {
        'p' | 'P' if matches!(family, Unit::Farad) => -12,
        'n' | 'N' if matches!(family, Unit::Farad | Unit::Henry) => -9,
        'u' | 'U' | 'µ' if scaled && family != Unit::Ohm => -6,
        'm' if !matches!(family, Unit::Ohm | Unit::Farad) && scaled => -3,
        'k' | 'K' if scaled && family != Unit::Farad => 3,
        'M' if matches!(family, Unit::Ohm | Unit::Hertz) => 6,
        'G' if family == Unit::Ohm => 9,
        'p' | 'n' | 'u' | 'µ' | 'm' | 'k' | 'K' | 'M' | 'G' if scaled => {
            return Err(NotationError::DoubtfulPrefix {
                quantity,
                found: letter,
            });
        }
        _ => return Err(NotationError::Malformed { quantity }),
    };
    Ok(power)
}

/// Power of ten of what follows the digits: nothing, a prefix, a unit, or both.
fn suffix(quantity: Quantity, text: &[char]) -> Result<i32, NotationError> {
    let family = quantity.family();
    if text.is_empty() {
        return Ok(0);
    }
    if let Some(power) = unit(family, text) {
        return Ok(power);
    }
    let other = || NotationError::WrongUnit {
        quantity,
        // It is shown: nothing in it may move a cursor.
        found: text.iter().filter(|c| !c.is_control()).collect(),
    };
    let tail = skip_spaces(&text[1..]);
    let bare = tail.is_empty() || unit(family, tail) == Some(0);
    if bare {
        return prefix(quantity, text[0]).map_err(|e| match e {
            NotationError::Malformed { .. } if is_any_unit(text) => other(),
            e => e,
        });
    }
    if is_any_unit(text) || is_any_unit(tail) {
        return Err(other());
    }
    Err(NotationError::Malformed { quantity })
}

/// Power of ten of a unit as written, when it is one of the family.
fn unit(family: Unit, text: &[char]) -> Option<i32> {
    let word: String = text.iter().collect();
    let small = word.to_ascii_lowercase();
    let is = |words: &[&str]| words.contains(&small.as_str()).then_some(0);
    match family {
        Unit::Ohm => is(&["r", "ω", "ohm", "ohms"]).or((word == "Ω").then_some(0)),
        Unit::Farad => match small.as_str() {
            // Marks on old capacitors.
            "mfd" => Some(-6),
            "mmfd" => Some(-12),
            _ => is(&["f", "farad"]),
        },
        Unit::Henry => is(&["h", "henry", "henries"]),
        Unit::Volt => is(&["v", "volt", "volts", "vdc", "vrms"]),
        Unit::Watt => is(&["w", "watt", "watts"]),
        Unit::Ampere => is(&["a", "amp", "amps", "ampere", "amperes"]),
        Unit::Hertz => is(&["hz"]),
        Unit::Decibel => is(&["db"]),
        Unit::Percent | Unit::Plain => (small == "%").then_some(-2),
    }
}

fn is_any_unit(text: &[char]) -> bool {
    use Unit::*;
    [
        Ohm, Farad, Henry, Volt, Watt, Ampere, Hertz, Decibel, Percent,
    ]
    .iter()
    .any(|&family| unit(family, text).is_some())
}
