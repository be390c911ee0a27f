//! Blocking against a capacitor that discharges through a grid leak, worked by hand.

use crate::printed::{capacitor, gain_at, resistor, solved, source, supply, triode};
use crate::solved::Solved;
use engine::analysis::headroom::recovery::{BACK_SHARE, Recovery, recovery};
use engine::analysis::headroom::{PLAYED_VOLTS, clean_headroom};
use engine::circuit::{built_in_circuits, built_in_proposals, read, read_proposal};
use engine::device::Catalogue;
use engine::solve::solved::SolvedAmp;

/// A triode whose cathode a source holds, and whose grid a capacitor and a leak alone feed.
fn stage(bias: f64, farads: f64, ohms: f64) -> Solved {
    let parts = [
        supply("HT", 250.0, "ht"),
        source("VB", bias, "k", "gnd"),
        triode("V1", "ECC83", "a", "g", "k"),
        resistor("RA", 100e3, "ht", "a"),
        capacitor("C1", farads, "in", "g"),
        resistor("R1", ohms, "g", "gnd"),
    ];
    solved("a", &parts.concat())
}

fn burst(bench: &Solved, clip_volts: f64) -> Recovery {
    let amp = SolvedAmp::new(&bench.circuit, None).expect("an operating point");
    recovery(&amp.network, &amp.as_found, clip_volts, &mut |_| true).expect("nobody gives up")
}

/// The burst of 10 V r.m.s. charges the capacitor until the grid's peaks hardly pass the cathode: to
/// 14.1 V less the 1.5 V of bias. It then falls as exp(−t/RC) from where the report says that it stood
/// in the first millisecond, to a twentieth of the bias: t = RC·ln(moved/(0.05·1.5 V)). The gain is
/// back when the remaining shift costs 1 dB, which the small-signal solve at a bias so shifted says.
#[test]
fn a_coupling_capacitor_and_a_grid_leak() {
    for (farads, ohms) in [(22e-9, 1e6), (22e-9, 470e3), (10e-9, 1e6)] {
        let found = burst(&stage(1.5, farads, ohms), 1.0);
        assert_eq!(found.unsolved, 0);
        assert!((found.burst_volts - 10.0).abs() < 1e-9);
        let grid = &found.grids[0];
        let moved = (grid.after_volts - grid.usual_volts).abs();
        // Peaks pass the cathode by up to a volt; the fade of the last 5 ms lets a share of up to
        // 1 − exp(−5 ms/RC) go.
        let charged = 200f64.sqrt() - 1.5;
        let tau = farads * ohms;
        let least = (charged - 1.0) * (-6e-3 / tau).exp();
        assert!(
            (least..charged).contains(&moved),
            "{farads} {ohms}: {moved} V, {least} to {charged}"
        );
        let seconds = 0.5e-3 + tau * (moved / (BACK_SHARE * 1.5)).ln();
        let back = grid.back_seconds.expect("it comes back");
        println!("{farads} {ohms}: {back} s, by hand {seconds} s; {found:?}");
        // Read in whole milliseconds; the valve's own 4 pF at cut-off and up to 170 pF at work beside
        // the coupling capacitor add less than 2 %.
        let tolerance = 1e-3 + 0.02 * seconds;
        assert!((back - seconds).abs() < tolerance, "{back} {seconds}");
        // The shift that costs 1 dB, by bisection.
        let usual = gain_at(&stage(1.5, farads, ohms), "a", 1e3);
        let (mut low, mut high) = (0.0, 3.0);
        for _ in 0..30 {
            let middle = 0.5 * (low + high);
            let gain = gain_at(&stage(1.5 + middle, farads, ohms), "a", 1e3);
            match 20.0 * (usual / gain).log10() > 1.0 {
                true => high = middle,
                false => low = middle,
            }
        }
        let seconds = 0.5e-3 + tau * (moved / high).ln();
        let tone = found.tone_seconds.expect("it comes back");
        println!("tone {tone} s, by hand {seconds} s at {high} V");
        // The raised cathode takes the shift off the anode's volts too, which µ says is 1 %.
        let tolerance = 1e-3 + 0.03 * seconds;
        assert!((tone - seconds).abs() < tolerance, "{tone} {seconds}");
        assert_eq!(found.slowest_grid().map(|g| g.name.as_str()), Some("V1"));
    }
}

/// A burst that no grid takes current of leaves nothing behind.
#[test]
fn a_burst_that_does_not_block() {
    let found = burst(&stage(4.0, 22e-9, 1e6), 0.1);
    assert_eq!(found.tone_seconds, Some(0.0));
    assert_eq!(found.grids[0].back_seconds, Some(0.0));
    assert!(found.slowest_grid().is_none());
}

#[test]
fn hostile_levels_and_a_no() {
    let bench = stage(1.5, 22e-9, 1e6);
    let amp = SolvedAmp::new(&bench.circuit, None).unwrap();
    for volts in [f64::NAN, 0.0, -1.0, f64::INFINITY] {
        assert!(recovery(&amp.network, &amp.as_found, volts, &mut |_| true).is_none());
    }
    let mut asked = 0;
    let stopped = recovery(&amp.network, &amp.as_found, 1.0, &mut |_| {
        asked += 1;
        asked < 3
    });
    assert_eq!((stopped, asked), (None, 3));
}

/// Every built-in amp and proposal comes back within two seconds of a burst.
#[test]
fn built_in_amps_come_back() {
    let catalogue = Catalogue::built_in();
    for built_in in built_in_circuits() {
        let found = read(built_in.text, &catalogue).unwrap();
        let mut runs = vec![("as found", found.clone())];
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).unwrap();
            runs.push((file.key, proposal.apply(&found, &catalogue).unwrap()));
        }
        for (name, circuit) in runs {
            let amp = SolvedAmp::new(&circuit, None).unwrap();
            let side = &amp.as_found;
            let clean = clean_headroom(&amp.network, side, PLAYED_VOLTS, &mut |_| true).unwrap();
            let clips = clean.clip_volts().expect("it clips");
            let found = recovery(&amp.network, side, clips, &mut |_| true).unwrap();
            println!("{} {name}: {found:?}", built_in.key);
            assert_eq!(found.unsolved, 0, "{} {name}", built_in.key);
            assert!(found.tone_seconds.is_some(), "{} {name}", built_in.key);
        }
    }
}
