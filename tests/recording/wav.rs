//! WAV files at the boundary: every rate, depth and channel count that is promised goes through
//! unchanged, everything else is refused with a reason, and no file makes the reader panic or take
//! memory that its length does not justify.

use engine::sound::{
    Sound,
    wav::{self, Depth, WavFault, WavFile},
};
use proptest::prelude::*;
use std::io::Cursor;

/// A file by hand: format tag, channels, rate, bytes a sample, bits, sound.
fn by_hand(tag: u16, channels: u16, rate: u32, bytes: u16, bits: u16, sound: &[u8]) -> Vec<u8> {
    let mut file = Vec::from(*b"RIFF\0\0\0\0WAVEfmt \x10\0\0\0");
    file.extend(tag.to_le_bytes());
    file.extend(channels.to_le_bytes());
    file.extend(rate.to_le_bytes());
    file.extend((rate.wrapping_mul(u32::from(channels) * u32::from(bytes))).to_le_bytes());
    file.extend((channels.wrapping_mul(bytes)).to_le_bytes());
    file.extend(bits.to_le_bytes());
    file.extend(b"data");
    file.extend((sound.len() as u32).to_le_bytes());
    file.extend(sound);
    file
}

fn read(bytes: &[u8]) -> Result<WavFile, WavFault> {
    wav::read_from("by hand", Cursor::new(bytes), bytes.len() as u64)
}

/// The message of the refusal.
fn refused(bytes: &[u8]) -> String {
    read(bytes).expect_err("it should be refused").to_string()
}

#[test]
fn whole_numbers_and_floats_by_hand() {
    // Half of full scale, negative full scale, in each coding.
    let cases: [(u16, u16, Vec<u8>); 4] = [
        (1, 2, vec![0, 0x40, 0, 0x80]),
        (1, 3, vec![0, 0, 0x40, 0, 0, 0x80]),
        (1, 4, vec![0, 0, 0, 0x40, 0, 0, 0, 0x80]),
        (3, 4, [0.5_f32, -1.0].map(f32::to_le_bytes).concat()),
    ];
    for (tag, bytes, sound) in cases {
        let mono = read(&by_hand(tag, 1, 44_100, bytes, bytes * 8, &sound)).unwrap();
        assert_eq!(mono.sound.channels, [[0.5, -1.0]]);
        let stereo = read(&by_hand(tag, 2, 44_100, bytes, bytes * 8, &sound)).unwrap();
        assert_eq!(stereo.sound.channels, [[0.5], [-1.0]]);
    }
}

#[test]
fn written_files_read_back_unchanged() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    for rate in [8_000, 11_025, 44_100, 48_000, 96_000, 192_000] {
        for depth in [Depth::Int16, Depth::Int24, Depth::Int32, Depth::Float32] {
            for count in [1, 2] {
                // Multiples of 2⁻¹⁵ are exact in every coding.
                let tone = |c: usize| (0..100).map(move |i| ((i * 331 + c) % 60_000) as f32);
                let channel = |c| tone(c).map(|x| (x - 30_000.0) / 32_768.0).collect();
                let sound = Sound {
                    name: "a.wav".into(),
                    rate,
                    channels: (0..count).map(channel).collect(),
                };
                wav::write(&path, &sound, depth).unwrap();
                assert_eq!(wav::read(&path).unwrap(), WavFile { sound, depth });
            }
        }
    }
}

#[test]
fn everything_else_is_refused_with_its_reason() {
    let fine = by_hand(1, 1, 48_000, 2, 16, &[0, 0, 1, 0]);
    assert!(read(&fine).is_ok());
    assert!(refused(&by_hand(1, 1, 48_000, 1, 8, &[0; 4])).contains("8 bits"));
    assert!(refused(&by_hand(1, 6, 48_000, 2, 16, &[0; 24])).contains("6 channels"));
    assert!(refused(&by_hand(1, 1, 7_999, 2, 16, &[0; 4])).contains("7999 Hz"));
    assert!(refused(&by_hand(1, 1, 192_001, 2, 16, &[0; 4])).contains("192001 Hz"));
    assert!(refused(&by_hand(1, 1, 48_000, 2, 16, &[])).contains("no sound"));
    assert!(refused(&by_hand(2, 1, 48_000, 2, 16, &[0; 4])).contains("compressed"));
    assert!(refused(&by_hand(1, 0, 48_000, 2, 16, &[0; 4])).contains("zero channels"));
    assert!(refused(&by_hand(1, 2, 48_000, 2, 16, &[0; 6])).contains("header is faulty"));
    assert!(refused(&fine[..fine.len() - 1]).contains("cut off"));
    assert!(refused(&fine[..30]).contains("before the sound begins"));
    assert!(refused(b"RIFF").contains("shorter"));
    assert!(refused(b"fLaC-------------").contains("FLAC"));
    assert!(refused(b"not a sound at all").contains("not a WAV file"));
    let not_a_number = by_hand(3, 1, 48_000, 4, 32, &f32::NAN.to_le_bytes());
    assert!(refused(&not_a_number).contains("frame 0"));
    let missing = wav::read("nowhere.wav".as_ref()).unwrap_err().to_string();
    assert!(
        missing.contains("nowhere.wav could not be read"),
        "{missing}"
    );
    assert!(wav::read(env!("CARGO_MANIFEST_DIR").as_ref()).is_err());
}

#[test]
fn chunks_before_the_sound_are_skipped_even_of_odd_length() {
    let fine = by_hand(1, 1, 48_000, 2, 16, &[0, 0x40]);
    let mut with_title = fine[..12].to_vec();
    with_title.extend(b"LIST\x03\0\0\0abc\0");
    with_title.extend(&fine[12..]);
    assert_eq!(read(&with_title).unwrap().sound.channels, [[0.5]]);
}

#[test]
fn a_length_of_four_gigabytes_costs_nothing() {
    let mut file = by_hand(1, 1, 48_000, 2, 16, &[0; 4]);
    file[40..44].copy_from_slice(&u32::MAX.to_le_bytes());
    assert!(refused(&file).contains("cut off"));
    let mut file = by_hand(1, 1, 48_000, 2, 16, &[0; 4]);
    file[16..20].copy_from_slice(&u32::MAX.to_le_bytes());
    assert!(refused(&file).contains("oversized"));
    // A stream whose length is overstated must not be trusted either.
    let mut file = by_hand(1, 1, 48_000, 2, 16, &[0; 4]);
    file[40..44].copy_from_slice(&(u32::MAX - 1).to_le_bytes());
    let fault = wav::read_from("by hand", Cursor::new(file), u64::MAX).unwrap_err();
    assert!(matches!(fault, WavFault::TooLong(_)), "{fault}");
}

#[test]
fn clipping_is_told_and_avoided() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a.wav");
    let mut loud = Sound {
        name: "loud".into(),
        rate: 48_000,
        channels: vec![vec![2.0, -1.0], vec![0.5, 0.0]],
    };
    assert!(matches!(
        wav::write(&path, &loud, Depth::Int24),
        Err(WavFault::WouldClip(_))
    ));
    assert!(!path.exists());
    let fitted = wav::fit(&mut loud, Depth::Int24);
    // A peak of 2 is 6.02 dB over; a tenth of a decibel is left below full scale.
    let sentence = fitted.sentence().unwrap();
    assert!(sentence.contains("clipped by 6.0 dB"), "{sentence}");
    assert!((f64::from(loud.channels[0][0]) - 10.0_f64.powf(-0.1 / 20.0)).abs() < 1e-6);
    assert_eq!(loud.channels[0][0], -2.0 * loud.channels[0][1]);
    wav::write(&path, &loud, Depth::Int24).unwrap();
    assert_eq!(wav::fit(&mut loud, Depth::Int24).lowered_db, 0.0);
    let mut float = Sound {
        channels: vec![vec![2.0]],
        ..loud
    };
    assert_eq!(wav::fit(&mut float, Depth::Float32).lowered_db, 0.0);
    wav::write(&path, &float, Depth::Float32).unwrap();
    assert_eq!(wav::read(&path).unwrap().sound.channels, [[2.0]]);
}

proptest! {
    #[test]
    fn no_bytes_make_the_reader_panic(bytes in prop::collection::vec(any::<u8>(), 0..200)) {
        let _ = read(&bytes);
    }

    #[test]
    fn no_damage_makes_the_reader_panic(
        place in 0_usize..60, value in any::<[u8; 4]>(), cut in 0_usize..70, tag in prop::sample::select(vec![1_u16, 3, 0xfffe]),
    ) {
        let mut file = by_hand(tag, 1, 48_000, 4, 32, &[1; 32]);
        let end = (place + 4).min(file.len());
        file[place..end].copy_from_slice(&value[..end - place]);
        file.truncate(file.len().saturating_sub(cut));
        if let Ok(recording) = read(&file) {
            prop_assert!(recording.sound.channels.iter().flatten().all(|s| s.is_finite()));
        }
    }
}
