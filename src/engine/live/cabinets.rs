//! What the amps are heard through, of both sides, left and right: the loudspeaker of each, the
//! line, or an impulse response; changed while they play by a cross-fade.
//!
//! A convolver is made off the audio thread, comes to it in a box, and goes back in one to be freed
//! elsewhere. One that nobody hears does no work.

use super::fade::{Correlation, Fade};
use super::lanes::{LANES, Lines, PIECE};
use crate::realtime::cabinet::Convolver;
use std::ops::Range;

/// What the amps are heard through.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum CabinetChoice {
    /// What each amp's loudspeaker radiates; the line where a node is heard.
    #[default]
    Loudspeaker,
    /// The voltage at the output.
    Line,
    /// The impulse response; the loudspeaker as long as there is none.
    Impulse,
}

/// An impulse response at the rate of the session, ready to play, or that there is none.
pub type Response = Option<Convolver<LANES>>;

/// Time that a new way runs unheard, s: what an impulse response of a cabinet remembers, and long
/// enough to see how alike the two ways sound.
const RUN_IN_SECONDS: f64 = 0.05;
/// Length of the cross-fade, s.
const FADE_SECONDS: f64 = 0.010;

/// A way that sound can go.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Way {
    Radiated,
    Line,
    /// Through the response that is there.
    Present,
    /// Through the one that has come.
    Coming,
}

/// A change of the way.
#[derive(Clone, Copy, Debug)]
struct Change {
    to: Way,
    /// Samples of the whole run-in, those that are left of it, and of the fade after that.
    length: usize,
    run_in: usize,
    fading: usize,
    fade: Fade,
    correlation: Correlation,
}

/// See the module.
#[derive(Debug)]
pub struct Cabinets {
    rate: f64,
    wanted: CabinetChoice,
    way: Way,
    change: Option<Change>,
    present: Box<Response>,
    coming: Option<Box<Response>>,
    gone: Option<Box<Response>>,
    old: Box<Lines>,
    new: Box<Lines>,
}

impl Cabinets {
    /// At first, at a rate in hertz, without an impulse response.
    pub fn new(rate: f64) -> Self {
        Cabinets {
            rate,
            wanted: CabinetChoice::default(),
            way: Way::Radiated,
            change: None,
            present: Box::new(None),
            coming: None,
            gone: None,
            old: Box::new([[0.0; PIECE]; LANES]),
            new: Box::new([[0.0; PIECE]; LANES]),
        }
    }

    /// Whether a response may be given.
    pub fn takes(&self) -> bool {
        self.coming.is_none() && self.gone.is_none()
    }

    /// Gives a response that takes the place of the present one: at once where nobody hears that,
    /// else by a cross-fade. Returns what is to be thrown away elsewhere. Call only if
    /// [`Cabinets::takes`].
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn give(&mut self, response: Box<Response>) -> Option<Box<Response>> {
        let heard = self.way == Way::Present || self.change.is_some_and(|c| c.to == Way::Present);
        if heard {
            self.coming = Some(response);
            return None;
        }
        Some(std::mem::replace(&mut self.present, response))
    }

    /// The response that a finished change has left, to be thrown away elsewhere.
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn finished(&mut self) -> Option<Box<Response>> {
        self.gone.take()
    }

    /// Asks for a way, from the next sample on.
    ///
    /// # Real-time
    /// Allocates nothing.
    pub fn ask(&mut self, through: CabinetChoice) {
        self.wanted = through;
    }

    /// As at first: the way that is asked for, at once.
    ///
    /// # Real-time
    /// Allocates and frees nothing.
    pub fn settle(&mut self) {
        self.change = None;
        self.take_coming();
        self.way = self.goal();
        if let Some(convolver) = &mut *self.present {
            convolver.reset();
        }
    }

    /// Puts the response that has come in its place.
    fn take_coming(&mut self) {
        if let Some(coming) = self.coming.take() {
            self.gone = Some(std::mem::replace(&mut self.present, coming));
        }
    }

    /// Where things are to go.
    fn goal(&self) -> Way {
        let response = |response: &Response| response.is_some();
        match (self.wanted, &self.coming) {
            (CabinetChoice::Line, _) => Way::Line,
            (CabinetChoice::Impulse, Some(coming)) if response(coming) => Way::Coming,
            (CabinetChoice::Impulse, None) if response(&self.present) => Way::Present,
            _ => Way::Radiated,
        }
    }

    /// Begins a change if one is due.
    fn begin(&mut self) {
        if self.change.is_some() {
            return;
        }
        // A response that has come while nobody hears the present one any more.
        if self.way != Way::Present && self.gone.is_none() {
            self.take_coming();
        }
        let to = self.goal();
        if to == self.way {
            return;
        }
        let convolver = match to {
            Way::Present => Some(&mut *self.present),
            Way::Coming => self.coming.as_deref_mut(),
            Way::Radiated | Way::Line => None,
        };
        if let Some(convolver) = convolver.and_then(Option::as_mut) {
            convolver.reset();
        }
        let samples = |seconds: f64| (seconds * self.rate).round().max(1.0);
        self.change = Some(Change {
            to,
            length: samples(RUN_IN_SECONDS) as usize,
            run_in: samples(RUN_IN_SECONDS) as usize,
            fading: samples(FADE_SECONDS) as usize,
            fade: Fade::new(0.0, samples(FADE_SECONDS)),
            correlation: Correlation::new(self.rate),
        });
    }

    /// Processes `count` samples: volts at the output in `sound`, what the loudspeakers make of
    /// them in `radiated`; what is heard is left in `sound`. The sample on which a change ended, if
    /// one did.
    ///
    /// # Real-time
    /// Allocates nothing; the result does not depend on how a signal is cut into pieces.
    pub fn process(&mut self, sound: &mut Lines, radiated: &Lines, count: usize) -> Option<usize> {
        let mut ended = None;
        let mut start = 0;
        while start < count {
            self.begin();
            let source = [&*sound, radiated];
            let responses = (&mut *self.present, self.coming.as_deref_mut());
            let Some(mut change) = self.change.take() else {
                run(
                    self.way,
                    responses,
                    source,
                    &mut self.new,
                    start..count,
                    |_| 1.0,
                );
                put(sound, &self.new, start..count);
                break;
            };
            let most = match change.run_in {
                0 => change.fading,
                left => left,
            };
            let end = count.min(start + most);
            let range = start..end;
            let (present, mut coming) = responses;
            let responses = (&mut *present, coming.as_deref_mut());
            run(
                self.way,
                responses,
                source,
                &mut self.old,
                range.clone(),
                |_| 1.0,
            );
            let rise = |i: usize| change.rise(i - start);
            run(
                change.to,
                (present, coming),
                source,
                &mut self.new,
                range.clone(),
                rise,
            );
            if change.run_in > 0 {
                change.listen(&self.old, &self.new, range.clone());
                put(sound, &self.old, range);
            } else {
                for i in range {
                    let [old, new] = change.fade.gains();
                    for (lane, line) in sound.iter_mut().enumerate() {
                        line[i] = self.old[lane][i] * old + self.new[lane][i] * new;
                    }
                }
                change.fading -= end - start;
            }
            if change.fading > 0 {
                self.change = Some(change);
            } else {
                ended = Some(end - 1);
                self.way = change.to;
                if change.to == Way::Coming {
                    self.take_coming();
                    self.way = Way::Present;
                }
            }
            start = end;
        }
        ended
    }
}

impl Change {
    /// How much the new way hears of the sample after so many more. A sound that began at once
    /// would come back as a click from wherever the impulse response has an echo.
    fn rise(&self, samples: usize) -> f64 {
        match self.run_in.saturating_sub(samples) {
            0 => 1.0,
            left => {
                let place = 1.0 - left as f64 / self.length as f64;
                place * place * (3.0 - 2.0 * place)
            }
        }
    }

    /// Samples of the run-in.
    fn listen(&mut self, old: &Lines, new: &Lines, range: Range<usize>) {
        self.run_in -= range.len();
        for i in range {
            let sum = |lines: &Lines| lines.iter().map(|line| line[i]).sum();
            self.correlation.sample(sum(old), sum(new));
        }
        if self.run_in == 0 {
            self.fade.aim(1.0, self.correlation.value());
        }
    }
}

/// Sends a range of samples a way; a convolver hears as much of each as `rise` says.
fn run(
    way: Way,
    (present, coming): (&mut Response, Option<&mut Response>),
    [sound, radiated]: [&Lines; 2],
    into: &mut Lines,
    range: Range<usize>,
    rise: impl Fn(usize) -> f64,
) {
    let source = match way {
        Way::Radiated => radiated,
        Way::Line | Way::Present | Way::Coming => sound,
    };
    put(into, source, range.clone());
    let convolver = match way {
        Way::Present => present.as_mut(),
        Way::Coming => coming.and_then(Option::as_mut),
        Way::Radiated | Way::Line => None,
    };
    if let Some(convolver) = convolver {
        for i in range.clone() {
            let rise = rise(i);
            into.iter_mut().for_each(|line| line[i] *= rise);
        }
        let mut lines = into.each_mut().map(|line| &mut line[range.clone()]);
        convolver.process(&mut lines);
    }
}

/// Copies a range of samples.
fn put(into: &mut Lines, from: &Lines, range: Range<usize>) {
    for (into, from) in into.iter_mut().zip(from) {
        into[range.clone()].copy_from_slice(&from[range.clone()]);
    }
}
