//! What a project keeps of the built plugin, in a CLAP host: it comes back as it was, and whatever
//! else comes (cut, random, newer, not a number) neither stops the plugin nor silences it.

use crate::fixture::clap::Instance;
use crate::fixture::{CLASSES, Dice, OWN, first_difference, peak, pluck};
use serde_json::{Value, json};

const RATE: f64 = 48_000.0;

/// A state as CLAP keeps it: its length, then JSON.
fn framed(json: &[u8]) -> Vec<u8> {
    [&(json.len() as u64).to_le_bytes(), json].concat()
}

fn read(state: &[u8]) -> Value {
    serde_json::from_slice(&state[8..]).expect("JSON")
}

fn saved(class: &str) -> Value {
    read(&Instance::new(class).save())
}

fn play(instance: &mut Instance) -> Vec<Vec<f32>> {
    instance.activate(RATE, 512);
    let output = instance.play(&pluck(RATE, 3_000, 2, 0.3), &[512], &[]);
    instance.deactivate();
    output
}

#[test]
fn every_value_comes_back_and_sounds_the_same() {
    let mut dice = Dice::new(11);
    for class in CLASSES {
        for round in 0..4 {
            let mut one = Instance::new(class);
            let params = one.params();
            let mut sets = Vec::new();
            // What it is heard through has tests of its own (`tests/host/clap_cabinet.rs`).
            let drawn =
                |p: &&crate::fixture::clap::Param| !["Bypass", "Heard through"].contains(&&*p.name);
            for param in params.iter().filter(|p| !p.hidden()).filter(drawn) {
                // Valves stay in mostly, so that there is something to hear.
                let stays = param.name.ends_with("fitted") && dice.roll() < 0.95;
                if !stays {
                    sets.push((param.id, param.at(dice.roll())));
                }
            }
            one.set(&sets);
            play(&mut one);
            let state = one.save();
            let mut other = Instance::new(class);
            assert!(other.load(&state), "{class}");
            for param in &params {
                let (a, b) = (one.value(param.id), other.value(param.id));
                assert!(
                    (a - b).abs() < 1e-6,
                    "{class} {}: {a} came back as {b}",
                    param.name
                );
                let texts = [one.text(param.id, a), other.text(param.id, b)];
                assert_eq!(texts[0], texts[1], "{class} {}", param.name);
            }
            let (a, b) = (play(&mut one), play(&mut other));
            assert_eq!(first_difference(&a, &b), None, "{class}, round {round}");
            assert!(peak(&a).is_finite(), "{class}, round {round}");
            let again = other.save();
            assert_eq!(read(&again)["params"], read(&state)["params"], "{class}");
        }
    }
}

#[test]
fn a_state_that_comes_while_it_plays_is_faded_to() {
    let input = pluck(RATE, 4_800, 2, 0.3);
    let mut one = Instance::new(CLASSES[0]);
    let volume = one.param("Volume").id;
    one.set(&[(volume, 0.9)]);
    let state = one.save();
    let mut playing = Instance::new(CLASSES[0]);
    playing.activate(RATE, 512);
    playing.play(&input, &[512], &[]);
    assert!(playing.load(&state));
    assert!((playing.value(volume) - 0.9).abs() < 1e-6);
    for _ in 0..5 {
        let output = playing.play(&input, &[512], &[]);
        assert!(peak(&output) > 1e-3 && peak(&output) < 2.0);
    }
}

#[test]
fn a_host_works_on_while_another_thread_plays() {
    let input = pluck(RATE, 256, 2, 0.3);
    for class in [CLASSES[0], OWN] {
        let mut instance = Instance::new(class);
        let first = instance.save();
        let adjustables: Vec<_> = instance
            .params()
            .into_iter()
            .filter(|p| !p.hidden())
            .collect();
        let sets: Vec<_> = adjustables.iter().map(|p| (p.id, p.at(0.6))).collect();
        let mut other = Instance::new(class);
        other.set(&sets);
        let bypass = other.param("Bypass").id;
        other.set(&[(bypass, 0.0)]);
        let other = other.save();
        instance.activate(RATE, 256);
        let most = instance.play_during(&input, |instance| {
            for round in 0..40 {
                assert!(instance.load(if round % 2 == 0 { &other } else { &first }));
                for param in &adjustables {
                    let value = instance.value(param.id);
                    let text = instance.text(param.id, value);
                    assert!(
                        instance.parse(param.id, &text).is_some(),
                        "{}: {text}",
                        param.name
                    );
                }
                instance.save();
            }
        });
        assert!(most > 1e-3 && most < 4.0, "{class}: {most}");
        assert!(instance.load(&first));
        instance.deactivate();
        assert_whole(&mut instance, class);
    }
}

/// After whatever was loaded, the plugin is whole: its values in range, its sound there and finite.
fn assert_whole(instance: &mut Instance, what: &str) {
    for param in instance.params() {
        let value = instance.value(param.id);
        let [low, high] = param.range;
        assert!(
            (low..=high).contains(&value),
            "{what}: {} is {value}",
            param.name
        );
        let text = instance.text(param.id, value);
        assert!(!text.is_empty(), "{what}: {} says nothing", param.name);
    }
    let output = play(instance);
    let peak = peak(&output);
    assert!(peak > 1e-3 && peak < 4.0, "{what}: peak {peak}");
    // And it can still be saved and loaded.
    let state = instance.save();
    assert!(instance.load(&state), "{what}: its own state is refused");
}

#[test]
fn rubbish_is_refused_or_survived() {
    let mut dice = Dice::new(5);
    for class in [CLASSES[0], OWN] {
        let good = Instance::new(class).save();
        let mut instance = Instance::new(class);
        let mut all: Vec<Vec<u8>> = vec![
            Vec::new(),
            vec![0; 7],
            framed(b""),
            framed(b"null"),
            framed(b"[]"),
            framed(b"{}"),
            framed(b"\xff\xfe{"),
            [u64::MAX.to_le_bytes().as_slice(), b"{}"].concat(),
        ];
        for _ in 0..50 {
            let length = dice.below(400);
            let bytes: Vec<u8> = (0..length).map(|_| (dice.roll() * 256.0) as u8).collect();
            all.push(framed(&bytes));
            all.push(bytes);
        }
        for _ in 0..30 {
            // Cut, with the old length and with the right one.
            let length = 8 + dice.below(good.len() - 8);
            all.push(good[..length].to_vec());
            all.push(framed(&good[8..length]));
        }
        for _ in 0..50 {
            let mut bytes = good[8..].to_vec();
            for _ in 0..1 + dice.below(4) {
                let at = dice.below(bytes.len());
                bytes[at] = b"0e\"{}:,-9\\n\xff"[dice.below(12)];
            }
            all.push(framed(&bytes));
        }
        for (number, bytes) in all.iter().enumerate() {
            let taken = instance.load(bytes);
            for param in instance.params() {
                let value = instance.value(param.id);
                let [low, high] = param.range;
                let whole = (low..=high).contains(&value);
                assert!(whole, "{class} {number} {taken}: {} is {value}", param.name);
            }
            if number % 20 == 0 {
                assert!(peak(&play(&mut instance)).is_finite(), "{class} {number}");
            }
        }
        assert!(instance.load(&good));
        assert_whole(&mut instance, class);
    }
}

/// Loads a changed state, which must be taken, and checks the instance.
fn changed(class: &str, what: &str, change: impl Fn(&mut Value)) -> Instance {
    let mut state = saved(class);
    change(&mut state);
    let mut instance = Instance::new(class);
    let text = serde_json::to_string(&state).expect("JSON");
    assert!(
        instance.load(&framed(text.as_bytes())),
        "{class}: {what} is refused"
    );
    assert_whole(&mut instance, &format!("{class}: {what}"));
    instance
}

#[test]
fn newer_older_and_odd_projects_still_play() {
    for class in [CLASSES[0], CLASSES[3], OWN] {
        let adjustable = if class == OWN { "part1" } else { "R103" };
        let adjustable = if saved(class)["params"].get(adjustable).is_some() {
            adjustable
        } else {
            "R1"
        };
        changed(class, "a newer version", |state| {
            state["version"] = json!("99.0.0");
            state["fields"]["form"] = json!("99");
            state["fields"]["something new"] = json!("{\"a\": 1}");
            state["params"]["R9999"] = json!({"f32": 0.3});
            state["params"]["something"] = json!({"string": "new"});
        });
        changed(class, "no fields", |state| state["fields"] = json!({}));
        changed(class, "no parameters", |state| state["params"] = json!({}));
        changed(class, "a circuit that is none", |state| {
            state["fields"]["circuit"] = json!("format = 1\n[amp]\nname = 3");
        });
        changed(class, "as-found values that are none", |state| {
            state["fields"]["as found"] =
                json!("{\"R103\": \"-4k7\", \"x\": \"1\", \"V1\": \"?\"}");
            state["fields"]["proposed"] = json!("[1, 2]");
        });
        changed(class, "values of other kinds", |state| {
            state["params"]["input"] = json!({"i32": 3});
            state["params"]["heard"] = json!({"f32": 1.5});
            state["params"]["bypass"] = json!({"string": "yes"});
        });
        let mut high = changed(class, "values out of range", |state| {
            state["params"]["heard"] = json!({"i32": 77});
            state["params"]["oversampling"] = json!({"i32": -5});
            state["params"]["glide"] = json!({"f32": 3e38});
            state["params"][adjustable] = json!({"f32": -1e30});
        });
        let glide = high.param("Glide");
        assert_eq!(high.value(glide.id), glide.range[1]);
    }
}

#[test]
fn what_a_project_does_not_say_has_its_default() {
    let mut instance = Instance::new(CLASSES[0]);
    let volume = instance.param("Volume");
    instance.set(&[(volume.id, 1.0)]);
    let mut state = read(&instance.save());
    let params = state["params"].as_object_mut().expect("a table");
    assert!(params.remove("Volume").is_some());
    state["fields"] = json!({});
    let text = serde_json::to_string(&state).expect("JSON");
    assert!(instance.load(&framed(text.as_bytes())));
    assert!((instance.value(volume.id) - volume.default).abs() < 1e-6);
}

#[test]
fn numbers_that_are_none_come_to_nothing() {
    // JSON has no such numbers; this is how they arrive.
    for odd in ["null", "1e999", "-1e999", "NaN", "Infinity"] {
        let text = serde_json::to_string(&saved(CLASSES[0])).expect("JSON");
        let start = text.find("\"R103\":{\"f32\":").expect("a part's value") + 14;
        let end = start + text[start..].find('}').expect("its end");
        let text = format!("{}{odd}{}", &text[..start], &text[end..]);
        let mut instance = Instance::new(CLASSES[0]);
        let taken = instance.load(&framed(text.as_bytes()));
        assert_whole(&mut instance, &format!("{odd}, taken: {taken}"));
    }
    // And by a host's events, while it plays.
    let mut instance = Instance::new(CLASSES[0]);
    let params = instance.params();
    instance.activate(RATE, 512);
    for value in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300, -1e300] {
        let sets: Vec<_> = params
            .iter()
            .filter(|p| !p.hidden() && !p.name.ends_with("fitted") && p.name != "Bypass")
            .enumerate()
            .map(|(frame, p)| crate::fixture::clap::Set {
                frame,
                id: p.id,
                value,
            })
            .collect();
        let output = instance.play(&pluck(RATE, 2_000, 2, 0.3), &[256], &sets);
        assert!(peak(&output).is_finite(), "{value}");
    }
    let defaults: Vec<_> = params
        .iter()
        .filter(|p| !p.hidden())
        .map(|p| crate::fixture::clap::Set {
            frame: 0,
            id: p.id,
            value: p.default,
        })
        .collect();
    instance.play(&pluck(RATE, 4_000, 2, 0.3), &[256], &defaults);
    instance.deactivate();
    assert_whole(&mut instance, "after odd events");
}
