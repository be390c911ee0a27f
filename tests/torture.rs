//! probe
mod common;
use common::*;
use presolder::device::Catalogue;
use presolder::network::BranchValue;
use presolder::realtime::{Processor, Settings, dispatch::Instructions};

fn noise(state: &mut u64) -> f64 {
    *state = state
        .wrapping_mul(6364136223846793005)
        .wrapping_add(1442695040888963407);
    (*state >> 11) as f64 / (1u64 << 53) as f64 * 2.0 - 1.0
}

#[test]
fn probe() {
    let file = std::env::var("CIRCUIT").unwrap_or("tests/circuits/push_pull.toml".into());
    let text = std::fs::read_to_string(file)
        .unwrap()
        .replace("-24 V", "-14 V");
    let circuit = presolder::circuit::read(&text, &Catalogue::built_in()).unwrap();
    let b = Bench::new(circuit);
    let rate = 48_000.0;
    for governed in [true] {
        for kind in [
            "chord",
            "loud chord",
            "square",
            "noise",
            "noise50",
            "dc50",
            "burst",
            "parts",
            "parts quiet",
        ] {
            for doublings in [1, 2] {
                let mut s = Settings::live(rate, doublings);
                if !governed {
                    s.governor = None;
                }
                let mut p = Processor::<4>::new(
                    &b.network,
                    [(&b.values, &b.point.solution); 4],
                    s,
                    Instructions::detect(),
                );
                let mut seed = 1;
                let n = 4800;
                let x: Vec<f64> = (0..n)
                    .map(|i| {
                        let t = i as f64 / rate;
                        match kind {
                            "chord" => chord(t),
                            "loud chord" => 30.0 * chord(t),
                            "square" => {
                                if (t * 440.0).fract() < 0.5 {
                                    5.0
                                } else {
                                    -5.0
                                }
                            }
                            "noise" => 2.0 * noise(&mut seed),
                            "noise50" => 50.0 * noise(&mut seed),
                            "dc50" => {
                                if (i / 480) % 2 == 0 {
                                    50.0
                                } else {
                                    -50.0
                                }
                            }
                            "burst" => 20.0 * (6.28 * 7000.0 * t).sin(),
                            "parts" => 3.0 * (6.28 * 440.0 * t).sin(),
                            _ => 0.0,
                        }
                    })
                    .collect();
                let mut y = vec![0.0; n];
                let mut o = vec![vec![0.0; 32]; 4];
                let mut worst: f64 = 0.0;
                let mut total = 0.0;
                let mut times = Vec::new();
                for blk in 0..n / 32 {
                    let xs = &x[blk * 32..][..32];
                    let mut el = 0.0;
                    if kind.starts_with("parts") {
                        for i in 0..32 {
                            for (k, v) in b.values.branches.iter().enumerate() {
                                let f = 10f64.powf(noise(&mut seed));
                                let nv = match *v {
                                    BranchValue::Resistive { siemens, volts } => {
                                        BranchValue::Resistive {
                                            siemens: siemens * f,
                                            volts,
                                        }
                                    }
                                    BranchValue::Capacitive { farads } => {
                                        BranchValue::Capacitive { farads: farads * f }
                                    }
                                    BranchValue::Coil {
                                        ohms,
                                        henries,
                                        damping,
                                    } => BranchValue::Coil {
                                        ohms,
                                        henries: henries * f,
                                        damping,
                                    },
                                };
                                for l in 0..4 {
                                    p.set_branch(l, k, nv);
                                }
                            }
                            let x1 = [xs[i]];
                            let mut q = [[0.0]; 4];
                            let [a, bb, c, d] = &mut q;
                            let t0 = std::time::Instant::now();
                            p.process(&[&x1, &x1, &x1, &x1], &mut [a, bb, c, d]);
                            el += t0.elapsed().as_secs_f64();
                            y[blk * 32 + i] = q[0][0];
                        }
                    } else {
                        let [a, bb, c, d] = &mut o[..] else { panic!() };
                        let t0 = std::time::Instant::now();
                        p.process(&[xs, xs, xs, xs], &mut [a, bb, c, d]);
                        el += t0.elapsed().as_secs_f64();
                        y[blk * 32..][..32].copy_from_slice(&o[0]);
                    }
                    worst = worst.max(el);
                    total += el;
                    times.push(el);
                }
                let c = p.counts();
                let peak = y.iter().fold(0.0f64, |a, b| {
                    if b.is_finite() {
                        a.max(b.abs())
                    } else {
                        f64::NAN
                    }
                });
                let fine = y.iter().all(|v| v.is_finite());
                println!(
                    "{kind:12} gov {governed} x{}: finite {fine} peak {peak:8.2} mean load {:5.1} % worst block {:5.1} % it/int {:.2} worst {} held {} governed {}",
                    1 << doublings,
                    total / (n as f64 / rate) * 100.0,
                    worst / (32.0 / rate) * 100.0,
                    c.iterations as f64 / c.intervals as f64,
                    c.worst,
                    c.held,
                    c.governed
                );
            }
        }
    }
}
