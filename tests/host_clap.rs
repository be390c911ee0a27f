//! The built plugin in a CLAP host.

mod host;

use host::clap::{Instance, classes};

#[test]
fn a() {
    println!("{:?}", classes());
    let t = std::time::Instant::now();
    let mut i = Instance::new(host::CLASSES[0]);
    println!("new {:?}", t.elapsed());
    for p in i.params() {
        println!("{p:?} {:?}", i.text(p.id, p.default));
    }
    let t = std::time::Instant::now();
    i.activate(48000.0, 512);
    println!("activate {:?} latency {}", t.elapsed(), i.latency());
    let x = host::pluck(48000.0, 48000, 2, 0.2);
    let t = std::time::Instant::now();
    let y = i.play(&x, &[512], &[]);
    println!("play {:?} peak {}", t.elapsed(), host::peak(&y));
    println!("{}", String::from_utf8_lossy(&i.save()));
}
