//! The shipped demo files through the importers that anyone's files go through.

use std::collections::BTreeMap;

use scourline::Progress;
use scourline::book::{Book, Edit, Find, Outing, RecordKind, Signal, Storm, Uid};
use scourline::demo::{self, Made, Planting};
use scourline::exchange::{Intakes, Options, Source, look_all};

fn sources() -> Vec<Source> {
    demo::files().into_iter().map(|f| Source::bytes(f.name, f.bytes)).collect()
}

fn look_at(sources: &[Source], book: &Book) -> Intakes {
    look_all(sources, book, &Options::default(), &Progress::new()).expect("nobody calls the import off")
}

/// A book into which the demo was imported.
fn imported() -> (Book, Made) {
    let mut book = Book::new();
    book.apply(&Edit::put(demo::beach().expect("the beach can be made"))).expect("the beach is valid");
    let intakes = look_at(&sources(), &book);
    assert!(intakes.failed.is_empty(), "{:?}", intakes.failed);
    let refused: Vec<String> = intakes.intakes.iter().flat_map(|i| &i.refused).map(ToString::to_string).collect();
    assert!(refused.is_empty(), "{refused:#?}");
    book.apply(&intakes.edit()).expect("the import can be applied");
    (book, Planting::shipped().make().expect("the shipped beach can be made"))
}

#[test]
fn everything_enters_and_nothing_is_refused() {
    let (book, made) = imported();
    let wanted = made.book().expect("the records are valid");
    for kind in RecordKind::ALL {
        assert_eq!(book.count(*kind), wanted.count(*kind), "{kind}");
    }
}

#[test]
fn a_second_import_adds_nothing() {
    let (book, _) = imported();
    let again = look_at(&sources(), &book);
    assert_eq!((again.taken_count(), again.refused_count(), again.failed.len()), (0, 0, 0));
    let mut same = book.clone();
    same.apply(&again.edit()).expect("an import of nothing can be applied");
    assert!(same == book, "the second import changed the book");
}

/// The same record without its uid, which the importers give by their own rule.
fn bare_find(f: &Find) -> Find {
    // Inches and hundredths come back to within rounding of the last digit.
    let rounded = |v: Option<f64>| v.map(|v| (v * 1e6).round() / 1e6);
    Find { uid: nobody(), depth_m: rounded(f.depth_m), size_mm: rounded(f.size_mm), ..f.clone() }
}

fn nobody() -> Uid {
    Uid::of_content("nobody", [])
}

#[test]
fn what_enters_is_what_was_made() {
    let (book, made) = imported();
    let beach = book.beach_named("tarrow sands").expect("the beach is there");
    assert_eq!(*beach, made.beach);
    let setups: Vec<_> = book.setups().values().collect();
    assert!(made.setups.iter().all(|s| setups.contains(&s)), "{setups:#?}");
    let outings: Vec<Outing> = book.outings_of(beach.uid).into_iter().cloned().collect();
    assert_eq!(outings, made.outings);

    let tracks: BTreeMap<Uid, _> = made.tracks.iter().map(|t| (t.uid, t)).collect();
    for (uid, track) in book.tracks() {
        let wanted = tracks.get(uid).expect("a track as it was made");
        assert_eq!((track.outing, &track.name, track.len()), (wanted.outing, &wanted.name, wanted.len()));
        assert!(track.points().zip(wanted.points()).all(|(a, b)| (a.hdop(), a.satellites()) == (b.hdop(), b.satellites())));
    }

    let key = |f: &Find| (f.time, f.what.clone(), f.at.lon_deg().to_bits());
    let mut got: Vec<Find> = book.finds().values().map(bare_find).collect();
    let mut wanted: Vec<Find> = made.finds.iter().map(bare_find).collect();
    got.sort_by_key(key);
    wanted.sort_by_key(key);
    for (g, w) in got.iter().zip(&wanted) {
        assert_eq!(g, w);
    }

    let bare = |s: &Signal| Signal { uid: nobody(), ..s.clone() };
    let mut got: Vec<Signal> = book.signals().values().map(bare).collect();
    let mut wanted: Vec<Signal> = made.signals.iter().map(bare).collect();
    got.sort_by_key(|s| s.time);
    wanted.sort_by_key(|s| s.time);
    assert_eq!(got, wanted);

    let mut storms: Vec<Storm> = book.storms().values().cloned().collect();
    storms.sort_by_key(Storm::span);
    assert_eq!(storms.len(), made.storms.len());
    for (got, wanted) in storms.iter().zip(&made.storms) {
        assert_eq!(got.peak(), wanted.peak());
    }
    // The whole record beside its storms: every three hours of eighteen months.
    let seas: Vec<_> = book.seas().values().collect();
    assert_eq!(seas.len(), 1);
    assert_eq!(seas[0].states.len(), include_str!("../../../data/demo/sea.csv").lines().count() - 1);
}

#[test]
fn the_kinds_are_understood_from_the_words_alone() {
    let (book, _) = imported();
    let other = book.finds().values().filter(|f| f.kind.key() == "other").count();
    assert_eq!(other, 0);
}
