//! probe
mod common;
use common::*;
use presolder::device::Catalogue;
use presolder::realtime::{Processor, Settings, dispatch::Instructions};

#[test]
fn probe() {
    let text = std::fs::read_to_string("tests/circuits/push_pull.toml").unwrap();
    let circuit = presolder::circuit::read(&text, &Catalogue::built_in()).unwrap();
    let b = Bench::new(circuit);
    println!(
        "unknowns {} leading {} trailing products {} it {}",
        b.network.unknowns(),
        b.network.program().leading(),
        b.network.program().trailing_products(),
        b.point.iterations
    );
    for (p, name) in b.network.names().iter().enumerate() {
        print!("{name} {:.2}  ", b.point.solution[p]);
    }
    println!();
    let ss = presolder::solve::SmallSignal::new(&b.network, &b.values, &b.point);
    for hz in [20.0, 50., 100., 1000., 5e3, 1e4, 2e4] {
        println!("{hz}: {:.2} dB", 20.0 * ss.gain(hz).norm().log10());
    }
    let rate = 48_000.0;
    let seconds = 0.08;
    for amp in [0.1, 1.0, 5.0, 30.0] {
        let t0 = std::time::Instant::now();
        let reference = oracle(&b, rate, 64, seconds, |t| amp * chord(t));
        let t1 = t0.elapsed().as_secs_f64();
        let peak = reference.iter().fold(0.0f64, |a, b| a.max(b.abs()));
        print!("amp {amp}: peak out {peak:.2} V, oracle {t1:.2} s; ");
        for doublings in [1, 2] {
            let mut s = Settings::live(rate, doublings);
            s.governor = None;
            let mut p = Processor::<4>::new(
                &b.network,
                [(&b.values, &b.point.solution); 4],
                s,
                Instructions::detect(),
            );
            let n = (seconds * rate) as usize;
            let x: Vec<f64> = (0..n + p.latency())
                .map(|i| amp * chord(i as f64 / rate))
                .collect();
            let mut o = vec![vec![0.0; x.len()]; 4];
            let t0 = std::time::Instant::now();
            {
                let [a, bb, c, d] = &mut o[..] else { panic!() };
                p.process(&[&x, &x, &x, &x], &mut [a, bb, c, d]);
            }
            let t1 = t0.elapsed().as_secs_f64();
            let got = &o[0][p.latency()..];
            let c = p.counts();
            print!(
                " x{}: {:.1} dB, {:.2} us/interval, it {:.2} att {:.2} held {} worst {};",
                1 << doublings,
                error_in_band(&got[..n], &reference, rate),
                t1 / c.intervals as f64 * 1e6,
                c.iterations as f64 / c.intervals as f64,
                c.attempts as f64 / c.intervals as f64,
                c.held,
                c.worst
            );
        }
        println!();
    }
}
