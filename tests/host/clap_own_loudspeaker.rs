//! The class for the owner's own file in a CLAP host, with a file that brings a loudspeaker of its
//! own: it is chosen by its name, heard, and comes back with the project.

use crate::fixture::clap::Instance;
use crate::fixture::{OWN, first_difference, peak, pluck};
use crate::own_loudspeaker_files::{FERRY, amp, copy};
use serde_json::{Value, json};

const RATE: f64 = 48_000.0;

/// A state as CLAP keeps it: its length, then JSON.
fn framed(state: &Value) -> Vec<u8> {
    let json = serde_json::to_vec(state).expect("JSON");
    [&(json.len() as u64).to_le_bytes(), &json[..]].concat()
}

fn read(state: &[u8]) -> Value {
    serde_json::from_slice(&state[8..]).expect("JSON")
}

/// An instance with a file in its project.
fn with(circuit: &str) -> Instance {
    let mut state = read(&Instance::new(OWN).save());
    let fields = state["fields"].as_object_mut().expect("a table");
    fields.insert("circuit".into(), json!(circuit));
    // What is proposed belongs to another amp.
    fields.insert("as found".into(), json!("{}"));
    fields.insert("proposed".into(), json!("{}"));
    let mut instance = Instance::new(OWN);
    assert!(instance.load(&framed(&state)));
    instance
}

fn play(instance: &mut Instance) -> Vec<Vec<f32>> {
    instance.activate(RATE, 512);
    let output = instance.play(&pluck(RATE, 12_000, 2, 0.1), &[512], &[]);
    instance.deactivate();
    output
}

/// The parameter that chooses LS1, by what it shows.
fn chooser(instance: &mut Instance) -> crate::fixture::clap::Param {
    let params = instance.params().into_iter();
    let mut parts = params.filter(|p| p.module != "Presolder");
    let found = parts.find(|p| instance.text(p.id, 0.0).starts_with("LS1 "));
    found.expect("a parameter for LS1")
}

#[test]
fn it_is_chosen_by_name_heard_and_kept() {
    let file = amp("mizzle", &[FERRY, &copy("Anvil Twelve", "A Copy")]);
    let mut instance = with(&file);
    let chooser = chooser(&mut instance);
    let choose = |instance: &mut Instance, name: &str| {
        let value = instance.parse(chooser.id, name).expect("a known name");
        instance.set(&[(chooser.id, value)]);
        assert!(instance.text(chooser.id, value).ends_with(name), "{name}");
        play(instance)
    };
    let original = choose(&mut instance, "Anvil Twelve");
    let copied = choose(&mut instance, "A Copy");
    assert_eq!(first_difference(&original, &copied), None);
    let own = choose(&mut instance, "Ferry Eight");
    assert!(first_difference(&own, &original).is_some() && peak(&own) > 1e-3);
    // The project brings the file and the choice back.
    let state = instance.save();
    let kept = read(&state);
    assert_eq!(kept["fields"]["circuit"], json!(file));
    assert!(
        kept["fields"]["proposed"]
            .as_str()
            .unwrap()
            .contains("Ferry Eight")
    );
    let mut other = Instance::new(OWN);
    assert!(other.load(&state));
    let value = other.value(chooser.id);
    assert!(other.text(chooser.id, value).ends_with("Ferry Eight"));
    assert_eq!(first_difference(&play(&mut other), &own), None);
    // Five steps for six loudspeakers, those of the program first.
    for (place, name) in [
        (0.0, "Anvil Twelve"),
        (0.6, "Tin Ten"),
        (0.8, "Ferry Eight"),
        (1.0, "A Copy"),
    ] {
        let text = other.text(chooser.id, place);
        assert!(text.ends_with(name), "{place}: {text}");
    }
}

/// A file without loudspeakers of its own has its choices where they always were: thirds.
#[test]
fn without_its_own_the_places_are_the_old_ones() {
    let mut instance = with(&amp("mizzle", &[]));
    let chooser = chooser(&mut instance);
    let names = ["Anvil Twelve", "Breakwater Quad", "Harbour Ten", "Tin Ten"];
    for (index, name) in names.iter().enumerate() {
        let text = instance.text(chooser.id, index as f64 / 3.0);
        assert!(text.ends_with(name), "{text}");
    }
}
