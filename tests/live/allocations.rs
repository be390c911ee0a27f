//! A rig allocates and frees nothing on the audio thread: under automation of every parameter,
//! while what is heard changes and what it is heard through, while another circuit or impulse
//! response takes over, and in a reset. Any attempt to
//! aborts this process (the allocator acts with debug assertions, which the test profile has).

use crate::fixture::{RATE, Table, format};
use engine::live::cabinets::CabinetChoice;
use engine::live::circuit_pair::CircuitPair;
use engine::live::renderer::Heard;
use engine::realtime::cabinet::Convolver;
use nice_assert_no_alloc::assert_no_alloc;
use rand::{Rng, SeedableRng, rngs::StdRng};

#[test]
fn nothing_is_allocated_whatever_a_host_does() {
    if !cfg!(debug_assertions) {
        crate::absent::absent("without debug assertions the allocator is disarmed");
        return;
    }
    for amp in ["bradawl", "mizzle", "spokeshave", "sluice"] {
        let mut table = Table::at(amp, format(RATE, 1), 2);
        let mut random = StdRng::seed_from_u64(4);
        let mut left: Vec<f32> = (0..512).map(|_| random.random_range(-3.0..3.0)).collect();
        let mut right = left.clone();
        for round in 0..60 {
            for place in &mut table.positions {
                *place = random.random();
            }
            table.settings.heard = [Heard::AsFound, Heard::Proposed, Heard::Pair][round % 3];
            table.settings.matched = round % 2 == 0;
            table.settings.through = [
                CabinetChoice::Impulse,
                CabinetChoice::Line,
                CabinetChoice::Loudspeaker,
            ][round / 2 % 3];
            table.settings.bypass = round % 7 == 0;
            let adjustable = round % table.positions.len();
            table
                .map
                .set_as_found(adjustable, table.map.amp().adjustables()[adjustable].filed);
            table.map.set_stepped(round % 5 != 0);
            // Made elsewhere, taken over here.
            let mut pair = (round % 10 == 3).then(|| {
                Box::new(CircuitPair::new(table.map.clone(), format(RATE, 1 + round % 3)).unwrap())
            });
            let mut response = (round % 4 == 1).then(|| {
                let taps: Vec<f64> = (0..200 * round).map(|n| 0.9f64.powi(n as i32)).collect();
                Box::new((round % 8 == 1).then(|| Convolver::new(&taps)))
            });
            let mut gone = [None, None];
            let mut gone_responses = [None, None];
            assert_no_alloc(|| {
                if round == 31 {
                    table.renderer.reset();
                }
                if table.renderer.takes_pair()
                    && let Some(pair) = pair.take()
                {
                    gone[0] = table.renderer.give(pair);
                }
                if table.renderer.takes_response()
                    && let Some(response) = response.take()
                {
                    gone_responses[0] = table.renderer.give_response(response);
                }
                for (left, right) in left.chunks_mut(200).zip(right.chunks_mut(200)) {
                    let mut block = [left, right];
                    table.renderer.process(
                        &table.settings,
                        &table.positions,
                        &mut block,
                        2,
                        &table.meters,
                    );
                }
                gone[1] = table.renderer.finished();
                gone_responses[1] = table.renderer.finished_response();
            });
            for (left, right) in left.iter_mut().zip(&mut right) {
                *left = random.random_range(-3.0..3.0);
                *right = *left;
            }
        }
    }
}
