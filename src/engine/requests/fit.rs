//! Part values from a recording.

use crate::analysis::cabinet_model::CabinetModel;
use crate::circuit::Circuit;
use crate::numeric::parallel::GoOn;
use crate::recording::Target;
use crate::recording::fit::{
    Behind, Choice, Dry, FitReport, NoFit, Others, Question, Taken, Unknown, fit,
};
use crate::solve::solved::SolvedAmp;
use crate::sound::Sound;

/// Which parts of which amp are to be found in which recording.
#[derive(Clone, Copy)]
pub struct FitRequest<'a> {
    /// The amp as found.
    pub circuit: &'a Circuit,
    /// What may vary: [`crate::recording::fit::unknowns`] finds it by name.
    pub unknowns: &'a [Unknown],
    /// What the recording shows.
    pub target: &'a Target,
    /// The dry track that was played into the amp, if there is one.
    pub dry: Option<&'a Sound>,
    /// Volts at the jack for a sample of 1 of it.
    pub full_scale_volts: f64,
    /// How the recording was taken.
    pub taken: Taken,
    /// What the microphone heard; counts only where that is known ([`Taken::KnownLoudspeaker`]).
    pub cabinet: &'a CabinetModel,
    /// How well the rest of the amp is known.
    pub others: Others,
    /// Which parts there are.
    pub choice: Choice<'a>,
}

impl FitRequest<'_> {
    /// The fit. `go_on` is told the share that is done and answers whether to go on; none when it
    /// says no.
    ///
    /// # Errors
    /// [`NoFit`] says what is missing.
    pub fn answer(&self, go_on: GoOn<'_>) -> Option<Result<FitReport, NoFit>> {
        let behind = match self.behind() {
            Ok(behind) => behind,
            Err(fault) => return Some(Err(fault)),
        };
        let request = Question {
            circuit: self.circuit,
            unknowns: self.unknowns,
            target: self.target,
            taken: match (self.taken, &behind) {
                (Taken::KnownLoudspeaker, None) => Taken::Microphone,
                (taken, _) => taken,
            },
            behind: behind.as_ref(),
            dry: self.dry.map(|sound| Dry {
                sound,
                full_scale_volts: self.full_scale_volts,
            }),
            others: self.others,
            choice: self.choice,
        };
        fit(request, go_on)
    }

    /// What is known to stand behind the amp.
    fn behind(&self) -> Result<Option<Behind>, NoFit> {
        let name = self.cabinet.name(self.circuit);
        let Some(name) = name.filter(|_| self.taken == Taken::KnownLoudspeaker) else {
            return Ok(None);
        };
        let amp = SolvedAmp::new(self.circuit, None)?;
        let db = self.cabinet.levels(&amp.as_found, &self.target.hz);
        Ok(Some(Behind { name, db }))
    }
}
