//! Reading: valid files give the circuit that they describe.

use presolder::circuit::{self, Circuit};
use presolder::device::Catalogue;

fn read(text: &str) -> Circuit {
    circuit::read(text, &Catalogue::built_in()).unwrap_or_else(|faults| {
        panic!(
            "{}",
            faults.iter().map(|f| format!("{f}\n")).collect::<String>()
        )
    })
}

#[test]
fn test_circuits_are_valid_and_without_warnings() {
    for text in [
        include_str!("circuits/one_triode.toml"),
        include_str!("circuits/two_stages.toml"),
        include_str!("circuits/push_pull.toml"),
    ] {
        let circuit = read(text);
        assert_eq!(circuit.warnings(), []);
    }
}
