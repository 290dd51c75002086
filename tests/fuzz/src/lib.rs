//! What every target does with its bytes: take them in as the program would, and see that what is said of them holds.

use std::sync::OnceLock;

use jiff::Timestamp;
use scourline::Progress;
use scourline::book::{Beach, Book, Edit, Find, Kind, Setup, Track, TrackPoint};
use scourline::earth::LonLat;
use scourline::exchange::{Intake, Options, Source, look};

/// A book with a beach and something on it to be met again: a find, a set-up and a walk.
fn book() -> &'static Book {
    static BOOK: OnceLock<Book> = OnceLock::new();
    BOOK.get_or_init(|| {
        let at = |n: u32| LonLat::new(-20.0, 45.0 + f64::from(n) * 1e-5).expect("on earth");
        let time = |n: u32| Timestamp::from_second(1_714_557_600 + i64::from(n)).ok();
        let beach = Beach { time_zone: "Europe/London".into(), ..Beach::new("Invented Bay", at(0)) };
        let find = Find { time: time(0), depth_m: Some(0.1), ..Find::new(beach.uid, at(0), "ring", Kind::keyed("ring")) };
        let walk = (0..100).map(|n| TrackPoint::new(at(n)).with_time(time(n * 10))).collect();
        let segments = vec![walk];
        let uid = Track::content_uid(beach.uid, &segments);
        let track = Track { uid, beach: beach.uid, outing: None, name: "walk".into(), segments };
        let mut book = Book::new();
        let edits = vec![Edit::put(beach), Edit::put(find), Edit::put(Setup::new("wet")), Edit::put(track)];
        book.apply(&Edit::Batch(edits)).expect("a sound book");
        book
    })
}

/// Takes bytes in as a dry run, and once more with the first answer to whatever is asked.
///
/// # Panics
/// When the change that is offered cannot be made, or what is counted is not what it holds: a finding, as any other panic.
pub fn take_in(name: &str, bytes: &[u8]) {
    // The clock stands still, so that a finding can be had again.
    let now = Timestamp::from_second(1_750_000_000).ok();
    let mut options = Options { now, ..Options::default() };
    let source = Source::bytes(name, bytes.to_vec());
    let Ok(intake) = look(&source, book(), &options, &Progress::new()) else { return };
    check(&intake);
    if intake.unsettled.is_empty() {
        return;
    }
    options.answers = intake.unsettled.iter().filter_map(|u| Some((u.about, u.about.answers().last()?.0))).collect();
    if let Ok(answered) = look(&source, book(), &options, &Progress::new()) {
        check(&answered);
    }
}

fn check(intake: &Intake) {
    book().admits(&intake.edit).expect("what is offered can be done");
    let mut taken = book().clone();
    let undo = taken.apply(&intake.edit).expect("what is offered can be done");
    taken.apply(&undo).expect("and be taken back");
    assert_eq!(&taken, book(), "what was taken back leaves the book as it was");
    assert!(intake.taken_count() <= intake.edit.singles().len(), "more is counted than is there");
}
