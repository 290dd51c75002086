//! Clusters the points of a file, for `beside.py` to time against Python's libraries.
//!
//! `beside METHOD POINTS LABELS SIZE REPEATS [DISTANCE]`: METHOD is `dbscan` or `hdbscan`, POINTS a file of pairs
//! of 64-bit floats, SIZE the least points. Writes labels to LABELS as 32-bit integers, -1 for noise, and prints
//! the seconds of each run, one a line, reading and writing left out.

use std::error::Error;
use std::time::Instant;

use scourline::Progress;
use scourline::reading::{dbscan, hdbscan};

/// The program's own, as times depend on it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

fn main() -> Result<(), Box<dyn Error>> {
    let args: Vec<String> = std::env::args().skip(1).collect();
    let [method, points, labels, size, repeats, distance @ ..] = args.as_slice() else {
        println!("run by tests/bench/beside.py");
        return Ok(());
    };
    let (size, repeats) = (size.parse::<usize>()?, repeats.parse::<usize>()?);
    let bytes = std::fs::read(points)?;
    let number = |b: &[u8]| b.try_into().map_or(f64::NAN, f64::from_le_bytes);
    let points: Vec<[f64; 2]> = bytes.chunks_exact(16).map(|c| [number(&c[..8]), number(&c[8..])]).collect();
    let distance = distance.first().map_or(Ok(f64::NAN), |d| d.parse::<f64>())?;
    let mut found = Vec::new();
    for _ in 0..repeats {
        let start = Instant::now();
        found = match method.as_str() {
            "dbscan" => dbscan(&points, distance, size, &Progress::new())?.labels,
            _ => hdbscan(&points, size, size, &Progress::new())?.labels,
        };
        println!("{}", start.elapsed().as_secs_f64());
    }
    let told: Vec<u8> = found.iter().flat_map(|l| l.map_or(-1, |l| l as i32).to_le_bytes()).collect();
    std::fs::write(labels, told)?;
    Ok(())
}
