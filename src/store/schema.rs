//! The standard's own tables, the book's tables, and the steps from one format to the next.

use rusqlite::{Connection, OptionalExtension, params};

use super::blob::SRS;
use super::changes;
use super::layer::{GEOM, Table};
use super::layers::tables;

/// "GPKG" in ASCII, the application id of every GeoPackage (OGC 12-128, requirement 2).
pub(super) const APPLICATION_ID: i32 = 0x4750_4B47;

/// GeoPackage 1.4.0, as the user version states it (OGC 12-128, requirement 2).
const GEOPACKAGE_VERSION: i32 = 10_400;

/// Table of the book itself.
const BOOK: &str = "scourline_book";

/// A step that takes a file from one format to the next.
pub(super) type Step = fn(&Connection) -> rusqlite::Result<()>;

/// The steps so far, the first from format 1 to 2. Each stands for ever, as old files do.
const STEPS: &[Step] = &[
    more_tide_sources,
    run_up_and_free_hours,
    more_of_the_bench,
    settings_and_invented,
    confirmations,
    records_of_the_sea,
    asides,
    what_became_of_finds,
    what_is_agreed,
    ground_of_a_reading,
    pace_of_the_slowest,
];

/// From 1 to 2: a beach's tide may come from a gauge record or a secondary port, and it has a weather.
fn more_tide_sources(conn: &Connection) -> rusqlite::Result<()> {
    add_to_beaches(
        conn,
        &[
            ("tide_gauge", "TEXT"),
            ("tide_port", "TEXT"),
            ("tide_differences", "TEXT"),
            ("tide_standard_levels", "TEXT"),
            ("surge_m", "REAL"),
            ("surge_sd_m", "REAL"),
            ("pressure_hpa", "REAL"),
        ],
    )
}

/// From 2 to 3: a beach has a run-up and hours at which its person is free.
fn run_up_and_free_hours(conn: &Connection) -> rusqlite::Result<()> {
    add_to_beaches(conn, &[("run_up_m", "REAL"), ("free_hours", "TEXT")])
}

/// Adds those columns of a beach that are not there yet.
fn add_to_beaches(conn: &Connection, columns: &[(&str, &str)]) -> rusqlite::Result<()> {
    add_columns(conn, "beaches", columns)
}

/// Adds those columns of a table that are not there yet.
fn add_columns(conn: &Connection, table: &str, columns: &[(&str, &str)]) -> rusqlite::Result<()> {
    let there: Vec<String> = conn
        .prepare("SELECT lower(name) FROM pragma_table_info(?1)")?
        .query_map([table], |row| row.get(0))?
        .collect::<Result<_, _>>()?;
    // A file without the table is mended as a whole later.
    if there.is_empty() {
        return Ok(());
    }
    for (name, sql) in columns.iter().filter(|(name, _)| !there.iter().any(|t| t == name)) {
        conn.execute_batch(&format!("ALTER TABLE {table} ADD COLUMN {name} {sql}"))?;
    }
    Ok(())
}

/// From 3 to 4: a bench reading says how much was scraped off before it, and a book holds kinds of one's own.
fn more_of_the_bench(conn: &Connection) -> rusqlite::Result<()> {
    let has = |column: &str| {
        conn.query_row("SELECT count(*) FROM pragma_table_info('bench') WHERE lower(name) = ?1", [column], |row| {
            row.get::<_, i64>(0)
        })
    };
    if has("uid")? > 0 && has("scraped_m")? == 0 {
        conn.execute_batch("ALTER TABLE bench ADD COLUMN scraped_m REAL")?;
    }
    tables().filter(|t| t.name == "kinds").try_for_each(|table| lay_out(conn, table))
}

/// The invented beach as books up to format 4 hold it: its name, its place in degrees and the station whose tide it borrows.
const INVENTED_UNTIL_4: (&str, f64, f64, &str) = ("Tarrow Sands", -10.0, 48.3, "ticon/st_marys-stm-gbr-da_idh");

/// From 4 to 5: a beach keeps what counts as searched, how it is read, and whether it is invented, which until then
/// was told by its name, place and tide.
fn settings_and_invented(conn: &Connection) -> rusqlite::Result<()> {
    add_to_beaches(
        conn,
        &[
            ("search_swing_m", "REAL"),
            ("search_coil_width_m", "REAL"),
            ("search_overlap", "REAL"),
            ("search_walk_m_per_s", "REAL"),
            ("search_turn_deg", "REAL"),
            ("search_gap_s", "REAL"),
            ("reading_cluster_by", "TEXT"),
            ("reading_cluster_distance_m", "REAL"),
            ("reading_cluster_points", "INTEGER"),
            ("reading_detection_per_pass", "REAL"),
            ("reading_effort_error", "REAL"),
            ("reading_storm_days", "INTEGER"),
            ("invented", "BOOLEAN"),
        ],
    )?;
    // A file without one of these columns is mended later, and holds no such beach.
    let needed = ["name", "geom", "tide_station", "tide_port"];
    let there = conn.query_row(
        "SELECT count(*) FROM pragma_table_info('beaches') WHERE lower(name) IN (?1, ?2, ?3, ?4)",
        needed,
        |row| row.get::<_, i64>(0),
    )?;
    if there < needed.len() as i64 {
        return Ok(());
    }
    conn.execute(
        "UPDATE beaches SET invented = 1 WHERE name = ?1 AND ST_MinX(geom) = ?2 AND ST_MinY(geom) = ?3
         AND tide_station = ?4 AND tide_port IS NULL",
        INVENTED_UNTIL_4,
    )
    .map(drop)
}

/// From 5 to 6: a beach keeps what its person confirmed, and which tide source its offset was given for where that is
/// not the present one.
fn confirmations(conn: &Connection) -> rusqlite::Result<()> {
    add_to_beaches(conn, &[("offset_from", "TEXT"), ("confirmed", "TEXT")])
}

/// From 6 to 7: a book keeps records and forecasts of the sea whole.
fn records_of_the_sea(conn: &Connection) -> rusqlite::Result<()> {
    tables().filter(|t| ["sea_records", "recorded_sea"].contains(&t.name)).try_for_each(|table| lay_out(conn, table))
}

/// From 7 to 8: an outing says which of its stretches are no witness of the water.
fn asides(conn: &Connection) -> rusqlite::Result<()> {
    add_columns(conn, "outings", &[("asides", "TEXT")])
}

/// From 8 to 9: a find says whose it is, its age and worth and what became of it, and keeps what else a file said of it;
/// a permission has the key of the ids that its holder is handed;
/// a book remembers what was answered about files, and keeps its own history.
fn what_became_of_finds(conn: &Connection) -> rusqlite::Result<()> {
    let columns = ["finder", "permission", "value", "age", "disposal", "reported", "more"].map(|name| (name, "TEXT"));
    add_columns(conn, "finds", &columns)?;
    add_columns(conn, "permissions", &[("id_key", "TEXT")])?;
    if conn.query_row("SELECT count(*) FROM sqlite_master WHERE name = 'permissions'", [], |row| row.get::<_, i64>(0))? > 0 {
        conn.execute_batch("UPDATE permissions SET id_key = lower(hex(randomblob(16)))")?;
    }
    tables().filter(|t| t.name == "remembered").try_for_each(|table| lay_out(conn, table))?;
    changes::lay_out(conn)
}

/// From 9 to 10: a permission says what else is agreed with its holder, a zone why and when it is not to be searched, an
/// outing how the ground was left; a book keeps what was handed over.
fn what_is_agreed(conn: &Connection) -> rusqlite::Result<()> {
    let agreed = [
        ("contact", "TEXT"),
        ("papers", "TEXT"),
        ("deepest_m", "REAL"),
        ("holder_share", "REAL"),
        ("report_due", "TEXT"),
        ("older_than", "INTEGER"),
        ("places", "TEXT"),
    ];
    add_columns(conn, "permissions", &agreed)?;
    add_columns(conn, "zones", &[("closure", "TEXT")])?;
    add_columns(conn, "outings", &[("holes_filled", "BOOLEAN"), ("litter_kg", "REAL")])?;
    tables().filter(|t| t.name == "receipts").try_for_each(|table| lay_out(conn, table))
}

/// From 10 to 11: a bench reading says what ground it was made in.
fn ground_of_a_reading(conn: &Connection) -> rusqlite::Result<()> {
    add_columns(conn, "bench", &[("ground", "TEXT")])
}

/// From 11 to 12: a beach keeps how fast the slowest of those who search it walks.
fn pace_of_the_slowest(conn: &Connection) -> rusqlite::Result<()> {
    add_to_beaches(conn, &[("pace_m_per_s", "REAL")])
}

/// The format that this program writes.
pub(super) const FORMAT: i64 = 1 + STEPS.len() as i64;

/// The tables that the standard asks for, as its annex "Table Definition SQL" has them.
const STANDARD: &str = "
CREATE TABLE gpkg_spatial_ref_sys (
  srs_name TEXT NOT NULL,
  srs_id INTEGER PRIMARY KEY,
  organization TEXT NOT NULL,
  organization_coordsys_id INTEGER NOT NULL,
  definition TEXT NOT NULL,
  description TEXT
);
CREATE TABLE gpkg_contents (
  table_name TEXT NOT NULL PRIMARY KEY,
  data_type TEXT NOT NULL,
  identifier TEXT UNIQUE,
  description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
  min_x DOUBLE,
  min_y DOUBLE,
  max_x DOUBLE,
  max_y DOUBLE,
  srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id)
);
CREATE TABLE gpkg_geometry_columns (
  table_name TEXT NOT NULL,
  column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL,
  srs_id INTEGER NOT NULL,
  z TINYINT NOT NULL,
  m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id)
);
CREATE TABLE scourline_book (
  fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL,
  format_version INTEGER NOT NULL,
  program TEXT NOT NULL,
  changed DATETIME NOT NULL
);
";

/// The reference systems that the standard asks for (OGC 12-128, requirement 11): name, id, organisation, definition, description.
const SYSTEMS: [(&str, i32, &str, &str, &str); 3] = [
    ("Undefined Cartesian SRS", -1, "NONE", "undefined", "undefined Cartesian coordinate reference system"),
    ("Undefined geographic SRS", 0, "NONE", "undefined", "undefined geographic coordinate reference system"),
    (
        "WGS 84 geodetic",
        SRS,
        "EPSG",
        r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]"#,
        "longitude and latitude in decimal degrees on the WGS 84 ellipsoid",
    ),
];

/// Lays out an empty book; to be called within a transaction on an empty file.
pub(super) fn create(conn: &Connection) -> rusqlite::Result<()> {
    conn.pragma_update(None, "application_id", APPLICATION_ID)?;
    conn.pragma_update(None, "user_version", GEOPACKAGE_VERSION)?;
    conn.execute_batch(STANDARD)?;
    for (name, id, organisation, definition, description) in SYSTEMS {
        conn.execute(
            "INSERT INTO gpkg_spatial_ref_sys VALUES (?1, ?2, ?3, ?2, ?4, ?5)",
            params![name, id, organisation, definition, description],
        )?;
    }
    conn.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, description)
         VALUES (?1, 'attributes', ?1, 'Format of this beach book')",
        [BOOK],
    )?;
    conn.execute(
        "INSERT INTO scourline_book (format_version, program, changed)
         VALUES (?1, ?2, strftime('%Y-%m-%dT%H:%M:%fZ','now'))",
        params![FORMAT, concat!("scourline ", env!("CARGO_PKG_VERSION"))],
    )?;
    changes::lay_out(conn)?;
    tables().try_for_each(|table| lay_out(conn, table))
}

/// Makes a table and lists it where the standard wants it listed, as far as it is not yet.
fn lay_out(conn: &Connection, table: &Table) -> rusqlite::Result<()> {
    conn.execute_batch(&table.create())?;
    let (data_type, srs) = if table.geom.is_some() { ("features", Some(SRS)) } else { ("attributes", None) };
    conn.execute(
        "INSERT OR IGNORE INTO gpkg_contents (table_name, data_type, identifier, description, srs_id) VALUES (?1, ?2, ?1, ?3, ?4)",
        params![table.name, data_type, table.about, srs],
    )?;
    if let Some(geom) = table.geom {
        // Z and M: 0 prohibited, 1 mandatory.
        conn.execute(
            "INSERT OR IGNORE INTO gpkg_geometry_columns VALUES (?1, ?2, ?3, ?4, ?5, ?6)",
            params![table.name, GEOM, geom.name, SRS, geom.dims.z, geom.dims.m],
        )?;
    }
    Ok(())
}

/// The format of the book in this file, or `None` when it is no book.
pub(super) fn format(conn: &Connection) -> rusqlite::Result<Option<i64>> {
    let found =
        conn.query_row("SELECT 1 FROM sqlite_master WHERE type = 'table' AND name = ?1", [BOOK], |_| Ok(())).optional()?;
    match found {
        Some(()) => conn.query_row("SELECT max(format_version) FROM scourline_book", [], |row| row.get(0)),
        None => Ok(None),
    }
}

/// Takes a file from an older format to this one; to be called within a transaction.
pub(super) fn upgrade(conn: &Connection, from: i64) -> rusqlite::Result<()> {
    upgrade_by(conn, from, STEPS)
}

fn upgrade_by(conn: &Connection, from: i64, steps: &[Step]) -> rusqlite::Result<()> {
    for step in steps.iter().skip(usize::try_from(from - 1).unwrap_or(0)) {
        step(conn)?;
    }
    conn.execute(
        "UPDATE scourline_book SET format_version = ?1, program = ?2, changed = strftime('%Y-%m-%dT%H:%M:%fZ','now')",
        params![1 + steps.len() as i64, concat!("scourline ", env!("CARGO_PKG_VERSION"))],
    )?;
    Ok(())
}

/// What a table of the book lacks in this file.
#[derive(Debug, PartialEq)]
pub(super) enum Lack {
    /// The whole table.
    Table(&'static Table),
    /// A column, with its type.
    Column(&'static Table, &'static str, &'static str),
}

impl Lack {
    /// The sentence for the person.
    pub(super) fn sentence(&self) -> String {
        match self {
            Self::Table(t) => format!("the table {} was missing and has been made again, empty", t.name),
            Self::Column(t, name, _) => {
                format!("the column {name} of the table {} was missing and has been made again, empty", t.name)
            }
        }
    }

    /// Whether it can be made good: not a column that says which record a row is.
    pub(super) fn can_be_mended(&self) -> bool {
        match self {
            Self::Table(_) => true,
            Self::Column(t, name, _) => *name != t.owner && Some(*name) != t.number,
        }
    }
}

impl PartialEq for Table {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// What is missing of the book's tables.
pub(super) fn lacks(conn: &Connection) -> rusqlite::Result<Vec<Lack>> {
    let mut lacks = Vec::new();
    let mut columns = conn.prepare("SELECT lower(name) FROM pragma_table_info(?1)")?;
    for table in tables() {
        let there: Vec<String> = columns.query_map([table.name], |row| row.get(0))?.collect::<Result<_, _>>()?;
        if there.is_empty() {
            lacks.push(Lack::Table(table));
            continue;
        }
        let geom = table.geom.map(|g| (GEOM, g.name));
        let wanted = geom.iter().chain(&table.columns).filter(|(name, _)| !there.iter().any(|t| t == name));
        lacks.extend(wanted.map(|(name, sql)| Lack::Column(table, name, sql)));
    }
    Ok(lacks)
}

/// Makes good what is missing; to be called within a transaction.
pub(super) fn mend(conn: &Connection, lacks: &[Lack]) -> rusqlite::Result<()> {
    lacks.iter().try_for_each(|lack| match lack {
        Lack::Table(table) => lay_out(conn, table),
        Lack::Column(table, name, sql) => {
            conn.execute_batch(&format!("ALTER TABLE \"{}\" ADD COLUMN \"{name}\" {sql}", table.name))
        }
    })
}

/// Gives a uid to every row that another program added without one; to be called within a
/// transaction if [`unnamed`] finds any.
pub(super) fn name_rows(conn: &Connection) -> rusqlite::Result<()> {
    named_tables().try_for_each(|name| {
        conn.execute(&format!("UPDATE \"{name}\" SET uid = lower(hex(randomblob(16))) WHERE {UNNAMED}"), []).map(drop)
    })
}

/// How many rows have no uid, by table.
pub(super) fn unnamed(conn: &Connection) -> rusqlite::Result<Vec<(&'static str, i64)>> {
    let counts = named_tables().map(|name| {
        let count = conn.query_row(&format!("SELECT count(*) FROM \"{name}\" WHERE {UNNAMED}"), [], |row| row.get(0))?;
        Ok((name, count))
    });
    counts.filter(|found| !matches!(found, Ok((_, 0)))).collect()
}

const UNNAMED: &str = "uid IS NULL OR uid = ''";

fn named_tables() -> impl Iterator<Item = &'static str> {
    tables().filter(|t| t.owner == "uid").map(|t| t.name)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::store::spatial;

    /// A connection as a store makes it, to no file.
    fn connection() -> Connection {
        let conn = Connection::open_in_memory().unwrap();
        spatial::register(&conn).unwrap();
        conn
    }

    #[test]
    fn steps_run_from_the_format_of_the_file_on() {
        let conn = connection();
        create(&conn).unwrap();
        let steps: [Step; 3] = [
            |c| c.execute_batch("CREATE TABLE one (x)"),
            |c| c.execute_batch("CREATE TABLE two (x)"),
            |c| c.execute_batch("INSERT INTO two VALUES (7)"),
        ];
        upgrade_by(&conn, 2, &steps).unwrap();
        assert_eq!(format(&conn).unwrap(), Some(4));
        assert!(conn.prepare("SELECT * FROM one").is_err(), "the step before the file's format must not run");
        assert_eq!(conn.query_row("SELECT x FROM two", [], |r| r.get::<_, i64>(0)).unwrap(), 7);
    }

    #[test]
    fn books_of_older_formats_get_the_columns_that_came_later() {
        let later = [
            &["tide_gauge", "tide_port", "tide_differences", "tide_standard_levels", "surge_m", "surge_sd_m", "pressure_hpa"][..],
            &["run_up_m", "free_hours"],
            // Format 4 brought nothing to the beaches.
            &[],
            &[
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
            ],
            &["offset_from", "confirmed"],
            // Format 7 brought records of the sea, format 8 stretches of outings that are set aside, format 9 fields of
            // finds, remembered answers and the history.
            &[],
            &[],
            &[],
            // Format 10 brought what is agreed with holders, and receipts, format 11 the ground of bench readings.
            &[],
            &[],
            &["pace_m_per_s"],
        ];
        for format_then in 1..FORMAT {
            let conn = connection();
            create(&conn).unwrap();
            let unknown: Vec<&&str> = later[format_then as usize - 1..].iter().copied().flatten().collect();
            for column in &unknown {
                conn.execute_batch(&format!("ALTER TABLE beaches DROP COLUMN {column}")).unwrap();
            }
            conn.execute("UPDATE scourline_book SET format_version = ?1", [format_then]).unwrap();
            assert_eq!(lacks(&conn).unwrap().len(), unknown.len());
            upgrade(&conn, format_then).unwrap();
            assert_eq!((lacks(&conn).unwrap(), format(&conn).unwrap()), (vec![], Some(FORMAT)));
            // A file that has some of them already, or no such table, is no stumbling block.
            more_tide_sources(&conn).unwrap();
            run_up_and_free_hours(&conn).unwrap();
            settings_and_invented(&conn).unwrap();
            confirmations(&conn).unwrap();
            pace_of_the_slowest(&conn).unwrap();
            conn.execute_batch("DROP TABLE beaches").unwrap();
            run_up_and_free_hours(&conn).unwrap();
            settings_and_invented(&conn).unwrap();
        }
    }

    #[test]
    fn a_book_of_format_three_gets_what_the_bench_needs_and_keeps_its_readings() {
        let conn = connection();
        create(&conn).unwrap();
        conn.execute_batch(
            "ALTER TABLE bench DROP COLUMN scraped_m; DROP TABLE kinds; DELETE FROM gpkg_contents WHERE table_name = 'kinds';
             INSERT INTO bench (uid, target, depth_m) VALUES ('x', 'old penny', 0.15);
             UPDATE scourline_book SET format_version = 3",
        )
        .unwrap();
        assert_eq!(lacks(&conn).unwrap().len(), 2);
        upgrade(&conn, 3).unwrap();
        assert_eq!((lacks(&conn).unwrap(), format(&conn).unwrap()), (vec![], Some(FORMAT)));
        let kept: (String, Option<f64>) =
            conn.query_row("SELECT target, scraped_m FROM bench", [], |r| Ok((r.get(0)?, r.get(1)?))).unwrap();
        assert_eq!(kept, ("old penny".to_owned(), None));
        more_of_the_bench(&conn).unwrap();
    }

    #[test]
    fn a_new_book_lacks_nothing_and_a_dropped_column_is_noticed() {
        let conn = connection();
        create(&conn).unwrap();
        assert_eq!(lacks(&conn).unwrap(), []);
        conn.execute_batch("ALTER TABLE finds DROP COLUMN size_mm; DROP TABLE bench").unwrap();
        let found = lacks(&conn).unwrap();
        assert_eq!(found.len(), 2);
        assert!(found.iter().all(Lack::can_be_mended));
        mend(&conn, &found).unwrap();
        assert_eq!(lacks(&conn).unwrap(), []);
    }
}
