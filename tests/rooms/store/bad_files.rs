use std::fs;
use std::path::Path;

use rusqlite::Connection;
use scourline::store::{OpenBook, Store, StoreError};

use super::book_of::{small, whole};

fn refusal(path: &Path) -> StoreError {
    let error = Store::open(path).unwrap_err();
    let sentence = error.to_string();
    assert!(!sentence.contains('\n') && sentence.len() < 300, "{sentence}");
    error
}

#[test]
fn files_of_other_kinds_are_named_for_what_they_are() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name);
    assert!(matches!(refusal(&at("none.gpkg")), StoreError::Missing(_)));
    assert!(matches!(refusal(dir.path()), StoreError::Directory(_)));

    for (name, bytes) in [("empty", b"".as_slice()), ("text", b"<gpx>no book at all</gpx>"), ("short", b"SQLite format 3")] {
        fs::write(at(name), bytes).unwrap();
        assert!(matches!(refusal(&at(name)), StoreError::NotGeoPackage(_)), "{name}");
        assert_eq!(fs::read(at(name)).unwrap(), bytes, "{name} must stay as it was");
    }
    // The magic alone, then noise.
    let mut noise = b"SQLite format 3\0".to_vec();
    noise.extend((0..5000u32).flat_map(|n| n.wrapping_mul(2_654_435_761).to_le_bytes()));
    fs::write(at("noise"), &noise).unwrap();
    assert!(matches!(refusal(&at("noise")), StoreError::NotGeoPackage(_) | StoreError::Damaged { .. }));
    assert_eq!(fs::read(at("noise")).unwrap(), noise);

    Connection::open(at("plain.db")).unwrap().execute_batch("CREATE TABLE x (y)").unwrap();
    assert!(matches!(refusal(&at("plain.db")), StoreError::NotGeoPackage(_)));
    Connection::open(at("other.gpkg")).unwrap().execute_batch("PRAGMA application_id = 1196444487; CREATE TABLE x (y)").unwrap();
    assert!(matches!(refusal(&at("other.gpkg")), StoreError::NotABook(_)));
}

#[test]
fn a_newer_book_is_refused_and_kept() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    drop(Store::create(&path).unwrap());
    Connection::open(&path).unwrap().execute_batch("UPDATE scourline_book SET format_version = 999").unwrap();
    let before = fs::read(&path).unwrap();
    assert!(matches!(refusal(&path), StoreError::Newer { found: 999, .. }));
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_new_book_never_takes_the_place_of_a_file() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("notes.txt");
    fs::write(&path, "mine").unwrap();
    assert!(matches!(Store::create(&path), Err(StoreError::AlreadyThere(_))));
    assert_eq!(fs::read_to_string(&path).unwrap(), "mine");
    assert!(matches!(Store::create(dir.path().join("no/such/folder.gpkg")), Err(StoreError::Missing(_))));
}

#[test]
fn a_damaged_book_is_said_to_be_so() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let mut store = Store::create(&path).unwrap();
    store.write(&whole(&small().0)).unwrap();
    drop(store);
    let mut bytes = fs::read(&path).unwrap();
    let from = 4096;
    bytes[from..].fill(0xA5);
    fs::write(&path, &bytes).unwrap();
    let error = OpenBook::open(&path).unwrap_err();
    assert!(matches!(error, StoreError::Damaged { .. }), "{error}");
    fs::write(&path, &bytes[..8192]).unwrap();
    assert!(OpenBook::open(&path).is_err());
}

#[test]
fn another_program_that_writes_is_waited_for_and_then_named() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let mut book = OpenBook::create(&path).unwrap();
    let other = Connection::open(&path).unwrap();
    other.execute_batch("BEGIN IMMEDIATE; UPDATE gpkg_contents SET description = 'theirs'").unwrap();
    let before = book.snapshot();
    assert!(matches!(book.apply(&whole(&small().0)), Err(StoreError::Locked(_))));
    assert_eq!(book.snapshot(), before, "memory and file together or neither");
    other.execute_batch("ROLLBACK").unwrap();
    book.apply(&whole(&small().0)).unwrap();
}

#[test]
fn what_another_program_changed_meanwhile_is_not_written_over() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, _, find) = small();
    let mut book = OpenBook::create(&path).unwrap();
    book.apply(&whole(&small)).unwrap();
    Connection::open(&path).unwrap().execute("UPDATE finds SET depth_m = 0.4", []).unwrap();
    assert!(matches!(book.undo(), Err(StoreError::ChangedOutside(_))));
    assert_eq!(book.snapshot(), small);
    drop(book);
    assert_eq!(OpenBook::open(&path).unwrap().book().finds()[&find].depth_m, Some(0.4));
}

#[cfg(unix)]
#[test]
fn a_book_that_cannot_be_written_can_still_be_read() {
    use std::os::unix::fs::PermissionsExt;
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (small, ..) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&small)).unwrap();
    fs::set_permissions(&path, fs::Permissions::from_mode(0o444)).unwrap();
    if fs::OpenOptions::new().write(true).open(&path).is_ok() {
        return; // The superuser may write anything; nothing to see here.
    }
    let mut book = OpenBook::open(&path).unwrap();
    assert!(book.is_read_only());
    assert_eq!(book.snapshot(), small);
    assert!(matches!(book.apply(&scourline::book::Edit::Batch(vec![])), Err(StoreError::ReadOnly(_))));
    fs::set_permissions(&path, fs::Permissions::from_mode(0o000)).unwrap();
    assert!(matches!(refusal(&path), StoreError::Permission(_)));
}
