//! What is fuzzed, and what each reader promises.

use super::mutate::Random;
use engine::circuit::{self, Circuit, Diagnostic, WrittenChange, WrittenProposal, WrittenSetting};
use engine::device::Catalogue;
use engine::sound::wav;
use engine::units::Quantity;
use std::hash::{DefaultHasher, Hash, Hasher};
use std::path::Path;

/// Outcome of an execution; the signature tells outcomes of one sort from another.
pub enum Verdict {
    Accepted(u64),
    Refused(u64),
    /// A promise that was not kept.
    Broken(String),
}

/// The readers with their seed inputs.
pub struct Targets {
    catalogue: Catalogue,
    base: Circuit,
    base_text: String,
    /// Seed inputs by target.
    pub seeds: Vec<Vec<Vec<u8>>>,
}

const VALUES: &[&str] = &[
    "4k7",
    "4.7 kΩ",
    "2M2",
    "R47",
    "4,7k",
    "22n",
    "0.022 µF",
    "p33",
    "1n5",
    "1/2 W",
    "400 V",
    "5%",
    "±10 %",
    "J",
    "10 mA",
    "-30",
    "\u{2212}30 V",
    "4.7e3",
    "16 mH",
    "1 kHz",
    "-6 dB",
    "0.5",
    "100 mfd",
];

const CHANGES: &[&str] = &[
    "R3=220k\nC2=out\nV1=ECC83",
    "V1a=ECC83",
    "VR1=1M\nVolume=0.3",
    "SW1=open",
    "HT=260 V",
    "R4=in",
    "LS1=Tin Ten",
    "volume=60%\nC2=10n",
];

impl Targets {
    /// Names, in the order of the targets.
    pub const NAMES: [&'static str; 5] = ["circuit", "proposal", "value", "change", "recording"];

    /// Shares of the executions, in the same order.
    const SHARES: [usize; 5] = [40, 15, 20, 15, 10];

    pub fn new(corpus: &Path) -> Result<Self, String> {
        let catalogue = Catalogue::built_in();
        let base_text = BASE.to_owned();
        let base = circuit::read(&base_text, &catalogue).map_err(|f| format!("base: {}", f[0]))?;
        let texts = |list: &[&str]| list.iter().map(|t| t.as_bytes().to_vec()).collect();
        let seeds = vec![
            files(&corpus.join("circuit"))?,
            files(&corpus.join("proposal"))?,
            texts(VALUES),
            texts(CHANGES),
            vec![recording(1, 16), recording(2, 24), recording(2, 32)],
        ];
        Ok(Targets {
            catalogue,
            base,
            base_text,
            seeds,
        })
    }

    pub fn choose(&self, random: &mut Random) -> usize {
        let mut ticket = random.below(Self::SHARES.iter().sum());
        for (target, &share) in Self::SHARES.iter().enumerate() {
            if ticket < share {
                return target;
            }
            ticket -= share;
        }
        0
    }

    pub fn run(&self, target: usize, input: &[u8]) -> Verdict {
        let text = String::from_utf8_lossy(input);
        match target {
            0 => self.circuit(input),
            1 => self.proposal(input),
            2 => value(&text),
            3 => self.changes(&text),
            _ => recording_verdict(input),
        }
    }

    /// A circuit that is read is written, read again and the same; warnings can be asked for.
    fn circuit(&self, input: &[u8]) -> Verdict {
        match circuit::read_bytes(input, &self.catalogue) {
            Ok(circuit) => match self.written_again(&circuit) {
                Err(promise) => Verdict::Broken(promise),
                Ok(()) => {
                    let warnings = circuit.warnings();
                    Verdict::Accepted(signature(&warnings) ^ circuit.parts().len() as u64)
                }
            },
            Err(faults) => refused(&faults),
        }
    }

    fn written_again(&self, circuit: &Circuit) -> Result<(), String> {
        let written = circuit::write(circuit);
        match circuit::read(&written, &self.catalogue) {
            Ok(again) if again.same_but_for_lines(circuit) => Ok(()),
            Ok(_) => Err("what was written is another circuit".into()),
            Err(faults) => Err(format!("what was written is refused: {}", faults[0])),
        }
    }

    fn proposal(&self, input: &[u8]) -> Verdict {
        let proposal = match circuit::read_proposal_bytes(input) {
            Ok(proposal) => proposal,
            Err(faults) => return refused(&faults),
        };
        match circuit::read_proposal(&circuit::write_proposal(&proposal)) {
            Ok(again) if without_lines(&again) == without_lines(&proposal) => {}
            Ok(_) => return Verdict::Broken("what was written is another proposal".into()),
            Err(f) => return Verdict::Broken(format!("what was written is refused: {}", f[0])),
        }
        match proposal.apply(&self.base, &self.catalogue) {
            Ok(circuit) => match self.written_again(&circuit) {
                Ok(()) => Verdict::Accepted(proposal.changes.len() as u64),
                Err(promise) => Verdict::Broken(promise),
            },
            Err(faults) => refused(&faults),
        }
    }

    /// Changes, a line each, those of controls too, made in the circuit and in its text.
    fn changes(&self, text: &str) -> Verdict {
        let lines = text.lines().take(20);
        let parsed: Vec<WrittenChange> = lines.filter_map(|line| line.parse().ok()).collect();
        let is_control = |c: &WrittenChange| {
            let mut controls = self.base.controls().into_iter();
            controls.any(|name| name.eq_ignore_ascii_case(&c.designator))
        };
        let (settings, changes): (Vec<WrittenChange>, Vec<WrittenChange>) =
            parsed.into_iter().partition(is_control);
        let settings: Vec<WrittenSetting> = settings
            .into_iter()
            .map(|c| WrittenSetting {
                control: c.designator,
                value: c.value,
                line: None,
            })
            .collect();
        let changed = self
            .base
            .with_written_changes(&changes, &self.catalogue)
            .and_then(|c| c.with_written_controls(&settings));
        let list = WrittenProposal {
            changes: changes.clone(),
            settings: settings.clone(),
            ..WrittenProposal::default()
        };
        let list = list.resolve(&self.base, &self.catalogue);
        let edited = list.and_then(|list| {
            circuit::edit(
                &self.base_text,
                &list.changes,
                &list.settings,
                &self.catalogue,
            )
        });
        match (changed, edited) {
            (Err(faults), Err(_)) => refused(&faults),
            (Ok(changed), Ok(edited)) => match circuit::read(&edited, &self.catalogue) {
                Ok(again) if again.same_but_for_lines(&changed) => {
                    Verdict::Accepted(changes.len() as u64)
                }
                Ok(_) => Verdict::Broken("the edited text is another circuit".into()),
                Err(faults) => Verdict::Broken(format!("the edited text: {}", faults[0])),
            },
            _ => Verdict::Broken("the text and the circuit take different changes".into()),
        }
    }
}

/// A value that is read is in range, and its notation reads as the same double.
fn value(text: &str) -> Verdict {
    let mut read = 0u64;
    for (index, quantity) in Quantity::ALL.into_iter().enumerate() {
        match quantity.parse(text) {
            Ok(value) => {
                read |= 1 << index;
                let printed = quantity.format(value);
                if quantity.check(value).is_err() || quantity.parse(&printed) != Ok(value) {
                    return Verdict::Broken(format!("{value:e} prints as {printed}"));
                }
            }
            Err(error) => {
                let _ = (error.to_string(), error.remedy());
            }
        }
    }
    if read > 0 {
        Verdict::Accepted(read)
    } else {
        Verdict::Refused(text.len() as u64)
    }
}

fn recording_verdict(input: &[u8]) -> Verdict {
    match wav::read_from("fuzz", input, input.len() as u64) {
        Ok(_) => Verdict::Accepted(1),
        Err(fault) => {
            let mut hasher = DefaultHasher::new();
            letters(&fault.to_string()).hash(&mut hasher);
            Verdict::Refused(hasher.finish())
        }
    }
}

/// A short PCM recording.
fn recording(channels: u16, bits: u16) -> Vec<u8> {
    let frame = channels * bits / 8;
    let data = vec![7u8; usize::from(frame) * 8];
    let mut bytes = b"RIFF".to_vec();
    bytes.extend((36 + data.len() as u32).to_le_bytes());
    bytes.extend(b"WAVEfmt ");
    bytes.extend(16u32.to_le_bytes());
    bytes.extend(1u16.to_le_bytes());
    bytes.extend(channels.to_le_bytes());
    bytes.extend(48_000u32.to_le_bytes());
    bytes.extend((48_000 * u32::from(frame)).to_le_bytes());
    bytes.extend(frame.to_le_bytes());
    bytes.extend(bits.to_le_bytes());
    bytes.extend(b"data");
    bytes.extend((data.len() as u32).to_le_bytes());
    bytes.extend(data);
    bytes
}

fn refused(faults: &[Diagnostic]) -> Verdict {
    for fault in faults {
        let text = fault.to_string();
        if text.chars().any(char::is_control) {
            return Verdict::Broken(format!("a control character in {text:?}"));
        }
    }
    if faults.is_empty() {
        return Verdict::Broken("refused without a fault".into());
    }
    Verdict::Refused(signature(faults))
}

/// Of the sorts of faults, not of the names and numbers in them.
fn signature(faults: &[Diagnostic]) -> u64 {
    let mut sorts: Vec<String> = faults.iter().map(|f| letters(&f.remedy)).collect();
    sorts.sort();
    sorts.dedup();
    let mut hasher = DefaultHasher::new();
    sorts.hash(&mut hasher);
    hasher.finish()
}

/// The first words of a sentence, digits left out.
fn letters(text: &str) -> String {
    text.chars()
        .filter(|c| !c.is_ascii_digit())
        .take(12)
        .collect()
}

fn without_lines(proposal: &WrittenProposal) -> WrittenProposal {
    let mut proposal = proposal.clone();
    proposal.changes.iter_mut().for_each(|c| c.line = None);
    proposal.settings.iter_mut().for_each(|s| s.line = None);
    proposal
}

fn files(directory: &Path) -> Result<Vec<Vec<u8>>, String> {
    let told = |error: std::io::Error| format!("{}: {error}", directory.display());
    let mut paths = Vec::new();
    for entry in std::fs::read_dir(directory).map_err(told)? {
        paths.push(entry.map_err(told)?.path());
    }
    // The same seed must give the same run on every machine.
    paths.sort();
    paths
        .iter()
        .map(|path| std::fs::read(path).map_err(told))
        .collect()
}

/// What changes and proposals are applied to.
const BASE: &str = r#"format = 1 # kept
[amp]
name = "Base"
input = "in"
output = "LS1"
[parts]
HT = { supply = "250 V", node = "ht" }
V1a = { triode = "ECC83", anode = "a", grid = "in", cathode = "k" }
V1b = { triode = "ECC83", anode = "a", grid = "in", cathode = "k" }
R3 = { resistor = "100k", between = ["a", "ht"] } # load
R4 = { resistor = 1500, between = ["k", "gnd"] }
C2 = { capacitor = "22n", between = ["a", "v"] }
VR1 = { pot = "1M", from = "v", to = "gnd", wiper = "gnd", control = "Volume" }
L1 = { inductor = "8 H", between = ["v", "s"] }
SW1 = { switch = "closed", between = ["v", "s"] }
LS1 = { loudspeaker = "Tin Ten", between = ["s", "gnd"] }
"#;
