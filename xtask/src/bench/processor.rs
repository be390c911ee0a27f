//! The processor that is heard: by oversampling, lanes and instructions, under torture, with values
//! that move, and how its cost grows with the circuit.

use super::cost::{report, run};
use super::references::references;
use super::subject::{RATE, Subject, hard_chord};
use super::torture;
use cpu_time::ThreadTime;
use engine::circuit;
use engine::network::{BranchValue, Network};
use engine::realtime::dispatch::Instructions;
use engine::realtime::{Processor, Settings};

/// The demo's amp and the chord that is played through it.
pub struct Bench {
    subject: Subject,
    chord: Vec<f64>,
    instructions: Instructions,
    repeats: usize,
}

impl Bench {
    /// The demo's amp; each figure is the best of so many repeats.
    ///
    /// # Errors
    /// When it cannot be solved.
    pub fn new(repeats: usize) -> Result<Self, String> {
        let amp = circuit::built_in_circuits()
            .iter()
            .find(|c| c.name == "Bradawl 15")
            .ok_or("no demo amp")?;
        Ok(Bench {
            subject: Subject::new(amp.text)?,
            chord: hard_chord(),
            instructions: Instructions::detect(),
            repeats,
        })
    }

    /// The circuit's size, and what the chord costs at each oversampling.
    pub fn oversampling(&self) {
        let program = self.subject.network.program();
        println!(
            "{}: {} unknowns, {} lead, {} products an iteration; {:?}",
            self.subject.circuit.name(),
            program.unknowns(),
            program.leading(),
            program.trailing_products(),
            self.instructions
        );
        println!(
            "\nHard chord of the built-in phrase, as found and proposed in stereo (4 lanes), 48 kHz host:"
        );
        for doublings in [1, 2, 3] {
            let settings = Settings::live(RATE, doublings);
            let cost = run::<4>(
                &self.subject,
                settings,
                self.instructions,
                &self.chord,
                64,
                self.repeats,
            );
            report(&format!("oversampling × {}", 1 << doublings), &cost);
        }
    }

    /// The chord by lanes, and without the newer instructions.
    pub fn lanes(&self) {
        println!("\nLanes, × 2:");
        let Bench {
            subject,
            chord,
            instructions,
            repeats,
        } = self;
        let two = Settings::live(RATE, 1);
        let best = *instructions;
        let baseline = Instructions::Baseline;
        let costs = [
            ("1 lane", run::<1>(subject, two, best, chord, 64, *repeats)),
            ("2 lanes", run::<2>(subject, two, best, chord, 64, *repeats)),
            ("4 lanes", run::<4>(subject, two, best, chord, 64, *repeats)),
            ("8 lanes", run::<8>(subject, two, best, chord, 64, *repeats)),
            (
                "4 lanes, baseline instructions",
                run::<4>(subject, two, baseline, chord, 64, *repeats),
            ),
        ];
        for (what, cost) in &costs {
            report(what, cost);
        }
    }

    /// Signals that no guitar gives, and parts that jump.
    pub fn torture(&self) {
        println!("\nTorture, 4 lanes, with the governor:");
        for (name, signal) in torture::signals() {
            for doublings in [1, 2] {
                let settings = Settings::live(RATE, doublings);
                let repeats = self.repeats.min(3);
                let cost = run::<4>(
                    &self.subject,
                    settings,
                    self.instructions,
                    &signal,
                    64,
                    repeats,
                );
                report(&format!("{name}, × {}", 1 << doublings), &cost);
            }
        }
        for doublings in [1, 2] {
            let cost = torture::jumping(&self.subject, Settings::live(RATE, doublings));
            let what = format!("three parts jumping each sample, × {}", 1 << doublings);
            report(&what, &cost);
        }
    }

    /// A part value that moves on every sample.
    pub fn change(&self) {
        change(&self.subject, &self.chord, self.repeats);
    }

    /// Ever more gain stages in a row.
    ///
    /// # Errors
    /// When such a row cannot be solved.
    pub fn growth(&self) -> Result<(), String> {
        println!("\nGrowth: gain stages in a row, 4 lanes, × 2, the chord at 20 mV:");
        let quiet: Vec<f64> = self.chord.iter().map(|v| v * 0.02 / 0.5).collect();
        for stages in [1, 3, 7, 14, 18] {
            let subject = Subject::new(&row_of_stages(stages))?;
            let two = Settings::live(RATE, 1);
            let repeats = self.repeats.min(3);
            let cost = run::<4>(&subject, two, self.instructions, &quiet, 64, repeats);
            let start = ThreadTime::now();
            let network = Network::new(&subject.circuit);
            println!(
                "{stages:3} stages, {:3} unknowns: {:.2} µs a step, compiled in {:.1} ms",
                network.unknowns(),
                1e6 * cost.mean / (2.0 * RATE),
                1e3 * start.elapsed().as_secs_f64()
            );
        }
        Ok(())
    }

    /// The same circuit in other solvers.
    pub fn references(&self) {
        let two = Settings::live(RATE, 1);
        let Bench {
            subject,
            chord,
            instructions,
            repeats,
        } = self;
        let best = *instructions;
        let costs = [
            (4, run::<4>(subject, two, best, chord, 64, *repeats).mean),
            (8, run::<8>(subject, two, best, chord, 64, *repeats).mean),
        ];
        references(&self.subject, &self.chord, &costs);
    }
}

/// Cost of a value change: a part moved on every sample against none moved.
fn change(subject: &Subject, chord: &[f64], repeats: usize) {
    let branch = (0..subject.values.branches.len())
        .find(|&b| matches!(subject.values.branches[b], BranchValue::Capacitive { .. }))
        .unwrap_or(0);
    let mut best = [f64::INFINITY; 2];
    for _ in 0..repeats {
        for (moving, best) in [false, true].into_iter().zip(&mut best) {
            let lanes = [(&subject.values, subject.point.solution.as_slice()); 4];
            let mut processor = Processor::<4>::new(
                &subject.network,
                lanes,
                Settings::live(RATE, 1),
                Instructions::detect(),
            );
            let start = ThreadTime::now();
            for (n, &x) in chord.iter().take(9600).enumerate() {
                if moving {
                    let BranchValue::Capacitive { farads } = subject.values.branches[branch] else {
                        continue;
                    };
                    let farads = farads * (1.0 + 0.1 * (n as f64 * 0.01).sin());
                    for lane in 0..4 {
                        processor.set_branch(lane, branch, BranchValue::Capacitive { farads });
                    }
                }
                let x = [x];
                let mut y = [[0.0]; 4];
                let [a, b, c, d] = &mut y;
                processor.process(&[&x; 4], &mut [a, b, c, d]);
            }
            *best = best.min(start.elapsed().as_secs_f64() / 9600.0);
        }
    }
    println!(
        "\nA part value changed on every sample: {:.2} µs a change (4 lanes)",
        1e6 * (best[1] - best[0])
    );
}

/// A supply chain and `stages` triode stages, each divided down to about unity gain.
fn row_of_stages(stages: usize) -> String {
    let mut text = String::from(
        "format = 1\n[amp]\nname = \"Row\"\nabout = \"For the bench.\"\ninput = \"in\"\noutput = \"n0\"\n[parts]\n\
         HT = { supply = \"300 V\", node = \"h0\", resistance = \"100\" }\n\
         C999 = { capacitor = \"47u\", between = [\"h0\", \"gnd\"] }\n",
    );
    let mut from = "in".to_string();
    for k in 1..=stages {
        let h = k.div_ceil(2);
        if k % 2 == 1 {
            text += &format!(
                "R{k}09 = {{ resistor = \"4k7\", between = [\"h{}\", \"h{h}\"] }}\n",
                h - 1
            );
            text += &format!("C{k}09 = {{ capacitor = \"22u\", between = [\"h{h}\", \"gnd\"] }}\n");
        }
        text += &format!(
            "R{k}01 = {{ resistor = \"68k\", between = [\"{from}\", \"g{k}\"] }}\n\
             V{k} = {{ triode = \"ECC83\", anode = \"a{k}\", grid = \"g{k}\", cathode = \"k{k}\" }}\n\
             R{k}02 = {{ resistor = \"100k\", between = [\"a{k}\", \"h{h}\"] }}\n\
             R{k}03 = {{ resistor = \"1k5\", between = [\"k{k}\", \"gnd\"] }}\n\
             C{k}01 = {{ capacitor = \"22u\", between = [\"k{k}\", \"gnd\"] }}\n\
             C{k}02 = {{ capacitor = \"22n\", between = [\"a{k}\", \"c{k}\"] }}\n\
             R{k}04 = {{ resistor = \"470k\", between = [\"c{k}\", \"d{k}\"] }}\n\
             R{k}05 = {{ resistor = \"10k\", between = [\"d{k}\", \"gnd\"] }}\n"
        );
        from = format!("d{k}");
    }
    text = text.replace("output = \"n0\"", &format!("output = \"{from}\""));
    text + "R999 = { resistor = \"1M\", between = [\"in\", \"gnd\"] }\n"
}
