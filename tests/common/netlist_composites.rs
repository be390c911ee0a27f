//! Parts that are circuits of their own: the output transformer and the loudspeaker.

use super::{Netlist, node};
use engine::circuit::OutputTransformer;
use engine::device::Loudspeaker;

impl Netlist {
    /// Ideal windings on a core: the core's node carries the volts of the whole primary, a winding
    /// of `turns` times its turns has so many times these volts, and its ampere-turns go into the
    /// node, where inductance and core loss stand.
    pub fn transformer(&mut self, t: &OutputTransformer) {
        let core = self.inner();
        let ratio = (t.secondary_ohms / t.primary_ohms).sqrt();
        let windings = [
            (&t.primary, 1.0, t.primary_resistance, t.leakage),
            (&t.secondary, ratio, t.secondary_resistance, 0.0),
        ];
        for (winding, turns, ohms, leakage) in windings {
            for section in 1..winding.taps.len() {
                let share = winding.shares[section] - winding.shares[section - 1];
                let [from, to] = [section - 1, section].map(|tap| node(winding.taps[tap]));
                let n = self.count;
                let turns = turns * share;
                self.coil(
                    &from,
                    &format!("w{n}"),
                    ohms * share,
                    leakage * share,
                    Some(t.leakage_damping),
                );
                self.line(format_args!("v{n}w w{n} e{n} dc 0"));
                self.line(format_args!("e{n} e{n} {to} {core} 0 {turns:e}"));
                self.line(format_args!("f{n} 0 {core} v{n}w {turns:e}"));
            }
        }
        self.core(&core, t);
        self.resistor(&core, "0", t.core_loss);
        for end in [t.primary.taps[0], t.primary.taps[t.primary.taps.len() - 1]] {
            self.capacitor(&node(end), "0", t.winding_farads);
        }
    }

    /// The inductance, and what the iron takes beyond it: the ninth power of the flux, which is the
    /// inductance's current times its henries; from twice the rated flux on a straight line.
    fn core(&mut self, core: &str, t: &OutputTransformer) {
        let law = t.core_law();
        let [behind, share] = [self.inner(), self.inner()];
        let n = self.count;
        self.line(format_args!("v{n}m {core} {behind} dc 0"));
        self.coil(&behind, "0", 0.0, t.inductance, None);
        let per_amp = t.inductance * law.per_flux;
        self.line(format_args!("h{n}m {share} 0 v{n}m {per_amp:e}"));
        let inside = self.inner();
        self.line(format_args!(
            "b{n}s {inside} 0 v = min(max(v({share}),-2),2)"
        ));
        let eighth = vec![format!("v({inside})"); 8].join("*");
        let amps = law.amps;
        self.line(format_args!(
            "b{n}m {core} 0 i = {amps:e}*{eighth}*(v({inside})+9*(v({share})-v({inside})))"
        ));
    }

    /// Half of the coil's resistance with the lossy inductance, half with the plain one, then the
    /// motional impedance from the parameters of the driver.
    pub fn loudspeaker(&mut self, driver: &Loudspeaker, a: &str, b: &str) {
        let [first, second] = [self.inner(), self.inner()];
        let half = driver.coil_ohms / 2.0;
        self.coil(
            a,
            &first,
            half,
            driver.lossy_henries,
            Some(driver.lossy_ohms),
        );
        self.coil(&first, &second, half, driver.coil_henries, None);
        let resonance = std::f64::consts::TAU * driver.resonance_hz;
        let ohms = driver.coil_ohms * driver.mechanical_q / driver.electrical_q;
        self.resistor(&second, b, ohms);
        self.capacitor(&second, b, driver.mechanical_q / (resonance * ohms));
        self.coil(
            &second,
            b,
            0.0,
            ohms / (resonance * driver.mechanical_q),
            None,
        );
    }
}
