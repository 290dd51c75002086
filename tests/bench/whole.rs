//! The whole reading of a large book: seconds until each part was done, and the most memory it took.
//!
//! `cargo bench --bench whole [-- FINDS FIXES]`; without figures 100,000 finds and 1,000,000 fixes of
//! 999 replicates. The book repeats the invented demo beach, each copy at another time and moved by
//! some metres, so that it holds scour lines and drop zones as a large book would.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

use std::sync::Arc;
use std::time::Instant;

use jiff::{SignedDuration, Timestamp};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use scourline::Progress;
use scourline::book::{Beach, Book, Find, Outing, Record, Track, TrackPoint, Uid};
use scourline::demo::Planting;
use scourline::earth::LonLat;
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

/// The demo beach walked again and again until there are so many fixes, with as many finds each time as
/// make up their number: the demo's own, and others within some metres of them.
fn book(finds: usize, fixes: usize) -> (Book, Uid) {
    let made = Planting::shipped().make().unwrap();
    let mut records: Vec<Record> = vec![Record::from(Beach::clone(&made.beach))];
    records.extend(made.setups.iter().cloned().map(Record::from));
    records.extend(made.zones.iter().cloned().map(Record::from));
    records.extend(made.accesses.iter().cloned().map(Record::from));
    records.extend(made.levels.iter().cloned().map(Record::from));
    records.extend(made.storms.iter().cloned().map(Record::from));
    let times = (fixes as f64 / made.tracks.iter().map(Track::len).sum::<usize>() as f64).ceil();
    let for_one = (finds as f64 / (times * made.finds.len() as f64)).ceil() as usize;
    println!("{times} walks over the demo beach, {for_one} finds for each of its own");
    let mut rng = ChaCha8Rng::seed_from_u64(8);
    let (mut more_finds, mut more_fixes) = (finds, fixes);
    for copy in 0..times as i64 {
        let later = |t: Timestamp| t + SignedDuration::from_hours(2 * copy);
        for outing in &made.outings {
            let mut moved = |at: LonLat, by: f64| {
                let (east, north) = (rng.random_range(-5e-5..5e-5), rng.random_range(-3e-5..3e-5));
                LonLat::new(at.lon_deg() + by * east, at.lat_deg() + by * north).unwrap()
            };
            let again = Outing { uid: Uid::fresh(), ..Outing::clone(outing) };
            let again = Outing { start: later(again.start), end: later(again.end), ..again };
            for track in made.tracks.iter().filter(|t| t.outing == Some(outing.uid)) {
                let origin = LonLat::new(0.0, 0.0).unwrap();
                let by = moved(origin, 2.0);
                let beside = |at: LonLat| LonLat::new(at.lon_deg() + by.lon_deg(), at.lat_deg() + by.lat_deg()).unwrap();
                let points = track.points().map(|p| TrackPoint::new(beside(p.at)).with_time(p.time().map(later)));
                let run: Arc<[TrackPoint]> = points.take(more_fixes).collect();
                more_fixes -= run.len();
                if !run.is_empty() {
                    let (uid, outing) = (Uid::fresh(), Some(again.uid));
                    records.push(Track { uid, outing, segments: vec![run], ..Track::clone(track) }.into());
                }
            }
            let own = made.finds.iter().filter(|f| f.outing == Some(outing.uid));
            for find in own.flat_map(|f| std::iter::repeat_n(f, for_one)).take(more_finds) {
                more_finds -= 1;
                let (at, time) = (moved(find.at, 1.0), find.time.map(later));
                records.push(Find { uid: Uid::fresh(), at, time, outing: Some(again.uid), ..Find::clone(find) }.into());
            }
            records.push(again.into());
        }
    }
    (Book::gather(records).unwrap(), made.beach.uid)
}

fn main() {
    let given: Vec<usize> = std::env::args().filter_map(|a| a.parse().ok()).collect();
    let (finds, fixes) = (given.first().copied().unwrap_or(100_000), given.get(1).copied().unwrap_or(1_000_000));
    let (book, beach) = book(finds, fixes);
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
