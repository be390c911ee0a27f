//! What stands in front of the amp: the guitar, and a boost.

use crate::analysis::headroom::CleanHeadroom;
use crate::circuit::Guitar;
use crate::solve::solved::Both;
use crate::text::digits::{fixed, printed};
use crate::units::{Quantity, decibels_from_ratio, peak_from_rms};
use serde::Serialize;

/// What a pedal that lifts the level leaves of the clean headroom.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Boost {
    /// Lift in front of the jack, dB.
    pub db: f64,
    /// How far the loudest moment of the playing so lifted stays below the level at which the first
    /// stage clips, dB; negative beyond it; none where nothing clips or nothing is played.
    pub to_spare_db: Both<Option<f64>>,
}

impl Boost {
    /// From the clean limits of both sides and the peak of what is played, V at the jack.
    pub fn of(db: f64, clean: &Both<&CleanHeadroom>, peak_volts: f64) -> Self {
        let spare = |clean: &&CleanHeadroom| {
            let limit = peak_from_rms(clean.clip_volts()?);
            (peak_volts > 0.0).then(|| decibels_from_ratio(limit / peak_volts) - db)
        };
        Boost {
            db,
            to_spare_db: clean.map(spare),
        }
    }

    /// "Stays clean with a 12 dB boost: 3.0 dB to spare (as found 1.0 dB)."
    pub fn in_words(&self) -> String {
        let boost = printed(self.db);
        let Some(is) = self.to_spare_db.proposed else {
            return format!("Stays clean with a {boost} dB boost: nothing clips.");
        };
        let by = |db: f64| format!("{} dB", fixed(db.abs(), 1));
        let was = match self.to_spare_db.as_found {
            Some(was) if by(was) == by(is) && (was < 0.0) == (is < 0.0) => "as found too".into(),
            Some(was) if (was < 0.0) == (is < 0.0) => format!("as found {}", by(was)),
            Some(was) if was < 0.0 => format!("as found it clips {} before that", by(was)),
            Some(was) => format!("as found it stays clean, {} to spare", by(was)),
            None => "as found nothing clips".into(),
        };
        match is < 0.0 {
            false => format!(
                "Stays clean with a {boost} dB boost: {} to spare ({was}).",
                by(is)
            ),
            true => format!(
                "With a {boost} dB boost it clips {} before that ({was}).",
                by(is)
            ),
        }
    }
}

/// What is assumed to drive the jack.
pub fn guitar_in_words(guitar: Option<&Guitar>) -> String {
    let Some(guitar) = guitar else {
        return "No guitar is assumed: the jack is driven as by a pedal with a buffer. What parts at \
                the jack do to a guitar is not counted."
            .into();
    };
    format!(
        "The guitar is assumed: {}, {} with {} and {} of lead, volume at {}, tone at {}. The track \
         counts as recorded through {}.",
        guitar.name,
        Quantity::Inductance.in_words(guitar.pickup_henries),
        Quantity::Resistance.in_words(guitar.volume.ohms),
        Quantity::Capacitance.in_words(guitar.lead_farads),
        printed(10.0 * guitar.volume.set),
        printed(10.0 * guitar.tone.set),
        Quantity::Resistance.in_words(guitar.interface_ohms),
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_boost_is_told_by_how_much() {
        let boost = |as_found, proposed| Boost {
            db: 12.0,
            to_spare_db: Both { as_found, proposed },
        };
        let both = [boost(Some(1.0), Some(3.0)), boost(Some(1.0), Some(-5.0))];
        let words = both.map(|boost| boost.in_words());
        assert!(words[0].contains("12 dB boost: 3.0 dB to spare"));
        assert!(words[1].contains("clips 5.0 dB before"));
        assert!(!boost(None, None).in_words().is_empty());
    }
}
