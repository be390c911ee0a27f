//! The plugin classes: their names and identities, which never change, and what their parameters
//! move.

use crate::circuit::{BuiltInCircuit, built_in_circuit};
use crate::device::Catalogue;
use crate::live::parameter_map::{OWN_CONTROLS, OWN_PARTS, ParameterMap};
use crate::live::{Adjustable, LiveAmp, NotLoaded};
use std::cell::Cell;
use std::sync::{Arc, OnceLock};

/// A class: an amp in a host's list. All classes are of one plugin type; which one an instance is of
/// is said while it is made (see [`mean`]).
#[derive(Debug)]
pub struct Class {
    /// Short name of its amp; none for the owner's own file.
    amp: Option<&'static str>,
    /// Name in a host's list.
    pub name: &'static str,
    /// CLAP identity.
    pub clap_id: &'static str,
    /// VST3 identity.
    pub vst3_id: [u8; 16],
    /// Its parameters, once they are known.
    parameters: OnceLock<ClassParameters>,
}

/// Name of the class for the owner's own file.
pub const OWN_NAME: &str = "Presolder Own Amp";
/// Its CLAP identity.
pub const OWN_CLAP_ID: &str = "org.presolder.own";
/// Its VST3 identity.
pub const OWN_VST3_ID: [u8; 16] = *b"PresolderOwnFile";

/// All classes, as hosts list them. Names and identities stay for ever.
pub static CLASSES: [Class; 5] = [
    Class::new(
        Some("bradawl"),
        "Presolder Bradawl 15",
        "org.presolder.bradawl",
        *b"PresolderBradawl",
    ),
    Class::new(
        Some("mizzle"),
        "Presolder Mizzle 5",
        "org.presolder.mizzle",
        *b"PresolderMizzle5",
    ),
    Class::new(
        Some("spokeshave"),
        "Presolder Spokeshave 18",
        "org.presolder.spokeshave",
        *b"PresolderSpokesh",
    ),
    Class::new(
        Some("sluice"),
        "Presolder Sluice 40",
        "org.presolder.sluice",
        *b"PresolderSluice4",
    ),
    Class::new(None, OWN_NAME, OWN_CLAP_ID, OWN_VST3_ID),
];

thread_local! {
    /// The class that is meant on this thread.
    static MEANT: Cell<Option<&'static Class>> = const { Cell::new(None) };
}

/// Does something while a class is meant on this thread: what the framework calls without saying for
/// which class, making an instance and mending a state, asks [`meant`].
pub fn mean<T>(class: &'static Class, does: impl FnOnce() -> T) -> T {
    /// Puts back what was meant before, also when unwinding.
    struct Back(Option<&'static Class>);
    impl Drop for Back {
        fn drop(&mut self) {
            MEANT.set(self.0);
        }
    }
    let _back = Back(MEANT.replace(Some(class)));
    does()
}

/// The class that is meant on this thread; where nobody says, as in the standalone, that for the
/// owner's own file.
pub fn meant() -> &'static Class {
    MEANT.get().unwrap_or(&CLASSES[CLASSES.len() - 1])
}

impl Class {
    const fn new(
        amp: Option<&'static str>,
        name: &'static str,
        clap_id: &'static str,
        vst3_id: [u8; 16],
    ) -> Self {
        Class {
            amp,
            name,
            clap_id,
            vst3_id,
            parameters: OnceLock::new(),
        }
    }

    /// Its parameters; its amp is read and solved once, when they are asked for.
    pub fn parameters(&'static self) -> &'static ClassParameters {
        self.parameters
            .get_or_init(|| ClassParameters::of(self.amp))
    }
}

/// What the parameters of a class stand for.
#[derive(Debug)]
pub struct ClassParameters {
    /// The amp whose file it starts with.
    pub amp: &'static BuiltInCircuit,
    /// Whether other files may be loaded.
    pub own: bool,
    /// Ids of its parameters, in their order.
    pub ids: Vec<String>,
    /// What a built-in amp's parameters are; empty for the owner's own file, where they vary.
    pub adjustables: Vec<Adjustable>,
    /// The class's own amp, read, compiled and solved once.
    live: LiveAmp,
    /// The valves, rectifiers and loudspeakers that come with the program.
    pub catalogue: Arc<Catalogue>,
}

impl ClassParameters {
    /// Those of an amp; without one, of the owner's own file.
    fn of(amp: Option<&'static str>) -> Self {
        let own = amp.is_none();
        let amp = built_in_circuit(amp.unwrap_or("bradawl")).expect("a built-in amp");
        let catalogue = Arc::new(Catalogue::built_in());
        let live = LiveAmp::read(amp.text.as_bytes(), None, catalogue.clone())
            .expect("a built-in amp is in order");
        let adjustables = live.adjustables().to_vec();
        let ids = match own {
            false => adjustables
                .iter()
                .map(|adjustable| adjustable.id.clone())
                .collect(),
            true => (1..=OWN_PARTS)
                .map(|number| format!("part{number}"))
                .chain((1..=OWN_CONTROLS).map(|number| format!("control{number}")))
                .collect(),
        };
        ClassParameters {
            adjustables: if own { Vec::new() } else { adjustables },
            live,
            amp,
            own,
            ids,
            catalogue,
        }
    }

    /// A parameter map of the class's own amp as its file has it.
    pub fn parameter_map(&self) -> ParameterMap {
        self.map_of(self.live.as_filed())
    }

    /// A parameter map of another file. For the owner's own file `slots` says from its amp which
    /// id each parameter moves; what is left out follows.
    ///
    /// # Errors
    /// Why the file cannot be loaded.
    pub fn map_for(
        &self,
        bytes: &[u8],
        path: Option<&std::path::Path>,
        slots: impl FnOnce(&LiveAmp) -> Vec<Option<String>>,
    ) -> Result<ParameterMap, NotLoaded> {
        let amp = LiveAmp::read(bytes, path, self.catalogue.clone())?;
        if self.own {
            let ids = slots(&amp);
            return Ok(ParameterMap::for_slots(amp, &ids));
        }
        Ok(self.map_of(amp))
    }

    fn map_of(&self, amp: LiveAmp) -> ParameterMap {
        match self.own {
            true => ParameterMap::for_own_file(amp),
            false => ParameterMap::for_parameters(amp, &self.ids),
        }
    }
}
