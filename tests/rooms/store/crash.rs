//! A program that dies in the middle of a write.

use std::fs;

use rusqlite::Connection;
use scourline::store::OpenBook;

use super::book_of::{small, whole};
use super::older::back_to_format_4;

/// A hot journal is left behind, as after a power cut: the next opening takes the half-done write back.
#[test]
fn a_half_done_write_is_taken_back() {
    let dir = tempfile::tempdir().unwrap();
    let (path, copy) = (dir.path().join("book.gpkg"), dir.path().join("copy.gpkg"));
    let (small, ..) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&small)).unwrap();

    let dying = Connection::open(&path).unwrap();
    // A cache of a few pages makes SQLite write to the file before the commit.
    dying
        .execute_batch(
            "PRAGMA cache_size = 5; PRAGMA journal_mode = DELETE; BEGIN IMMEDIATE; DELETE FROM finds; DELETE FROM tracks;",
        )
        .unwrap();
    for n in 0..2000 {
        dying.execute("INSERT INTO outings (uid, name) VALUES (?1, ?2)", (format!("{n:032}"), "x".repeat(500))).unwrap();
    }
    let journal = dir.path().join("book.gpkg-journal");
    assert!(fs::metadata(&journal).unwrap().len() > 512, "the write must be half done");
    fs::copy(&path, &copy).unwrap();
    fs::copy(&journal, dir.path().join("copy.gpkg-journal")).unwrap();
    assert_ne!(fs::metadata(&copy).unwrap().len(), 0);
    drop(dying);

    let book = OpenBook::open(&copy).unwrap();
    assert_eq!(book.complaints(), []);
    assert_eq!(book.snapshot(), small);
    drop(book);
    assert!(!dir.path().join("copy.gpkg-journal").exists());
}

/// Another program may leave the file in write-ahead mode; one file is left when the book is closed.
#[test]
fn a_write_ahead_log_is_folded_in() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, ..) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&small)).unwrap();
    Connection::open(&path).unwrap().query_row("PRAGMA journal_mode = WAL", [], |_| Ok(())).unwrap();
    let mut book = OpenBook::open(&path).unwrap();
    book.undo().unwrap_err();
    book.apply(&whole(&small)).unwrap();
    drop(book);
    assert_eq!(fs::read_dir(dir.path()).unwrap().count(), 1);
    assert_eq!(OpenBook::open(&path).unwrap().snapshot(), small);
}

/// The step to a newer format dies half way: the next opening takes it back and makes it whole.
#[test]
fn a_half_done_upgrade_is_taken_back_and_made_anew() {
    let dir = tempfile::tempdir().unwrap();
    let (path, copy) = (dir.path().join("book.gpkg"), dir.path().join("copy.gpkg"));
    let (small, ..) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&small)).unwrap();
    back_to_format_4(&path);

    let dying = Connection::open(&path).unwrap();
    dying
        .execute_batch(
            "PRAGMA cache_size = 5; PRAGMA journal_mode = DELETE; BEGIN IMMEDIATE;
             ALTER TABLE beaches ADD COLUMN search_swing_m REAL; ALTER TABLE beaches ADD COLUMN invented BOOLEAN;
             UPDATE beaches SET search_swing_m = 1.0; UPDATE scourline_book SET format_version = 5;",
        )
        .unwrap();
    // Enough besides that SQLite writes to the file before the commit.
    for n in 0..2000 {
        dying.execute("INSERT INTO outings (uid, name) VALUES (?1, ?2)", (format!("{n:032}"), "x".repeat(500))).unwrap();
    }
    let journal = dir.path().join("book.gpkg-journal");
    assert!(fs::metadata(&journal).unwrap().len() > 512, "the write must be half done");
    fs::copy(&path, &copy).unwrap();
    fs::copy(&journal, dir.path().join("copy.gpkg-journal")).unwrap();
    drop(dying);

    let book = OpenBook::open(&copy).unwrap();
    assert_eq!(book.complaints(), []);
    assert_eq!(book.snapshot(), small);
}
