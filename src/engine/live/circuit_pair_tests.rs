//! A circuit pair at its operating point has the values of the file.

use super::*;
use crate::circuit::built_in_circuits;
use crate::device::Catalogue;
use crate::live::LiveAmp;
use crate::network::BranchValue;

#[test]
fn at_rest_every_branch_has_the_value_of_the_file() {
    for built_in in built_in_circuits() {
        let catalogue = Arc::new(Catalogue::built_in());
        let amp = LiveAmp::read(built_in.text.as_bytes(), None, catalogue).unwrap();
        let circuit = amp.circuit().clone();
        let map = Arc::new(ParameterMap::for_own_file(amp));
        let format = Format {
            rate: 48_000.0,
            doublings: 1,
            live: true,
        };
        let mut pair = CircuitPair::new(map, format).unwrap();
        pair.settle();
        let expected = pair.network.values(&circuit);
        for (index, branch) in pair.network.branches().iter().enumerate() {
            for side in &pair.sides {
                let (is, want) = (side.values.branches[index], expected.branches[index]);
                let near = |a: f64, b: f64| (a - b).abs() <= 1e-12 * b.abs();
                let same = match (is, want) {
                    (
                        BranchValue::Resistive { siemens: a, .. },
                        BranchValue::Resistive { siemens: b, .. },
                    ) => near(a, b),
                    (
                        BranchValue::Capacitive { farads: a },
                        BranchValue::Capacitive { farads: b },
                    ) => near(a, b),
                    (
                        BranchValue::Coil {
                            ohms: r,
                            henries: a,
                            damping: d,
                        },
                        BranchValue::Coil {
                            ohms: s,
                            henries: b,
                            damping: e,
                        },
                    ) => near(r, s) && near(a, b) && d == e,
                    _ => false,
                };
                assert!(same, "{}: {is:?} for {want:?}", branch.label);
            }
        }
        for side in &pair.sides {
            assert_eq!(side.values.devices, expected.devices);
        }
    }
}
