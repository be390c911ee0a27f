//! look
mod matching_bench;
use matching_bench::{CASES, matched, target};
use presolder::analysis::matching::colour::Taken;
use presolder::circuit::PartKind;
#[test]
fn look() {
    for case in &CASES {
        let c = case.as_found();
        let t = target(&c, 0.1, 1, |_| 0.0);
        println!("== {}", case.amp);
        for p in c.parts() {
            if !p.fitted
                || !matches!(
                    p.kind,
                    PartKind::Resistor { .. }
                        | PartKind::Capacitor { .. }
                        | PartKind::Pot { .. }
                        | PartKind::Inductor { .. }
                )
            {
                continue;
            }
            let f = matched(&c, &[p.designator.clone()], &t, Taken::Line);
            let m = matched(&c, &[p.designator.clone()], &t, Taken::Microphone);
            let k = matched(&c, &[p.designator.clone()], &t, Taken::KnownLoudspeaker);
            println!(
                "{:6} {:28} line {:.3} known {:.3} mic {:.3} eff {:.2} {:?}",
                p.designator,
                p.particulars.role,
                f.parts[0].deviation,
                k.parts[0].deviation,
                m.parts[0].deviation,
                f.parts[0].effect_db,
                f.parts[0].told
            );
        }
    }
}
