//! Clean headroom as a report: order of clipping, the volume control, sentences and tables, on every
//! built-in amp.

use engine::analysis::drive::{Drive, GridCurrent, ONSET_AMPS, drive};
use engine::analysis::headroom::tables::{clean_table, recovery_table, volume_table};
use engine::analysis::headroom::words::{NOTES, input_in_words, input_with_dbu, sentences};
use engine::analysis::headroom::{
    ClipOrder, How, PLAYED_VOLTS, POSITIONS, StageHeadroom, VolumeHeadroom, clean_headroom,
    recovery, volume_headroom,
};
use engine::circuit::{
    Circuit, WrittenSetting, built_in_circuits, built_in_proposals, read, read_proposal,
};
use engine::device::Catalogue;
use engine::solve::solved::{Both, SolvedAmp, SolvedCircuit};

fn circuit(text: &str) -> Circuit {
    read(text, &Catalogue::built_in()).expect("a sound file")
}

/// Processor time of this thread, ms.
fn processor_ms() -> f64 {
    let text = std::fs::read_to_string("/proc/thread-self/schedstat").unwrap_or_default();
    let ns = text.split(' ').next().and_then(|t| t.parse::<f64>().ok());
    ns.unwrap_or(0.0) / 1e6
}

fn stage(name: &str, volts: Option<f64>) -> StageHeadroom {
    StageHeadroom {
        stage: name.into(),
        valve: "V1".into(),
        clips_at_input_volts: volts,
        how: volts.map(|_| How::CutOff),
    }
}

/// 20·lg(0.2/0.1) = 6.02 dB; a stage that does not clip takes no place.
#[test]
fn first_and_second() {
    let stages = [
        stage("one", None),
        stage("two", Some(0.2)),
        stage("three", Some(0.1)),
        stage("four", Some(5.0)),
    ];
    let order = ClipOrder::of(&stages);
    assert_eq!(order.first.as_ref().unwrap().stage, "three");
    assert_eq!(order.second.unwrap().stage, "two");
    assert!((order.apart_db.unwrap() - 6.0206).abs() < 1e-4);
    // Peak of a sine over its r.m.s.
    assert!((order.first.unwrap().input_volts - 0.070_710_678).abs() < 1e-9);
    let none = ClipOrder::of(&stages[..1]);
    assert_eq!((none.first, none.second, none.apart_db), (None, None, None));
}

#[test]
fn levels_in_words() {
    assert_eq!(input_in_words(0.0523), "52 mV");
    assert_eq!(input_in_words(1.26), "1.3 V");
    // 20·lg(0.0523/0.7746)
    assert_eq!(input_with_dbu(0.0523), "52 mV r.m.s. (−23.4 dBu)");
}

fn volume(network: &engine::network::Network, side: &SolvedCircuit, at: &[f64]) -> VolumeHeadroom {
    volume_headroom(network, side, at, &mut |_| true)
        .expect("nobody gives up")
        .expect("a pot")
}

fn five(limits: &[engine::analysis::drive::Limit]) -> Option<f64> {
    limits[1].at.map(|level| level.input_volts)
}

/// The position that the file sets gives what the sweep gives by itself; another one what the sweep
/// of a circuit so set gives; turned up it is never clean for longer.
#[test]
fn the_volume_control() {
    let found = circuit(built_in_circuits()[0].text);
    let amp = SolvedAmp::new(&found, None).unwrap();
    let by_position = volume(&amp.network, &amp.as_found, &[0.8, 0.3, 0.5]);
    assert_eq!(
        (by_position.control.as_str(), by_position.by_role),
        ("Volume", true)
    );
    assert_eq!(by_position.set, 0.5);
    let positions: Vec<f64> = by_position.points.iter().map(|p| p.position).collect();
    assert_eq!(positions, [0.3, 0.5, 0.8]);
    let own = drive(&amp.network, &amp.as_found, &mut |_| {});
    assert_eq!(by_position.points[1].limits, own.limits);
    let setting = WrittenSetting {
        control: "volume".into(),
        value: "0.3".into(),
        line: None,
    };
    let quiet = SolvedAmp::new(&found.with_written_controls(&[setting]).unwrap(), None).unwrap();
    let quiet: Drive = drive(&quiet.network, &quiet.as_found, &mut |_| {});
    assert_eq!(by_position.points[0].limits, quiet.limits);
    let levels: Vec<f64> = by_position
        .points
        .iter()
        .filter_map(|p| five(&p.limits))
        .collect();
    assert!(
        levels.len() == 3 && levels.windows(2).all(|w| w[1] < w[0]),
        "{levels:?}"
    );
    let gains: Vec<f64> = by_position
        .points
        .iter()
        .filter_map(|p| p.gain_db)
        .collect();
    assert!(
        gains.len() == 3 && gains.windows(2).all(|w| w[1] > w[0]),
        "{gains:?}"
    );
    // Turned right down there is silence, and no limit; nothing panics.
    let off = volume(&amp.network, &amp.as_found, &[0.0]);
    assert!(
        five(&off.points[0].limits).is_none_or(|v| v > levels[0]),
        "{off:?}"
    );
}

/// Whatever it is called, the volume control is found; of two, the pot that moves the gain most is taken;
/// without a pot, none.
#[test]
fn which_control() {
    let text = built_in_circuits()[0]
        .text
        .replace("control = \"Volume\"", "control = \"Loud\"");
    let found = circuit(&text);
    let amp = SolvedAmp::new(&found, None).unwrap();
    let turned = volume(&amp.network, &amp.as_found, &[0.5]);
    assert_eq!((turned.control.as_str(), turned.by_role), ("Loud", true));
    let channels = circuit(include_str!("../circuit/recognised/peat_spade.toml"));
    let amp = SolvedAmp::new(&channels, None).unwrap();
    let turned = volume(&amp.network, &amp.as_found, &[0.5]);
    // The input drives the bright channel.
    assert_eq!(
        (turned.control.as_str(), turned.by_role),
        ("Bright volume", false)
    );
    let stage = circuit(include_str!("../circuits/one_triode.toml"));
    let amp = SolvedAmp::new(&stage, None).unwrap();
    let none = volume_headroom(&amp.network, &amp.as_found, &POSITIONS, &mut |_| true);
    assert_eq!(none, Some(None));
}

/// A valve taken out, and an amp without any valve left, still give a report.
#[test]
fn without_valves() {
    let found = circuit(built_in_circuits()[0].text);
    let outs: [&[&str]; 2] = [
        &["V3=out"],
        &[
            "V1a=out", "V1b=out", "V2a=out", "V2b=out", "V3=out", "V4=out",
        ],
    ];
    for out in outs {
        let changes: Vec<_> = out.iter().map(|c| c.parse().unwrap()).collect();
        let Ok(less) = found.with_written_changes(&changes, &Catalogue::built_in()) else {
            continue;
        };
        let amp = SolvedAmp::new(&less, None).unwrap();
        let clean = clean_headroom(&amp.network, &amp.as_found, PLAYED_VOLTS, &mut |_| true);
        let clean = clean.unwrap();
        println!("{out:?}: {:?} {:?}", clean.drive.limits, clean.order);
        if out.len() > 1 {
            let none = GridCurrent {
                valve: None,
                stage: String::new(),
                at: None,
                without: Some(engine::analysis::drive::Without::NeverReached),
            };
            assert_eq!(clean.drive.grid_current, none);
            assert_eq!(clean.order.first, None);
        }
    }
}

#[test]
fn saying_no_ends_it() {
    let found = circuit(built_in_circuits()[0].text);
    let amp = SolvedAmp::new(&found, None).unwrap();
    let mut asked = 0;
    let stopped = clean_headroom(&amp.network, &amp.as_found, PLAYED_VOLTS, &mut |_| {
        asked += 1;
        asked < 3
    });
    assert_eq!((stopped, asked), (None, 3));
    assert!(volume_headroom(&amp.network, &amp.as_found, &[0.5], &mut |_| false).is_none());
}

/// A follower coupled directly to the anode before it draws grid current at rest (the operating point
/// says so): that is how it works and no limit.
#[test]
fn a_grid_that_takes_current_at_rest_is_no_limit() {
    let spokeshave = built_in_circuits().iter().find(|b| b.key == "spokeshave");
    let found = circuit(spokeshave.unwrap().text);
    let amp = SolvedAmp::new(&found, None).unwrap();
    let id = found.find_part("V1b").unwrap();
    let devices = amp.network.devices();
    let index = devices.triodes.iter().position(|t| t.part == id).unwrap();
    let [_, g, k] = devices.triodes[index].at.map(usize::from);
    let rest = &amp.as_found.point.solution;
    let law = &amp.as_found.values.devices.triodes[index].law;
    let amps = law.grid.at(rest[g] - rest[k]).current;
    println!("{amps} A at {} V", rest[g] - rest[k]);
    let onset = drive(&amp.network, &amp.as_found, &mut |_| {}).grid_current;
    assert_eq!(amps >= ONSET_AMPS, onset.valve.as_deref() != Some("V1b"));
}

/// All built-in amps and proposals: every limit in its order, a first stage to clip, sentences without
/// a dash for a number.
#[test]
fn built_in_amps() {
    for built_in in built_in_circuits() {
        let found = circuit(built_in.text);
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).unwrap();
            let proposed = proposal.apply(&found, &Catalogue::built_in()).unwrap();
            let amp = SolvedAmp::new(&found, Some(&proposed)).unwrap();
            let sides = amp.both().unwrap();
            let start = processor_ms();
            let clean = sides.map(|side| {
                clean_headroom(&amp.network, side, PLAYED_VOLTS, &mut |_| true).unwrap()
            });
            let cleaned = processor_ms();
            let back = sides.map(|side| {
                let clips = ClipOrder::of(&clean_of(&clean, side, &amp).stages);
                let volts = clips.first.unwrap().input_volts;
                recovery(&amp.network, side, volts, &mut |_| true).unwrap()
            });
            let burst = processor_ms();
            let volume = sides.map(|side| volume(&amp.network, side, &[0.3, 0.7, 1.0]));
            println!(
                "\n== {} {}: both sides clean {:.0} ms, recovery {:.0} ms\n{}{}{}",
                built_in.name,
                file.key,
                cleaned - start,
                burst - cleaned,
                clean_table(&Both {
                    as_found: &clean.as_found,
                    proposed: &clean.proposed
                }),
                volume_table(&volume),
                recovery_table(&back)
            );
            let told = sentences(
                &Both {
                    as_found: &clean.as_found,
                    proposed: &clean.proposed,
                },
                Some(&volume),
                Some(&back),
            );
            for sentence in &told {
                println!("  {sentence}");
                assert!(
                    !sentence.contains('–') && sentence.ends_with('.') && !sentence.contains(".."),
                    "{sentence}"
                );
            }
            for clean in [&clean.as_found, &clean.proposed] {
                assert_eq!((clean.drive.unsolved, clean.drive.restless), (0, 0));
                let limits: Vec<f64> = clean
                    .drive
                    .limits
                    .iter()
                    .map(|l| l.at.unwrap().input_volts)
                    .collect();
                assert!(limits.windows(2).all(|w| w[0] < w[1]), "{limits:?}");
                assert!(clean.order.apart_db.unwrap() >= 0.0);
                assert!(clean.drive.grid_current.at.is_some());
            }
        }
    }
    NOTES.iter().for_each(|note| println!("{note}"));
}

fn clean_of<'a>(
    clean: &'a Both<engine::analysis::headroom::CleanHeadroom>,
    side: &SolvedCircuit,
    amp: &SolvedAmp,
) -> &'a engine::analysis::headroom::CleanHeadroom {
    match std::ptr::eq(side, &amp.as_found) {
        true => &clean.as_found,
        false => &clean.proposed,
    }
}
