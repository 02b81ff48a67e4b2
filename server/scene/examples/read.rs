#![allow(clippy::print_stdout)]
use std::time::Instant;
fn main() {
    let path = std::env::args().nth(1).unwrap();
    let n: usize = std::env::args().nth(2).map_or(1, |n| n.parse().unwrap());
    let bytes = std::fs::read(&path).unwrap();
    let mut best = f64::MAX;
    for _ in 0..n {
        let t = Instant::now();
        let scene = scene::read(&bytes, "x.gltf", &[]).unwrap();
        best = best.min(t.elapsed().as_secs_f64());
        let d = Instant::now();
        let k = scene.nodes.len();
        drop(scene);
        println!(
            "{k} {:.2} ms, drop {:.2}",
            best * 1e3,
            d.elapsed().as_secs_f64() * 1e3
        );
    }
}
