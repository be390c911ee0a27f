//! What the amp is heard through: the voltage itself, what its loudspeaker radiates, or an impulse
//! response. Volts in, volts out; none of them adds a delay.
//!
//! # How, and what it costs
//!
//! Each circuit pair makes two sounds: the volts at its output, and what its loudspeakers radiate
//! of them (`live::radiation` follows type and place of each side's loudspeaker; a swap changes
//! both within the same silence). `live::cabinets` stands behind the circuit pairs and before the
//! level match, so that match and correlation see what is heard. A new way runs in unheard for 50
//! ms, then fades in within 10.
//!
//! - **A loudspeaker** is up to eight analogue sections. Poles are carried over exactly, the
//!   numerator is matched at three frequencies (`realtime/cabinet/sections.rs`): within 0.01 dB
//!   of the analogue curve up to 10 kHz at 44.1 kHz for the loudspeakers that come with the
//!   program; the bilinear transform would be several decibels low there. The phase runs ahead of
//!   the analogue one, evenly, by up to one and a half samples.
//! - **An impulse response** is cut, levelled and brought to the session's rate off the audio
//!   thread (`sound::impulse`), and convolved by our own `realtime/cabinet/convolver.rs`: 64 taps
//!   summed directly, the rest in partitions of 64, 512 and 4096 whose work is spread over blocks
//!   of 64 samples. Beside it the crate `fft-convolver` 0.4 (its two-stage convolver, 64 and 1024
//!   to 8192) was measured with the same 2 s in four lanes at 48 kHz: 3.6 to 8 % of a core where
//!   ours takes 1.7 % (`cargo xtask bench --cabinet`), its worst 64-frame block 93 to 182 % of
//!   that block's time where ours takes 7 to 16 % on a busy machine, since it does the work of a
//!   long partition all at once; and its last bits depend on the blocks.

pub mod convolver;
mod level;
pub mod sections;

pub use convolver::Convolver;
pub use sections::{Sections, Voicing};

/// What `N` lanes are heard through.
#[derive(Debug)]
pub enum Cabinet<const N: usize> {
    /// The line: the voltage at the output.
    Raw,
    /// What a loudspeaker radiates, a loudspeaker a lane.
    Acoustic(Box<Sections<N>>),
    /// An impulse response.
    Impulse(Box<Convolver<N>>),
}

impl<const N: usize> Cabinet<N> {
    /// Back to rest.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn reset(&mut self) {
        match self {
            Cabinet::Raw => {}
            Cabinet::Acoustic(sections) => sections.reset(),
            Cabinet::Impulse(convolver) => convolver.reset(),
        }
    }

    /// Processes in place, one line a lane, all of one length.
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into blocks.
    pub fn process(&mut self, lines: &mut [&mut [f64]; N]) {
        match self {
            Cabinet::Raw => {}
            Cabinet::Acoustic(sections) => sections.process(lines),
            Cabinet::Impulse(convolver) => convolver.process(lines),
        }
    }
}
