//! What someone does to the file with a program for maps.

use rusqlite::Connection;
use scourline::book::{Edit, Find, RecordKind, TideChoice};
use scourline::store::{OpenBook, Replace};

use super::book_of::{small, whole};

struct Bench {
    _dir: tempfile::TempDir,
    path: std::path::PathBuf,
    conn: Connection,
}

fn bench() -> (Bench, scourline::book::Book, scourline::book::Uid) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let (book, _, find) = small();
    OpenBook::create(&path).unwrap().apply(&whole(&book)).unwrap();
    let conn = Connection::open(&path).unwrap();
    (Bench { _dir: dir, path, conn }, book, find)
}

fn complaints(path: &std::path::Path) -> Vec<String> {
    OpenBook::open(path).unwrap().complaints().iter().map(ToString::to_string).collect()
}

#[test]
fn tables_columns_and_values_of_others_are_kept() {
    let (b, book, find) = bench();
    b.conn
        .execute_batch(
            "CREATE TABLE shells (fid INTEGER PRIMARY KEY, name TEXT);
             INSERT INTO shells VALUES (1, 'cockle');
             INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('shells', 'attributes', 'shells');
             ALTER TABLE finds ADD COLUMN drawer TEXT;
             UPDATE finds SET drawer = 'B7';",
        )
        .unwrap();
    let mut open = OpenBook::open(&b.path).unwrap();
    assert_eq!((open.complaints(), open.book()), ([].as_slice(), &book));
    open.apply(&Edit::put(Find { depth_m: Some(0.3), ..book.finds()[&find].clone() })).unwrap();
    let copy = b.path.with_file_name("copy.gpkg");
    open.save_as(&copy, Replace::Nothing).unwrap();
    drop(open);
    for path in [&b.path, &copy] {
        let conn = Connection::open(path).unwrap();
        let kept: (String, f64, String) = conn
            .query_row("SELECT drawer, depth_m, (SELECT name FROM shells) FROM finds", [], |r| {
                Ok((r.get(0)?, r.get(1)?, r.get(2)?))
            })
            .unwrap();
        assert_eq!(kept, ("B7".to_owned(), 0.3, "cockle".to_owned()));
    }
}

#[test]
fn a_row_that_makes_no_record_is_reported_and_stays() {
    let (b, ..) = bench();
    b.conn
        .execute_batch(
            "UPDATE finds SET depth_m = 9;
             INSERT INTO finds (geom, beach, kind) SELECT geom, beach, 'coin' FROM finds;
             INSERT INTO finds (kind) VALUES ('coin');
             INSERT INTO finds (geom, beach, kind, time) SELECT geom, beach, 'coin', 'last summer' FROM finds WHERE fid = 1;
             INSERT INTO finds (geom, beach, kind) SELECT geom, '00000000000000000000000000000000', 'coin' FROM finds WHERE fid = 1;
             INSERT INTO sea_states (storm, number, time, hs_m) VALUES ('00000000000000000000000000000001', 0, '2025-01-01T00:00:00Z', 2);",
        )
        .unwrap();
    let found = complaints(&b.path);
    let has = |row: &str, words: &str| {
        assert!(found.iter().any(|c| c.starts_with(row) && c.contains(words)), "{row} {words}: {found:#?}")
    };
    has("finds, row 1:", "depth 9 m is not between 0 and 5 m");
    has("finds, row 3:", "has no geometry");
    has("finds, row 4:", "column time holds \"last summer\" where a time such as");
    has("finds, row 5:", "belongs to the beach 00000000000000000000000000000000, which is not in the book");
    has("sea_states, row 1:", "not in storms");
    assert_eq!(found.len(), 5, "{found:#?}");
    // Row 2, which someone added without a uid, has been given one.
    let mut open = OpenBook::open(&b.path).unwrap();
    assert_eq!(open.book().finds().len(), 1);
    let setup = scourline::book::Setup::new("quiet");
    open.apply(&Edit::put(setup)).unwrap();
    drop(open);
    assert_eq!(b.conn.query_row("SELECT count(*) FROM finds", [], |r| r.get::<_, i64>(0)).unwrap(), 5);
    assert_eq!(complaints(&b.path), found);
}

#[test]
fn a_line_drawn_as_a_track_becomes_one() {
    let (b, ..) = bench();
    b.conn.execute_batch("INSERT INTO tracks (beach, geom) SELECT beach, geom FROM tracks").unwrap();
    assert_eq!(complaints(&b.path), [] as [&str; 0]);
    let open = OpenBook::open(&b.path).unwrap();
    let lengths: Vec<_> = open.book().tracks().values().map(|t| t.len()).collect();
    assert_eq!(lengths, [50, 50]);
}

#[test]
fn a_track_with_a_broken_run_is_left_out_whole_and_stays() {
    let (b, ..) = bench();
    b.conn
        .execute_batch("INSERT INTO tracks (uid, segment, beach, fixes, geom) SELECT uid, 1, beach, 2, x'4750' FROM tracks")
        .unwrap();
    let found = complaints(&b.path);
    assert_eq!(found, ["tracks, row 2: the geometry does not begin as a GeoPackage geometry does; left out"]);
    assert!(OpenBook::open(&b.path).unwrap().book().tracks().is_empty());
    assert_eq!(b.conn.query_row("SELECT count(*) FROM tracks", [], |r| r.get::<_, i64>(0)).unwrap(), 2);
}

#[test]
fn what_a_record_can_do_without_does_not_take_it_away() {
    let (b, book, _) = bench();
    b.conn.execute_batch("DELETE FROM outings; UPDATE beaches SET tide_table = '0000000000000000000000000000000f'").unwrap();
    let open = OpenBook::open(&b.path).unwrap();
    assert_eq!(open.complaints().len(), 3, "{:#?}", open.complaints());
    assert_eq!(open.book().finds().len(), 1);
    assert_eq!(open.book().tracks().len(), 1);
    let beach = open.book().beaches().values().next().unwrap();
    assert_eq!((beach.name.as_str(), &beach.tide), ("Invented Bay", &TideChoice::None));
    assert_eq!(book.beaches().len(), 1);
}

#[test]
fn a_spoilt_baseline_survives_a_change_of_its_beach() {
    let (b, ..) = bench();
    b.conn.execute_batch("INSERT INTO baselines (beach, positions, geom) SELECT uid, 2, x'00' FROM beaches").unwrap();
    let mut open = OpenBook::open(&b.path).unwrap();
    assert_eq!(open.complaints().len(), 1);
    let mut beach = open.book().beaches().values().next().unwrap().clone();
    beach.notes = "changed".into();
    open.apply(&Edit::put(beach)).unwrap();
    drop(open);
    assert_eq!(b.conn.query_row("SELECT count(*) FROM baselines", [], |r| r.get::<_, i64>(0)).unwrap(), 1);
}

#[test]
fn columns_and_tables_taken_out_are_made_again() {
    let (b, book, _) = bench();
    b.conn.execute_batch("ALTER TABLE finds DROP COLUMN notes; DROP TABLE bench").unwrap();
    let open = OpenBook::open(&b.path).unwrap();
    assert_eq!(open.complaints().len(), 2, "{:#?}", open.complaints());
    assert_eq!(open.snapshot(), book);
    drop(open);
    assert_eq!(complaints(&b.path), [] as [&str; 0]);
}

/// The triggers are those of the standard's annex on the R-tree index (GeoPackage 1.3), shortened to
/// insert, delete and update of the geometry; they call functions that SQLite itself does not have.
#[test]
fn a_spatial_index_that_others_made_is_kept_up() {
    let (b, book, find) = bench();
    let setup = "
        CREATE VIRTUAL TABLE rtree_finds_geom USING rtree(id, minx, maxx, miny, maxy);
        CREATE TRIGGER rtree_finds_geom_insert AFTER INSERT ON finds WHEN (new.geom NOT NULL AND NOT ST_IsEmpty(NEW.geom))
        BEGIN INSERT OR REPLACE INTO rtree_finds_geom VALUES (NEW.fid, ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)); END;
        CREATE TRIGGER rtree_finds_geom_update AFTER UPDATE OF geom ON finds WHEN (NEW.geom NOTNULL AND NOT ST_IsEmpty(NEW.geom))
        BEGIN INSERT OR REPLACE INTO rtree_finds_geom VALUES (NEW.fid, ST_MinX(NEW.geom), ST_MaxX(NEW.geom), ST_MinY(NEW.geom), ST_MaxY(NEW.geom)); END;
        CREATE TRIGGER rtree_finds_geom_delete AFTER DELETE ON finds WHEN old.geom NOT NULL
        BEGIN DELETE FROM rtree_finds_geom WHERE id = OLD.fid; END;";
    b.conn.execute_batch(setup).unwrap();
    let mut open = OpenBook::open(&b.path).unwrap();
    let moved = scourline::earth::LonLat::new(-21.0, 46.0).unwrap();
    open.apply(&Edit::put(Find { at: moved, ..book.finds()[&find].clone() })).unwrap();
    let index = || {
        b.conn
            .query_row("SELECT count(*), min(minx) FROM rtree_finds_geom", [], |r| {
                Ok((r.get::<_, i64>(0)?, r.get::<_, Option<f64>>(1)?))
            })
            .unwrap()
    };
    assert_eq!(index(), (1, Some(-21.0)));
    open.apply(&Edit::Remove(RecordKind::Find, find)).unwrap();
    assert_eq!(index(), (0, None));
}
