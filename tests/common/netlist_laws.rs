//! The device laws as ngspice expressions, written from the formulas in the documentation of
//! `engine::device` and the fitted parameters, not from the code that evaluates them.
//!
//! A law is cut into steps; each is a node of its own that carries its value in volts. ngspice
//! expands the derivatives of an expression without sharing anything, so that a law in one piece
//! is many times slower. Before ngspice has converged a step may carry what its expression never
//! gives, such as a negative ramp: so the ramp `s` travels as its root, and positive parts are taken
//! again where they are used. `uramp(x)` is the larger of x and 0. Integer powers are products,
//! because `^` and `pwr` have readings of their own for negative arguments.

use engine::device::{GridLaw, PentodeLaw, TriodeLaw};
use std::f64::consts::{PI, SQRT_2};

/// Steps of a law and the currents that come of them, as expressions.
#[derive(Default)]
pub struct Law {
    /// Node and the value that it carries.
    pub steps: Vec<(String, String)>,
    /// Electrode and the current into it, A.
    pub currents: Vec<(String, String)>,
}

impl Law {
    /// The same without steps: each is written out wherever it is used.
    pub fn in_one_piece(mut self) -> Law {
        while !self.steps.is_empty() {
            let (node, value) = self.steps.remove(0);
            let (reference, value) = (format!("v({node})"), format!("({value})"));
            for (_, expression) in self.steps.iter_mut().chain(&mut self.currents) {
                *expression = expression.replace(&reference, &value);
            }
        }
        self
    }

    /// Adds a step and returns how expressions refer to it.
    fn step(&mut self, node: String, value: String) -> String {
        let reference = format!("v({node})");
        self.steps.push((node, value));
        reference
    }

    fn current(&mut self, electrode: &str, value: String) {
        self.currents.push((electrode.into(), value));
    }

    /// The voltage from `k` to `a` where that is positive, else 0; in every iterate.
    fn positive(&mut self, node: String, a: &str, k: &str) -> String {
        let volts = self.step(node, format!("uramp(v({a},{k}))"));
        format!("uramp({volts})")
    }

    /// Root of `s = ½(e + √(e² + square))`, as `max(e, 0) + ½·square/(√(e² + square) + |e|)`: far
    /// below cut-off the first form is a difference of nearly equal numbers, and its rounding
    /// keeps ngspice from ever being content.
    fn root_of_ramp(&mut self, node: String, e: &str, square: &str) -> String {
        let bend = format!("0.5*({square})/(sqrt({e}*{e}+{square})+abs({e}))");
        self.step(node, format!("sqrt(uramp({e})+{bend}+1e-18)"))
    }

    /// `s³/(s + a)^1.5` from the root of `s`.
    fn space(&mut self, node: String, h: &str, a: &str) -> String {
        let s = format!("{h}*{h}");
        let above = format!("({s}+{a})");
        self.step(node, format!("{s}*{s}*{s}/({above}*sqrt({above}))"))
    }

    fn grid(&mut self, label: &str, law: &GridLaw<f64>, g: &str, k: &str) {
        let e = format!("(v({g},{k})+{})", n(law.offset));
        let h = self.root_of_ramp(format!("{label}h"), &e, &n(law.width * law.width));
        let s = format!("{h}*{h}");
        let above = format!("({s}+{})", n(law.threshold));
        let flat = format!("(1+{}*{s})", n(law.flattening));
        let perveance = n(law.perveance);
        self.current(
            g,
            format!("{perveance}*{s}*{s}*{s}/({above}*sqrt({above}*{flat}))"),
        );
    }
}

/// A number in brackets, so that a sign cannot meet an operator.
fn n(x: f64) -> String {
    format!("({x:e})")
}

/// A triode with electrodes at nodes `a`, `g`, `k`; `label` begins the names of inner nodes.
pub fn triode(label: &str, law: &TriodeLaw<f64>, [a, g, k]: [&str; 3]) -> Law {
    let mut out = Law::default();
    let x = out.positive(format!("{label}x"), a, k);
    let e = format!("(v({g},{k})+{x}/{}+{})", n(law.mu), n(law.offset));
    let w = format!("({}+{}*{x})", n(law.width), n(law.spread));
    let h = out.root_of_ramp(format!("{label}s"), &e, &format!("{w}*{w}"));
    let (tail, width) = (n(law.tail), n(law.width));
    let space = out.space(
        format!("{label}i"),
        &h,
        &format!("{tail}*({x}/{}+{width})", n(law.mu)),
    );
    let knee = format!("({x}/({x}+{}))", n(law.knee));
    out.current(a, format!("{}*{space}*{knee}*{knee}", n(law.perveance)));
    out.grid(label, &law.grid, g, k);
    out
}

/// A pentode with electrodes at nodes `a`, `s`, `g`, `k`.
pub fn pentode(label: &str, law: &PentodeLaw<f64>, [a, s, g, k]: [&str; 4]) -> Law {
    let mut out = Law::default();
    let x = out.positive(format!("{label}x"), a, k);
    let y = out.positive(format!("{label}y"), s, k);
    let onset = format!("({x}/({x}+1))");
    let e = out.step(
        format!("{label}e"),
        format!(
            "v({g},{k})+v({s},{k})*{}+{x}*{onset}*{}+{}",
            n(law.per_screen_mu),
            n(law.per_anode_mu),
            n(law.offset)
        ),
    );
    let widening = format!("({}*{y})", n(law.spread));
    let square = format!("{}+{widening}*{widening}", n(law.width * law.width));
    let h = out.root_of_ramp(format!("{label}s"), &e, &square);
    let (tail, per_mu, width) = (n(law.tail), n(law.per_screen_mu), n(law.width));
    let reach = format!("{tail}*({y}*{y}/({y}+5)*{per_mu}+{width})");
    let space = out.space(format!("{label}i"), &h, &reach);
    let space = format!("{}*{space}", n(law.perveance));
    let z = out.step(
        format!("{label}z"),
        format!("{x}/(0.5+{}*{h}*{h})", n(law.knee)),
    );
    let loss_at = format!("({}*{y})", n(law.loss_at));
    let q = out.step(
        format!("{label}q"),
        format!("{x}*{x}/(100+{loss_at}*{loss_at})"),
    );
    let share = out.step(
        format!("{label}a"),
        format!(
            "{}*{onset}*{z}/sqrt(1+{z}*{z})*(1-{}/(1+{q}*{q}*{q}))",
            n(1.0 - law.screen_share),
            n(law.loss)
        ),
    );
    out.current(a, format!("{space}*{share}"));
    let gate = format!("({y}/({y}+5))");
    out.current(s, format!("{space}*(1-{share})*{gate}*{gate}"));
    out.grid(label, &law.grid, g, k);
    out
}

/// A rectifier from its return `from` into its reservoir `to`, with its perveance if it is a
/// valve, the r.m.s. voltage of each half of the winding and the resistance in each anode.
///
/// The average over a half-period in five-point Gauss-Legendre integration, which is part of the
/// law. The current `i` of one anode at `volts` obeys `R·i + D·i^(2/3) = volts`; its step carries
/// `q = i^(2/3)` and refers to itself, so that ngspice's own iteration solves it.
pub fn rectifier(
    label: &str,
    perveance: Option<f64>,
    (winding_volts, ohms): (f64, f64),
    [to, from]: [&str; 2],
) -> Law {
    let mut out = Law::default();
    let peak = winding_volts * SQRT_2;
    let headroom = format!("min(uramp(1-v({to},{from})/{}),1)", n(peak));
    let a = out.step(format!("{label}a"), headroom);
    let mut sum = Vec::new();
    for (index, (z, weight)) in five_nodes().into_iter().enumerate() {
        let volts = format!("{}*{a}", n(peak * (1.0 - z * z)));
        let amps = match perveance {
            Some(perveance) => {
                let q = format!("v({label}q{index})");
                let amps = format!("{q}*sqrt(uramp({q})+1e-18)");
                let drop = perveance.powf(-2.0 / 3.0);
                out.step(
                    format!("{label}q{index}"),
                    format!("({volts}-{}*{amps})/{}", n(ohms), n(drop)),
                );
                amps
            }
            None => format!("{volts}/{}", n(ohms)),
        };
        sum.push(format!("{}*{amps}/sqrt(2-{a}*{})", n(weight), n(z * z)));
    }
    let average = format!("{}*sqrt({a}+1e-18)*({})", n(4.0 / PI), sum.join("+"));
    out.current(from, average);
    out
}

/// Nodes and weights of five-point Gauss-Legendre integration from 0 to 1, from their closed
/// form.
fn five_nodes() -> [(f64, f64); 5] {
    let root = |sign: f64| (5.0 + sign * 2.0 * (10.0_f64 / 7.0).sqrt()).sqrt() / 3.0;
    let weight = |sign: f64| (322.0 - sign * 13.0 * 70.0_f64.sqrt()) / 900.0;
    let node = |x: f64, w: f64| (0.5 + 0.5 * x, 0.5 * w);
    [
        node(-root(1.0), weight(1.0)),
        node(-root(-1.0), weight(-1.0)),
        node(0.0, 128.0 / 225.0),
        node(root(-1.0), weight(-1.0)),
        node(root(1.0), weight(1.0)),
    ]
}
