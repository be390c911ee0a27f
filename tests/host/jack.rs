//! The guitar in the jack as a host's parameter: a project of before it opens without one, it is there
//! from the first sample of an activation, and it comes back with the project.

use crate::fixture::clap::Instance;
use crate::fixture::{CLASSES, first_difference, pluck};
use serde_json::Value;

const RATE: f64 = 48_000.0;

fn play(instance: &mut Instance) -> Vec<Vec<f32>> {
    instance.activate(RATE, 512);
    let output = instance.play(&pluck(RATE, 3_000, 2, 0.3), &[512], &[]);
    instance.deactivate();
    output
}

fn with_guitar(class: &str, number: f64) -> Instance {
    let mut instance = Instance::new(class);
    let guitar = instance.param("Guitar");
    instance.set(&[(guitar.id, number)]);
    instance
}

#[test]
fn a_project_of_before_opens_without_a_guitar() {
    for class in CLASSES {
        let mut new = Instance::new(class);
        let bare = play(&mut new);
        let state = new.save();
        let mut old: Value = serde_json::from_slice(&state[8..]).expect("JSON");
        let params = old["params"].as_object_mut().expect("parameters");
        assert!(params.remove("guitar").is_some() && params.remove("boost").is_some());
        let old = serde_json::to_vec(&old).expect("JSON");
        let old = [&(old.len() as u64).to_le_bytes(), &old[..]].concat();
        // It takes the place of an instance that has one.
        let mut instance = with_guitar(class, 2.0);
        assert!(
            first_difference(&bare, &play(&mut instance)).is_some(),
            "{class}"
        );
        assert!(instance.load(&old), "{class}");
        let guitar = instance.param("Guitar");
        assert_eq!(instance.value(guitar.id), 0.0, "{class}");
        assert_eq!(
            first_difference(&bare, &play(&mut instance)),
            None,
            "{class}"
        );
    }
}

#[test]
fn a_guitar_comes_back_with_the_project() {
    let class = CLASSES[0];
    let mut humbucker = with_guitar(class, 2.0);
    let heard = play(&mut humbucker);
    let mut other = Instance::new(class);
    assert!(other.load(&humbucker.save()));
    assert_eq!(first_difference(&heard, &play(&mut other)), None);
    // A boost stands between guitar and amp.
    let mut boosted = with_guitar(class, 2.0);
    let boost = boosted.param("Boost");
    boosted.set(&[(boost.id, 6.0)]);
    let mut bare = with_guitar(class, 0.0);
    bare.set(&[(boost.id, 6.0)]);
    assert_eq!(
        first_difference(&play(&mut bare), &play(&mut boosted)),
        None
    );
}

/// A guitar of one's own whose lead takes the treble, as a project keeps it.
const OWN: &str = "format = 1\n[guitar]\nname = \"Saturday guitar\"\nlead = \"5n\"\n";

/// A state with this in the place of the owner's own guitar.
fn with_own(state: &[u8], text: &str) -> Vec<u8> {
    let mut state: Value = serde_json::from_slice(&state[8..]).expect("JSON");
    state["fields"]["guitar"] = text.into();
    let state = serde_json::to_vec(&state).expect("JSON");
    [&(state.len() as u64).to_le_bytes(), &state[..]].concat()
}

fn field(instance: &mut Instance, name: &str) -> String {
    let state: Value = serde_json::from_slice(&instance.save()[8..]).expect("JSON");
    state["fields"][name].as_str().expect("a text").to_owned()
}

#[test]
fn a_guitar_of_ones_own_comes_back_with_the_project() {
    let class = CLASSES[0];
    let mut bare = with_guitar(class, 3.0);
    let none = play(&mut bare);
    let state = bare.save();
    let mut own = Instance::new(class);
    assert!(own.load(&with_own(&state, OWN)));
    let heard = play(&mut own);
    assert!(first_difference(&none, &heard).is_some());
    assert!(first_difference(&play(&mut with_guitar(class, 2.0)), &heard).is_some());
    // As text, word for word, from one project to the next.
    assert_eq!(field(&mut own, "guitar"), OWN);
    let mut other = Instance::new(class);
    assert!(other.load(&own.save()));
    assert_eq!(first_difference(&heard, &play(&mut other)), None);
    // Another one in the place of it, and none: also where the choice stays the same.
    assert!(other.load(&with_own(&state, &OWN.replace("5n", "100p"))));
    assert!(first_difference(&heard, &play(&mut other)).is_some());
    assert!(other.load(&with_own(&state, "")));
    assert_eq!(first_difference(&none, &play(&mut other)), None);
    // One that cannot be read is left out.
    assert!(own.load(&with_own(&state, "format = 1\n[guitar]\nlead = \"5q\"\n")));
    assert_eq!(field(&mut own, "guitar"), "");
    assert_eq!(first_difference(&none, &play(&mut own)), None);
    // A project of before guitars had files.
    let mut old: Value = serde_json::from_slice(&state[8..]).expect("JSON");
    old["fields"]
        .as_object_mut()
        .expect("fields")
        .remove("guitar");
    let old = serde_json::to_vec(&old).expect("JSON");
    assert!(own.load(&[&(old.len() as u64).to_le_bytes(), &old[..]].concat()));
    assert_eq!(first_difference(&none, &play(&mut own)), None);
}
