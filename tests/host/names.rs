//! A host follows the file that was loaded into the class for one's own: asked once to read names, values
//! and texts again, it finds those of the file, in either format, whether the instance is active or not.

use crate::fixture::vst3_names::Listening;
use crate::fixture::{CLASSES, OWN, clap, pluck, vst3, with_circuit};
use clack_extensions::params::ParamRescanFlags;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::RestartFlags_;
use presolder::circuit::built_in_circuit;
use std::path::Path;

const RATE: f64 = 48_000.0;
/// Slots for parts and for controls.
const SLOTS: (usize, usize) = (64, 12);

fn text(amp: &str) -> &'static str {
    built_in_circuit(amp).expect("an amp").text
}

/// A CLAP state of a built-in amp's circuit.
fn framed(instance: &mut clap::Instance, amp: &str) -> Vec<u8> {
    let json = with_circuit(&instance.save()[8..], text(amp), Path::new(""));
    [&(json.len() as u64).to_le_bytes()[..], &json].concat()
}

/// What the host was asked to read again that has to do with names.
fn of_names(rescans: &[ParamRescanFlags]) -> Vec<ParamRescanFlags> {
    let names = |flags: &&ParamRescanFlags| flags.contains(ParamRescanFlags::INFO);
    rescans.iter().filter(names).copied().collect()
}

/// All names are the file's: every one of a part is that in the class of the same amp, and what is left
/// is unused.
fn assert_named(names: &[String], amp_class: &[String], amp: &str) {
    let slots = &names[names.len() - SLOTS.0 - SLOTS.1..];
    let known = |name: &&String| amp_class.contains(name);
    let unused = |name: &&String| name.ends_with("(unused)");
    let (used, rest): (Vec<_>, Vec<_>) = slots.iter().partition(known);
    assert!(used.len() > 20, "{amp}: {used:?}");
    assert!(rest.iter().all(unused), "{amp}: {rest:?}");
    let mut all = names.to_vec();
    all.sort();
    all.dedup();
    assert_eq!(all.len(), names.len(), "{amp}: two have one name");
}

fn clap_names(instance: &mut clap::Instance) -> Vec<String> {
    instance.params().into_iter().map(|p| p.name).collect()
}

fn vst3_names(instance: &vst3::Instance) -> Vec<String> {
    let told = (0..instance.count()).map(|index| instance.told(index).expect("told").1);
    told.collect()
}

#[test]
fn a_clap_host_reads_the_names_of_the_file() {
    for active in [false, true] {
        let mut instance = clap::Instance::new(OWN);
        let fresh = clap_names(&mut instance);
        assert!(fresh.iter().any(|name| name == "Part 64"));
        assert!(instance.rescans().is_empty());
        if active {
            instance.activate(RATE, 256);
        }
        for (amp, class) in [("sluice", CLASSES[3]), ("mizzle", CLASSES[1])] {
            let state = framed(&mut instance, amp);
            assert!(instance.load(&state));
            instance.serve();
            let asked = instance.rescans();
            let all = ParamRescanFlags::INFO | ParamRescanFlags::VALUES | ParamRescanFlags::TEXT;
            assert_eq!(of_names(&asked), [all], "{amp}: {asked:?}");
            let of_class = clap_names(&mut clap::Instance::new(class));
            let names = clap_names(&mut instance);
            assert_named(&names, &of_class, amp);
            // Which text belongs to which name.
            let part = instance
                .params()
                .into_iter()
                .find(|p| p.name.starts_with("R3 ") || p.name.starts_with("R103 "));
            let part = part.expect("a resistor");
            let said = instance.text(part.id, part.default);
            assert_eq!(said.split(' ').next(), part.name.split(' ').next());
        }
        if active {
            instance.play(&pluck(RATE, 2_000, 2, 0.3), &[256], &[]);
        }
        instance.serve();
        assert!(of_names(&instance.rescans()).is_empty(), "asked again");
        // A project that this instance saved names another's parameters too.
        let kept = instance.save();
        let mut other = clap::Instance::new(OWN);
        assert!(other.load(&kept));
        assert_eq!(of_names(&other.rescans()).len(), 1);
        assert_eq!(clap_names(&mut other), clap_names(&mut instance));
    }
}

#[test]
fn a_clap_host_without_parameters_is_asked_for_nothing() {
    let mut instance = clap::Instance::in_a_bare_host(OWN);
    let state = framed(&mut instance, "sluice");
    assert!(instance.load(&state));
    instance.serve();
    assert!(instance.rescans().is_empty());
    assert!(
        clap_names(&mut instance)
            .iter()
            .any(|name| name.starts_with("R101 "))
    );
}

#[test]
fn the_names_of_a_built_in_amp_stay() {
    let mut instance = clap::Instance::new(CLASSES[0]);
    let before = clap_names(&mut instance);
    let state = instance.save();
    assert!(instance.load(&state));
    instance.serve();
    assert!(of_names(&instance.rescans()).is_empty());
    assert_eq!(clap_names(&mut instance), before);
    let instance = vst3::Instance::new(vst3::CLASSES[0]);
    let listening = Listening::to(&instance);
    let before = vst3_names(&instance);
    instance.load(&instance.save());
    assert!(listening.asked().is_empty());
    assert_eq!(vst3_names(&instance), before);
}

#[test]
fn a_vst3_host_reads_the_names_of_the_file() {
    let wanted = RestartFlags_::kParamTitlesChanged | RestartFlags_::kParamValuesChanged;
    for active in [false, true] {
        let mut instance = vst3::Instance::new(vst3::CLASSES[4]);
        let listening = Listening::to(&instance);
        let fresh = vst3_names(&instance);
        assert!(fresh.iter().any(|name| name == "Part 64"));
        if active {
            assert!(instance.set_up(vst3::Mode::Realtime, RATE, 256));
            assert!(instance.set_active(true));
        }
        listening.asked();
        for (amp, class) in [("sluice", 3), ("mizzle", 1)] {
            let state = with_circuit(&instance.save(), text(amp), Path::new(""));
            instance.load(&state);
            assert_eq!(listening.asked(), [wanted], "{amp}");
            let of_class = vst3_names(&vst3::Instance::new(vst3::CLASSES[class]));
            assert_named(&vst3_names(&instance), &of_class, amp);
        }
        if active {
            instance.play(&pluck(RATE, 2_000, 2, 0.3), &[]);
            instance.set_active(false);
        }
        assert!(listening.asked().is_empty(), "asked again");
    }
}

#[test]
fn a_vst3_host_is_asked_while_it_has_a_handler_and_no_longer() {
    let wanted = RestartFlags_::kParamTitlesChanged | RestartFlags_::kParamValuesChanged;
    let mut instance = vst3::Instance::new(vst3::CLASSES[4]);
    let state = with_circuit(&instance.save(), text("sluice"), Path::new(""));
    // The handler comes after the state: the host is asked with its next call that may change much.
    instance.load(&state);
    let listening = Listening::to(&instance);
    assert!(instance.set_up(vst3::Mode::Realtime, RATE, 256));
    assert!(instance.set_active(true));
    let asked = listening.asked();
    assert_eq!(
        asked.iter().filter(|&&flags| flags == wanted).count(),
        1,
        "{asked:?}"
    );
    instance.set_active(false);
    instance.deafen();
    assert!(listening.is_let_go());
    instance.load(&state);
    assert!(listening.asked().is_empty());
    // The end of the instance lets go of a handler that the host has not taken away.
    let listening = Listening::to(&instance);
    instance.terminate();
    assert!(listening.is_let_go());
    instance.load(&state);
    assert!(listening.asked().is_empty());
}
