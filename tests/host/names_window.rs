//! A file that is saved while the window of one's own amp is open is read again on the window's own
//! thread: the host is asked on its own thread to read the names, in either format, and never after the
//! window and the instance have gone.

use crate::fixture::screen::{Screen, on_a_screen, patiently};
use crate::fixture::vst3_names::Listening;
use crate::fixture::vst3_view::View;
use crate::fixture::{OWN, clap, vst3, with_circuit};
use clack_extensions::params::ParamRescanFlags;
use nice_plug::wrapper::vst3::vst3::Steinberg::Vst::RestartFlags_;
use presolder::circuit::built_in_circuit;
use std::path::Path;

/// A file in which a part of the amp has another role from one saving to the next.
fn write(path: &Path, role: &str) -> String {
    let text = built_in_circuit("mizzle").expect("an amp").text;
    let text = text.replace("role = \"anode load\"", &format!("role = \"{role}\""));
    assert!(text.contains(role));
    // Whole at once: it is watched.
    let beside = path.with_extension("new");
    std::fs::write(&beside, &text).expect("written");
    std::fs::rename(&beside, path).expect("renamed");
    text
}

fn in_clap(screen: &Screen, path: &Path) {
    let parent = screen.parent((0, 0), (1280, 800));
    parent.map();
    let mut instance = clap::Instance::new(OWN);
    let json = with_circuit(&instance.save()[8..], &write(path, "first"), path);
    assert!(instance.load(&[&(json.len() as u64).to_le_bytes()[..], &json].concat()));
    instance.serve();
    instance.rescans();
    assert!(instance.params().iter().any(|p| p.name.ends_with(" first")));
    instance.open_window(parent.id);
    assert!(patiently(|| instance.serve(), || parent.drawn()));
    write(path, "second");
    let mut asked = Vec::new();
    let mut named = false;
    for _ in 0..1000 {
        std::thread::sleep(std::time::Duration::from_millis(10));
        instance.serve();
        asked.extend(instance.rescans());
        named = asked
            .iter()
            .any(|flags| flags.contains(ParamRescanFlags::INFO));
        if named {
            break;
        }
    }
    assert!(named, "{asked:?}");
    let names = instance.params();
    assert!(names.iter().any(|p| p.name.ends_with(" second")));
    assert!(!names.iter().any(|p| p.name.ends_with(" first")));
    // Removed while the file is being read again.
    write(path, "third");
    std::thread::sleep(std::time::Duration::from_millis(300));
    instance.close_window();
}

fn in_vst3(screen: &Screen, path: &Path, tidy: bool) {
    let wanted = RestartFlags_::kParamTitlesChanged | RestartFlags_::kParamValuesChanged;
    let parent = screen.parent((0, 0), (1280, 800));
    parent.map();
    let instance = vst3::Instance::new(vst3::CLASSES[4]);
    let listening = Listening::to(&instance);
    let names = || (0..instance.count()).filter_map(|index| Some(instance.told(index)?.1));
    instance.load(&with_circuit(&instance.save(), &write(path, "first"), path));
    listening.asked();
    let view = View::open(&instance, parent.id, tidy);
    assert_eq!(view.handlers(), 2, "the framework's and the bell");
    assert!(patiently(|| view.serve(), || parent.drawn()));
    write(path, "second");
    let mut asked = Vec::new();
    // The test's handler sees to it that this is the host's thread.
    assert!(patiently(
        || view.serve(),
        || {
            asked.extend(listening.asked());
            asked.contains(&wanted)
        }
    ));
    assert_eq!(asked.iter().filter(|&&flags| flags == wanted).count(), 1);
    assert!(names().any(|name| name.ends_with(" second")));
    assert!(!names().any(|name| name.ends_with(" first")));
    // Noted while nobody serves the run loop, then closed: the next call that may change much asks.
    write(path, "third");
    assert!(patiently(
        || (),
        || names().any(|name| name.ends_with(" third"))
    ));
    assert!(!listening.asked().contains(&wanted));
    assert_eq!(view.close(), 0, "handlers stay registered");
    instance.set_active(false);
    assert!(listening.asked().contains(&wanted));
}

#[test]
#[ignore = "needs a screen; run by the test below in a process of its own"]
fn follows_the_file() {
    let folder = tempfile::tempdir().expect("a folder");
    let path = folder.path().join("own.toml");
    let screen = Screen::new();
    in_clap(&screen, &path);
    in_vst3(&screen, &path, true);
    in_vst3(&screen, &path, false);
    println!("names were followed");
}

#[test]
fn a_host_follows_a_file_that_is_saved_while_its_window_is_open() {
    if let Some(said) = on_a_screen("names_window::follows_the_file", &[]) {
        assert!(said.contains("names were followed"), "{said}");
    }
}
