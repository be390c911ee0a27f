//! The window chooses what is heard through, opens an impulse response off its own thread, tells
//! what is wrong with one, and takes it away.

use crate::fixture::opened;
use presolder::editor::edit::{Edit, PluginSetting};
use presolder::sound::{
    Sound,
    wav::{self, Depth},
};
use std::path::Path;

fn write(path: &Path, channels: Vec<Vec<f32>>) -> String {
    let sound = Sound {
        name: "response.wav".into(),
        rate: 48_000,
        channels,
    };
    wav::write(path, &sound, Depth::Int24).unwrap();
    path.display().to_string()
}

#[test]
fn the_way_is_chosen_and_an_impulse_response_opened() {
    let folder = tempfile::tempdir().unwrap();
    let good = write(
        &folder.path().join("box.wav"),
        vec![vec![0.5, 0.2, -0.1], vec![0.0; 3]],
    );
    let silent = write(&folder.path().join("silent.wav"), vec![vec![0.0; 10]]);
    let mut bench = opened("mizzle");
    let through = |bench: &crate::fixture::Window| bench.edit.setting(PluginSetting::Cabinet);
    assert_eq!(through(&bench), 0.0);
    bench.click("heard through: line");
    assert_eq!(through(&bench), 1.0);
    assert!(!bench.shows("none yet"));
    bench.click("heard through: impulse response");
    assert_eq!(through(&bench), 2.0);
    assert!(bench.shows("none yet: the loudspeaker is heard"));
    bench.fill("its WAV file", &silent);
    bench.press("Open impulse response");
    bench.until("is silent");
    assert!(bench.edit.impulse().is_none());
    bench.click("heard through: line");
    bench.click("heard through: impulse response");
    bench.fill("its WAV file", &good);
    bench.press("Open impulse response");
    bench.until("left channel");
    assert_eq!(through(&bench), 2.0);
    assert_eq!(bench.edit.impulse().unwrap().name(), "box.wav");
    assert!(bench.shows("box.wav, 0.062 ms") || bench.shows("box.wav, 0.063 ms"));
    bench.press("Take away");
    assert!(bench.edit.impulse().is_none() && bench.shows("none yet"));
}
