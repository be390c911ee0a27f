//! Amps drawn at random from textbook stages, with what each part is for: the same seed gives the same
//! amp. Values are textbook ones of our own; nothing here reads the recogniser.

use super::numbers::Numbers as Rng;

/// An amp as text, and by designator the roles that are right for each part.
pub struct RandomAmp {
    pub text: String,
    pub roles: Vec<(String, &'static str)>,
}

struct Builder {
    rng: Rng,
    lines: Vec<String>,
    roles: Vec<(String, &'static str)>,
    counts: [usize; 6],
    nodes: usize,
    rails: Vec<String>,
    valve_half: bool,
}

impl Builder {
    fn node(&mut self) -> String {
        self.nodes += 1;
        format!("n{}", self.nodes)
    }

    fn part(&mut self, letter: &str, kind: usize, body: String, role: &'static str) -> String {
        self.counts[kind] += 1;
        let name = format!("{letter}{}", self.counts[kind]);
        self.lines.push(format!("{name} = {{ {body} }}"));
        self.roles.push((name.clone(), role));
        name
    }

    fn r(&mut self, value: &str, a: &str, b: &str, role: &'static str) {
        let ends = if self.rng.chance(50) { (a, b) } else { (b, a) };
        let body = format!(
            "resistor = \"{value}\", between = [\"{}\", \"{}\"]",
            ends.0, ends.1
        );
        self.part("R", 0, body, role);
    }

    fn c(&mut self, value: &str, a: &str, b: &str, role: &'static str) {
        let fitted = !matches!(role, "Bright" | "CathodeBypass") || !self.rng.chance(25);
        let fitted = if fitted { "" } else { ", fitted = false" };
        let body = format!("capacitor = \"{value}\", between = [\"{a}\", \"{b}\"]{fitted}");
        self.part("C", 1, body, role);
    }

    fn pot(&mut self, value: &str, nodes: [&str; 3], control: &str, role: &'static str) {
        let [from, to, wiper] = nodes;
        let body = format!(
            "pot = \"{value}\", from = \"{from}\", to = \"{to}\", wiper = \"{wiper}\", control = \"{control}\""
        );
        self.part("VR", 2, body, role);
    }

    fn switch(&mut self, a: &str, b: &str, role: &'static str) {
        let body = format!("switch = \"closed\", between = [\"{a}\", \"{b}\"]");
        self.part("SW", 3, body, role);
    }

    fn triode(&mut self, anode: &str, grid: &str, cathode: &str, role: &'static str) {
        if !self.valve_half {
            self.counts[4] += 1;
        }
        let half = if self.valve_half { "b" } else { "a" };
        self.valve_half = !self.valve_half;
        let name = format!("V{}{half}", self.counts[4]);
        self.lines.push(format!(
            "{name} = {{ triode = \"ECC83\", anode = \"{anode}\", grid = \"{grid}\", cathode = \"{cathode}\" }}"
        ));
        self.roles.push((name, role));
    }

    fn pentode(&mut self, nodes: [&str; 4]) {
        let [anode, screen, grid, cathode] = nodes;
        self.valve_half = false;
        self.counts[4] += 1;
        let name = format!("V{}", self.counts[4]);
        self.lines.push(format!(
            "{name} = {{ pentode = \"EL84\", anode = \"{anode}\", screen = \"{screen}\", grid = \"{grid}\", cathode = \"{cathode}\" }}"
        ));
        self.roles.push((name, "OutputValve"));
    }

    /// The supply with three or four rails; the last feeds the first stages.
    fn supply(&mut self) {
        let first = self.node();
        if self.rng.chance(30) {
            self.lines.push(format!(
                "V90 = {{ rectifier = \"EZ81\", winding = \"280 V\", to = \"{first}\" }}"
            ));
            self.roles.push(("V90".into(), "Supply"));
        } else {
            self.lines.push(format!(
                "HT = {{ supply = \"310 V\", node = \"{first}\", resistance = \"120\" }}"
            ));
            self.roles.push(("HT".into(), "Supply"));
        }
        self.c("47u", &first, "gnd", "Reservoir");
        if self.rng.chance(20) {
            self.r("220k", &first, "gnd", "Bleeder");
        }
        self.rails.push(first);
        for i in 0..2 + self.rng.below(2) {
            let next = self.node();
            let from = self.rails[i].clone();
            if i == 0 && self.rng.chance(25) {
                let body = format!("inductor = \"8 H\", between = [\"{from}\", \"{next}\"]");
                self.part("L", 5, body, "RailFeed");
            } else {
                self.r(["470", "10k", "22k"][i.min(2)], &from, &next, "RailFeed");
            }
            self.c("22u", &next, "gnd", "Decoupling");
            self.rails.push(next);
        }
    }

    fn last_rail(&self) -> String {
        self.rails[self.rails.len() - 1].clone()
    }

    /// A triode that amplifies; gives its anode.
    fn gain(&mut self, grid: &str) -> String {
        let (anode, cathode, rail) = (self.node(), self.node(), self.last_rail());
        self.triode(&anode, grid, &cathode, "Gain");
        self.r("120k", &anode, &rail, "AnodeLoad");
        self.r("1k8", &cathode, "gnd", "CathodeBias");
        if self.rng.chance(60) {
            self.c("10u", &cathode, "gnd", "CathodeBypass");
        }
        anode
    }

    fn follower(&mut self, grid: &str) -> String {
        let (cathode, rail) = (self.node(), self.last_rail());
        self.triode(&rail, grid, &cathode, "Follower");
        self.r("82k", &cathode, "gnd", "CathodeLoad");
        cathode
    }

    /// What stands between an output and the next grid; gives the grid.
    fn between(&mut self, from: &str, which: usize) -> String {
        let joint = self.node();
        self.c("15n", from, &joint, "Coupling");
        let out = match which {
            0 => {
                self.r("1M", &joint, "gnd", "GridLeak");
                joint
            }
            1 => {
                let wiper = self.node();
                self.pot("1M", [&joint, "gnd", &wiper], "Volume", "Volume");
                if self.rng.chance(50) {
                    self.c("120p", &joint, &wiper, "Bright");
                }
                wiper
            }
            2 => {
                let (next, shunt, wiper) = (self.node(), self.node(), self.node());
                self.r("220k", &joint, &next, "Series");
                self.c("470p", &next, &shunt, "Tone");
                self.pot("1M", [&shunt, "gnd", &shunt], "Tone", "Tone");
                self.pot("470k", [&next, "gnd", &wiper], "Volume", "Volume");
                wiper
            }
            _ => {
                let next = self.node();
                self.r("330k", &joint, &next, "DividerUpper");
                self.r("47k", &next, "gnd", "DividerLower");
                next
            }
        };
        if self.rng.chance(40) {
            let grid = self.node();
            self.r("10k", &out, &grid, "GridStopper");
            return grid;
        }
        out
    }

    /// Three knobs that act on one another, from a low impedance; gives the grid.
    fn three_knobs(&mut self, from: &str) -> String {
        let n: Vec<String> = (0..6).map(|_| self.node()).collect();
        self.r("56k", from, &n[0], "ToneNetwork");
        self.c("330p", from, &n[1], "Treble");
        self.c("22n", &n[0], &n[3], "Bass");
        self.c("22n", &n[0], &n[4], "Middle");
        self.pot("220k", [&n[1], &n[3], &n[2]], "Treble", "Treble");
        self.pot("470k", [&n[3], &n[5], &n[3]], "Bass", "Bass");
        self.pot("22k", [&n[5], "gnd", &n[4]], "Middle", "Middle");
        let wiper = self.node();
        self.pot("1M", [&n[2], "gnd", &wiper], "Volume", "Volume");
        wiper
    }

    fn output_grid(&mut self, from: &str, to: &str) -> String {
        let (joint, grid) = (self.node(), self.node());
        self.c("27n", from, &joint, "Coupling");
        self.r("220k", &joint, to, "GridLeak");
        self.r("3k3", &joint, &grid, "GridStopper");
        grid
    }

    fn screen(&mut self) -> String {
        let screen = self.node();
        let rail = self.rails[1].clone();
        self.r("220", &screen, &rail, "ScreenStopper");
        screen
    }

    fn loudspeaker(&mut self, secondary: &str) {
        self.lines.push(format!(
            "LS1 = {{ loudspeaker = \"Tin Ten\", between = [\"{secondary}\", \"gnd\"] }}"
        ));
        self.roles.push(("LS1".into(), "Loudspeaker"));
    }

    fn transformer(&mut self, primary: &[&str], secondary: &str) {
        let taps: Vec<String> = primary.iter().map(|n| format!("\"{n}\"")).collect();
        self.lines.push(format!(
            "T1 = {{ output_transformer = {{ primary = \"8k\", secondary = \"8\" }}, primary = [{}], secondary = [\"{secondary}\", \"gnd\"] }}",
            taps.join(", ")
        ));
        self.roles.push(("T1".into(), "OutputTransformer"));
    }

    fn single_ended(&mut self, from: &str) {
        let grid = self.output_grid(from, "gnd");
        let (anode, cathode, secondary) = (self.node(), self.node(), self.node());
        let screen = self.screen();
        self.pentode([&anode, &screen, &grid, &cathode]);
        self.r("150", &cathode, "gnd", "CathodeBias");
        self.c("100u", &cathode, "gnd", "CathodeBypass");
        let rail = self.rails[0].clone();
        self.transformer(&[&anode, &rail], &secondary);
        self.loudspeaker(&secondary);
    }

    /// The inverter from a node on; gives its two outputs, and where feedback may arrive.
    fn inverter(&mut self, from: &str, which: usize) -> (String, String, Option<String>) {
        let rail = self.rails[self.rails.len() - 2].clone();
        match which {
            0 => {
                let n: Vec<String> = (0..7).map(|_| self.node()).collect();
                self.c("27n", from, &n[0], "Coupling");
                self.triode(&n[1], &n[0], &n[3], "InverterDriven");
                self.triode(&n[2], &n[4], &n[3], "InverterOther");
                self.r("91k", &n[1], &rail, "AnodeLoad");
                self.r("100k", &n[2], &rail, "AnodeLoad");
                self.r("820", &n[3], &n[5], "CathodeBias");
                self.r("18k", &n[5], &n[6], "Tail");
                self.r("680", &n[6], "gnd", "FeedbackShunt|Tail");
                self.r("1M", &n[0], &n[5], "GridLeak");
                self.r("1M", &n[4], &n[5], "GridLeak");
                self.c("68n", &n[4], &n[6], "Coupling");
                (n[1].clone(), n[2].clone(), Some(n[6].clone()))
            }
            1 => {
                let n: Vec<String> = (0..5).map(|_| self.node()).collect();
                self.c("12n", from, &n[0], "Coupling");
                self.triode(&n[1], &n[0], &n[2], "InverterDriven");
                self.r("56k", &n[1], &rail, "AnodeLoad");
                self.r("1k5", &n[2], &n[3], "CathodeBias");
                self.r("56k", &n[3], "gnd", "CathodeLoad");
                self.r("820k", &n[0], &n[3], "GridLeak");
                (n[1].clone(), n[2].clone(), None)
            }
            _ => {
                let n: Vec<String> = (0..7).map(|_| self.node()).collect();
                self.c("15n", from, &n[0], "Coupling");
                self.r("470k", &n[0], "gnd", "GridLeak");
                self.triode(&n[1], &n[0], &n[2], "InverterDriven");
                self.r("91k", &n[1], &rail, "AnodeLoad");
                self.r("1k5", &n[2], "gnd", "CathodeBias");
                self.r("470k", &n[1], &n[3], "Paraphase");
                self.r("470k", &n[5], &n[3], "Paraphase");
                self.c("22n", &n[3], &n[4], "Coupling");
                self.r("1M", &n[4], "gnd", "GridLeak");
                self.triode(&n[5], &n[4], &n[6], "InverterOther");
                self.r("91k", &n[5], &rail, "AnodeLoad");
                self.r("1k5", &n[6], "gnd", "CathodeBias");
                (n[1].clone(), n[5].clone(), None)
            }
        }
    }

    fn push_pull(&mut self, outputs: (String, String), fixed: bool, feedback: Option<String>) {
        let bias = if fixed {
            let (raw, held) = (self.node(), self.node());
            self.lines.push(format!(
                "BIAS = {{ bias_supply = \"-25 V\", node = \"{raw}\", resistance = \"1k\" }}"
            ));
            self.roles.push(("BIAS".into(), "BiasSupply"));
            self.c("22u", &raw, "gnd", "BiasDecoupling");
            self.r("18k", &raw, &held, "BiasFeed");
            self.r("12k", &held, "gnd", "BiasLoad");
            self.c("22u", &held, "gnd", "BiasDecoupling");
            held
        } else {
            "gnd".into()
        };
        let upper = self.output_grid(&outputs.0, &bias);
        let lower = self.output_grid(&outputs.1, &bias);
        let (a, b, secondary) = (self.node(), self.node(), self.node());
        let cathode = if fixed { "gnd".into() } else { self.node() };
        let screens = [self.screen(), self.screen()];
        self.pentode([&a, &screens[0], &upper, &cathode]);
        self.pentode([&b, &screens[1], &lower, &cathode]);
        if !fixed {
            self.r("130", &cathode, "gnd", "CathodeBias");
            self.c("220u", &cathode, "gnd", "CathodeBypass");
        }
        let rail = self.rails[0].clone();
        self.transformer(&[&a, &rail, &b], &secondary);
        self.loudspeaker(&secondary);
        if let Some(to) = feedback {
            if self.rng.chance(40) {
                let joint = self.node();
                self.switch(&secondary, &joint, "FeedbackSwitch");
                self.r("82k", &joint, &to, "Feedback");
            } else {
                self.r("82k", &secondary, &to, "Feedback");
            }
        }
    }
}

/// An amp by its seed.
pub fn random_amp(seed: u64) -> RandomAmp {
    let mut b = Builder {
        rng: Rng::new(seed),
        lines: Vec::new(),
        roles: Vec::new(),
        counts: [0; 6],
        nodes: 0,
        rails: Vec::new(),
        valve_half: false,
    };
    b.supply();
    b.r("1M", "in", "gnd", "InputLoad|GridLeak");
    let mut grid = "in".to_string();
    if b.rng.chance(70) {
        grid = b.node();
        b.r("33k", "in", &grid, "GridStopper");
    }
    let mut anode = b.gain(&grid);
    let stages = b.rng.below(3);
    for stage in 0..stages {
        let grid = if stage == 0 && b.rng.chance(25) {
            let cathode = b.follower(&anode);
            b.three_knobs(&cathode)
        } else {
            let which = b.rng.below(4);
            b.between(&anode, which)
        };
        anode = b.gain(&grid);
    }
    if b.rng.chance(30) {
        b.single_ended(&anode);
    } else {
        let which = b.rng.below(3);
        let (first, second, feedback) = b.inverter(&anode, which);
        let fixed = b.rng.chance(50);
        b.push_pull((first, second), fixed, feedback);
    }
    // In any order: nothing may depend on it.
    for i in (1..b.lines.len()).rev() {
        let j = b.rng.below(i + 1);
        b.lines.swap(i, j);
    }
    let head = format!(
        "format = 1\n[amp]\nname = \"Drawn {seed}\"\nabout = \"Drawn at random from textbook stages.\"\ninput = \"in\"\noutput = \"LS1\"\n[parts]\n"
    );
    RandomAmp {
        text: head + &b.lines.join("\n") + "\n",
        roles: b.roles,
    }
}
