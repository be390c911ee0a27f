//! ngspice's speed on a circuit, as the reference that stands beside ours.

#[path = "../../../tests/common/netlist.rs"]
mod netlist;
#[path = "../../../tests/common/ngspice.rs"]
mod reference;

use engine::circuit::Circuit;
pub use netlist::Form;

/// Seconds that ngspice needs for a second of signal in one circuit, at its default tolerances
/// and with steps of 1/48 kHz at most. `Form::Steps` is the netlist that ngspice is quickest with.
///
/// # Errors
/// A message that names the package if ngspice is not there.
pub fn ngspice_seconds_per_second(circuit: &Circuit, form: Form) -> Result<f64, String> {
    reference::seconds_per_second(circuit, form)
}
