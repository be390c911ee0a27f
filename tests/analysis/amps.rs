//! The built-in amps as files and at rest: they read without a fault, state what a part needs
//! stated, and stand within the ratings of their parts and valves, as found and as proposed.

use crate::whole_amp::{Amp, Section, amp, circuit, each, proposed, told};
use engine::circuit::{NodeId, PartKind, built_in_circuit, built_in_proposals, read_proposal};
use engine::device::Catalogue;

#[test]
fn every_amp_reads_without_fault_or_warning() {
    each(|built_in| {
        let read = circuit(built_in.text, &Catalogue::built_in());
        assert_eq!(read.name(), built_in.name);
        assert!(read.about().contains("Invented data"), "{}", built_in.name);
        assert_eq!(read.warnings(), [], "{}", built_in.name);
    });
    assert!(built_in_circuit("BRADAWL").is_some() && built_in_circuit("mizzle 5").is_some());
    assert!(built_in_circuit("adze").is_none() && built_in_proposals("adze").is_empty());
}

#[test]
fn every_part_says_where_it_belongs_and_what_it_bears() {
    each(|built_in| {
        for part in circuit(built_in.text, &Catalogue::built_in()).parts() {
            let what = format!("{} {}", built_in.key, part.designator);
            let p = &part.particulars;
            assert!(
                !p.stage.is_empty() && !p.role.is_empty() && p.near.is_some(),
                "{what}"
            );
            match part.kind {
                PartKind::Resistor { .. } => {
                    assert!(p.rated_watts.is_some() && p.tolerance.is_some(), "{what}");
                }
                PartKind::Capacitor { .. } => {
                    assert!(p.rated_volts.is_some() && p.tolerance.is_some(), "{what}");
                }
                _ => {}
            }
        }
    });
}

/// Half the power and all of the voltage that a part is rated for may stand across it at rest.
#[test]
fn resistors_and_capacitors_rest_within_their_ratings() {
    each(|built_in| {
        let amp = amp(built_in.key);
        for part in amp.circuit.parts() {
            let across = |[a, b]: [NodeId; 2]| {
                let at = |node| amp.point.solution[amp.network.position(node)];
                (at(a) - at(b)).abs()
            };
            let what = format!("{} {}", built_in.key, part.designator);
            match part.kind {
                PartKind::Resistor { ohms, between } => {
                    let watts = across(between).powi(2) / ohms;
                    assert!(
                        watts <= 0.5 * part.particulars.rated_watts.unwrap(),
                        "{what}: {watts} W"
                    );
                }
                PartKind::Capacitor { between, .. } => {
                    let volts = across(between);
                    assert!(
                        volts <= part.particulars.rated_volts.unwrap(),
                        "{what}: {volts} V"
                    );
                }
                _ => {}
            }
        }
    });
}

#[test]
fn every_proposal_fits_its_amp_and_changes_it() {
    each(|built_in| {
        assert_eq!(built_in_proposals(built_in.name).len(), 2);
        let catalogue = Catalogue::built_in();
        let found = circuit(built_in.text, &catalogue);
        for file in built_in_proposals(built_in.key) {
            let proposal = read_proposal(file.text).unwrap_or_else(|f| panic!("{}", told(&f)));
            assert_eq!(proposal.for_amp, built_in.name);
            assert!(!proposal.name.is_empty() && !proposal.about.is_empty());
            let proposed = proposal
                .apply(&found, &catalogue)
                .unwrap_or_else(|f| panic!("{}", told(&f)));
            assert_ne!(proposed, found, "{} changes nothing", file.key);
            // Every change moves a value: none repeats what is there already.
            for change in &proposal.changes {
                let alone = found.with_written_changes(std::slice::from_ref(change), &catalogue);
                assert_ne!(alone.unwrap(), found, "{}", change.designator);
            }
            Amp::new(proposed);
        }
    });
}

/// Neither cut off nor bottomed, and within the limits of its type, but for what `hot` names.
fn rests_well(section: &Section, hot: bool) {
    let what = &section.designator;
    assert!(
        section.grid_volts < -0.2,
        "{what}: grid at {:.2} V",
        section.grid_volts
    );
    assert!(
        section.anode_amps > 0.3e-3,
        "{what}: {} A",
        section.anode_amps
    );
    assert!(
        section.anode_volts > 80.0,
        "{what}: anode {} V",
        section.anode_volts
    );
    assert!(
        section.anode_volts <= section.anode_limit_volts,
        "{what}: anode {:.1} V",
        section.anode_volts
    );
    assert!(section.screen_watts <= section.screen_limit_watts, "{what}");
    assert!(
        section.screen_volts <= section.screen_limit_volts,
        "{what}: screen {:.1} V",
        section.screen_volts
    );
    assert_eq!(
        section.anode_watts > section.anode_limit_watts,
        hot,
        "{what}: {:.2} W",
        section.anode_watts
    );
}

/// As found and as proposed; Bradawl 15 is hot on purpose until its bias is changed.
#[test]
fn valves_rest_between_cut_off_and_saturation_within_their_limits() {
    each(|built_in| {
        let found = amp(built_in.key);
        let hot = built_in.key == "bradawl";
        for section in found.sections() {
            rests_well(&section, hot && section.screen_watts > 0.0);
        }
        for file in built_in.proposals {
            let hot = hot && file.key != "cooler";
            for section in proposed(&found, file).sections() {
                rests_well(&section, hot && section.screen_watts > 0.0);
            }
        }
    });
}
