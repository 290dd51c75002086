//! Books as earlier formats hold them.

use std::fs;
use std::path::Path;

use proptest::strategy::{Strategy, ValueTree};
use rusqlite::Connection;
use scourline::book::{
    Agreed, Beach, BenchReading, Book, Edit, Find, Outing, Permission, ReadingSettings, Record, RecordKind, SearchSettings,
    SecondaryChoice, StandardPort, TideChoice, Uid, Zone,
};
use scourline::demo;
use scourline::earth::LonLat;
use scourline::store::{Occasion, OpenBook, Store, StoreError, backups, restore};

use super::book_of::{records, whole};

/// The columns of a beach that came with format 5.
const CAME_WITH_5: [&str; 13] = [
    "search_swing_m",
    "search_coil_width_m",
    "search_overlap",
    "search_walk_m_per_s",
    "search_turn_deg",
    "search_gap_s",
    "reading_cluster_by",
    "reading_cluster_distance_m",
    "reading_cluster_points",
    "reading_detection_per_pass",
    "reading_effort_error",
    "reading_storm_days",
    "invented",
];

/// The columns of a beach that came with format 6.
const CAME_WITH_6: [&str; 2] = ["offset_from", "confirmed"];

/// What came with format 10: tables and their columns.
const CAME_WITH_10: [(&str, &[&str]); 3] = [
    ("permissions", &["contact", "papers", "deepest_m", "holder_share", "report_due", "older_than", "places"]),
    ("zones", &["closure"]),
    ("outings", &["holes_filled", "litter_kg"]),
];

/// Takes out what came with formats 10 to 12.
fn back_to_format_9(conn: &Connection) {
    conn.execute_batch("ALTER TABLE bench DROP COLUMN ground; ALTER TABLE beaches DROP COLUMN pace_m_per_s").unwrap();
    for (table, column) in CAME_WITH_10.iter().flat_map(|(table, columns)| columns.iter().map(move |c| (table, c))) {
        conn.execute_batch(&format!("ALTER TABLE {table} DROP COLUMN {column}")).unwrap();
    }
    conn.execute_batch("DROP TABLE receipts; DELETE FROM gpkg_contents WHERE table_name = 'receipts'").unwrap();
    conn.execute_batch("UPDATE scourline_book SET format_version = 9").unwrap();
}

/// A record without what formats 10 to 12 brought; `None` for one that there was not.
fn before_10(record: Record) -> Option<Record> {
    Some(match record {
        Record::Receipt(_) => return None,
        Record::Beach(b) => Beach { pace_m_s: None, ..(*b).clone() }.into(),
        Record::Permission(p) => Permission { agreed: Agreed::default(), ..(*p).clone() }.into(),
        Record::Zone(z) => Zone { closure: None, ..(*z).clone() }.into(),
        Record::Outing(o) => Outing { holes_filled: None, litter_kg: None, ..(*o).clone() }.into(),
        Record::Bench(r) => BenchReading { ground: None, ..(*r).clone() }.into(),
        other => other,
    })
}

/// Takes out what came with formats 9 to 12.
fn back_to_format_8(conn: &Connection) {
    back_to_format_9(conn);
    for column in CAME_WITH_9 {
        conn.execute_batch(&format!("ALTER TABLE finds DROP COLUMN {column}")).unwrap();
    }
    conn.execute_batch("ALTER TABLE permissions DROP COLUMN id_key").unwrap();
    for table in ["remembered", "scourline_changes"] {
        conn.execute_batch(&format!("DROP TABLE {table}; DELETE FROM gpkg_contents WHERE table_name = '{table}'")).unwrap();
    }
    conn.execute_batch("UPDATE scourline_book SET format_version = 8").unwrap();
}

/// The columns of a find that came with format 9.
const CAME_WITH_9: [&str; 7] = ["finder", "permission", "value", "age", "disposal", "reported", "more"];

/// Takes a book's file back to format 4.
pub(crate) fn back_to_format_4(path: &Path) {
    let conn = Connection::open(path).unwrap();
    for column in CAME_WITH_5.into_iter().chain(CAME_WITH_6) {
        conn.execute_batch(&format!("ALTER TABLE beaches DROP COLUMN {column}")).unwrap();
    }
    // What came with format 7.
    conn.execute_batch("ALTER TABLE outings DROP COLUMN asides").unwrap();
    back_to_format_8(&conn);
    conn.execute_batch("UPDATE scourline_book SET format_version = 4").unwrap();
}

fn kept(book: &Book) -> (tempfile::TempDir, std::path::PathBuf) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    Store::create(&path).unwrap().write(&whole(book)).unwrap();
    (dir, path)
}

/// The same book without what format 4 could not hold.
fn plain(records: Vec<Record>) -> Book {
    let without = |r| match r {
        Record::Beach(b) => {
            let b = Beach { pace_m_s: None, offset_from: None, confirmed: Vec::new(), ..(*b).clone() };
            Beach { search: SearchSettings::default(), reading: ReadingSettings::default(), invented: false, ..b }.into()
        }
        Record::Outing(o) => Outing { asides: Vec::new(), ..(*o).clone() }.into(),
        Record::Find(f) => plain_find((*f).clone()).into(),
        other => other,
    };
    let then = records.into_iter().filter(|r| r.kind() != RecordKind::Remembered).filter_map(before_10);
    Book::gather(then.map(without)).unwrap()
}

/// The same book with one key for all permissions: those of older books are drawn when they come to format 9.
fn one_key(book: &Book) -> Book {
    let keyed = |p: &Permission| Edit::put(Permission { key: Uid::of_content("key", []), ..p.clone() });
    let mut keyless = book.clone();
    keyless.apply(&Edit::Batch(book.permissions().values().map(keyed).collect())).unwrap();
    keyless
}

/// A find without what came with format 9.
fn plain_find(find: Find) -> Find {
    let Find {
        uid,
        beach,
        outing,
        at,
        time,
        what,
        kind,
        weight,
        material,
        depth_m,
        target_id,
        mass_g,
        size_mm,
        state,
        photo,
        notes,
        ..
    } = find;
    let blank = Find::new(beach, at, what, kind);
    Find { uid, outing, time, weight, material, depth_m, target_id, mass_g, size_mm, state, photo, notes, ..blank }
}

/// Every find, and the answers to no question yet, come over; a copy of the book as it was is made first.
#[test]
fn a_book_of_format_eight_is_backed_up_and_brought_to_this_one() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    for _ in 0..12 {
        let records = records().new_tree(&mut runner).unwrap().current();
        let without = records.into_iter().filter(|r| r.kind() != RecordKind::Remembered).filter_map(before_10);
        let book =
            Book::gather(without.map(|r| if let Record::Find(f) = r { plain_find((*f).clone()).into() } else { r })).unwrap();
        let (_dir, path) = kept(&book);
        back_to_format_8(&Connection::open(&path).unwrap());
        let as_it_was = fs::read(&path).unwrap();
        let open = OpenBook::open(&path).unwrap();
        assert_eq!((open.complaints(), one_key(&open.snapshot())), (&[][..], one_key(&book)));
        let keys: Vec<Uid> = open.book().permissions().values().map(|p| p.key).collect();
        drop(open);
        // Drawn once, they stay.
        assert!(OpenBook::open(&path).unwrap().book().permissions().values().map(|p| p.key).eq(keys));
        let copies = backups(&path);
        let [copy] = copies.as_slice() else { panic!("{copies:?}") };
        assert_eq!(copy.occasion, Occasion::Format);
        let format = |path: &Path| -> i64 {
            Connection::open(path).unwrap().query_row("SELECT format_version FROM scourline_book", [], |r| r.get(0)).unwrap()
        };
        assert_eq!((format(&copy.path), format(&path)), (8, 12));
        // Put back, it is the very book that was there.
        restore(&path, &copy.path).unwrap();
        assert_eq!(format(&path), 8);
        assert_eq!(fs::read(&path).unwrap().len(), as_it_was.len());
        assert_eq!(one_key(&OpenBook::open(&path).unwrap().snapshot()), one_key(&book));
    }
}

#[test]
fn a_book_of_format_nine_loses_nothing_and_holds_what_is_agreed_from_then_on() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    for _ in 0..12 {
        let all = records().new_tree(&mut runner).unwrap().current();
        let book = Book::gather(all.iter().cloned().filter_map(before_10)).unwrap();
        let (_dir, path) = kept(&book);
        back_to_format_9(&Connection::open(&path).unwrap());
        let mut open = OpenBook::open(&path).unwrap();
        assert_eq!((open.complaints(), open.snapshot()), (&[][..], book));
        // What format 9 had no room for is kept now.
        let whole = Book::gather(all).unwrap();
        let later = [
            RecordKind::Beach,
            RecordKind::Zone,
            RecordKind::Permission,
            RecordKind::Outing,
            RecordKind::Receipt,
            RecordKind::Bench,
        ];
        open.apply(&Edit::Batch(later.iter().flat_map(|k| whole.records(*k)).map(Edit::put).collect())).unwrap();
        drop(open);
        assert_eq!(OpenBook::open(&path).unwrap().snapshot(), whole);
    }
}

/// Without a copy there is no step to a newer format: the book stays as it was.
#[test]
fn a_book_that_cannot_be_backed_up_is_not_brought_to_a_newer_format() {
    let (dir, path) = kept(&Book::new());
    back_to_format_8(&Connection::open(&path).unwrap());
    fs::write(dir.path().join("book backups"), "a file in the way").unwrap();
    let before = fs::read(&path).unwrap();
    assert!(matches!(OpenBook::open(&path), Err(StoreError::NoBackup { .. })));
    assert_eq!(fs::read(&path).unwrap(), before);
}

#[test]
fn a_book_of_format_four_is_read_loses_nothing_and_can_be_written() {
    let mut runner = proptest::test_runner::TestRunner::deterministic();
    for _ in 0..12 {
        let book = plain(records().new_tree(&mut runner).unwrap().current());
        let (_dir, path) = kept(&book);
        back_to_format_4(&path);
        let mut open = OpenBook::open(&path).unwrap();
        assert_eq!(open.complaints(), []);
        assert_eq!(one_key(&open.snapshot()), one_key(&book));
        let Some(beach) = book.beaches().values().next() else { continue };
        let search = SearchSettings { swing_m: Some(0.9), ..SearchSettings::default() };
        open.apply(&Edit::put(Beach { search, ..beach.clone() })).unwrap();
        let changed = open.snapshot();
        drop(open);
        assert_eq!(OpenBook::open(&path).unwrap().snapshot(), changed);
    }
}

#[test]
fn the_invented_beach_of_an_older_book_is_known_by_its_name_place_and_tide() {
    let demo = demo::beach().unwrap();
    assert!(demo.invented);
    let port = SecondaryChoice {
        name: "Invented Haven".into(),
        standard: StandardPort::Station(demo::STATION.into()),
        differences: "0,0,0,0,0,0,0,0".parse().unwrap(),
        standard_levels_m: None,
    };
    let own = [
        Beach { name: "Mine".into(), ..demo.clone() },
        Beach { origin: LonLat::new(-10.0, 48.31).unwrap(), ..demo.clone() },
        Beach { tide: TideChoice::Station("ticon/newlyn-new-gbr-bodc".into()), ..demo.clone() },
        Beach { tide: TideChoice::Secondary(port), ..demo.clone() },
        Beach { tide: TideChoice::None, ..demo.clone() },
    ];
    let own = own.map(|b| Beach { uid: Uid::fresh(), ..b });
    let all = own.iter().chain([&demo]).cloned().map(Record::from);
    let (_dir, path) = kept(&Book::gather(all).unwrap());
    back_to_format_4(&path);
    let open = OpenBook::open(&path).unwrap();
    assert_eq!(open.book().count(RecordKind::Beach), 6);
    let invented: Vec<Uid> = open.book().beaches().values().filter(|b| b.invented).map(|b| b.uid).collect();
    assert_eq!(invented, [demo.uid]);
    assert_eq!(open.book().beaches()[&demo.uid], demo);
}
