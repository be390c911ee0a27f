//! What the plugin is heard through, in a CLAP host: the parameter, an impulse response kept in the
//! project without its file, projects of before there were any, and no latency of its own.

use crate::fixture::clap::Instance;
use crate::fixture::{CLASSES, OWN, first_difference, peak, pluck};
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

fn play(instance: &mut Instance, rate: f64) -> Vec<Vec<f32>> {
    instance.activate(rate, 512);
    let output = instance.play(&pluck(rate, 12_000, 2, 0.1), &[512], &[]);
    instance.deactivate();
    output
}

/// The field of an impulse response: 1, 0, 0, -0.5, as a tool of its own would write it (RFC 4648).
fn kept(rate: u32) -> String {
    let samples = "AACAPwAAAAAAAAAAAAAAvw==";
    json!({"name": "box.wav", "rate": rate, "samples": samples}).to_string()
}

fn with(class: &str, change: impl Fn(&mut Value)) -> (Instance, Vec<u8>) {
    let mut state = read(&Instance::new(class).save());
    change(&mut state);
    let mut instance = Instance::new(class);
    let state = framed(&state);
    assert!(instance.load(&state));
    (instance, state)
}

/// The three ways are three sounds, the loudspeaker is heard first, and none changes the latency.
#[test]
fn the_parameter_chooses_the_way() {
    for class in [CLASSES[1], OWN] {
        let mut outputs = Vec::new();
        let mut latencies = Vec::new();
        for way in 0..3 {
            let (mut instance, _) = with(class, |state| {
                state["fields"]["impulse"] = json!(kept(48_000));
            });
            let through = instance.param("Heard through");
            assert_eq!((through.range, through.default), ([0.0, 2.0], 0.0));
            let words = ["Loudspeaker", "Line", "Impulse response"];
            assert_eq!(
                instance.text(through.id, f64::from(way)),
                words[way as usize]
            );
            if way > 0 {
                instance.set(&[(through.id, f64::from(way))]);
            }
            outputs.push(play(&mut instance, RATE));
            instance.activate(RATE, 512);
            latencies.push(instance.latency());
            instance.deactivate();
        }
        assert_eq!(latencies, [latencies[0]; 3]);
        for (a, b) in [(0, 1), (0, 2), (1, 2)] {
            assert!(
                first_difference(&outputs[a], &outputs[b]).is_some(),
                "{class}: {a} is {b}"
            );
        }
        // The impulse response is what its taps say: the line less half of itself three samples
        // later.
        let [line, heard] = [&outputs[1][0], &outputs[2][0]];
        let loudest = peak(&outputs[1..2].concat());
        for n in 3..line.len() {
            let expected = line[n] - 0.5 * line[n - 3];
            assert!(
                (heard[n] - expected).abs() < 1e-6 * loudest,
                "{class}: frame {n}"
            );
        }
    }
}

#[test]
fn an_impulse_response_comes_back_with_the_project() {
    for rate in [44_100, 96_000] {
        let (mut one, _) = with(OWN, |state| {
            state["fields"]["impulse"] = json!(kept(rate));
            state["params"]["through"] = json!({"i32": 2});
        });
        let state = one.save();
        assert_eq!(read(&state)["fields"]["impulse"], json!(kept(rate)));
        let mut other = Instance::new(OWN);
        assert!(other.load(&state));
        for session in [44_100.0, 48_000.0, 96_000.0] {
            let (a, b) = (play(&mut one, session), play(&mut other, session));
            assert_eq!(first_difference(&a, &b), None);
            assert!(peak(&a) > 1e-3);
        }
        assert_eq!(read(&other.save())["fields"], read(&state)["fields"]);
        // While it plays another project comes that has none: the loudspeaker is heard.
        other.activate(RATE, 512);
        other.play(&pluck(RATE, 4_800, 2, 0.1), &[512], &[]);
        assert!(other.load(&Instance::new(OWN).save()));
        for _ in 0..5 {
            let output = other.play(&pluck(RATE, 4_800, 2, 0.1), &[512], &[]);
            assert!(peak(&output) > 1e-3 && peak(&output) < 2.0);
        }
        other.deactivate();
        assert_eq!(read(&other.save())["fields"]["impulse"], json!(""));
    }
}

/// Projects of the first form were heard as the line, and still are.
#[test]
fn a_project_of_before_sounds_as_it_did() {
    for class in CLASSES {
        let (mut before, _) = with(class, |state| {
            assert_eq!(state["fields"]["form"], json!("2"));
            state["fields"]["form"] = json!("1");
            let fields = state["fields"].as_object_mut().expect("a table");
            assert!(fields.remove("impulse").is_some());
            let params = state["params"].as_object_mut().expect("a table");
            assert!(params.remove("through").is_some());
        });
        let through = before.param("Heard through").id;
        assert_eq!(before.value(through), 1.0, "{class}");
        let (mut line, _) = with(class, |state| {
            state["params"]["through"] = json!({"i32": 1});
        });
        let (a, b) = (play(&mut before, RATE), play(&mut line, RATE));
        assert_eq!(first_difference(&a, &b), None, "{class}");
    }
}

#[test]
fn an_impulse_response_that_is_none_is_left_out() {
    let long = "AAAA".repeat(3_000_000);
    for odd in [
        "",
        "null",
        "{",
        "{\"name\":\"a\",\"rate\":48000,\"samples\":\"AADAfw==\"}",
        "{\"name\":\"a\",\"rate\":0,\"samples\":\"AACAPw==\"}",
        &json!({"name": "a", "rate": 48_000, "samples": long}).to_string(),
    ] {
        let (mut instance, _) = with(CLASSES[0], |state| {
            state["fields"]["impulse"] = json!(odd);
            state["params"]["through"] = json!({"i32": 2});
        });
        assert_eq!(read(&instance.save())["fields"]["impulse"], json!(""));
        let output = play(&mut instance, RATE);
        assert!(peak(&output) > 1e-3 && peak(&output).is_finite());
    }
}
