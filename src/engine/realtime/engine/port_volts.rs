//! Port voltages of all devices from node voltages.

use crate::network::Devices;
use crate::numeric::real::Real;

/// Port voltages of all devices from node voltages: triodes (anode, grid), pentodes (anode,
/// screen, grid), rectifiers (reservoir).
#[inline(always)]
pub(crate) fn read_ports<T: Real>(devices: &Devices, volts: &[T], ports: &mut [[T; 3]]) {
    let at = |p: u16| volts[p as usize];
    let mut ports = ports.iter_mut();
    for (site, port) in devices.triodes.iter().zip(&mut ports) {
        let [a, g, k] = site.at.map(at);
        *port = [a - k, g - k, T::ZERO];
    }
    for (site, port) in devices.pentodes.iter().zip(&mut ports) {
        let [a, s, g, k] = site.at.map(at);
        *port = [a - k, s - k, g - k];
    }
    for (site, port) in devices.rectifiers.iter().zip(&mut ports) {
        let [r, k] = site.at.map(at);
        *port = [r - k, T::ZERO, T::ZERO];
    }
}
