//! Nothing is lost: where a book is made, saved under another name, or changed by two programs.

use std::fs;
use std::path::Path;

use rusqlite::Connection;
use scourline::book::{Book, Edit, RecordKind, Setup};
use scourline::store::{OpenBook, Replace, StoreError};

use super::book_of::{small, whole};

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<String> =
        fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_str().unwrap().to_owned()).collect();
    names.sort();
    names
}

fn on_disk(path: &Path) -> Book {
    OpenBook::open(path).unwrap().snapshot()
}

/// Of two books first kept under one name at once the later used to be renamed over the earlier.
#[test]
fn of_many_books_kept_at_once_under_one_name_one_is_and_the_others_are_refused() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let start = std::sync::Barrier::new(8);
    let kept: Vec<String> = std::thread::scope(|scope| {
        let keep = |n: usize| {
            let (path, start) = (&path, &start);
            scope.spawn(move || {
                let mut open = OpenBook::in_memory();
                open.apply(&Edit::put(Setup::new(format!("setup {n}")))).unwrap();
                start.wait();
                match open.save_as(path, Replace::Nothing) {
                    Ok(()) => Some(format!("setup {n}")),
                    Err(StoreError::AlreadyThere(_)) => None,
                    Err(other) => panic!("{other}"),
                }
            })
        };
        let threads: Vec<_> = (0..8).map(keep).collect();
        threads.into_iter().filter_map(|t| t.join().unwrap()).collect()
    });
    let held: Vec<String> = on_disk(&path).setups().values().map(|s| s.name.clone()).collect();
    assert_eq!(kept, held, "exactly one was kept, and it is the one that stands there");
    assert_eq!(kept.len(), 1);
    assert_eq!(names(dir.path()), ["book.gpkg"]);
}

/// Another program's edit came along into the new file, but the book in memory did not know of it and the next edit
/// wrote over it; rows that could not be read were forgotten and deleted with the next change.
#[test]
fn save_as_keeps_what_another_program_did_and_the_rows_that_cannot_be_read() {
    let dir = tempfile::tempdir().unwrap();
    let (path, copy) = (dir.path().join("book.gpkg"), dir.path().join("copy.gpkg"));
    let (small, ..) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&small)).unwrap();
    let mut open = OpenBook::open(&path).unwrap();
    let first = Setup::new("made here");
    open.apply(&Edit::put(first.clone())).unwrap();
    let other = Connection::open(&path).unwrap();
    other
        .execute_batch(
            "INSERT INTO setups (uid, name) VALUES ('000000000000000000000000000000aa', 'made elsewhere');
             UPDATE setups SET notes = 'written elsewhere' WHERE name = 'made here';
             INSERT INTO finds (geom, uid, beach, kind, depth_m)
                SELECT geom, '000000000000000000000000000000bb', beach, 'coin', 99 FROM finds LIMIT 1;",
        )
        .unwrap();
    drop(other);
    open.save_as(&copy, Replace::Nothing).unwrap();
    let notes = |book: &Book| book.setups()[&first.uid].notes.clone();
    assert_eq!(notes(open.book()), "written elsewhere");
    assert!(open.book().setups().values().any(|s| s.name == "made elsewhere"));
    assert_eq!(open.complaints().len(), 1, "the row that cannot be read is told: {:?}", open.complaints());
    assert_eq!(open.can_undo(), None, "what was done before another program came in cannot be taken back");
    open.apply(&Edit::put(Setup::new("after"))).unwrap();
    let removed = open.book().finds().keys().next().copied().unwrap();
    open.apply(&Edit::Remove(RecordKind::Find, removed)).unwrap();
    drop(open);
    let again = OpenBook::open(&copy).unwrap();
    assert_eq!((notes(again.book()).as_str(), again.complaints().len()), ("written elsewhere", 1));
    let spoilt: f64 = Connection::open(&copy)
        .unwrap()
        .query_row("SELECT depth_m FROM finds WHERE uid = '000000000000000000000000000000bb'", [], |r| r.get(0))
        .unwrap();
    assert_eq!(spoilt, 99.0);
}

/// Save as onto a book that another program holds open: that program notices and reads it anew.
#[test]
fn a_book_replaced_by_a_book_is_noticed_by_whoever_has_it_open() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let mut theirs = OpenBook::create(&path).unwrap();
    theirs.apply(&Edit::put(Setup::new("theirs"))).unwrap();
    for from_file in [false, true] {
        let mut mine = if from_file { OpenBook::create(dir.path().join("mine.gpkg")).unwrap() } else { OpenBook::in_memory() };
        mine.apply(&Edit::put(Setup::new(format!("mine {from_file}")))).unwrap();
        mine.save_as(&path, Replace::Book).unwrap();
        assert!(theirs.is_changed_outside());
        assert!(matches!(theirs.apply(&Edit::put(Setup::new("more"))), Err(StoreError::ChangedOutside(_))));
        theirs = OpenBook::open(&path).unwrap();
        assert_eq!(theirs.snapshot(), mine.snapshot());
    }
}

/// A journal without its book used to keep the name from ever being used; played back into a new book it would
/// destroy it.
#[test]
fn a_journal_whose_book_is_gone_is_recognised_and_cleared_away() {
    let dir = tempfile::tempdir().unwrap();
    let (path, gone) = (dir.path().join("book.gpkg"), dir.path().join("gone.gpkg"));
    let (small, ..) = small();
    OpenBook::create(&gone).unwrap().apply(&whole(&small)).unwrap();
    let dying = Connection::open(&gone).unwrap();
    dying.execute_batch("PRAGMA cache_size = 5; PRAGMA journal_mode = DELETE; BEGIN IMMEDIATE; DELETE FROM finds;").unwrap();
    for n in 0..2000 {
        dying.execute("INSERT INTO outings (uid, name) VALUES (?1, ?2)", (format!("{n:032}"), "x".repeat(500))).unwrap();
    }
    fs::copy(dir.path().join("gone.gpkg-journal"), dir.path().join("book.gpkg-journal")).unwrap();
    drop(dying);
    fs::remove_file(&gone).unwrap();
    let mut open = OpenBook::holding(small.clone());
    open.save_as(&path, Replace::Nothing).unwrap();
    drop(open);
    assert_eq!(on_disk(&path), small);
    assert_eq!(names(dir.path()), ["book.gpkg"]);
    let created = dir.path().join("new.gpkg");
    fs::write(dir.path().join("new.gpkg-journal"), "left over").unwrap();
    drop(OpenBook::create(&created).unwrap());
    assert_eq!(names(dir.path()), ["book.gpkg", "new.gpkg"]);
}

/// A write that another program left half done is taken back before its book is replaced, not after.
#[test]
fn a_book_with_a_half_done_write_can_be_replaced() {
    let dir = tempfile::tempdir().unwrap();
    let (path, copy) = (dir.path().join("book.gpkg"), dir.path().join("copy.gpkg"));
    let (small, ..) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&small)).unwrap();
    let dying = Connection::open(&path).unwrap();
    dying.execute_batch("PRAGMA cache_size = 5; PRAGMA journal_mode = DELETE; BEGIN IMMEDIATE; DELETE FROM finds;").unwrap();
    for n in 0..2000 {
        dying.execute("INSERT INTO outings (uid, name) VALUES (?1, ?2)", (format!("{n:032}"), "x".repeat(500))).unwrap();
    }
    fs::copy(&path, &copy).unwrap();
    fs::copy(dir.path().join("book.gpkg-journal"), dir.path().join("copy.gpkg-journal")).unwrap();
    drop(dying);
    let mut mine = OpenBook::in_memory();
    mine.apply(&Edit::put(Setup::new("mine"))).unwrap();
    mine.save_as(&copy, Replace::Book).unwrap();
    assert_eq!(on_disk(&copy), mine.snapshot());
    assert!(!dir.path().join("copy.gpkg-journal").exists());
}
