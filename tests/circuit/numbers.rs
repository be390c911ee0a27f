//! Numbers at random that stay the same for a seed (xorshift64*: S. Vigna, ACM Trans. Math. Softw. 42(4),
//! 2016, from memory).

pub struct Numbers(u64);

impl Numbers {
    pub fn new(seed: u64) -> Numbers {
        let mut numbers = Numbers(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        for _ in 0..8 {
            numbers.next();
        }
        numbers
    }

    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        self.0.wrapping_mul(0x2545_F491_4F6C_DD1D)
    }

    pub fn below(&mut self, n: usize) -> usize {
        ((self.next() >> 33) % n as u64) as usize
    }

    pub fn chance(&mut self, percent: usize) -> bool {
        self.below(100) < percent
    }
}
