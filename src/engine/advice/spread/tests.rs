//! That neither the number of cores nor the order of the work matters.

use super::study::Drawn;
use super::*;
use crate::circuit::{built_in_circuit, read, read_proposal};
use crate::device::Catalogue;

fn demo() -> SolvedAmp {
    let catalogue = Catalogue::built_in();
    let built_in = built_in_circuit("bradawl").expect("a built-in amp");
    let amp = read(built_in.text, &catalogue).expect("a sound file");
    let proposal = read_proposal(built_in.proposals[0].text).expect("a sound file");
    let proposed = proposal.apply(&amp, &catalogue).expect("it fits");
    SolvedAmp::new(&amp, Some(&proposed)).expect("a solution")
}

fn settings(amps: usize) -> SpreadSettings {
    SpreadSettings {
        amps,
        ..SpreadSettings::default()
    }
}

#[test]
fn one_thread_backwards_and_all_cores_agree_to_the_last_bit() {
    let amp = demo();
    let on_all_cores = spread(&amp, settings(43), &mut |_| true);
    let study = Study::new(&amp, settings(43));
    let mut groups: Vec<Vec<Drawn>> = (0..study.groups()).rev().map(|i| study.group(i)).collect();
    groups.reverse();
    let backwards = gather::report(&study, groups);
    assert_eq!(on_all_cores, Some(backwards));
}

#[test]
fn an_amp_is_the_same_however_many_are_drawn() {
    let amp = demo();
    let few = Study::new(&amp, settings(8)).group(0);
    let many = Study::new(&amp, settings(64)).group(0);
    assert_eq!(few, many);
    let other = SpreadSettings {
        seed: 2,
        ..settings(8)
    };
    assert_ne!(Study::new(&amp, other).group(0), few);
}

#[test]
fn it_gives_up_when_told_to() {
    let amp = demo();
    let mut asked = 0;
    let given_up = spread(&amp, settings(4000), &mut |_| {
        asked += 1;
        asked < 3
    });
    assert_eq!((given_up, asked), (None, 3));
}
