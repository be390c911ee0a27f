//! A checked circuit as an ngspice netlist.
//!
//! Takes the parts of a [`Circuit`], not the branches that the engine makes of them, and writes
//! each with ngspice's own primitives and each valve as sources with its law spelt out, so that
//! agreement between the two programs says something about both. Only resistors, capacitors,
//! inductors, sources and square roots are used: ngspice limits `exp` and bends `pwr`.

#![allow(dead_code)]

#[path = "netlist_composites.rs"]
mod composites;
#[path = "netlist_laws.rs"]
mod laws;

use engine::circuit::{Circuit, Guitar, NodeId, Part, PartKind};
use engine::device::{Valve, ValveLaw};
use std::fmt::Write;

/// What the network has beside the parts, as the engine's documentation states it: a leak at every
/// node, the jack's resistance, a closed and an open contact, each end of a pot's track (Ω), the
/// capacitance from screen to cathode (F).
const LEAK_OHMS: f64 = 1e12;
const JACK_OHMS: f64 = 1.0;
const CLOSED_OHMS: f64 = 0.05;
const OPEN_OHMS: f64 = 1e12;
const POT_END_OHMS: f64 = 1.0;
const SCREEN_FARADS: f64 = 10e-12;

/// Name of a node in the netlist.
pub fn node(id: NodeId) -> String {
    if id.0 == 0 {
        "0".into()
    } else {
        format!("n{}", id.0)
    }
}

/// How a valve's law is written.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub enum Form {
    /// In steps, each a node of its own: what ngspice is quickest with.
    #[default]
    Steps,
    /// One expression a current.
    OnePiece,
}

/// The parts, and the jack driven with `input`: an expression of `time` that is 0 at rest, with a
/// source of 1 V for the small-signal response in series. No title and no `.end`.
pub fn netlist(circuit: &Circuit, form: Form, input: &str) -> String {
    let mut out = Netlist {
        form,
        ..Netlist::default()
    };
    for id in 1..circuit.nodes().len() {
        out.resistor(&node(NodeId(id as u16)), "0", LEAK_OHMS);
    }
    out.line(format_args!("bjack jack 0 v={input}"));
    out.line(format_args!("vjack driven jack dc 0 ac 1"));
    match circuit.guitar() {
        None => out.resistor("driven", &node(circuit.input()), JACK_OHMS),
        Some(guitar) => out.guitar(guitar, &node(circuit.input())),
    }
    for part in circuit.parts().iter().filter(|part| part.fitted) {
        out.part(part);
    }
    out.text
}

/// The netlist so far; primitives are numbered as they come.
#[derive(Default)]
struct Netlist {
    form: Form,
    text: String,
    count: usize,
}

impl Netlist {
    fn line(&mut self, line: std::fmt::Arguments) {
        self.count += 1;
        writeln!(self.text, "{line}").expect("writing to memory");
    }

    fn resistor(&mut self, a: &str, b: &str, ohms: f64) {
        let n = self.count;
        self.line(format_args!("r{n} {a} {b} {ohms:e}"));
    }

    fn capacitor(&mut self, a: &str, b: &str, farads: f64) {
        let n = self.count;
        self.line(format_args!("c{n} {a} {b} {farads:e}"));
    }

    fn inductor(&mut self, a: &str, b: &str, henries: f64) {
        let n = self.count;
        self.line(format_args!("l{n} {a} {b} {henries:e}"));
    }

    fn current(&mut self, from: &str, to: &str, law: &str) {
        let n = self.count;
        self.line(format_args!("b{n} {from} {to} i={law}"));
    }

    /// An inner node of the next part.
    fn inner(&mut self) -> String {
        let name = format!("x{}", self.count);
        self.resistor(&name, "0", LEAK_OHMS);
        name
    }

    /// Resistance in series with an inductance, which may have a resistance across it.
    fn coil(&mut self, a: &str, b: &str, ohms: f64, henries: f64, across: Option<f64>) {
        if henries == 0.0 {
            return self.resistor(a, b, ohms);
        }
        let middle = format!("m{}", self.count);
        let inner = if ohms == 0.0 { a } else { &middle };
        if ohms != 0.0 {
            self.resistor(a, inner, ohms);
        }
        self.inductor(inner, b, henries);
        if let Some(across) = across {
            self.resistor(inner, b, across);
        }
    }

    /// A constant source with its resistance.
    fn source(&mut self, a: &str, b: &str, volts: f64, ohms: f64) {
        let n = self.count;
        self.line(format_args!("v{n} s{n} {b} dc {volts:e}"));
        self.resistor(&format!("s{n}"), a, ohms);
    }

    /// A guitar between the track and the jack, and the interface taken away again.
    fn guitar(&mut self, guitar: &Guitar, jack: &str) {
        let [pickup, tone] = [self.inner(), self.inner()];
        let track = "driven";
        let loss = Some(guitar.loss_ohms).filter(|ohms| ohms.is_finite());
        let (ohms, henries) = (guitar.pickup_ohms, guitar.pickup_henries);
        self.coil(&pickup, track, ohms, henries, loss);
        self.capacitor(&pickup, track, guitar.pickup_farads);
        let low = guitar.volume.taper.share(guitar.volume.set);
        let ohms = guitar.volume.ohms;
        self.resistor(&pickup, jack, ohms * (1.0 - low) + POT_END_OHMS);
        self.resistor(jack, track, ohms * low + POT_END_OHMS);
        let low = guitar.tone.taper.share(guitar.tone.set);
        self.resistor(&pickup, &tone, guitar.tone.ohms * low + POT_END_OHMS);
        self.capacitor(&tone, track, guitar.tone_farads);
        self.capacitor(jack, track, guitar.lead_farads);
        self.capacitor(jack, track, guitar.interface_farads);
        self.resistor(jack, track, guitar.interface_ohms);
        self.resistor(jack, "0", -guitar.interface_ohms);
        self.capacitor(jack, "0", -guitar.interface_farads);
    }

    fn part(&mut self, part: &Part) {
        match &part.kind {
            PartKind::Resistor {
                ohms,
                between: [a, b],
            } => self.resistor(&node(*a), &node(*b), *ohms),
            PartKind::Capacitor {
                farads,
                between: [a, b],
            } => self.capacitor(&node(*a), &node(*b), *farads),
            PartKind::Inductor {
                henries,
                winding_ohms,
                between: [a, b],
            } => self.coil(&node(*a), &node(*b), *winding_ohms, *henries, None),
            PartKind::Pot {
                ohms,
                taper,
                from,
                to,
                wiper,
                set,
                ..
            } => {
                let low = ohms * taper.share(*set);
                self.resistor(&node(*from), &node(*wiper), ohms - low + POT_END_OHMS);
                self.resistor(&node(*wiper), &node(*to), low + POT_END_OHMS);
            }
            PartKind::Switch {
                closed,
                between: [a, b],
                ..
            } => {
                let ohms = if *closed { CLOSED_OHMS } else { OPEN_OHMS };
                self.resistor(&node(*a), &node(*b), ohms);
            }
            PartKind::Triode {
                valve,
                anode,
                grid,
                cathode,
            } => {
                let [a, g, k] = [anode, grid, cathode].map(|n| node(*n));
                let ValveLaw::Triode(law) = &valve.law else {
                    panic!("{} is a triode", part.designator)
                };
                self.electrodes(valve, &a, &g, &k);
                let law = laws::triode(&format!("t{}", self.count), law, [&a, &g, &k]);
                self.valve(law, &k);
            }
            PartKind::Pentode {
                valve,
                anode,
                screen,
                grid,
                cathode,
            } => {
                let [a, s, g, k] = [anode, screen, grid, cathode].map(|n| node(*n));
                let ValveLaw::Pentode(law) = &valve.law else {
                    panic!("{} is a pentode", part.designator)
                };
                self.electrodes(valve, &a, &g, &k);
                self.capacitor(&s, &k, SCREEN_FARADS);
                let law = laws::pentode(&format!("p{}", self.count), law, [&a, &s, &g, &k]);
                self.valve(law, &k);
            }
            rectifier @ PartKind::Rectifier { .. } => self.rectifier(rectifier),
            PartKind::OutputTransformer(transformer) => self.transformer(transformer),
            PartKind::Loudspeaker {
                driver,
                between: [a, b],
            } => self.loudspeaker(driver, &node(*a), &node(*b)),
            PartKind::Supply {
                volts,
                ohms,
                node: at,
            }
            | PartKind::BiasSupply {
                volts,
                ohms,
                node: at,
            } => self.source(&node(*at), "0", *volts, *ohms),
            PartKind::VoltageSource {
                volts,
                ohms,
                between: [a, b],
            } => self.source(&node(*a), &node(*b), *volts, *ohms),
        }
    }

    fn rectifier(&mut self, kind: &PartKind) {
        let PartKind::Rectifier {
            rectifier,
            winding_volts,
            winding_ohms,
            to,
            from,
        } = kind
        else {
            unreachable!("the caller matched a rectifier")
        };
        let [to, from] = [to, from].map(|n| node(*n));
        let winding = (*winding_volts, *winding_ohms);
        let label = format!("d{}", self.count);
        let law = laws::rectifier(&label, rectifier.perveance, winding, [&to, &from]);
        self.law(law, &to);
    }

    fn valve(&mut self, law: laws::Law, k: &str) {
        match self.form {
            Form::Steps => self.law(law, k),
            Form::OnePiece => self.law(law.in_one_piece(), k),
        }
    }

    /// The steps of a law as currents through 1 Ω, its currents from the electrodes to `k`.
    fn law(&mut self, law: laws::Law, k: &str) {
        for (at, value) in &law.steps {
            self.resistor(at, "0", 1.0);
            self.current("0", at, value);
        }
        for (electrode, value) in &law.currents {
            self.current(electrode, k, value);
        }
    }

    fn electrodes(&mut self, valve: &Valve, a: &str, g: &str, k: &str) {
        self.capacitor(a, g, valve.grid_anode_farads);
        self.capacitor(g, k, valve.grid_cathode_farads);
        self.capacitor(a, k, valve.anode_cathode_farads);
    }
}
