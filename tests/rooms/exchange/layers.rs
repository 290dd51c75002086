//! Layers in a GeoPackage that GDAL wrote (`tests/reference/exchange/make_layers.py`), and damaged ones.

use std::io::Read as _;
use std::path::Path;

use super::common::{book, find_of, records, try_take};
use proptest::prelude::*;
use scourline::Progress;
use scourline::book::{Record, RecordKind};
use scourline::earth::{LonLat, distance_m};
use scourline::exchange::{Format, Options, Source, files_of, look};

fn layers() -> Vec<u8> {
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/reference/exchange/layers.gpkg.gz");
    let mut bytes = Vec::new();
    flate2::read::GzDecoder::new(std::fs::File::open(path).unwrap()).read_to_end(&mut bytes).unwrap();
    bytes
}

/// The places and values that GDAL was handed, one layer of them on a grid of metres, by PROJ.
#[test]
fn each_layer_is_read_by_its_own_reference_system() {
    let intake = try_take("layers.gpkg", layers(), &book(), &Options::default()).unwrap();
    assert_eq!(intake.format, Format::GeoPackage);
    for (kind, count) in [(RecordKind::Find, 2), (RecordKind::Level, 2), (RecordKind::Zone, 1), (RecordKind::Barrier, 1)] {
        assert_eq!(intake.taken.get(&kind), Some(&count), "{kind}: {:?}", intake.refused);
    }
    let all = records(&intake);
    let penny = all.iter().cloned().filter_map(find_of).find(|f| f.what == "invented penny").unwrap();
    assert_eq!((penny.at.lon_deg(), penny.at.lat_deg(), penny.depth_m), (-20.0001, 45.0001, Some(0.125)));
    assert_eq!(penny.more["colour"], "green");
    let level = all.iter().find_map(|r| if let Record::Level(l) = r { Some(l) } else { None }).unwrap();
    assert!(distance_m(level.at, LonLat::new(-20.0001, 45.0001).unwrap()) < 20.0 && level.survey == "spring", "{level:?}");
    // A system that is not known is named, and the other layers are taken.
    assert_eq!(intake.refused_count, 1);
    let refusal = intake.refused[0].to_string();
    assert!(
        refusal.starts_with("layers.gpkg, layer \"elsewhere\", ") && refusal.contains("ESRI:54030, which is not known"),
        "{refusal}"
    );
    let mut book = book();
    book.apply(&intake.edit).unwrap();
    assert!(try_take("again.gpkg", layers(), &book, &Options::default()).unwrap().changes_nothing());
}

#[test]
fn a_book_is_opened_and_never_imported_and_the_file_itself_is_left_alone() {
    let dir = tempfile::tempdir().unwrap();
    let (book_path, path) = (dir.path().join("book.gpkg"), dir.path().join("layers.gpkg"));
    scourline::store::OpenBook::in_memory().save_as(&book_path, scourline::store::Replace::Nothing).unwrap();
    let said = |path: &Path| look(&Source::path(path), &book(), &Options::default(), &Progress::new()).unwrap_err().to_string();
    assert!(said(&book_path).contains("open it as a book"), "{}", said(&book_path));
    std::fs::write(&path, layers()).unwrap();
    let intake = look(&Source::path(&path), &book(), &Options::default(), &Progress::new()).unwrap();
    assert_eq!(intake.taken_count(), 6);
    assert_eq!(std::fs::read(&path).unwrap(), layers());
    let names: Vec<String> =
        std::fs::read_dir(dir.path()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    assert_eq!(names.len(), 2, "no file is left beside it: {names:?}");
    // Of a folder with both, the book is passed over.
    let named = files_of(&[dir.path().to_owned()]).unwrap();
    assert_eq!((named.files, named.passed_over.len()), (vec![path.clone()], 1));
    std::fs::write(dir.path().join("layers.gpkg-wal"), b"x").unwrap();
    assert!(said(&path).contains("is open in another program"));
    let plain = rusqlite::Connection::open(dir.path().join("plain.sqlite")).unwrap();
    plain.execute_batch("CREATE TABLE a (b)").unwrap();
    drop(plain);
    assert!(said(&dir.path().join("plain.sqlite")).contains("without the layers of a GeoPackage"));
}

/// A stranger's schema may hold a view that never ends, or name a table that is none.
#[test]
fn views_and_made_up_tables_are_not_followed() {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("odd.gpkg");
    std::fs::write(&path, layers()).unwrap();
    let conn = rusqlite::Connection::open(&path).unwrap();
    conn.execute_batch(
        "CREATE VIEW endless AS WITH RECURSIVE n(x) AS (SELECT 1 UNION ALL SELECT x + 1 FROM n) SELECT x, NULL AS geom FROM n;
         INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('endless', 'features', 'e', 4326), ('a\"b', 'features', 'f', 4326);
         INSERT INTO gpkg_geometry_columns VALUES ('endless', 'geom', 'POINT', 4326, 0, 0), ('a\"b', 'gone', 'POINT', 4326, 0, 0);
         CREATE TABLE \"a\"\"b\" (fid INTEGER PRIMARY KEY, geom BLOB);",
    )
    .unwrap();
    drop(conn);
    let intake = look(&Source::path(&path), &book(), &Options::default(), &Progress::new()).unwrap();
    assert_eq!(intake.taken_count(), 6);
    assert!(intake.refused.iter().any(|r| r.why.contains("has no column \"gone\"")), "{:?}", intake.refused);
}

proptest! {
    #[test]
    fn any_damage_to_a_geopackage_is_read_or_refused(
        at in 0_usize..200_000, junk in proptest::collection::vec(any::<u8>(), 1..40), cut in proptest::option::of(0_usize..200_000)
    ) {
        let mut bytes = layers();
        let at = at % bytes.len();
        let end = (at + junk.len()).min(bytes.len());
        bytes.splice(at..end, junk);
        if let Some(cut) = cut {
            bytes.truncate(cut % bytes.len());
        }
        if let Ok(intake) = try_take("any", &bytes, &book(), &Options::default()) {
            book().apply(&intake.edit).expect("an edit that was offered can be applied");
        }
    }
}
