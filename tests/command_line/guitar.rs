//! A dry guitar part made outside the project goes through `presolder render`: a small MIDI file,
//! written here, is played by fluidsynth with a sound font of Debian's. Skipped where those are
//! missing.

use crate::program::{json, number, text};
use presolder::sound::{Sound, wav};
use std::path::Path;
use std::process::{Command, Stdio};

const SOUND_FONT: &str = "/usr/share/sounds/sf2/TimGM6mb.sf2";

/// Clean electric guitar in General MIDI, counted from 0.
const CLEAN_GUITAR: u8 = 27;

/// A MIDI file of format 0: an arpeggio of E minor, then the chord, 480 ticks a beat of half a
/// second.
fn midi() -> Vec<u8> {
    let mut track = vec![0, 0xc0, CLEAN_GUITAR];
    let notes = [40u8, 47, 52, 55, 59, 64];
    let event = |track: &mut Vec<u8>, delta: u16, status: u8, note: u8, velocity: u8| {
        // A variable-length number of two bytes.
        track.extend([0x80 | (delta >> 7) as u8, (delta & 0x7f) as u8]);
        track.extend([status, note, velocity]);
    };
    for note in notes {
        event(&mut track, 0, 0x90, note, 80);
        event(&mut track, 240, 0x80, note, 0);
    }
    for note in notes {
        event(&mut track, 10, 0x90, note, 115);
    }
    for (i, note) in notes.into_iter().enumerate() {
        event(&mut track, if i == 0 { 1440 } else { 0 }, 0x80, note, 0);
    }
    track.extend([0, 0xff, 0x2f, 0]);
    let mut file = b"MThd\0\0\0\x06\0\0\0\x01\x01\xe0MTrk".to_vec();
    file.extend((track.len() as u32).to_be_bytes());
    file.extend(track);
    file
}

/// Plays the part into a WAV file without reverberation, or says what is missing.
fn played(folder: &Path, wav: &Path) -> Result<(), String> {
    if !Path::new(SOUND_FONT).exists() {
        return Err(format!(
            "{SOUND_FONT} is missing (package timgm6mb-soundfont)"
        ));
    }
    let part = folder.join("part.mid");
    std::fs::write(&part, midi()).unwrap();
    let status = Command::new("fluidsynth")
        .args([
            "-ni",
            "-R",
            "0",
            "-C",
            "0",
            "-g",
            "1",
            "-r",
            "48000",
            "-F",
            text(wav),
        ])
        .args([SOUND_FONT, text(&part)])
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .status();
    let status = status.map_err(|_| "fluidsynth is missing (package fluidsynth)")?;
    assert!(status.success() && wav.exists(), "fluidsynth failed");
    Ok(())
}

#[test]
fn a_guitar_part_from_outside_comes_through() {
    let folder = tempfile::tempdir().unwrap();
    let (dry, heard) = (
        folder.path().join("dry.wav"),
        folder.path().join("heard.wav"),
    );
    if let Err(reason) = played(folder.path(), &dry) {
        crate::absent::absent(&reason);
        return;
    }
    let before = wav::read(&dry).unwrap().sound;
    assert_eq!((before.rate, before.channels.len()), (48_000, 2));
    let peak = |r: &Sound| {
        let samples = r.channels.iter().flatten();
        f64::from(samples.fold(0.0f32, |m, s| m.max(s.abs())))
    };
    assert!(peak(&before) > 0.02, "fluidsynth played silence");
    let answer = json(&[
        "render",
        "bradawl",
        text(&dry),
        text(&heard),
        "--full-scale-dbu",
        "0",
        // The volts at the loudspeaker are what is judged below.
        "--cabinet",
        "raw",
    ]);
    let after = wav::read(&heard).unwrap().sound;
    assert_eq!(after.channels[0].len(), before.channels[0].len());
    assert!(after.channels.iter().flatten().all(|s| s.is_finite()));
    // Not clipped: full scale is not reached, and nothing had to be lowered.
    assert!(peak(&after) < 0.99, "{}", peak(&after));
    assert_eq!(number(&answer["level"]["lowered_db"]), 0.0);
    assert_eq!(number(&answer["effort"]["unsolved"]), 0.0);
    // A small amp of 15 W into 8 Ω gives peaks of 5 to 30 V, and its loudness lies between.
    let volts = number(&answer["output_peak_volts"]);
    println!(
        "peak at the jack {} V, heard {volts} V, {} LUFS",
        answer["input_peak_volts"], answer["lufs"]
    );
    assert!((5.0..30.0).contains(&volts), "{volts} V");
    let lufs = number(&answer["lufs"]);
    assert!((-35.0..-5.0).contains(&lufs), "{lufs} LUFS");
}
