//! Dissipation and sag while playing against the plain oracle, and the chart's words.

use crate::solved::Solved;
use engine::analysis::valve_chart::{over, valve_chart};
use engine::analysis::valves_playing::{supply_nodes, valves_playing};
use engine::analysis::voltages::chart;
use engine::circuit::{
    Circuit, NodeId, PartKind, built_in_circuits, built_in_proposals, read, read_proposal,
};
use engine::device::{Catalogue, ValveLaw};
use engine::solve::Transient;
use engine::solve::solved::SolvedAmp;
use engine::sound::phrase::phrase;

fn circuit(text: &str) -> Circuit {
    read(text, &Catalogue::built_in()).expect("a sound file")
}

/// The demonstration's amp and its first proposal.
fn both() -> SolvedAmp {
    let built_in = &built_in_circuits()[0];
    let found = circuit(built_in.text);
    let proposal = read_proposal(built_in_proposals(built_in.key)[0].text).unwrap();
    let proposed = proposal.apply(&found, &Catalogue::built_in()).unwrap();
    SolvedAmp::new(&found, Some(&proposed)).unwrap()
}

/// Means of the first tenth of a second by the oracle in steps of a fourth of a sample: watts of
/// V3's anode and screen, volts of the first supply node.
fn oracle(bench: &Solved, samples: &[f32]) -> [f64; 3] {
    let mut transient = Transient::new(&bench.network, &bench.values, &bench.point, 1.0 / 192e3);
    let at = |name: &str| {
        bench
            .network
            .position(bench.circuit.find_node(name).unwrap())
    };
    let [a, s, g, ht] = ["a5", "s5", "g5", "ht1"].map(at);
    let id = bench.circuit.find_part("V3").unwrap();
    let PartKind::Pentode { valve, .. } = &bench.circuit.part(id).kind else {
        panic!("a pentode")
    };
    let ValveLaw::Pentode(law) = &valve.law else {
        panic!("a pentode")
    };
    let mut sums = [0.0; 3];
    for pair in samples.windows(2) {
        for quarter in 1..=4 {
            let share = f64::from(quarter) / 4.0;
            let input = f64::from(pair[0]) * (1.0 - share) + f64::from(pair[1]) * share;
            transient.step(input).expect("the oracle converges");
            let v = transient.solution();
            let i = law.currents(v[a], v[s], v[g]);
            for (sum, x) in sums
                .iter_mut()
                .zip([i.anode * v[a], i.screen * v[s], v[ht]])
            {
                *sum += x;
            }
        }
    }
    sums.map(|sum| sum / (4.0 * (samples.len() - 1) as f64))
}

/// The hard chord's first tenth of a second. The processor lags by its filters' delay of under a
/// millisecond, so each mean may be off by that share of what it moves by, and the oracle's input
/// is joined by straight lines: two per cent.
#[test]
fn the_oracle_dissipates_as_much() {
    let amp = both();
    let sound = phrase(48_000);
    let start = (6.85 * 48e3) as usize;
    let samples = &sound[start..start + 4801];
    let playing = valves_playing(&amp, &samples[..4800], 48_000, &mut |_| true).unwrap();
    assert_eq!(playing.unsolved, 0);
    let proposed = playing.proposed.unwrap();
    for (side, played) in [
        (&amp.as_found, playing.as_found),
        (amp.asked_for(), proposed),
    ] {
        let expected = oracle(&Solved::new(side.circuit.clone()), samples);
        let v3 = played.valves.iter().find(|v| v.designator == "V3").unwrap();
        let found = [
            v3.anode_watts,
            v3.screen_watts.unwrap(),
            played.supplies[0].lowest_volts,
        ];
        println!("{found:?} {expected:?}");
        for (a, b) in found.iter().zip(&expected) {
            assert!((a / b - 1.0).abs() < 0.02, "{found:?} {expected:?}");
        }
        assert!(played.supplies[0].lowest_volts < played.supplies[0].idle_volts - 1.0);
    }
}

#[test]
fn silence_dissipates_what_stands_at_rest() {
    let amp = both();
    for samples in [9600, 100, 0] {
        rests(&amp, &vec![0.0; samples]);
    }
}

fn rests(amp: &SolvedAmp, silence: &[f32]) {
    let playing = valves_playing(amp, silence, 48_000, &mut |_| true).unwrap();
    let report = valve_chart(amp, Some(&playing));
    assert_eq!(report.valves.len(), 6);
    for line in &report.valves {
        for figures in [Some(&line.as_found), line.proposed.as_ref()] {
            let figures = figures.unwrap();
            for electrode in [Some(&figures.anode), figures.screen.as_ref()] {
                let Some(electrode) = electrode else { continue };
                let (idle, playing) = (electrode.idle.watts, electrode.playing.as_ref().unwrap());
                // The iteration's tolerance of 2 µA on some 10 mA.
                assert!((playing.watts / idle - 1.0).abs() < 1e-3, "{line:?}");
            }
        }
    }
    assert!(
        report
            .supplies
            .iter()
            .all(|s| s.as_found.in_words == "stays")
    );
}

#[test]
fn the_chart_reads_as_the_voltages_do() {
    let amp = both();
    let report = valve_chart(&amp, None);
    let voltages = chart(&amp.network, &amp.as_found);
    for line in &report.valves {
        let reading = voltages.valves.get(&line.designator).unwrap();
        assert_eq!(line.as_found.anode.idle.watts, reading.anode_watts);
        assert_eq!(line.as_found.anode.idle.percent, reading.anode_percent);
        assert_eq!(line.as_found.anode_milliamps, reading.anode_milliamps);
        let bias = reading.grid_volts - reading.cathode_volts;
        assert_eq!(line.as_found.bias_volts, bias);
        assert!(line.as_found.rating_system.is_some() && !line.as_found.rating_source.is_empty());
        assert_eq!(line.as_found.anode.playing, None);
    }
    let v3 = report.valves.iter().find(|l| l.designator == "V3").unwrap();
    let [before, after] = [&v3.as_found, v3.proposed.as_ref().unwrap()];
    let told = before.anode.idle.over.as_deref().unwrap();
    let percent = before.anode.idle.percent.unwrap() - 100.0;
    assert_eq!(told, format!("{percent:.0} % over its limit"));
    assert_eq!(after.anode.idle.over, None);
    assert!(after.bias_volts < before.bias_volts - 0.5);
}

#[test]
fn over_a_limit_in_words() {
    assert_eq!(over(99.9), None);
    assert_eq!(over(100.0), None);
    assert_eq!(over(100.01).unwrap(), "just over its limit");
    assert_eq!(over(100.4).unwrap(), "0.4 % over its limit");
    assert_eq!(over(109.2).unwrap(), "9 % over its limit");
}

#[test]
fn supply_nodes_are_those_that_a_supply_feeds_and_a_capacitor_holds() {
    let names = |circuit: &Circuit| -> Vec<String> {
        let name = |node: &NodeId| circuit.nodes()[node.0 as usize].clone();
        supply_nodes(circuit).iter().map(name).collect()
    };
    let of = |index: usize| names(&circuit(built_in_circuits()[index].text));
    assert_eq!(of(0), ["ht1", "ht2", "ht3", "ht4", "neg", "bias"]);
    let mut sluice = of(3);
    sluice.sort();
    assert_eq!(sluice, ["bias", "ht1", "ht2", "ht3", "ht4", "neg"]);
}

#[test]
fn saying_no_ends_it() {
    let amp = both();
    let mut asked = 0;
    let stopped = valves_playing(&amp, &vec![0.0; 48_000], 48_000, &mut |_| {
        asked += 1;
        asked < 2
    });
    assert_eq!((stopped, asked), (None, 2));
}
