//! The whole verdict on a proposal.

use super::played::{OUTPUT_FULL_SCALE_DBU, phrase_played};
use crate::advice::prices::Prices;
use crate::advice::verdict::{Answer, Cache, CalibratedSound, NoVerdict, Question, verdict};
use crate::circuit::Proposal;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::SolvedAmp;

/// What is to be judged.
#[derive(Clone, Copy, Debug)]
pub struct VerdictRequest<'a> {
    /// The amp as it is, its controls as they shall stand, at its operating point.
    pub amp: &'a SolvedAmp,
    /// What is to be soldered.
    pub proposal: &'a Proposal,
    /// What parts cost and work takes.
    pub prices: &'a Prices,
    /// What is played; the built-in phrase if none.
    pub played: Option<&'a CalibratedSound>,
    /// Whether the volume control is turned and a burst given too, which takes a second.
    pub thorough: bool,
    /// Idle of the output valves that is wished for, per cent of their limit; common practice if
    /// none.
    pub idle_percent: Option<f64>,
    /// Lift of a pedal in front, dB, if it is asked whether the amp stays clean with it.
    pub boost_db: Option<f64>,
}

impl VerdictRequest<'_> {
    /// The verdict. `cache` keeps what is worked out; `go_on` is told the share that is done and
    /// answers whether to go on; none when it says no.
    ///
    /// # Errors
    /// [`NoVerdict`] when the proposal does not fit or a circuit has no solution.
    pub fn answer(&self, cache: &mut Cache, go_on: GoOn<'_>) -> Option<Result<Answer, NoVerdict>> {
        let phrase = phrase_played(OUTPUT_FULL_SCALE_DBU);
        let question = Question {
            amp: self.amp,
            proposal: self.proposal,
            prices: self.prices,
            played: self.played.unwrap_or(&phrase),
            thorough: self.thorough,
            idle_percent: self.idle_percent,
            boost_db: self.boost_db,
        };
        verdict(&question, cache, go_on)
    }
}

/// Why there is no verdict, in sentences.
pub fn in_words(fault: &NoVerdict) -> String {
    match fault {
        NoVerdict::NoOperatingPoint(fault) => fault.to_string(),
        NoVerdict::Unfit(fault) => fault.to_string(),
        NoVerdict::NotFinite(_) => "What comes out is not made of numbers.".into(),
        NoVerdict::Faults(faults) => {
            let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
            lines.join(" ")
        }
    }
}
