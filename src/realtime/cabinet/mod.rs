//! What the amp is heard through: the voltage itself, what its loudspeaker radiates, or an impulse
//! response. Volts in, volts out; none of them adds a delay.

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
