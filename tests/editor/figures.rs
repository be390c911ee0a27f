//! Figures of the demonstration's amp as the engine has them, which the window must show.

use presolder::analysis::response::{Path, gains};
use presolder::analysis::voltages::chart;
use presolder::circuit::{built_in_circuit, read};
use presolder::device::Catalogue;
use presolder::solve::solved::SolvedAmp;

/// One circuit's figures.
pub struct Figures {
    /// Gain at 1 kHz, dB.
    pub gain_db: f64,
    /// Anode dissipation of V3 at rest, W; its limit is 12 W.
    pub anode_watts: f64,
}

/// Of Bradawl 15 with its bias feed at a value.
pub fn bradawl(bias_feed: &str) -> Figures {
    let text = built_in_circuit("Bradawl 15").expect("a built-in amp").text;
    let line = "R505 = { resistor = \"";
    let (before, after) = text.split_once(line).expect("the bias feed");
    let (_, after) = after.split_once('"').expect("its value");
    let text = format!("{before}{line}{bias_feed}\"{after}");
    let circuit = read(&text, &Catalogue::built_in()).expect("a sound file");
    let amp = SolvedAmp::new(&circuit, None).expect("an operating point");
    let gain = gains(&amp.network, &amp.as_found, Path::default(), &[1e3])[0];
    let valves = chart(&amp.network, &amp.as_found).valves;
    Figures {
        gain_db: 20.0 * gain.norm().log10(),
        anode_watts: valves.get("V3").expect("an output valve").anode_watts,
    }
}

impl Figures {
    /// Anode dissipation against its limit, per cent.
    pub fn anode_percent(&self) -> f64 {
        100.0 * self.anode_watts / 12.0
    }
}
