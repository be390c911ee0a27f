//! Random numbers that are the same everywhere: a seed and the number of a stream give a sequence
//! of uniform and normal numbers. Not for secrets.

/// xoshiro256++ (D. Blackman, S. Vigna, ACM Trans. Math. Software 47(4), 2021), its state filled
/// by SplitMix64 (G. Steele, D. Lea, C. Flood, OOPSLA 2014); both from memory, checked against
/// their published first numbers below.
#[derive(Clone, Debug, PartialEq)]
pub struct Random {
    state: [u64; 4],
}

/// One number of SplitMix64, and its state moved on.
fn split_mix(state: &mut u64) -> u64 {
    *state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut z = *state;
    z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}

impl Random {
    /// The sequence of one stream of a seed. Streams of one seed have nothing to do with each
    /// other, so that the work on one of them may be done anywhere.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut mixed = stream;
        let mut state = seed ^ split_mix(&mut mixed);
        Random {
            state: std::array::from_fn(|_| split_mix(&mut state)),
        }
    }

    /// 64 random bits.
    pub fn bits(&mut self) -> u64 {
        let [a, b, c, d] = &mut self.state;
        let result = a.wrapping_add(*d).rotate_left(23).wrapping_add(*a);
        let shifted = *b << 17;
        *c ^= *a;
        *d ^= *b;
        *b ^= *c;
        *a ^= *d;
        *c ^= shifted;
        *d = d.rotate_left(45);
        result
    }

    /// From 0, included, to 1, not included.
    pub fn unit(&mut self) -> f64 {
        (self.bits() >> 11) as f64 / (1u64 << 53) as f64
    }

    /// From −1 to 1, all equally likely.
    pub fn even(&mut self) -> f64 {
        2.0 * self.unit() - 1.0
    }

    /// Normal with mean 0 and standard deviation 1 (G. Box, M. Muller, Ann. Math. Stat. 29(2),
    /// 1958).
    pub fn normal(&mut self) -> f64 {
        // 1 − unit is never zero.
        let radius = (-2.0 * (1.0 - self.unit()).ln()).sqrt();
        radius * (std::f64::consts::TAU * self.unit()).cos()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of both generators as their reference programs print them (from memory).
    #[test]
    fn the_first_numbers_are_the_published_ones() {
        let mut state = 1_234_567;
        assert_eq!(split_mix(&mut state), 6_457_827_717_110_365_317);
        assert_eq!(split_mix(&mut state), 3_203_168_211_198_807_973);
        let mut random = Random {
            state: [1, 2, 3, 4],
        };
        for expected in [
            41_943_041,
            58_720_359,
            3_588_806_011_781_223,
            3_591_011_842_654_386,
        ] {
            assert_eq!(random.bits(), expected);
        }
    }

    /// Moments of n draws lie within four standard errors of what they estimate.
    #[test]
    fn moments_are_those_of_the_distributions() {
        const DRAWS: usize = 100_000;
        let mut random = Random::new(1, 0);
        let mean_and_square = |mut draw: Box<dyn FnMut() -> f64>| {
            let draws: Vec<f64> = (0..DRAWS).map(|_| draw()).collect();
            let n = DRAWS as f64;
            [
                draws.iter().sum::<f64>() / n,
                draws.iter().map(|x| x * x).sum::<f64>() / n,
            ]
        };
        let mut other = Random::new(1, 1);
        let even = mean_and_square(Box::new(move || random.even()));
        let normal = mean_and_square(Box::new(move || other.normal()));
        let error = 4.0 / (DRAWS as f64).sqrt();
        // Even: variance 1/3, that of the square 4/45. Normal: variance 1, that of the square 2.
        assert!(even[0].abs() < error * (1.0 / 3.0_f64).sqrt(), "{even:?}");
        assert!((even[1] - 1.0 / 3.0).abs() < error * (4.0 / 45.0_f64).sqrt());
        assert!(normal[0].abs() < error, "{normal:?}");
        assert!((normal[1] - 1.0).abs() < error * 2f64.sqrt(), "{normal:?}");
    }

    #[test]
    fn streams_differ_and_repeat() {
        let first = |seed, stream| Random::new(seed, stream).bits();
        assert_eq!(first(1, 2), first(1, 2));
        assert_ne!(first(1, 2), first(1, 3));
        assert_ne!(first(1, 2), first(2, 2));
    }
}
