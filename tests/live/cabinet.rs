//! What a rig is heard through: the loudspeaker of each side, the line, an impulse response; it is
//! what the pieces make by themselves, whatever the blocks, adds no delay, and changes without a
//! click.

use crate::fixture::{OUTPUT_GAIN, RATE, Table, difference_db, format, phrase, sine};
use engine::device::Catalogue;
use engine::live::cabinets::{CabinetChoice, Response};
use engine::live::renderer::Heard;
use engine::realtime::cabinet::{Cabinet, Convolver, Sections, Voicing};

/// A table that is heard through something.
fn table(amp: &str, through: CabinetChoice) -> Table {
    let mut table = Table::new(amp);
    table.settings.through = through;
    table
}

/// Taps of a cabinet in a room: a click, echoes, a decay of `seconds`.
fn taps(seconds: f64) -> Vec<f64> {
    let length = (seconds * RATE) as usize;
    let tap = |n: usize| {
        let t = n as f64 / RATE;
        0.05 * (-t / (0.1 * seconds)).exp() * (2.0 * std::f64::consts::PI * 700.0 * t).sin()
    };
    let mut taps: Vec<f64> = (0..length).map(tap).collect();
    taps[0] = 0.7;
    taps[length / 7] -= 0.2;
    taps
}

fn response(taps: &[f64]) -> Box<Response> {
    Box::new(Some(Convolver::new(taps)))
}

fn voicing(loudspeaker: &str) -> Voicing {
    let catalogue = Catalogue::built_in();
    Voicing::new(
        catalogue
            .loudspeaker(loudspeaker)
            .unwrap()
            .acoustic
            .analog(),
        RATE,
    )
}

/// The text of the slot that chooses the loudspeaker.
fn own_loudspeaker(table: &Table) -> String {
    let amp = table.map.amp();
    let adjustable = amp.find("LS1").unwrap();
    amp.adjustables()[adjustable].text(amp.adjustables()[adjustable].filed)
}

/// Sound of the line through something, as the rig gives it.
fn through(mut cabinet: Cabinet<1>, line: &[f32]) -> Vec<f32> {
    let mut volts: Vec<f64> = line.iter().map(|&s| f64::from(s)).collect();
    cabinet.process(&mut [&mut volts]);
    volts.iter().map(|&v| v as f32).collect()
}

/// Single precision of the rig's output, relative to its own peak, is what is left: −140 dB of the
/// sample, and some gain of the filters.
const SINGLE_DB: f64 = -120.0;

#[test]
fn each_way_is_what_the_pieces_make_and_none_is_later() {
    let input = phrase(0.7);
    let line = table("mizzle", CabinetChoice::Line).play_mono(&input);
    let mut radiated = table("mizzle", CabinetChoice::Loudspeaker);
    let own = voicing(&own_loudspeaker(&radiated));
    let expected = through(Cabinet::Acoustic(Box::new(Sections::new([&own]))), &line);
    let error = difference_db(&expected, &radiated.play_mono(&input));
    assert!(error < SINGLE_DB, "loudspeaker: {error:.1} dB");
    for seconds in [0.01, 0.3] {
        let mut heard = table("mizzle", CabinetChoice::Impulse);
        assert!(heard.renderer.takes_response());
        heard.renderer.give_response(response(&taps(seconds)));
        let expected = through(
            Cabinet::Impulse(Box::new(Convolver::new(&taps(seconds)))),
            &line,
        );
        let error = difference_db(&expected, &heard.play_mono(&input));
        assert!(error < SINGLE_DB, "impulse response: {error:.1} dB");
        let latency = [CabinetChoice::Line, CabinetChoice::Loudspeaker]
            .map(|t| table("mizzle", t).renderer.latency());
        assert_eq!(latency, [heard.renderer.latency(); 2]);
    }
    // Without an impulse response the loudspeaker is heard.
    let without = table("mizzle", CabinetChoice::Impulse).play_mono(&input);
    assert_eq!(
        without,
        table("mizzle", CabinetChoice::Loudspeaker).play_mono(&input)
    );
}

/// As found on the left and proposed on the right, each through its own loudspeaker.
#[test]
fn each_side_is_heard_through_its_own_loudspeaker() {
    let input = sine(3000.0, 0.02, 0.6);
    let both = [&input[..], &input[..]];
    let mut pairs = [CabinetChoice::Line, CabinetChoice::Loudspeaker].map(|through| {
        let mut table = table("mizzle", through);
        table.settings.heard = Heard::Pair;
        table.propose("LS1", "Anvil Twelve");
        table.renderer.reset();
        table.play(both, &[64])
    });
    let own = voicing(&own_loudspeaker(&table("mizzle", CabinetChoice::Line)));
    let other = voicing("Anvil Twelve");
    assert!((own.at(3000.0, RATE).norm() / other.at(3000.0, RATE).norm() - 1.0).abs() > 0.02);
    // The proposed one is as much louder as its sensitivity says.
    let sensitivity = |name: &str| {
        let catalogue = Catalogue::built_in();
        catalogue.loudspeaker(name).unwrap().sensitivity_db.unwrap()
    };
    let found = own_loudspeaker(&table("mizzle", CabinetChoice::Line));
    let louder_db = sensitivity("Anvil Twelve") - sensitivity(&found);
    assert!(louder_db > 1.0);
    let [line, radiated] = &mut pairs;
    for sample in &mut line[1] {
        *sample *= 10f32.powf(louder_db as f32 / 20.0);
    }
    for (side, voicing) in [own, other].iter().enumerate() {
        let cabinet = Cabinet::Acoustic(Box::new(Sections::new([voicing])));
        let error = difference_db(&through(cabinet, &line[side]), &radiated[side]);
        assert!(error < SINGLE_DB, "side {side}: {error:.1} dB");
    }
}

/// Another loudspeaker comes in the same silence for what it takes and for what it radiates.
#[test]
fn a_loudspeaker_is_swapped_in_silence_and_without_a_click() {
    let mut table = table("mizzle", CabinetChoice::Loudspeaker);
    let note = sine(440.0, 0.01, 0.8);
    let before = table.play_mono(&note);
    table.propose("LS1", "Tin Ten");
    assert_ne!(own_loudspeaker(&table), "Tin Ten");
    let during = table.play_mono(&note);
    // Between 5 and 35 ms after it was asked for only what still rings is heard.
    let quiet = |from: f64, to: f64| {
        let at = |seconds: f64| (seconds * RATE) as usize;
        crate::fixture::rms(&during[at(from)..at(to)])
    };
    let loud = crate::fixture::rms(&before[9600..]);
    assert!(quiet(0.025, 0.035) < 0.03 * loud);
    let settled = table.play_mono(&note);
    let most = roughness(&before[9600..]).max(roughness(&settled[9600..]));
    let acted = roughness(&during);
    assert!(acted < 6.0 * most, "{acted:.2e} for {most:.2e}");
    table.renderer.reset();
    let new = table.play_mono(&note);
    let error = difference_db(&new[24_000..], &settled[24_000..]);
    assert!(error < -60.0, "{error:.1} dB");
}

#[test]
fn blocks_of_any_length_give_the_same_samples() {
    let input = phrase(0.5);
    let mut outputs = Vec::new();
    for blocks in [&[4096usize][..], &[1, 37, 64, 3, 512, 7]] {
        let mut table = table("mizzle", CabinetChoice::Loudspeaker);
        let mut out = Vec::new();
        for (round, part) in input.chunks(3001).enumerate() {
            // A loudspeaker, and ways that are left before they have been reached.
            match round {
                1 => table.settings.through = CabinetChoice::Line,
                2 => table.propose("LS1", "Breakwater Quad"),
                3 => {
                    assert!(table.renderer.give_response(response(&taps(0.2))).is_some());
                    table.settings.through = CabinetChoice::Impulse;
                }
                4 => assert!(
                    table
                        .renderer
                        .give_response(response(&taps(0.05)))
                        .is_none()
                ),
                5 => table.settings.through = CabinetChoice::Loudspeaker,
                6 => table.settings.through = CabinetChoice::Impulse,
                7 => table.settings.through = CabinetChoice::Line,
                _ => {}
            }
            let [left, _] = table.play([part, part], blocks);
            out.extend(left);
            table.renderer.finished_response();
        }
        outputs.push(out);
    }
    assert!(outputs[0] == outputs[1]);
}

/// Loudest sample of the second difference, which a click raises far above what a bass note has.
fn roughness(samples: &[f32]) -> f64 {
    samples
        .windows(3)
        .map(|w| f64::from((w[0] - 2.0 * w[1] + w[2]).abs()))
        .fold(0.0, f64::max)
}

/// A gain of a fade over T = 10 ms, a quarter turn of a sine whose place is p²(3 − 2p), moves by at
/// most 1.5·(π/2)/T = 2.36/T and bends by at most (6·π/2 + (1.5·π/2)²)/T² = 15/T². A note of angular
/// frequency ω = 2π·110 under it bends by at most ω² + 2·ω·2.36/T + 15/T² of its peak, 2.0 times what
/// it does by itself; both ways fade at once: 4.
const BAR: f64 = 4.0;

#[test]
fn what_it_is_heard_through_changes_without_a_click() {
    let mut table = table("bradawl", CabinetChoice::Line);
    let note = sine(110.0, 0.01, 0.5);
    let play = |table: &mut Table| table.play_mono(&note);
    play(&mut table);
    let calm = roughness(&play(&mut table)[..]);
    let mut change = |what: &str, act: &dyn Fn(&mut Table), before: f64| {
        act(&mut table);
        let during = roughness(&play(&mut table));
        let after = roughness(&play(&mut table)[4800..]);
        table.renderer.finished_response();
        println!("{what}: {before:.2e}, {during:.2e}, {after:.2e}");
        assert!(
            during < BAR * before.max(after),
            "{what}: {during:.2e} for {before:.2e}"
        );
        after
    };
    let way = |through| move |table: &mut Table| table.settings.through = through;
    let calm = change("loudspeaker", &way(CabinetChoice::Loudspeaker), calm);
    let calm = change("no response yet", &way(CabinetChoice::Impulse), calm);
    let give = |taps: Vec<f64>| {
        move |table: &mut Table| drop(table.renderer.give_response(response(&taps)))
    };
    let calm = change("a response comes", &give(taps(0.5)), calm);
    let calm = change("another one", &give(taps(0.02)), calm);
    let gone = |table: &mut Table| drop(table.renderer.give_response(Box::new(None)));
    let calm = change("it is taken away", &gone, calm);
    change("line", &way(CabinetChoice::Line), calm);
}

#[test]
fn a_jump_would_be_noticed_by_the_same_measure() {
    let note = sine(110.0, 0.01, 0.5);
    let mut sound = table("bradawl", CabinetChoice::Line).play_mono(&note);
    let calm = roughness(&sound[12_000..]);
    let radiated = table("bradawl", CabinetChoice::Loudspeaker).play_mono(&note);
    sound[18_000..].copy_from_slice(&radiated[18_000..]);
    assert!(roughness(&sound[12_000..]) > 2.0 * BAR * calm);
}

/// Whatever comes when, what goes is given back and the last wish is heard in the end.
#[test]
fn what_leaves_is_given_back() {
    let mut table = table("mizzle", CabinetChoice::Impulse);
    let input = phrase(0.1);
    let mut given = 0;
    let mut back = 0;
    for round in 0..30 {
        table.settings.through = [
            CabinetChoice::Impulse,
            CabinetChoice::Line,
            CabinetChoice::Impulse,
        ][round % 3];
        if table.renderer.takes_response() {
            given += 1;
            back += usize::from(
                table
                    .renderer
                    .give_response(response(&taps(0.01)))
                    .is_some(),
            );
        }
        table.play_mono(&input[..500 * (round % 9 + 1)]);
        if round == 20 {
            table.renderer.reset();
        }
        back += usize::from(table.renderer.finished_response().is_some());
    }
    table.settings.through = CabinetChoice::Impulse;
    table.play_mono(&phrase(0.3));
    back += usize::from(table.renderer.finished_response().is_some());
    // One is in the rig, which began with an empty one.
    assert_eq!(given, back);
    assert!(table.renderer.takes_response());
    let heard = table.play_mono(&phrase(0.3));
    assert!(heard.iter().any(|s| s.abs() > 0.01 * OUTPUT_GAIN as f32));
    let _ = format(RATE, 1);
}
