//! What a proposal does to an amp's rest: settings with which it howls, stages that come close.

use crate::analysis::stability::{StabilitySurvey, stability_survey};
use crate::device::Catalogue;
use crate::numeric::parallel::GoOn;
use crate::solve::solved::{Both, SolvedAmp, SolvedCircuit};

/// Sentences about what the amp does as proposed and did not as found; none of them in an amp that is
/// in order. `amp` has both sides.
pub fn new_dangers(amp: &SolvedAmp, go_on: GoOn<'_>) -> Option<Vec<String>> {
    let catalogue = Catalogue::built_in();
    let sides = amp.both().expect("two circuits were given");
    let mut survey =
        |side: &SolvedCircuit| stability_survey(&amp.network, side, &catalogue, &mut *go_on);
    let as_found = survey(sides.as_found)?;
    let proposed = survey(sides.proposed)?;
    Some(new_in(&Both { as_found, proposed }))
}

fn new_in(surveys: &Both<StabilitySurvey>) -> Vec<String> {
    let Both { as_found, proposed } = surveys;
    let howled = |stands| as_found.howls.iter().any(|with| with.stands == stands);
    let was_near = |valves: &[String]| as_found.near.iter().any(|near| near.valves == valves);
    let howls = proposed.howls.iter();
    let howls = howls.filter(|with| !howled(with.stands.clone())).cloned();
    let near = proposed.near.iter();
    let near = near.filter(|near| !was_near(&near.valves)).cloned();
    let new = StabilitySurvey {
        howls: howls.collect(),
        near: near.collect(),
        ..StabilitySurvey::default()
    };
    let sentences = new.sentences().into_iter();
    sentences
        .map(|sentence| format!("As proposed, not as found: {sentence}"))
        .collect()
}
