//! What is played and how loud, where nobody states it otherwise.

use crate::advice::verdict::CalibratedSound;
use crate::sound::Sound;
use crate::sound::phrase::built_in_phrase;
use crate::units::peak_volts_from_dbu;
use std::sync::{Arc, LazyLock};

/// Level of a full-scale sine at the jack, dBu.
pub const INPUT_FULL_SCALE_DBU: f64 = 0.0;

/// Level at the loudspeaker that makes a full-scale sine, dBu: 34.6 V peak. A hot guitar goes beyond
/// it: a full-scale chord comes to 2.5 times that from the loudest built-in amp as it is filed, and to
/// 3.7 times with its controls turned up. A new plugin instance is therefore lowered (see
/// [`crate::live::settings`]).
pub const OUTPUT_FULL_SCALE_DBU: f64 = 30.0;

/// The built-in phrase, which is in volts at the jack; `output_full_scale_dbu` is the level heard
/// that makes a full-scale sine.
pub fn phrase_played(output_full_scale_dbu: f64) -> CalibratedSound {
    static PHRASE: LazyLock<Arc<Sound>> = LazyLock::new(|| Arc::new(built_in_phrase()));
    CalibratedSound {
        sound: Arc::clone(&PHRASE),
        input_volts: 1.0,
        output_volts: peak_volts_from_dbu(output_full_scale_dbu),
        may_exceed: true,
    }
}
