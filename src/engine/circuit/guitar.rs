//! The guitar that drives an amp's jack: pickup, pots, lead, and the input that the dry track was
//! recorded through.
//!
//! A guitar belongs to the question, not to the amp: no circuit file holds one, and a
//! [`super::Circuit`] without one ([`super::Circuit::with_guitar`]) is driven from next to no
//! impedance, as a pedal with a buffer drives it.
//!
//! # What a dry track asks for
//!
//! Let the guitar, at the end of its lead, be the source `e` behind the impedance `Zg`. The track was
//! recorded while the interface's admittance `Yi` loaded it:
//!
//! ```text
//! v = e / (1 + Zg·Yi)
//! ```
//!
//! At the amp's jack the guitar shall stand without the interface: `e` behind `Zg`. By Thévenin's
//! theorem guitar and interface together, seen from the lead's end, are the source `v` (what stands
//! there open is what was recorded) behind `Zg` in parallel with `1/Yi`. A further admittance `−Yi`
//! beside the amp's own takes the interface away again:
//!
//! ```text
//! (v behind Zg ∥ 1/Yi) ∥ −Yi  =  (e behind Zg) ∥ Yi ∥ −Yi  =  e behind Zg
//! ```
//!
//! This is exact for whatever hangs on the jack, linear or not: no more than the two terminals was
//! asked for. It needs no filter of the track and no knowledge of `e`. `Zg ∥ 1/Yi` between track and
//! jack is the guitar's own network with the interface across its output, the track standing where
//! its ground stood (a source is replaced by its inner impedance, so the pickup's own voltage is 0):
//!
//! ```text
//!               volume                     (tone: pot and capacitor
//!         ┌──────/\/\/\──────┐              from pickup to track)
//!         │         │        │
//!       pickup    wiper ── jack ──┬── amp
//!         │                  │    │
//!         └───────┬──────────┘   −Yi
//!               track             │
//!                 │             ground
//!               ground
//! ```
//!
//! The lead, and the interface's `Yi`, lie between jack and track like the pots. Together `Yi` and
//! `−Yi` draw `Yi·(jack − track) − Yi·jack = −Yi·track` from the jack, whatever its voltage: of the
//! interface nothing is left but a current that the track gives (`network/guitar.rs` writes it so),
//! and with the track held the matrix is that of the guitar on the amp, which is passive.
//! `tests/solver/guitar.rs` compares it with the guitar's own voltage played into the amp.
//!
//! Not modelled: the inductance's fall with frequency by eddy currents but for one loss resistance.

use super::Taper;
use serde::Serialize;

/// A guitar, its lead, and what its track was recorded through; SI units.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct Guitar {
    /// What it is called.
    pub name: String,
    /// The pickup's inductance, H.
    pub pickup_henries: f64,
    /// Its winding's resistance, Ω.
    pub pickup_ohms: f64,
    /// Its winding's capacitance, F.
    pub pickup_farads: f64,
    /// Resistance across the inductance that stands for its losses, Ω; infinite without any.
    pub loss_ohms: f64,
    /// The volume pot.
    pub volume: GuitarPot,
    /// The tone pot, from the pickup to the tone capacitor.
    pub tone: GuitarPot,
    /// The tone capacitor, F.
    pub tone_farads: f64,
    /// The lead's capacitance, F.
    pub lead_farads: f64,
    /// Input resistance of the interface that recorded the track, Ω.
    pub interface_ohms: f64,
    /// Its input capacitance, F.
    pub interface_farads: f64,
}

/// A pot in a guitar.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct GuitarPot {
    /// End to end, Ω.
    pub ohms: f64,
    /// Rotation, 0 to 1.
    pub set: f64,
    /// How its track follows it.
    #[serde(skip)]
    pub taper: Taper,
}

impl GuitarPot {
    /// Share of the track between the low end and the wiper.
    pub fn low(&self) -> f64 {
        self.taper.share(self.set)
    }

    fn open(ohms: f64) -> Self {
        GuitarPot {
            ohms,
            set: 1.0,
            taper: Taper::Log,
        }
    }
}

/// Input resistance of an interface's instrument input, Ω (common practice, no source).
const INTERFACE_OHMS: f64 = 1e6;
/// Its capacitance, F (common practice, no source).
const INTERFACE_FARADS: f64 = 50e-12;
/// Five metres of lead at 100 pF a metre, F (from memory; 300 to 1000 pF are published: H. Lemme,
/// article on pickups, update of 22 July 2003, seen).
const LEAD_FARADS: f64 = 500e-12;
/// The tone capacitor, F (22 to 47 nF: common practice, seen).
const TONE_FARADS: f64 = 22e-9;

/// A guitar that comes with the program.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum NamedGuitar {
    /// One coil on rod magnets.
    SingleCoil,
    /// Two coils in series.
    Humbucker,
}

impl NamedGuitar {
    /// All of them.
    pub const ALL: [NamedGuitar; 2] = [NamedGuitar::SingleCoil, NamedGuitar::Humbucker];

    /// The word for it on the command line and in files.
    pub fn word(self) -> &'static str {
        match self {
            NamedGuitar::SingleCoil => "single-coil",
            NamedGuitar::Humbucker => "humbucker",
        }
    }

    /// The one of this word, in any case.
    pub fn of_word(word: &str) -> Option<Self> {
        let mut all = Self::ALL.into_iter();
        all.find(|one| one.word().eq_ignore_ascii_case(word))
    }

    /// It, its pots turned up.
    ///
    /// A single coil of 42 AWG wire has about 2.8 H (two measurers' notes, seen) and its winding
    /// 80 to 200 pF (H. Lemme, as above, seen); 6 kΩ, 110 pF and 1 MΩ of losses are common
    /// practice, no source. A humbucker of two coils of 5000 turns has 4.4 H, 96.7 pF (from its own
    /// resonance at 7.715 kHz) and 319 kΩ there, so that its losses come to about 330 kΩ (a
    /// measured set in a public script, seen; computed from it); 8.5 kΩ is for 5000 ft of the wire
    /// (two measurers' notes, seen). Pots of 250 kΩ and 500 kΩ are common practice, from memory.
    pub fn guitar(self) -> Guitar {
        let (pickup, pot) = match self {
            NamedGuitar::SingleCoil => ([2.8, 6e3, 110e-12, 1e6], 250e3),
            NamedGuitar::Humbucker => ([4.4, 8.5e3, 96.7e-12, 330e3], 500e3),
        };
        let [pickup_henries, pickup_ohms, pickup_farads, loss_ohms] = pickup;
        Guitar {
            name: self.word().into(),
            pickup_henries,
            pickup_ohms,
            pickup_farads,
            loss_ohms,
            volume: GuitarPot::open(pot),
            tone: GuitarPot::open(pot),
            tone_farads: TONE_FARADS,
            lead_farads: LEAD_FARADS,
            interface_ohms: INTERFACE_OHMS,
            interface_farads: INTERFACE_FARADS,
        }
    }
}
