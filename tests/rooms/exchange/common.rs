//! A book with one invented beach, and shorter ways to look at files in memory.

use scourline::Progress;
use scourline::book::{Beach, Book, Edit, Find, Record};
use scourline::earth::LonLat;
use scourline::exchange::{ExchangeError, Fault, Intake, Intakes, Options, Source, look, look_all};

/// A book with one beach in the open Atlantic, on London's clock.
pub(crate) fn book() -> Book {
    let beach = Beach { time_zone: "Europe/London".into(), ..Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap()) };
    let mut book = Book::new();
    book.apply(&Edit::put(beach)).unwrap();
    book
}

pub(crate) fn try_take(name: &str, bytes: impl AsRef<[u8]>, book: &Book, options: &Options) -> Result<Intake, ExchangeError> {
    look(&Source::bytes(name, bytes.as_ref().to_vec()), book, options, &Progress::new())
}

pub(crate) fn take(name: &str, text: &str, book: &Book, options: &Options) -> Intake {
    try_take(name, text, book, options).unwrap()
}

pub(crate) fn fault(name: &str, bytes: impl AsRef<[u8]>, book: &Book, options: &Options) -> Fault {
    match try_take(name, bytes, book, options) {
        Err(ExchangeError::File { fault, .. }) => fault,
        other => panic!("no fault but {other:?}"),
    }
}

pub(crate) fn take_all(files: &[(&str, &str)], book: &Book, options: &Options) -> Intakes {
    let sources: Vec<_> = files.iter().map(|(name, text)| Source::bytes(*name, text.as_bytes().to_vec())).collect();
    look_all(&sources, book, options, &Progress::new()).unwrap()
}

/// Every record an intake would put.
pub(crate) fn records(intake: &Intake) -> Vec<Record> {
    let put = |e: &Edit| if let Edit::Put(r) = e { Some(r.clone()) } else { None };
    intake.edit.singles().into_iter().filter_map(put).collect()
}

pub(crate) fn find_of(record: Record) -> Option<Find> {
    if let Record::Find(find) = record { Some((*find).clone()) } else { None }
}
