//! WAV files: 8 to 192 kHz, mono or stereo, 16-, 24- and 32-bit whole numbers and 32-bit floats in
//! and out. The chunks are walked here, the samples are decoded and written by the crate `hound`.

use super::in_memory::Sound;
use crate::files::{FileFault, file_name, write_whole};
use crate::units::{decibels_from_ratio, ratio_from_decibels};
use hound::{SampleFormat, WavReader, WavSpec, WavWriter};
use std::fmt;
use std::fs::File;
use std::io::{self, BufReader, Cursor, Read};
use std::path::Path;

/// Lowest and highest sample rate, Hz.
pub const RATES: std::ops::RangeInclusive<u32> = 8_000..=192_000;

/// Most samples of all channels together that are read: 26 minutes of stereo at 48 kHz, 600 MB.
pub const MOST_SAMPLES: u64 = 150_000_000;

/// Largest sample of a float file, as a multiple of full scale: 60 dB above it. What lies beyond
/// is no sound.
const LARGEST: f32 = 1000.0;

/// How samples are stored.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Depth {
    /// 16-bit whole numbers.
    Int16,
    /// 24-bit whole numbers.
    Int24,
    /// 32-bit whole numbers.
    Int32,
    /// 32-bit floats.
    Float32,
}

impl Depth {
    const fn bits(self) -> u16 {
        match self {
            Depth::Int16 => 16,
            Depth::Int24 => 24,
            Depth::Int32 | Depth::Float32 => 32,
        }
    }
}

/// What a file holds.
#[derive(Clone, Debug, PartialEq)]
pub struct WavFile {
    /// The sound, 1.0 being full scale; its name is the file's.
    pub sound: Sound,
    /// How the file stores it.
    pub depth: Depth,
}

/// What is wrong with a WAV file.
#[derive(Debug)]
pub enum WavFault {
    /// The file itself.
    File(FileFault),
    /// No RIFF/WAVE file; what it seems to be.
    NotWav(&'static str),
    /// A header that contradicts itself.
    Header(&'static str),
    /// Compressed or another unsupported coding.
    Coding,
    /// Samples of so many bits.
    Bits(u16),
    /// So many channels.
    Channels(u16),
    /// A rate outside [`RATES`], Hz.
    Rate(u32),
    /// Promised and found bytes of sound.
    Truncated(u64, u64),
    /// No sound in it.
    Empty,
    /// So many samples, more than [`MOST_SAMPLES`].
    TooLong(u64),
    /// A sample that is no number or absurdly large, at this frame.
    Sample(usize),
    /// A sample beyond full scale that whole numbers cannot hold.
    WouldClip(f32),
}

impl fmt::Display for WavFault {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            WavFault::File(fault) => write!(f, "{fault}"),
            WavFault::NotWav(what) => write!(f, "this is not a WAV file: {what}"),
            WavFault::Header(what) => write!(f, "the WAV header is faulty: {what}"),
            WavFault::Coding => write!(
                f,
                "the WAV file holds compressed samples; save it as plain 16-, 24- or 32-bit PCM or 32-bit float"
            ),
            WavFault::Bits(bits) => write!(
                f,
                "samples of {bits} bits are not read; save it with 16, 24 or 32 bits, or as 32-bit float"
            ),
            WavFault::Channels(channels) => write!(
                f,
                "the WAV file has {channels} channels; mono and stereo are read"
            ),
            WavFault::Rate(rate) => write!(
                f,
                "a sample rate of {rate} Hz is outside {} to {} Hz",
                RATES.start(),
                RATES.end()
            ),
            WavFault::Truncated(promised, found) => write!(
                f,
                "the WAV file is cut off: it promises {promised} bytes of sound and holds {found}"
            ),
            WavFault::Empty => write!(f, "the WAV file holds no sound"),
            WavFault::TooLong(samples) => write!(
                f,
                "the WAV file is too long: {samples} samples, at most {MOST_SAMPLES}; cut it first"
            ),
            WavFault::Sample(frame) => write!(
                f,
                "the sample at frame {frame} is not a number or more than 60 dB over full scale"
            ),
            WavFault::WouldClip(peak) => write!(
                f,
                "a peak of {peak} would clip; call for less level or for float samples"
            ),
        }
    }
}

impl std::error::Error for WavFault {}

impl From<FileFault> for WavFault {
    fn from(fault: FileFault) -> Self {
        WavFault::File(fault)
    }
}

/// Reads a WAV file.
///
/// # Errors
/// Everything in [`WavFault`].
pub fn read(path: &Path) -> Result<WavFile, WavFault> {
    let fault = |why| {
        WavFault::File(FileFault {
            path: path.to_path_buf(),
            tried: "read",
            why,
        })
    };
    let file = File::open(path).map_err(fault)?;
    let about = file.metadata().map_err(fault)?;
    if !about.is_file() {
        return Err(fault(io::Error::other("it is not a plain file")));
    }
    read_from(&file_name(path), BufReader::new(file), about.len())
}

/// Reads a WAV file of `length` bytes from a stream and gives its sound a name. Takes no more memory than the stream holds
/// sound, whatever its header promises.
///
/// # Errors
/// As [`read`].
pub fn read_from(name: &str, mut stream: impl Read, length: u64) -> Result<WavFile, WavFault> {
    let (format, promised, start) = walk_to_sound(&mut stream)?;
    let found = length.saturating_sub(start);
    if u64::from(promised) > found {
        return Err(WavFault::Truncated(promised.into(), found));
    }
    // A header of our own with the two chunks that matter: `hound` loses its way after a chunk
    // of odd length.
    let mut header = Vec::from(*b"RIFF\xff\xff\xff\xffWAVEfmt ");
    header.extend((format.len() as u32).to_le_bytes());
    header.extend(&format);
    header.extend(b"data");
    header.extend(promised.to_le_bytes());
    let sound = Cursor::new(header).chain(stream.take(promised.into()));
    let mut reader = WavReader::new(sound).map_err(|fault| match fault {
        hound::Error::FormatError(what) => WavFault::Header(what),
        _ => WavFault::Coding,
    })?;
    let spec = reader.spec();
    let depth = match (spec.sample_format, spec.bits_per_sample) {
        (SampleFormat::Int, 16) => Depth::Int16,
        (SampleFormat::Int, 24) => Depth::Int24,
        (SampleFormat::Int, 32) => Depth::Int32,
        (SampleFormat::Float, 32) => Depth::Float32,
        (_, bits) => return Err(WavFault::Bits(bits)),
    };
    if !(1..=2).contains(&spec.channels) {
        return Err(WavFault::Channels(spec.channels));
    }
    if !RATES.contains(&spec.sample_rate) {
        return Err(WavFault::Rate(spec.sample_rate));
    }
    let samples = u64::from(reader.len());
    if samples == 0 {
        return Err(WavFault::Empty);
    }
    if samples > MOST_SAMPLES {
        return Err(WavFault::TooLong(samples));
    }
    let unit = 1.0 / (1_i64 << (depth.bits() - 1)) as f64;
    let cut_off = |_| WavFault::Truncated(promised.into(), found);
    let interleaved: Vec<f32> = if depth == Depth::Float32 {
        let read: Result<_, _> = reader.samples::<f32>().collect();
        read.map_err(cut_off)?
    } else {
        let whole = reader.samples::<i32>();
        let read: Result<_, _> = whole
            .map(|s| s.map(|s| (f64::from(s) * unit) as f32))
            .collect();
        read.map_err(cut_off)?
    };
    let count = usize::from(spec.channels);
    if let Some(at) = interleaved
        .iter()
        .position(|s| s.is_nan() || s.abs() > LARGEST)
    {
        return Err(WavFault::Sample(at / count));
    }
    let channel = |c| interleaved.iter().skip(c).step_by(count).copied().collect();
    Ok(WavFile {
        sound: Sound {
            name: name.into(),
            rate: spec.sample_rate,
            channels: (0..count).map(channel).collect(),
        },
        depth,
    })
}

/// Reads up to the first byte of sound: the format chunk, the promised bytes of sound, and where
/// they start.
fn walk_to_sound(stream: &mut impl Read) -> Result<(Vec<u8>, u32, u64), WavFault> {
    const ENDS: WavFault = WavFault::Header("it ends before the sound begins");
    let mut riff = [0; 12];
    let read = stream.read_exact(&mut riff);
    match (&riff[..4], &riff[8..]) {
        _ if read.is_err() => return Err(WavFault::NotWav("it is shorter than a header")),
        (b"RIFF", b"WAVE") => {}
        (b"RF64" | b"BW64", _) => {
            return Err(WavFault::NotWav("it is the 64-bit variant for long files"));
        }
        (b"FORM", _) => return Err(WavFault::NotWav("it is an AIFF file")),
        (b"fLaC", _) => return Err(WavFault::NotWav("it is a FLAC file")),
        (b"OggS", _) => return Err(WavFault::NotWav("it is an Ogg file")),
        _ => return Err(WavFault::NotWav("it does not start as one")),
    }
    let mut place = riff.len() as u64;
    let mut format = None;
    loop {
        let mut head = [0; 8];
        stream.read_exact(&mut head).map_err(|_| ENDS)?;
        place += head.len() as u64;
        let length = u32::from_le_bytes([head[4], head[5], head[6], head[7]]);
        match &head[..4] {
            b"data" => {
                let format = format.ok_or(WavFault::Header("it lacks a format chunk"))?;
                return Ok((format, length, place));
            }
            b"fmt " if length > 128 => return Err(WavFault::Header("oversized format chunk")),
            b"fmt " => {
                let mut bytes = vec![0; length as usize];
                stream.read_exact(&mut bytes).map_err(|_| ENDS)?;
                format = Some(bytes);
                place += u64::from(length);
            }
            _ => {
                // Chunks are padded to even lengths.
                let padded = u64::from(length) + u64::from(length % 2);
                let skipped = io::copy(&mut stream.take(padded), &mut io::sink());
                place += skipped.map_err(|_| ENDS)?;
            }
        }
    }
}

/// How loud a recording peaks, and what was done so that it does not clip.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Fitted {
    /// Peak before, in decibels of full scale; none for silence.
    pub peak_db: Option<f64>,
    /// By how many decibels the level was lowered; 0 when it was left alone.
    pub lowered_db: f64,
}

impl Fitted {
    /// The sentence for the user; none when nothing was done.
    pub fn sentence(&self) -> Option<String> {
        (self.lowered_db > 0.0).then(|| {
            format!(
                "The output would have clipped by {:.1} dB; it was lowered by {:.1} dB.",
                self.peak_db.unwrap_or(0.0),
                self.lowered_db
            )
        })
    }
}

/// Head room left below full scale when a recording is lowered, dB.
const MARGIN_DB: f64 = 0.1;

/// Lowers a sound that whole numbers could not hold, all channels alike. Float samples may
/// stand above full scale and are left alone.
pub fn fit(sound: &mut Sound, depth: Depth) -> Fitted {
    let peak = sound.peak();
    let peak_db = (peak > 0.0).then(|| decibels_from_ratio(f64::from(peak)));
    let mut lowered_db = 0.0;
    if peak > 1.0 && depth != Depth::Float32 {
        lowered_db = peak_db.unwrap_or(0.0) + MARGIN_DB;
        let factor = ratio_from_decibels(-lowered_db) as f32;
        for sample in sound.channels.iter_mut().flatten() {
            *sample *= factor;
        }
    }
    Fitted {
        peak_db,
        lowered_db,
    }
}

/// Writes a sound whole or not at all. Nothing is clipped: see [`fit`].
///
/// # Errors
/// [`WavFault::WouldClip`] for whole numbers beyond full scale, and faults of the file.
pub fn write(path: &Path, sound: &Sound, depth: Depth) -> Result<(), WavFault> {
    let peak = sound.peak();
    let float = depth == Depth::Float32;
    if peak > 1.0 && !float {
        return Err(WavFault::WouldClip(peak));
    }
    let frames = sound.channels.first().map_or(0, Vec::len);
    let samples = sound.channels.iter().flatten();
    if let Some(at) = samples.clone().position(|s| !s.is_finite()) {
        return Err(WavFault::Sample(at % frames.max(1)));
    }
    // The header counts bytes in 32 bits.
    let count = frames as u64 * sound.channels.len() as u64;
    if count > MOST_SAMPLES {
        return Err(WavFault::TooLong(count));
    }
    let bits = depth.bits();
    let spec = WavSpec {
        channels: sound.channels.len() as u16,
        sample_rate: sound.rate,
        bits_per_sample: bits,
        sample_format: if float {
            SampleFormat::Float
        } else {
            SampleFormat::Int
        },
    };
    let scale = (1_i64 << (bits - 1)) as f64;
    write_whole(path, |file| {
        let mut writer = WavWriter::new(file, spec).map_err(to_io)?;
        for frame in 0..frames {
            for channel in &sound.channels {
                if float {
                    writer.write_sample(channel[frame]).map_err(to_io)?;
                } else {
                    let whole = (f64::from(channel[frame]) * scale).round();
                    // Plus full scale itself is one step beyond the largest whole number.
                    let whole = whole.clamp(-scale, scale - 1.0) as i32;
                    writer.write_sample(whole).map_err(to_io)?;
                }
            }
        }
        writer.finalize().map_err(to_io)
    })?;
    Ok(())
}

fn to_io(fault: hound::Error) -> io::Error {
    match fault {
        hound::Error::IoError(why) => why,
        other => io::Error::other(other.to_string()),
    }
}
