//! A large book for the benches: the invented demo beach walked again and again.

use std::sync::Arc;

use jiff::{SignedDuration, Timestamp};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use scourline::book::{Beach, Book, Edit, Find, Outing, Record, Signal, Track, TrackPoint, Uid};
use scourline::demo::Planting;
use scourline::earth::LonLat;

/// The demo beach walked again and again until there are so many fixes, with as many finds each time as
/// make up their number: the demo's own, and others within some metres of them.
pub(crate) fn book(finds: usize, fixes: usize) -> (Book, Uid) {
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

/// So many signals, heard where things were dug and on the same outings.
#[allow(dead_code, reason = "the reading's own bench has none")]
pub(crate) fn signals(book: &Book, count: usize) -> Vec<Edit> {
    let made = Planting::shipped().make().unwrap();
    let heard = book.finds().values().zip(made.signals.iter().cycle()).take(count);
    heard
        .map(|(find, signal)| {
            let (at, outing, time) = (find.at, find.outing, find.time);
            Edit::put(Signal { uid: Uid::fresh(), at, outing, time, ..Signal::clone(signal) })
        })
        .collect()
}
