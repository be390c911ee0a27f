//! Tests of the parameter map.

use super::*;
use crate::circuit::built_in_circuits;
use crate::device::Catalogue;

fn amp() -> LiveAmp {
    let catalogue = Arc::new(Catalogue::built_in());
    LiveAmp::read(built_in_circuits()[0].text.as_bytes(), None, catalogue).unwrap()
}

#[test]
fn a_typed_value_stays_exact_and_a_hosts_step_is_preferred() {
    let map = ParameterMap::for_own_file(amp());
    let adjustable = map.amp().find("R505").unwrap();
    let parameter = map.parameter_of(adjustable).unwrap();
    let place = map.remember(parameter, 12_345.0).unwrap();
    // As a host gives it back.
    let back = f32::from_bits(place.to_bits() - 1);
    assert_eq!(map.value_at(parameter, back), Some((12_345.0, Some(true))));
    let moved = map.value_at(parameter, place + 0.02).unwrap().0;
    assert!(
        map.amp().adjustables()[adjustable].series().contains(moved),
        "{moved}"
    );
    map.set_stepped(false);
    let free = map.value_at(parameter, place + 0.011).unwrap().0;
    assert_eq!(four_digits(free), free);
}

#[test]
fn the_lowest_positions_leave_a_part_out() {
    let map = ParameterMap::for_own_file(amp());
    let parameter = map.parameter_of(map.amp().find("C101").unwrap()).unwrap();
    assert_eq!(
        map.value_at(parameter, ParameterMap::OUT).unwrap().1,
        Some(false)
    );
    assert_eq!(map.value_at(parameter, 0.02).unwrap().1, Some(true));
    assert_eq!(map.value_at(OWN_PARTS - 1, 0.5), None);
}

#[test]
fn every_value_of_the_file_comes_back_through_its_position() {
    let map = ParameterMap::for_own_file(amp());
    for (index, adjustable) in map.amp().adjustables().iter().enumerate() {
        let Some(parameter) = map.parameter_of(index) else {
            panic!("{} has no parameter", adjustable.id);
        };
        if map.binding(parameter).unwrap().adjustable != index {
            continue;
        }
        let place = map.remember(parameter, adjustable.filed).unwrap();
        assert_eq!(map.value_at(parameter, place).unwrap().0, adjustable.filed);
        // Without its memory, the nearest preferred or filed value is found all the same.
        map.exact[index].position.store(f32::NAN, Relaxed);
        let value = map.value_at(parameter, place).unwrap().0;
        assert!(
            adjustable.same(value, adjustable.filed),
            "{}: {value}",
            adjustable.id
        );
    }
}
