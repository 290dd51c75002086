//! The rows that OGC 12-128r18 (GeoPackage 1.3.1) asks for. Requirement numbers are cited as that
//! document's clause 1.1 and 2.1 number them.

use rusqlite::Connection;
use scourline::store::Store;

use super::book_of::{small, whole};

fn book() -> (tempfile::TempDir, Connection) {
    let dir = tempfile::tempdir().unwrap();
    let path = dir.path().join("book.gpkg");
    let mut store = Store::create(&path).unwrap();
    store.write(&whole(&small().0)).unwrap();
    store.close().unwrap();
    (dir, Connection::open(path).unwrap())
}

fn texts(conn: &Connection, sql: &str) -> Vec<String> {
    conn.prepare(sql).unwrap().query_map([], |r| r.get(0)).unwrap().collect::<Result<_, _>>().unwrap()
}

/// Requirements 1 and 2: the SQLite header, its application id and its user version.
#[test]
fn header() {
    let (dir, conn) = book();
    let bytes = std::fs::read(dir.path().join("book.gpkg")).unwrap();
    assert_eq!(&bytes[..16], b"SQLite format 3\0");
    // The database header holds the user version at byte 60 and the application id at byte 68.
    assert_eq!(&bytes[68..72], b"GPKG");
    assert_eq!(u32::from_be_bytes(bytes[60..64].try_into().unwrap()), 10_400);
    // Requirements 6 and 7: sound, and no reference into nothing.
    assert_eq!(texts(&conn, "PRAGMA integrity_check"), ["ok"]);
    assert!(conn.prepare("PRAGMA foreign_key_check").unwrap().query([]).unwrap().next().unwrap().is_none());
}

/// Requirement 5: columns are declared with the data types of table 1, or a geometry type.
#[test]
fn data_types() {
    let (_dir, conn) = book();
    let allowed = [
        "BOOLEAN",
        "TINYINT",
        "SMALLINT",
        "MEDIUMINT",
        "INT",
        "INTEGER",
        "FLOAT",
        "DOUBLE",
        "REAL",
        "TEXT",
        "BLOB",
        "DATE",
        "DATETIME",
        "GEOMETRY",
        "POINT",
        "LINESTRING",
        "POLYGON",
        "MULTIPOINT",
        "MULTILINESTRING",
        "MULTIPOLYGON",
        "GEOMETRYCOLLECTION",
    ];
    let types = texts(&conn, "SELECT DISTINCT c.type FROM gpkg_contents t JOIN pragma_table_info(t.table_name) c");
    assert!(types.len() > 5);
    for found in types {
        assert!(allowed.contains(&found.as_str()), "{found}");
    }
}

/// Requirement 11: the three reference systems that every file has.
#[test]
fn reference_systems() {
    let (_dir, conn) = book();
    assert_eq!(
        texts(
            &conn,
            "SELECT srs_id || ' ' || organization || ' ' || organization_coordsys_id FROM gpkg_spatial_ref_sys ORDER BY srs_id"
        ),
        ["-1 NONE -1", "0 NONE 0", "4326 EPSG 4326"]
    );
    assert_eq!(texts(&conn, "SELECT DISTINCT definition FROM gpkg_spatial_ref_sys WHERE srs_id < 1"), ["undefined"]);
}

/// Requirements 13 to 15 ask that `gpkg_contents` name real tables and their reference systems, with
/// the time of change as `YYYY-MM-DDTHH:MM:SS.SSSZ`.
#[test]
fn contents() {
    let (_dir, conn) = book();
    let listed = texts(&conn, "SELECT table_name FROM gpkg_contents ORDER BY 1");
    let there = texts(
        &conn,
        "SELECT name FROM sqlite_master WHERE type = 'table' AND name NOT LIKE 'gpkg_%' AND name NOT LIKE 'sqlite_%' ORDER BY 1",
    );
    assert_eq!(listed, there, "every table of the book is listed, and nothing else");
    assert_eq!(
        texts(&conn, "SELECT table_name FROM gpkg_contents WHERE data_type = 'features' ORDER BY 1"),
        ["accesses", "barriers", "baselines", "beaches", "finds", "levels", "permissions", "plans", "signals", "tracks", "zones"]
    );
    assert!(texts(&conn, "SELECT table_name FROM gpkg_contents WHERE data_type NOT IN ('features', 'attributes')").is_empty());
    assert!(
        texts(&conn, "SELECT table_name FROM gpkg_contents WHERE last_change NOT GLOB '????-??-??T??:??:??.???Z'").is_empty()
    );
    assert!(texts(&conn, "SELECT table_name FROM gpkg_contents WHERE data_type = 'features' AND srs_id <> 4326").is_empty());
}

/// The geometry columns table has one row for each feature table, with the type and the rule for Z
/// and M (0 prohibited, 1 mandatory), and the column is declared with that type (clause 2.1.5).
#[test]
fn geometry_columns() {
    let (_dir, conn) = book();
    let rows =
        texts(&conn, "SELECT table_name || ' ' || geometry_type_name || ' ' || z || m FROM gpkg_geometry_columns ORDER BY 1");
    assert_eq!(
        rows,
        [
            "accesses POINT 00",
            "barriers GEOMETRY 00",
            "baselines LINESTRING 00",
            "beaches POINT 00",
            "finds POINT 00",
            "levels POINT 10",
            "permissions MULTIPOLYGON 00",
            "plans LINESTRING 00",
            "signals POINT 00",
            "tracks LINESTRING 11",
            "zones MULTIPOLYGON 00"
        ]
    );
    let differing = texts(
        &conn,
        "SELECT g.table_name FROM gpkg_geometry_columns g JOIN pragma_table_info(g.table_name) c ON c.name = g.column_name
         WHERE c.type <> g.geometry_type_name",
    );
    assert!(differing.is_empty(), "{differing:?}");
}

/// Feature and attribute tables have an integer primary key of one column (clauses 2.1.6 and 2.4).
#[test]
fn primary_keys() {
    let (_dir, conn) = book();
    let keys = texts(
        &conn,
        "SELECT t.table_name || ' ' || group_concat(c.name || ' ' || c.type) FROM gpkg_contents t
         JOIN pragma_table_info(t.table_name) c WHERE c.pk > 0 GROUP BY t.table_name",
    );
    assert_eq!(keys.len(), 27);
    assert!(keys.iter().all(|k| k.ends_with(" fid INTEGER")), "{keys:?}");
}

/// Requirement 19 (the binary header): magic, version 0, little-endian with an envelope of x and y, SRS 4326.
#[test]
fn geometry_header() {
    let (_dir, conn) = book();
    let blob: Vec<u8> = conn.query_row("SELECT geom FROM tracks", [], |r| r.get(0)).unwrap();
    assert_eq!(&blob[..8], b"GP\0\x03\xe6\x10\0\0");
    // After 32 bytes of envelope: little-endian WKB of ISO type 3002, LINESTRING ZM.
    assert_eq!(&blob[40..45], &[1, 0xba, 0x0b, 0, 0]);
}
