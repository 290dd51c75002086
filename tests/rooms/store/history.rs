//! What a book keeps of itself: its history, what was taken out of it, its backups.

use std::fs;
use std::path::Path;

use proptest::strategy::{Strategy, ValueTree};
use rusqlite::Connection;
use scourline::book::{Book, Edit, Find, Kind, LevelPoint, RecordKind, Setup, Uid};
use scourline::earth::LonLat;
use scourline::store::{Occasion, OpenBook, Replace, StoreError, backups, backups_of, restore};

use super::book_of::{records, small, whole};

fn made() -> (tempfile::TempDir, std::path::PathBuf, OpenBook, Uid) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("my book.gpkg");
    let mut open = OpenBook::create(&path).unwrap();
    let (book, _, find) = small();
    open.apply_as("import demo", &whole(&book)).unwrap();
    (dir, path, open, find)
}

fn put(open: &mut OpenBook, find: Uid, change: impl FnOnce(&mut Find)) {
    let mut find = open.book().finds()[&find].clone();
    change(&mut find);
    open.apply(&Edit::put(find)).unwrap();
}

fn on_disk(path: &Path) -> Book {
    OpenBook::open(path).unwrap().snapshot()
}

#[test]
fn every_change_is_noted_and_can_be_taken_back_by_itself() {
    let (_dir, path, mut open, find) = made();
    put(&mut open, find, |f| f.depth_m = Some(0.3));
    open.apply(&Edit::put(Setup::new("wet sand"))).unwrap();
    open.undo().unwrap();
    open.redo().unwrap();
    drop(open);
    let mut open = OpenBook::open(&path).unwrap();
    let told: Vec<(i64, String)> = open.history(10).unwrap().into_iter().map(|c| (c.number, c.what)).collect();
    let words = ["do again: add set-up", "undo: add set-up", "add set-up", "change find", "import demo"];
    assert_eq!(told, [5, 4, 3, 2, 1].into_iter().zip(words.map(str::to_owned)).collect::<Vec<_>>());
    // The whole import cannot go while later changes touched what it brought.
    assert!(matches!(open.take_back(1), Err(StoreError::ChangedSince { number: 1, later: 2, .. })));
    assert_eq!(open.take_back(2).unwrap().what, "change find");
    assert_eq!(open.book().finds()[&find].depth_m, Some(0.15));
    assert_eq!(open.book().setups().len(), 1, "what came later stays");
    assert!(matches!(open.take_back(99), Err(StoreError::NoChange(99))));
    assert_eq!(open.undo().unwrap(), "take back: change find");
    assert_eq!(on_disk(&path), open.snapshot());
    assert_eq!(open.history(1).unwrap()[0].what, "undo: take back: change find");
    // What was taken back in the end stands in nobody's way.
    assert!(matches!(open.take_back(1), Err(StoreError::ChangedSince { number: 1, later: 2, .. })));
    open.take_back(2).unwrap();
    assert_eq!(open.take_back(1).unwrap().what, "import demo");
    assert!(open.book().finds().is_empty() && open.book().setups().len() == 1);
}

/// An import whose outing later finds joined could not be taken back at all, and nothing said what held it.
#[test]
fn an_import_goes_but_for_the_outing_that_later_finds_joined() {
    let (_dir, path, mut open, find) = made();
    let before = open.book().finds()[&find].clone();
    let outing = before.outing.unwrap();
    let later = |what: &str, n: f64| {
        let at = LonLat::new(before.at.lon_deg() + n * 1e-4, before.at.lat_deg()).unwrap();
        Find { outing: Some(outing), ..Find::new(before.beach, at, what, Kind::keyed("coin")) }
    };
    let joined: Vec<Find> =
        ["groat", "penny", "ring", "key"].iter().zip(1..).map(|(what, n)| later(what, f64::from(n))).collect();
    open.apply_as("import later.csv", &Edit::Batch(joined.iter().cloned().map(Edit::put).collect())).unwrap();
    let whole = open.snapshot();
    let back = open.take_back(1).unwrap();
    assert_eq!(back.what, "import demo");
    let outing_stays = back.left.iter().find(|l| l.starts_with("the outing")).unwrap();
    assert!(outing_stays.contains("find \"") && outing_stays.ends_with("and 1 more belong to it"), "{outing_stays}");
    assert!(back.left.iter().any(|l| l.starts_with("the beach")), "{:?}", back.left);
    assert_eq!((open.book().outings().len(), open.book().beaches().len()), (1, 1));
    assert!(!open.book().finds().contains_key(&find) && open.book().tracks().is_empty(), "its own are gone");
    assert_eq!(open.book().finds().len(), joined.len());
    assert_eq!(on_disk(&path), open.snapshot());
    open.undo().unwrap();
    assert_eq!(open.snapshot(), whole);
    // Where all that would go is held, nothing is done, and it is told by what.
    let mut empty = OpenBook::create(path.with_file_name("other.gpkg")).unwrap();
    empty.apply(&Edit::put(whole.beaches()[&before.beach].clone())).unwrap();
    empty.apply(&Edit::put(Find { outing: None, ..before })).unwrap();
    let why = empty.take_back(1).unwrap_err();
    assert!(matches!(why, StoreError::StillHeld { number: 1, .. }) && why.to_string().contains("belongs to it"), "{why}");
}

#[test]
fn a_find_that_was_taken_out_is_listed_and_comes_back() {
    let (_dir, path, mut open, find) = made();
    put(&mut open, find, |f| f.notes = "as it last was".into());
    let last = open.book().finds()[&find].clone();
    open.apply(&open.book().removal(RecordKind::Find, find)).unwrap();
    let outing = last.outing.unwrap();
    open.apply(&open.book().removal(RecordKind::Outing, outing)).unwrap();
    drop(open);
    let mut open = OpenBook::open(&path).unwrap();
    let uids: Vec<Uid> = open.deleted().unwrap().iter().map(|d| d.record.uid()).collect();
    assert_eq!(uids, [outing, find], "the last taken out first");
    open.bring_back(find).unwrap();
    // Its outing is gone, and it can do without.
    assert_eq!(open.book().finds()[&find], Find { outing: None, ..last });
    assert!(open.bring_back(find).is_err(), "it is there again");
    assert_eq!(open.deleted().unwrap().len(), 1);
    assert_eq!(on_disk(&path), open.snapshot());
}

/// Whatever was taken out comes back as it was, to the last digit and the last fix, through the file.
#[test]
fn every_kind_of_record_comes_back_through_the_history() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    for _ in 0..40 {
        let book = Book::gather(records().new_tree(&mut runner).unwrap().current()).unwrap();
        let dir = tempfile::tempdir().unwrap();
        let path = dir.path().join("book.gpkg");
        let mut open = OpenBook::holding(book.clone());
        open.save_as(&path, Replace::Nothing).unwrap();
        for kind in [RecordKind::Beach, RecordKind::Setup, RecordKind::OwnKind, RecordKind::Remembered] {
            let uids: Vec<Uid> = open.book().records(kind).map(|r| r.uid()).collect();
            for uid in uids {
                open.apply(&open.book().removal(kind, uid)).unwrap();
            }
        }
        assert!(open.book().is_empty());
        drop(open);
        let mut open = OpenBook::open(&path).unwrap();
        let numbers: Vec<i64> = open.history(usize::MAX).unwrap().iter().map(|c| c.number).collect();
        for number in numbers {
            open.take_back(number).unwrap();
        }
        assert_eq!(open.snapshot(), book);
        assert_eq!(on_disk(&path), book);
    }
}

#[test]
fn there_is_no_end_to_undo() {
    let (book, _, find) = small();
    let mut open = OpenBook::holding(book.clone());
    for n in 0..5000 {
        put(&mut open, find, |f| f.notes = n.to_string());
    }
    for _ in 0..5000 {
        open.undo().unwrap();
    }
    assert_eq!(open.snapshot(), book);
}

/// Makes a book one that was last changed long ago.
fn aged(path: &Path) {
    let conn = Connection::open(path).unwrap();
    conn.execute_batch(
        "UPDATE scourline_book SET changed = '2020-01-01T00:00:00Z'; UPDATE scourline_changes SET at = '2020-01-02T00:00:00Z'",
    )
    .unwrap();
}

#[test]
fn before_the_first_change_of_a_day_a_copy_is_made() {
    let (_dir, path, mut open, find) = made();
    put(&mut open, find, |f| f.notes = "on the day it was made".into());
    assert_eq!(backups(&path), [], "nothing is older than today");
    let before = open.snapshot();
    drop(open);
    aged(&path);
    let mut open = OpenBook::open(&path).unwrap();
    assert_eq!(backups(&path), [], "looking changes nothing");
    put(&mut open, find, |f| f.notes = "another day".into());
    put(&mut open, find, |f| f.notes = "and more".into());
    let [copy] = &backups(&path)[..] else { panic!("{:?}", backups(&path)) };
    assert_eq!((copy.occasion, on_disk(&copy.path)), (Occasion::Day, before));
    assert_eq!(open.take_remarks(), [""; 0]);
    let asked = open.back_up().unwrap();
    assert_eq!((asked.occasion, backups(&path).len()), (Occasion::Asked, 2));
}

/// A change must not be lost because a copy could not be made; it is told.
#[test]
fn where_no_copy_can_be_made_the_change_is_kept_and_it_is_told() {
    let (_dir, path, open, find) = made();
    drop(open);
    aged(&path);
    fs::write(backups_of(&path), "a file in the way").unwrap();
    let mut open = OpenBook::open(&path).unwrap();
    put(&mut open, find, |f| f.notes = "kept".into());
    let told = open.take_remarks();
    assert!(told.len() == 1 && told[0].contains("today's backup could not be made"), "{told:?}");
    put(&mut open, find, |f| f.notes = "kept too".into());
    assert_eq!(open.take_remarks(), [""; 0], "once a day");
    assert_eq!(on_disk(&path).finds()[&find].notes, "kept too");
}

#[test]
fn a_backup_is_put_back_and_what_stood_there_is_kept() {
    let (_dir, path, mut open, find) = made();
    let before = open.snapshot();
    let copy = open.back_up().unwrap().path;
    put(&mut open, find, |f| f.notes = "later".into());
    let later = open.snapshot();
    drop(open);
    let restored = restore(&path, &copy).unwrap();
    assert_eq!((on_disk(&path), on_disk(&restored.before.unwrap())), (before.clone(), later));
    // One that is gone, and one of which the bytes are not sound any more.
    fs::remove_file(&path).unwrap();
    assert_eq!(restore(&path, &copy).unwrap().before, None);
    assert_eq!(on_disk(&path), before);
    for spoil in ["head", "middle"] {
        let mut bytes = fs::read(&path).unwrap();
        let at = if spoil == "head" { 0 } else { bytes.len() / 3 };
        bytes[at..at + 4000].fill(0xa5);
        fs::write(&path, &bytes).unwrap();
        let aside = restore(&path, &copy).unwrap().before.unwrap();
        assert_eq!(fs::read(aside).unwrap(), bytes, "{spoil}: it is moved aside as it is");
        assert_eq!(on_disk(&path), before, "{spoil}");
    }
    // What is no book of this program's is put nowhere.
    let stray = path.with_file_name("notes.txt");
    fs::write(&stray, "not a book").unwrap();
    assert!(restore(&path, &stray).is_err());
    assert_eq!(on_disk(&path), before);
}

/// A table that another program put in the place of the history is left alone, and edits go on.
#[test]
fn a_history_that_another_program_took_away_stops_no_edit() {
    let (_dir, path, open, find) = made();
    drop(open);
    Connection::open(&path).unwrap().execute_batch("DROP TABLE scourline_changes").unwrap();
    let mut open = OpenBook::open(&path).unwrap();
    put(&mut open, find, |f| f.notes = "noted again".into());
    assert_eq!(open.history(9).unwrap().len(), 1);
    drop(open);
    let other =
        "DROP TABLE scourline_changes; CREATE TABLE scourline_changes (mine TEXT); INSERT INTO scourline_changes VALUES ('x')";
    Connection::open(&path).unwrap().execute_batch(other).unwrap();
    let mut open = OpenBook::open(&path).unwrap();
    put(&mut open, find, |f| f.notes = "kept all the same".into());
    assert_eq!((open.history(9).unwrap().len(), open.deleted().unwrap().len()), (0, 0));
    assert_eq!(on_disk(&path).finds()[&find].notes, "kept all the same");
    // What takes a change back and cannot be read hides nothing else.
    Connection::open(&path).unwrap().execute_batch("DROP TABLE scourline_changes").unwrap();
    let mut open = OpenBook::open(&path).unwrap();
    open.apply(&open.book().removal(RecordKind::Find, find)).unwrap();
    open.apply(&Edit::put(Setup::new("x"))).unwrap();
    Connection::open(&path)
        .unwrap()
        .execute_batch("UPDATE scourline_changes SET inverse = '{}' WHERE what = 'add set-up'")
        .unwrap();
    let mut open = OpenBook::open(&path).unwrap();
    assert_eq!(open.deleted().unwrap().len(), 1);
    let last = open.history(1).unwrap()[0].number;
    assert!(matches!(open.take_back(last), Err(StoreError::CannotTakeBack { .. })));
}

/// So many that their rows, and what takes them back, are made on threads of their own.
#[test]
fn a_large_change_is_kept_and_taken_back_whole() {
    let (small, beach, _) = small();
    let at = |n: usize| LonLat::new(-20.0 + n as f64 * 1e-5, 45.0).unwrap();
    let level = |n: usize| LevelPoint {
        uid: Uid::of_content("level", [n.to_le_bytes().as_slice()]),
        beach,
        at: at(n),
        level_m: n as f64 / 1000.0,
        sigma_m: None,
        date: None,
        survey: "spring".into(),
    };
    let find = |n: usize| Find::new(beach, at(n), format!("invented find {n}"), Kind::keyed("coin"));
    let finds: Vec<Find> = (0..1500).map(find).collect();
    let mut edits = vec![whole(&small)];
    edits.extend((0..2500).map(level).map(Edit::put));
    edits.extend(finds.iter().cloned().map(Edit::put));
    // In memory first, as a new book is made, so that the history is written with the whole book.
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let mut open = OpenBook::in_memory();
    open.apply_as("import large.csv", &Edit::Batch(edits)).unwrap();
    open.save_as(&path, Replace::Nothing).unwrap();
    let first = open.snapshot();
    assert_eq!((first.levels().len(), first.finds().len()), (2500, 1501));
    assert_eq!(on_disk(&path), first);
    // Then a large change to what stands there, levels, finds and removals in turn.
    let mut edits = Vec::new();
    for (n, find) in finds.iter().enumerate() {
        edits.push(Edit::put(LevelPoint { level_m: -1.0, ..level(n) }));
        edits.push(if n % 2 == 0 {
            Edit::Remove(RecordKind::Find, find.uid)
        } else {
            Edit::put(Find { notes: "wet".into(), ..find.clone() })
        });
    }
    open.apply_as("change much", &Edit::Batch(edits)).unwrap();
    assert_eq!((open.book().finds().len(), open.book().levels().len()), (751, 2500));
    assert_eq!(on_disk(&path), open.snapshot());
    drop(open);
    let mut open = OpenBook::open(&path).unwrap();
    open.take_back(2).unwrap();
    assert_eq!(open.snapshot(), first);
    open.take_back(1).unwrap();
    assert!(open.book().is_empty());
    assert!(on_disk(&path).is_empty());
}
