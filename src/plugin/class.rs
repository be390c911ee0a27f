//! The plugin classes: their names and identities, which never change, and what their parameters
//! move.

use crate::circuit::{BuiltInCircuit, built_in_circuit};
use crate::device::Catalogue;
use crate::live::parameter_map::{OWN_CONTROLS, OWN_PARTS, ParameterMap};
use crate::live::{Adjustable, LiveAmp, NotLoaded};
use std::sync::{Arc, OnceLock};

/// A class as a marker type.
pub trait Class: Send + Sync + 'static {
    /// Short name of its amp; none for the owner's own file.
    const AMP: Option<&'static str>;
    /// Name in a host's list.
    const NAME: &'static str;
    /// CLAP identity.
    const CLAP_ID: &'static str;
    /// VST3 identity.
    const VST3_ID: [u8; 16];
    /// Where its parameters are kept once they are known.
    fn cell() -> &'static OnceLock<ClassParameters>;
}

macro_rules! classes {
    ($($marker:ident, $amp:expr, $name:literal, $clap:literal, $vst3:literal, $about:literal;)*) => {
        $(
            #[doc = $about]
            #[derive(Debug)]
            pub struct $marker;

            impl Class for $marker {
                const AMP: Option<&'static str> = $amp;
                const NAME: &'static str = $name;
                const CLAP_ID: &'static str = $clap;
                const VST3_ID: [u8; 16] = *$vst3;
                fn cell() -> &'static OnceLock<ClassParameters> {
                    static CELL: OnceLock<ClassParameters> = OnceLock::new();
                    &CELL
                }
            }
        )*
    };
}

classes! {
    Bradawl, Some("bradawl"), "Presolder Bradawl 15", "org.presolder.bradawl", b"PresolderBradawl",
        "The built-in Bradawl 15.";
    Mizzle, Some("mizzle"), "Presolder Mizzle 5", "org.presolder.mizzle", b"PresolderMizzle5",
        "The built-in Mizzle 5.";
    Spokeshave, Some("spokeshave"), "Presolder Spokeshave 18", "org.presolder.spokeshave",
        b"PresolderSpokesh", "The built-in Spokeshave 18.";
    Sluice, Some("sluice"), "Presolder Sluice 40", "org.presolder.sluice", b"PresolderSluice4",
        "The built-in Sluice 40.";
    OwnFile, None, "Presolder Own Amp", "org.presolder.own", b"PresolderOwnFile",
        "Any circuit-values file.";
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
    /// Those of a class.
    pub fn of<C: Class>() -> &'static ClassParameters {
        C::cell().get_or_init(|| {
            let amp = built_in_circuit(C::AMP.unwrap_or("bradawl")).expect("a built-in amp");
            let catalogue = Arc::new(Catalogue::built_in());
            let live = LiveAmp::read(amp.text.as_bytes(), None, catalogue.clone())
                .expect("a built-in amp is in order");
            let adjustables = live.adjustables().to_vec();
            let own = C::AMP.is_none();
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
        })
    }

    /// A parameter map of the class's own amp as its file has it.
    pub fn parameter_map(&self) -> ParameterMap {
        self.map_of(self.live.as_filed())
    }

    /// A parameter map of another file.
    ///
    /// # Errors
    /// Why the file cannot be loaded.
    pub fn map_for(
        &self,
        bytes: &[u8],
        path: Option<&std::path::Path>,
    ) -> Result<ParameterMap, NotLoaded> {
        let amp = LiveAmp::read(bytes, path, self.catalogue.clone())?;
        Ok(self.map_of(amp))
    }

    fn map_of(&self, amp: LiveAmp) -> ParameterMap {
        match self.own {
            true => ParameterMap::for_own_file(amp),
            false => ParameterMap::for_parameters(amp, &self.ids),
        }
    }
}
