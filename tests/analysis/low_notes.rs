//! How far down a transformer carries power, by the definitions: flux is volts over angular frequency,
//! and a direct current takes its share.

use engine::analysis::low_notes::{LOW_E_HZ, LowNotes, asks_more, low_notes};
use engine::circuit::{built_in_circuit, read};
use engine::device::Catalogue;
use engine::solve::solved::{Both, SolvedAmp};

/// The only transformer of a built-in amp with a piece of its text replaced.
fn of(name: &str, from: &str, to: &str) -> LowNotes {
    let text = built_in_circuit(name).expect("a built-in amp").text;
    let changed = text.replacen(from, to, 1);
    assert!(from == to || changed != text, "{from}");
    let circuit = read(&changed, &Catalogue::built_in()).expect("a sound file");
    let amp = SolvedAmp::new(&circuit, None).expect("an operating point");
    let [one] = &low_notes(&amp.network, &amp.as_found)[..] else {
        panic!("one transformer");
    };
    one.clone()
}

/// A pair all but alike leaves the whole flux: power goes with the square of the frequency.
#[test]
fn a_pair_carries_what_its_file_states() {
    let sluice = of("Sluice 40", "", "");
    let hz = sluice.full_power_hz.expect("flux is left");
    assert!((hz / 75.0 - 1.0).abs() < 1e-3, "{hz}");
    assert_eq!(sluice.low_e_watts, 40.0);
    let spokeshave = of("Spokeshave 18", "", "");
    let watts = 15.0 * (LOW_E_HZ / 100.0).powi(2);
    assert!(
        (spokeshave.low_e_watts / watts - 1.0).abs() < 1e-3,
        "{spokeshave:?}"
    );
}

/// A single valve's current takes its share: at what the core is made for, the stated frequency; with
/// a hotter bias a higher one, until nothing is left.
#[test]
fn direct_current_leaves_less() {
    let bias = "R10 = { resistor = \"270\"";
    let as_found = of("Mizzle 5", "", "");
    assert!(as_found.direct_milliamps > 40.0, "{as_found:?}");
    let made_for = 1e3 * (2.0 * 5.0 / 5e3_f64).sqrt();
    assert!((as_found.direct_milliamps / made_for - 1.0).abs() < 0.05);
    let hz = as_found.full_power_hz.unwrap();
    assert!((hz / 110.0 - 1.0).abs() < 0.1, "{hz}");
    let hotter = of("Mizzle 5", bias, "R10 = { resistor = \"150\"");
    assert!(hotter.full_power_hz.unwrap() > 1.1 * hz, "{hotter:?}");
    let none = of(
        "Mizzle 5",
        "rated_power = \"5 W\"",
        "rated_power = \"5 W\", direct_current = \"0 A\"",
    );
    assert!(none.low_e_watts < 0.5 * as_found.low_e_watts, "{none:?}");
}

/// Twice the load asks for √2 times the volts at the same power, and so of the flux.
#[test]
fn a_proposal_that_asks_more_is_told() {
    let found = of("Bradawl 15", "", "");
    let higher = of(
        "Bradawl 15",
        "LS1 = { loudspeaker = \"Tin Ten\"",
        "LS1 = { loudspeaker = \"Breakwater Quad\"",
    );
    let demand = |one: &LowNotes| one.demand(15.0).expect("a load");
    assert!((demand(&higher) / demand(&found) / 2f64.sqrt() - 1.0).abs() < 1e-3);
    assert!(demand(&found) < 1.0 && demand(&higher) > 1.0);
    let told = |a: &LowNotes, b: &LowNotes, watts: [f64; 2]| {
        asks_more(&both([a, b]), &both(watts)).is_some()
    };
    assert!(told(&found, &higher, [15.0, 15.0]));
    assert!(!told(&found, &found, [15.0, 15.0]));
    assert!(!told(&higher, &found, [15.0, 15.0]));
    // Within the flux nothing is told.
    assert!(!told(&found, &higher, [1.0, 3.0]));
}

fn both<T>([as_found, proposed]: [T; 2]) -> Both<T> {
    Both { as_found, proposed }
}
