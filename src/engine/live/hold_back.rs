//! A short delay that brings every oversampling to the same latency.

use super::lanes::{LANES, Lines};

/// A delay of a few samples for all lanes.
#[derive(Debug)]
pub(super) struct HoldBack {
    lines: Vec<[f64; LANES]>,
    at: usize,
}

impl HoldBack {
    pub fn new(samples: usize) -> Self {
        HoldBack {
            lines: vec![[0.0; LANES]; samples],
            at: 0,
        }
    }

    pub fn clear(&mut self) {
        self.lines.fill([0.0; LANES]);
        self.at = 0;
    }

    /// Delays the first `count` samples of all lanes.
    pub fn process_all(&mut self, lines: &mut Lines, count: usize) {
        for (lane, line) in lines.iter_mut().enumerate() {
            self.process(lane, &mut line[..count]);
        }
        self.advance(count);
    }

    fn process(&mut self, lane: usize, samples: &mut [f64]) {
        let length = self.lines.len();
        if length == 0 {
            return;
        }
        let mut at = self.at;
        for sample in samples {
            std::mem::swap(sample, &mut self.lines[at][lane]);
            at = (at + 1) % length;
        }
    }

    fn advance(&mut self, count: usize) {
        if !self.lines.is_empty() {
            self.at = (self.at + count) % self.lines.len();
        }
    }
}
