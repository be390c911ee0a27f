//! The class for one's own file in a CLAP host: what a host takes for defaults is what the loaded file
//! says, texts carry the designator, what is typed is refused outside the range, ends are reached.

use crate::fixture::clap::Instance;
use crate::fixture::{CLASSES, OWN, first_difference, peak, pluck};
use presolder::circuit::built_in_circuit;
use serde_json::{Value, json};

const RATE: f64 = 48_000.0;

/// A state of the class with another circuit, and whatever else is changed of it.
fn with_circuit(amp: &str, change: impl Fn(&mut Value)) -> Vec<u8> {
    let state = Instance::new(OWN).save();
    let mut state: Value = serde_json::from_slice(&state[8..]).expect("JSON");
    state["fields"] = json!({ "circuit": built_in_circuit(amp).expect("an amp").text });
    state["params"] = json!({});
    change(&mut state);
    let json = serde_json::to_vec(&state).expect("JSON");
    [&(json.len() as u64).to_le_bytes()[..], &json].concat()
}

fn fields(instance: &mut Instance, name: &str) -> Value {
    let state = instance.save();
    let state: Value = serde_json::from_slice(&state[8..]).expect("JSON");
    let text = state["fields"][name].as_str().expect("a field");
    serde_json::from_str(text).expect("JSON")
}

fn play(instance: &mut Instance) -> Vec<Vec<f32>> {
    instance.activate(RATE, 512);
    let output = instance.play(&pluck(RATE, 2_000, 2, 0.3), &[512], &[]);
    instance.deactivate();
    output
}

#[test]
fn a_hosts_reset_gives_the_files_own_values() {
    for amp in ["sluice", "mizzle"] {
        let mut instance = Instance::new(OWN);
        assert!(instance.load(&with_circuit(amp, |_| {})));
        let filed = fields(&mut instance, "as found");
        assert_eq!(fields(&mut instance, "proposed"), filed, "{amp}, loaded");
        let fresh = play(&mut instance);
        assert!(peak(&fresh) > 1e-3, "{amp}: {}", peak(&fresh));
        let own: Vec<_> = instance.params();
        let own: Vec<_> = own
            .into_iter()
            .filter(|p| p.module != "Presolder")
            .collect();
        // Everything moved, then everything reset.
        for share in [0.8, 0.0] {
            let moved: Vec<_> = own.iter().map(|p| (p.id, p.at(share))).collect();
            instance.set(&moved);
            assert_ne!(fields(&mut instance, "proposed"), filed, "{amp}, moved");
            let reset: Vec<_> = own.iter().map(|p| (p.id, p.default)).collect();
            instance.set(&reset);
            assert_eq!(fields(&mut instance, "proposed"), filed, "{amp}, reset");
        }
        let again = play(&mut instance);
        assert_eq!(first_difference(&fresh, &again), None, "{amp}");
    }
}

#[test]
fn texts_carry_the_designator_and_a_project_keeps_its_slots() {
    let slots = |first: &str, second: &str| {
        let slots = json!([first, second]).to_string();
        with_circuit("bradawl", move |state| {
            state["fields"]["slots"] = json!(slots)
        })
    };
    let mut instance = Instance::new(OWN);
    assert!(instance.load(&slots("C102", "R103")));
    let mut places = instance.params().into_iter();
    let mut place = || places.find(|p| p.module != "Presolder").expect("a place");
    let [one, two] = [place(), place()];
    let text = |instance: &mut Instance, value: f64| {
        [&one, &two].map(|param| instance.text(param.id, value))
    };
    assert_eq!(text(&mut instance, one.default), ["C102 15n", "R103 150k"]);
    assert_eq!(text(&mut instance, 1.0), ["C102 150n", "R103 1M5"]);
    let kept = instance.save();
    let mut other = Instance::new(OWN);
    assert!(other.load(&kept));
    assert_eq!(text(&mut other, one.default), ["C102 15n", "R103 150k"]);
    // A project of before slots were kept has them in the order of the file.
    assert!(other.load(&with_circuit("bradawl", |_| {})));
    let first = text(&mut other, one.default);
    assert!(first[0].starts_with("R101 "), "{first:?}");
}

#[test]
fn a_host_is_refused_what_lies_outside_and_reaches_the_ends() {
    let mut instance = Instance::new(CLASSES[0]);
    let part = instance.param("R103 anode load").id;
    for text in ["10M", "4k7", "1M6", "nonsense", ""] {
        assert_eq!(instance.parse(part, text), None, "{text}");
    }
    for (text, place) in [("1M5", 1.0), ("15k", 0.0)] {
        let value = instance.parse(part, text).expect(text);
        assert!((value - place).abs() < 1e-6, "{text}: {value}");
        assert_eq!(instance.text(part, place), text);
    }
    let part = instance.param("R501 screen feed").id;
    let now = instance.value(part);
    assert_eq!(instance.text(part, now), "470R");
    let level = instance.param("Output level");
    let place = |decibels: f64| (decibels + 40.0) / 64.0;
    for (decibels, text) in [(-12.0, "-12.0 dB"), (0.0, "0.0 dB"), (-0.01, "0.0 dB")] {
        assert_eq!(instance.text(level.id, place(decibels)), text);
    }
    assert!(
        (level.default - place(-12.0)).abs() < 1e-6,
        "{}",
        level.default
    );
    let six = instance.parse(level.id, "-6 dB").expect("a level");
    assert!((six - place(-6.0)).abs() < 1e-6, "{six}");
    assert_eq!(instance.parse(level.id, "60"), None);
}

#[test]
fn a_project_of_before_the_ends_were_reached_keeps_its_value() {
    let mut instance = Instance::new(CLASSES[0]);
    let named = |name: &str| name.starts_with("C503 ") && !name.ends_with("fitted");
    let mut params = instance.params().into_iter();
    let part = params.find(|p| named(&p.name)).expect("a part").id;
    let mut state: Value = serde_json::from_slice(&instance.save()[8..]).expect("JSON");
    let mut load = |instance: &mut Instance, place: f32, text: &str| {
        state["params"]["C503"] = json!({ "f32": place });
        state["fields"]["proposed"] = json!(json!({ "C503": text }).to_string());
        let json = serde_json::to_vec(&state).expect("JSON");
        assert!(instance.load(&[&(json.len() as u64).to_le_bytes()[..], &json].concat()));
        let now = instance.value(part);
        instance.text(part, now)
    };
    // 22u: the range ended a whisker below 220u.
    assert_eq!(load(&mut instance, 1.0, "180u"), "180u");
    assert_eq!(load(&mut instance, 0.98, "180u"), "180u");
    // At the same places a project of now has the end.
    assert_eq!(load(&mut instance, 1.0, "220u"), "220u");
    // And a text that was written with the whisker is the end.
    assert_eq!(load(&mut instance, 1.0, "219u99999999999998"), "220u");
}
