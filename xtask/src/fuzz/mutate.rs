//! Random numbers, mutations, and the pool of inputs worth mutating again.

use engine::numeric::random;
use std::collections::HashSet;

/// Random choices.
pub struct Random(random::Random);

impl Random {
    pub fn new(seed: u64, batch: u64) -> Self {
        Random(random::Random::new(seed, batch))
    }

    pub fn next(&mut self) -> u64 {
        self.0.bits()
    }

    /// A number below `end`; 0 if `end` is 0.
    pub fn below(&mut self, end: usize) -> usize {
        if end == 0 {
            0
        } else {
            (self.next() % end as u64) as usize
        }
    }

    fn pick<'a, T: ?Sized>(&mut self, from: &[&'a T]) -> &'a T {
        from[self.below(from.len())]
    }
}

/// Inputs grow no longer than this, so that the mean stays fast.
const LONGEST: usize = 1_200;

/// A pool grows to this, then its later half is replaced at random.
const LARGEST_POOL: usize = 512;

/// What the formats are made of.
const WORDS: &[&str] = &[
    "resistor",
    "capacitor",
    "inductor",
    "pot",
    "switch",
    "triode",
    "pentode",
    "rectifier",
    "output_transformer",
    "loudspeaker",
    "supply",
    "bias_supply",
    "voltage_source",
    "between",
    "from",
    "to",
    "wiper",
    "taper",
    "control",
    "set",
    "anode",
    "grid",
    "screen",
    "cathode",
    "winding",
    "winding_resistance",
    "primary",
    "secondary",
    "primary_shares",
    "inductance",
    "leakage",
    "resistance",
    "core_loss",
    "winding_capacitance",
    "rated",
    "tolerance",
    "fitted",
    "stage",
    "role",
    "near",
    "format",
    "[amp]",
    "[parts]",
    "[changes]",
    "[controls]",
    "input",
    "output",
    "name",
    "\"gnd\"",
    "\"in\"",
    "\"a\"",
    "\"k\"",
    "\"g\"",
    "\"ht\"",
    "true",
    "false",
    "nan",
    "inf",
    "\"open\"",
    "\"closed\"",
    "\"log\"",
    "\"ECC83\"",
    "\"EL84\"",
    "\"Tin Ten\"",
    "\"4k7\"",
    "\"22n\"",
    "\"0.022 µF\"",
    "\"-30 V\"",
    "\"R47\"",
    "\"1e308\"",
    "\"0\"",
    "0",
    "1",
    "-1",
    "1e-400",
    "0x7f",
    "1979-05-27",
    "[",
    "]",
    "{",
    "}",
    "[[",
    "]]",
    " = ",
    ", ",
    "\n",
    "\"",
    "\"\"\"",
    "'",
    "'''",
    "#",
    "\\",
    "\\u0000",
    "\\U0010ffff",
    ".",
    "\r\n",
    "\u{feff}",
    "\u{0}",
    "Ω",
    "µ",
    "μ",
    "k",
    "M",
    "m",
    "u",
    "n",
    "p",
    "R",
    "%",
    "dB",
    "V1",
    "V1a",
    "V1b",
    "R1",
    "C2",
    "SW1",
    "HT",
    "=out",
    "=in",
    "Volume",
    "e999",
    "½",
    "\u{202e}",
    "fmt ",
    "data",
    "RIFF",
    "WAVE",
];

/// Inputs of one target: those that were accepted and the seeds, and those that were refused in
/// some new way.
pub struct Pool {
    good: Vec<Vec<u8>>,
    bad: Vec<Vec<u8>>,
    seeds: usize,
    seen: HashSet<u64>,
}

impl Pool {
    pub fn new(seeds: &[Vec<u8>]) -> Self {
        Pool {
            good: seeds.to_vec(),
            bad: Vec::new(),
            seeds: seeds.len(),
            seen: HashSet::new(),
        }
    }

    /// Keeps an input whose outcome has not been seen in this batch.
    pub fn keep_if_new(&mut self, signature: u64, accepted: bool, input: Vec<u8>) {
        if input.len() > LONGEST || !self.seen.insert(signature) {
            return;
        }
        let (list, kept) = if accepted {
            (&mut self.good, self.seeds)
        } else {
            (&mut self.bad, 0)
        };
        if list.len() < LARGEST_POOL {
            list.push(input);
        } else {
            list[kept + signature as usize % (LARGEST_POOL - kept)] = input;
        }
    }

    /// A changed copy of one input; mostly of a good one and changed little, since what is broken
    /// early hides what lies behind.
    pub fn mutate(&self, random: &mut Random) -> Vec<u8> {
        let mut input = self.choose(random).clone();
        for _ in 0..1 + usize::from(random.below(3) == 0) + random.below(6) / 5 * random.below(6) {
            self.mutate_once(random, &mut input);
        }
        input.truncate(2 * LONGEST);
        input
    }

    fn choose(&self, random: &mut Random) -> &Vec<u8> {
        if self.bad.is_empty() || random.below(4) > 0 {
            &self.good[random.below(self.good.len())]
        } else {
            &self.bad[random.below(self.bad.len())]
        }
    }

    fn mutate_once(&self, random: &mut Random, input: &mut Vec<u8>) {
        let at = random.below(input.len() + 1);
        let end = (at + random.below(24)).min(input.len());
        match random.below(16) {
            0 => {
                if let Some(byte) = input.get_mut(at) {
                    *byte ^= 1 << random.below(8);
                }
            }
            1 => {
                if let Some(byte) = input.get_mut(at) {
                    *byte = random.next() as u8;
                }
            }
            2 => {
                input.drain(at..end);
            }
            3 => {
                let piece = input[at..end].to_vec();
                let to = random.below(input.len() + 1);
                input.splice(to..to, piece);
            }
            4 | 5 => {
                let word = random.pick(WORDS).as_bytes();
                input.splice(at..at, word.iter().copied());
            }
            6 => {
                let word = random.pick(WORDS).as_bytes();
                input.splice(at..end, word.iter().copied());
            }
            7 => {
                // A piece of another input.
                let other = self.choose(random);
                let from = random.below(other.len() + 1);
                let until = (from + random.below(80)).min(other.len());
                input.splice(at..end, other[from..until].iter().copied());
            }
            8..=10 => mutate_digits(random, input),
            11..=13 => exchange_quoted(random, input),
            _ => move_line(random, input),
        }
    }
}

/// Puts one quoted text, or a word, in place of another: another node, value or type.
fn exchange_quoted(random: &mut Random, input: &mut Vec<u8>) {
    let quotes: Vec<usize> = (0..input.len()).filter(|&i| input[i] == b'"').collect();
    let pairs = quotes.len() / 2;
    if pairs == 0 {
        return;
    }
    let span = |pair: usize| quotes[2 * pair]..quotes[2 * pair + 1] + 1;
    let text = if random.below(3) == 0 {
        random.pick(WORDS).as_bytes().to_vec()
    } else {
        input[span(random.below(pairs))].to_vec()
    };
    input.splice(span(random.below(pairs)), text);
}

/// Changes one digit or repeats it many times.
fn mutate_digits(random: &mut Random, input: &mut Vec<u8>) {
    let digits: Vec<usize> = (0..input.len())
        .filter(|&i| input[i].is_ascii_digit())
        .collect();
    if digits.is_empty() {
        return;
    }
    let at = digits[random.below(digits.len())];
    input[at] = b'0' + random.below(10) as u8;
    if random.below(4) == 0 {
        let many = vec![input[at]; random.below(40)];
        input.splice(at..at, many);
    }
}

/// Doubles, moves or drops a line.
fn move_line(random: &mut Random, input: &mut Vec<u8>) {
    let mut lines: Vec<Vec<u8>> = input.split(|&b| b == b'\n').map(<[u8]>::to_vec).collect();
    let from = random.below(lines.len());
    let line = lines[from].clone();
    if random.below(3) > 0 {
        lines.remove(from);
    }
    if random.below(3) > 0 {
        let to = random.below(lines.len() + 1);
        lines.insert(to, line);
    }
    *input = lines.join(&b'\n');
}
