//! An impulse response as text in a project: its name and rate, and its samples as 32-bit floats in
//! base64 (RFC 4648), so that the project sounds the same where the file is not.

use crate::sound::impulse::{Impulse, MOST_SECONDS, RATES};
use serde::{Deserialize, Serialize};

/// The digits of base64.
const DIGITS: &[u8; 64] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz0123456789+/";
/// Longest text that is looked at, bytes: the longest response at the highest rate, and its name.
const MOST_TEXT: usize = (*RATES.end() as usize * MOST_SECONDS as usize * 16) / 3 + 4096;

#[derive(Deserialize, Serialize)]
struct Kept {
    name: String,
    rate: u32,
    samples: String,
}

/// The text of an impulse response; empty for none.
pub fn text(impulse: Option<&Impulse>) -> String {
    let Some(impulse) = impulse else {
        return String::new();
    };
    let bytes: Vec<u8> = impulse
        .taps()
        .iter()
        .flat_map(|tap| tap.to_le_bytes())
        .collect();
    let kept = Kept {
        name: impulse.name().into(),
        rate: impulse.rate(),
        samples: encoded(&bytes),
    };
    serde_json::to_string(&kept).unwrap_or_default()
}

/// The impulse response of a text; none where it means none that could have been written.
pub fn read(text: &str) -> Option<Impulse> {
    if text.len() > MOST_TEXT {
        return None;
    }
    let kept: Kept = serde_json::from_str(text).ok()?;
    let bytes = decoded(&kept.samples)?;
    let (samples, rest) = bytes.as_chunks::<4>();
    if !rest.is_empty() {
        return None;
    }
    let taps = samples.iter().map(|&bytes| f32::from_le_bytes(bytes));
    Impulse::kept(&kept.name, kept.rate, taps.collect())
}

fn encoded(bytes: &[u8]) -> String {
    let mut text = String::with_capacity(bytes.len().div_ceil(3) * 4);
    for chunk in bytes.chunks(3) {
        let at = |i: usize| u32::from(chunk.get(i).copied().unwrap_or(0));
        let word = at(0) << 16 | at(1) << 8 | at(2);
        for digit in 0..4 {
            text.push(match digit <= chunk.len() {
                true => DIGITS[(word >> (18 - 6 * digit)) as usize & 63] as char,
                false => '=',
            });
        }
    }
    text
}

fn decoded(text: &str) -> Option<Vec<u8>> {
    let text = text.as_bytes();
    let padding = text
        .iter()
        .rev()
        .take_while(|&&digit| digit == b'=')
        .count();
    if !text.len().is_multiple_of(4) || padding > 2 {
        return None;
    }
    let mut bytes = Vec::with_capacity(text.len() / 4 * 3);
    for chunk in text.chunks(4) {
        let mut word = 0u32;
        for &digit in chunk {
            let value = match digit {
                b'A'..=b'Z' => digit - b'A',
                b'a'..=b'z' => digit - b'a' + 26,
                b'0'..=b'9' => digit - b'0' + 52,
                b'+' => 62,
                b'/' => 63,
                b'=' => 0,
                _ => return None,
            };
            word = word << 6 | u32::from(value);
        }
        bytes.extend(&word.to_be_bytes()[1..]);
    }
    bytes.truncate(bytes.len() - padding);
    Some(bytes)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4648, section 10 (from memory).
    #[test]
    fn the_printed_examples_come_out() {
        for (bytes, text) in [
            ("", ""),
            ("f", "Zg=="),
            ("fo", "Zm8="),
            ("foo", "Zm9v"),
            ("foob", "Zm9vYg=="),
            ("fooba", "Zm9vYmE="),
            ("foobar", "Zm9vYmFy"),
        ] {
            assert_eq!(encoded(bytes.as_bytes()), text);
            assert_eq!(decoded(text).unwrap(), bytes.as_bytes());
        }
        for faulty in ["Zg", "Zg=", "Z===", "Zg?=", "Zm9vé"] {
            assert_eq!(decoded(faulty), None, "{faulty}");
        }
    }

    #[test]
    fn an_impulse_response_comes_back_bit_by_bit() {
        let taps: Vec<f32> = (1..1000)
            .map(|n| 1.0 / n as f32 * (n as f32).sin())
            .collect();
        let impulse = Impulse::kept("box \"7\".wav", 44_100, taps).unwrap();
        assert_eq!(read(&text(Some(&impulse))), Some(impulse));
        assert_eq!(text(None), "");
        let faulty = [
            "",
            "{}",
            "null",
            r#"{"name":"a","rate":48000,"samples":""}"#,
            r#"{"name":"a","rate":48000,"samples":"AAAA"}"#,
            r#"{"name":"a","rate":48000,"samples":"AADAfw=="}"#,
            r#"{"name":"a","rate":1,"samples":"AACAPw=="}"#,
        ];
        for text in faulty {
            assert_eq!(read(text), None, "{text}");
        }
        assert!(read(r#"{"name":"a","rate":48000,"samples":"AACAPw=="}"#).is_some());
    }
}
