//! The whole reading of a large book: seconds until each part was done, and the most memory it took.
//!
//! `cargo bench --bench whole [-- FINDS FIXES]`; without figures 100,000 finds and 1,000,000 fixes of
//! 999 replicates. The book repeats the invented demo beach, each copy at another time and moved by
//! some metres, so that it holds scour lines and drop zones as a large book would.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

mod large_book;

use std::time::Instant;

use scourline::Progress;
use scourline::effort;
use scourline::reading::{Covered, Ground, Params, read};
use scourline::shore::Setting;

/// The program's own, as time and memory depend on it.
#[global_allocator]
static ALLOCATOR: mimalloc::MiMalloc = mimalloc::MiMalloc;

/// A line of `/proc/self/status` in MB; `None` where there is no such file.
fn memory_mb(line: &str) -> Option<f64> {
    let status = std::fs::read_to_string("/proc/self/status").ok()?;
    let kib = status.lines().find_map(|l| l.strip_prefix(line)?.trim().strip_suffix("kB")?.trim().parse::<f64>().ok())?;
    Some(kib * 1024.0 / 1e6)
}

/// Seconds of processor time so far, of all cores; `None` where there is no `/proc`.
fn worked_s() -> Option<f64> {
    let stat = std::fs::read_to_string("/proc/self/stat").ok()?;
    let mut fields = stat.rsplit_once(')')?.1.split_whitespace().skip(11);
    let ticks: f64 = fields.next()?.parse::<f64>().ok()? + fields.next()?.parse::<f64>().ok()?;
    // Linux counts in hundredths whatever the machine.
    Some(ticks / 100.0)
}

fn main() {
    let given: Vec<usize> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let (finds, fixes) = (given.first().copied().unwrap_or(100_000), given.get(1).copied().unwrap_or(1_000_000));
    let (book, beach) = large_book::book(finds, fixes);
    println!(
        "{} finds, {fixes} fixes; the book takes {:.0} MB",
        book.finds_of(beach).count(),
        memory_mb("VmRSS:").unwrap_or(f64::NAN)
    );
    // What making the book took is not counted.
    let _ = std::fs::write("/proc/self/clear_refs", "5");
    let progress = Progress::new();
    let start = Instant::now();
    let before_s = worked_s().unwrap_or(f64::NAN);
    let step = |what: &str| {
        let worked = worked_s().unwrap_or(f64::NAN) - before_s;
        println!("{:8.2} s ({worked:6.2} s of all cores)  {what}", start.elapsed().as_secs_f64());
    };
    let setting = Setting::from_book(&book, beach).unwrap();
    step("the beach's shape and water are laid out");
    let covered = Covered::from_tracks(&book, &setting, &effort::Params::default(), &progress).unwrap();
    let covered = covered.as_ref().map(|(covered, _)| covered);
    step("the ground covered is known");
    let ground = Ground { book: &(&book).into(), setting: &setting, covered, now: None };
    let reading = read(&ground, &Params::default(), &progress).unwrap();
    step("all is read");
    let (squares, visits) = covered.map_or((0, 0), |c| (c.cells.len(), c.visits.len()));
    println!(
        "{squares} squares, {visits} visits to them, {} clusters, {} hot spots, {} drop zones, {} scour lines; at most {:.0} MB",
        reading.clusters.len(),
        reading.hot_spots.len(),
        reading.drop_zones.len(),
        reading.scour_lines.len(),
        memory_mb("VmHWM:").unwrap_or(f64::NAN)
    );
}
