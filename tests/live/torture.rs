//! Random automation of every parameter at once under loud input: always numbers, always bounded,
//! and the sound comes back when it is over.

use crate::fixture::{RATE, Table, format, phrase, rms};
use engine::live::renderer::Heard;
use rand::{Rng, SeedableRng, rngs::StdRng};
use std::sync::atomic::Ordering::Relaxed;

#[test]
fn five_seconds_of_everything_at_random() {
    for amp in ["bradawl", "mizzle", "spokeshave", "sluice"] {
        let calm_positions = Table::new(amp).positions.clone();
        let mut table = Table::at(amp, format(RATE, 1), 2);
        let mut random = StdRng::seed_from_u64(11);
        let loud: Vec<f32> = phrase(5.0).iter().map(|v| 5.0 * v).collect();
        let mut peak = 0f32;
        for (index, block) in loud.chunks(64).enumerate() {
            // Now every 1.3 ms, now long enough to arrive.
            if index / 400 % 2 == 0 || index % 10 == 0 {
                table.positions.fill_with(|| random.random());
            }
            table.settings.heard = [Heard::AsFound, Heard::Proposed, Heard::Pair][index / 50 % 3];
            table.settings.matched = index / 80 % 2 == 0;
            let [left, right] = table.play([block, block], &[64]);
            for sample in left.iter().chain(&right) {
                assert!(sample.is_finite(), "{amp}: block {index}");
                peak = peak.max(sample.abs());
            }
        }
        assert_eq!(table.meters.silenced.load(Relaxed), 0, "{amp}");
        println!("{amp}: peak {peak:.2}");
        // Sixteen is where the rig bounds; none of that was needed.
        assert!(peak < 15.9, "{amp}: {peak}");
        table.positions = calm_positions;
        table.settings.heard = Heard::Proposed;
        let after = table.play_mono(&phrase(3.0));
        let mut fresh = Table::new(amp);
        fresh.settings = table.settings;
        fresh.settings.serial = fresh.map.serial();
        let expected = fresh.play_mono(&phrase(3.0));
        let ratio = rms(&after[96_000..]) / rms(&expected[96_000..]);
        assert!((0.7..1.4).contains(&ratio), "{amp}: {ratio}");
    }
}
