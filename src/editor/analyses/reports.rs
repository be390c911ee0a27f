//! The work behind the pictures: a request with two sets of numbers in, reports out. Quick work
//! follows a dragged value within a frame; slow work plays.

use crate::advice::prices::Prices;
use crate::advice::verdict::{Cache, Verdict};
use crate::analysis::cabinet_model::CabinetModel;
use crate::analysis::part_effect::{PartEffect, part_effect};
use crate::analysis::response::{Path, axis, curve_of};
use crate::analysis::valve_chart::{ValveChart, valve_chart};
use crate::analysis::voltages::{VoltageChart, chart};
use crate::circuit::{Circuit, NodeId};
use crate::live::LiveAmp;
use crate::requests::verdict::{VerdictRequest, in_words};
use crate::solve::solved::{Both, SolvedAmp};
use std::sync::{Arc, OnceLock};
use std::time::{Duration, Instant};

/// What is to be computed.
#[derive(Clone, Debug)]
pub struct Request {
    /// The amp.
    pub amp: Arc<LiveAmp>,
    /// Its numbers as found, one for each adjustable, the player's controls as they stand.
    pub as_found: Vec<f64>,
    /// As proposed.
    pub proposed: Vec<f64>,
    /// Node of the curve; the loudspeaker if none.
    pub node: Option<NodeId>,
    /// What the output is heard through.
    pub cabinet: CabinetModel,
    /// Lift of a pedal in front, dB; none where there is none.
    pub boost_db: Option<f64>,
    /// Adjustable of the part that is looked at.
    pub adjustable: Option<usize>,
    /// What parts cost; only the verdict and the job sheet depend on it.
    pub prices: Arc<Prices>,
    /// The two circuits at their operating points, solved by whoever needs them first. A request with
    /// other values starts with an empty one.
    pub solved: Solved,
}

/// Solved once for all requests about the same values.
pub type Solved = Arc<OnceLock<Result<Arc<SolvedAmp>, String>>>;

impl Request {
    /// Whether it asks for the same.
    pub fn same(&self, other: &Request) -> bool {
        self.same_curve(other) && self.adjustable == other.adjustable && self.same_prices(other)
    }

    /// Whether it asks for the same but for the part that is looked at.
    pub fn same_curve(&self, other: &Request) -> bool {
        self.same_values(other) && self.node == other.node && self.cabinet.same(&other.cabinet)
    }

    /// Whether it is about the same amp with the same values.
    pub fn same_values(&self, other: &Request) -> bool {
        Arc::ptr_eq(&self.amp, &other.amp)
            && self.as_found == other.as_found
            && self.proposed == other.proposed
    }

    /// Whether it is about the same prices and the same boost.
    pub fn same_prices(&self, other: &Request) -> bool {
        Arc::ptr_eq(&self.prices, &other.prices) && self.boost_db == other.boost_db
    }

    fn path(&self) -> Path {
        Path {
            from: None,
            to: self.node,
        }
    }

    /// Both circuits at their operating points.
    ///
    /// # Errors
    /// In sentences, the faults of a value that does not go, or why there is no solution.
    pub fn solved(&self) -> Result<Arc<SolvedAmp>, String> {
        let solve = || {
            let circuits = self.circuits()?;
            let network = Arc::clone(self.amp.network());
            SolvedAmp::with_network(network, &circuits.as_found, Some(&circuits.proposed))
                .map_err(|fault| fault.to_string())?
                .fit_to_judge()
                .map(Arc::new)
                .map_err(|fault| fault.to_string())
        };
        self.solved.get_or_init(solve).clone()
    }

    /// The same, but as found alone where nothing is proposed.
    ///
    /// # Errors
    /// Those of [`Request::solved`].
    pub fn solved_as_asked(&self) -> Result<Arc<SolvedAmp>, String> {
        let amp = self.solved()?;
        Ok(match self.anything_proposed() {
            true => amp,
            false => Arc::new(SolvedAmp {
                proposed: None,
                ..amp.as_ref().clone()
            }),
        })
    }

    /// Whether any part is proposed otherwise than found.
    pub fn anything_proposed(&self) -> bool {
        let pairs = self.as_found.iter().zip(&self.proposed);
        let mut both = self.amp.adjustables().iter().zip(pairs);
        both.any(|(adjustable, (a, p))| !adjustable.same(*a, *p))
    }

    /// Takes over what another request about the same values has solved or will solve.
    pub fn share(&mut self, other: &Request) {
        if self.same_values(other) {
            self.solved = Arc::clone(&other.solved);
        }
    }

    /// The two circuits.
    ///
    /// # Errors
    /// The faults of a value that does not go, in sentences.
    pub fn circuits(&self) -> Result<Both<Circuit>, String> {
        let of = |values: &[f64]| {
            self.amp.circuit_with(values).map_err(|faults| {
                let lines: Vec<String> = faults.iter().map(ToString::to_string).collect();
                lines.join(" ")
            })
        };
        Ok(Both {
            as_found: of(&self.as_found)?,
            proposed: of(&self.proposed)?,
        })
    }
}

/// What follows a dragged value.
#[derive(Clone, Debug)]
pub struct Quick {
    /// What it answers.
    pub request: Request,
    /// Frequencies, Hz.
    pub hz: Vec<f64>,
    /// Gain to the node, or without one to what is heard, dB, a value a frequency.
    pub db: Both<Vec<f64>>,
    /// Gain to the output, dB: what a line recording shows.
    pub line_db: Both<Vec<f64>>,
    /// Gain to what is heard of the output, dB.
    pub heard_db: Both<Vec<f64>>,
    /// Which sides pass no signal, in a sentence.
    pub silent: Option<String>,
    /// Voltages and valves at rest.
    pub charts: Both<VoltageChart>,
    /// How long it took.
    pub took: Duration,
}

/// What playing tells.
#[derive(Clone, Debug)]
pub struct Judged {
    /// The valves at rest and while the phrase plays, and the supplies.
    pub valves: ValveChart,
    /// The verdict on the phrase.
    pub verdict: Verdict,
}

/// Does the quick work.
///
/// # Errors
/// A sentence when the circuit has no solution.
pub fn quick(request: &Request) -> Result<Quick, String> {
    let start = Instant::now();
    let amp = request.solved()?;
    let sides = amp.both().expect("two circuits were given");
    let curve = |path: Path| sides.map(|side| curve_of(&amp.network, side, path).db);
    let line_db = curve(Path::default());
    let hz = axis();
    let behind = sides.map(|side| request.cabinet.levels(side, &hz));
    let sum = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a + b).collect::<Vec<f64>>();
    let heard_db = Both {
        as_found: sum(&line_db.as_found, &behind.as_found),
        proposed: sum(&line_db.proposed, &behind.proposed),
    };
    Ok(Quick {
        db: match request.node {
            Some(_) => curve(request.path()),
            None => heard_db.clone(),
        },
        hz,
        line_db,
        heard_db,
        silent: amp.silent().map(|unfit| unfit.to_string()),
        charts: sides.map(|side| chart(&amp.network, side)),
        request: request.clone(),
        took: start.elapsed(),
    })
}

/// What the part that is looked at does.
///
/// # Errors
/// A sentence when the circuit has no solution.
pub fn effect(request: &Request, adjustable: usize) -> Result<PartEffect, String> {
    let amp = request.solved()?;
    let parts = &request.amp.adjustables()[adjustable].parts;
    let part = *parts.first().ok_or("This part is not known.")?;
    Ok(part_effect(&amp, part, request.path()))
}

/// Does the slow work. `cache` keeps what was worked out before; `thorough` is for what follows
/// when the rest is known: the volume control and a burst; `go_on` is told the share that is
/// done and answers whether to go on; none when it says no.
///
/// # Errors
/// A sentence when there is no verdict.
pub fn slow(
    request: &Request,
    cache: &mut Cache,
    thorough: bool,
    go_on: &mut dyn FnMut(f64) -> bool,
) -> Option<Result<Judged, String>> {
    let amp = match request.solved() {
        Ok(amp) => amp,
        Err(fault) => return Some(Err(fault)),
    };
    let proposal = request.amp.proposal(&request.proposed, &request.as_found);
    let question = VerdictRequest {
        amp: &amp,
        proposal: &proposal,
        prices: &request.prices,
        played: None,
        thorough,
        idle_percent: None,
        boost_db: request.boost_db,
    };
    let answer = question.answer(cache, go_on)?;
    Some(match answer {
        Ok(answer) => Ok(Judged {
            valves: valve_chart(&answer.amp, Some(&answer.playing())),
            verdict: answer.verdict,
        }),
        Err(fault) => Err(in_words(&fault)),
    })
}
