use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::sync::Arc;

use rusqlite::config::DbConfig;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, MAIN_DB};

use super::geometry::shapes;
use crate::Progress;
use crate::earth::Grid;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::records::row::Row;
use crate::exchange::records::shape;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::heading::{Field, meaning};
use crate::exchange::tools::source::Source;

/// Largest file that is read, bytes.
const LARGEST: u64 = 256 << 20;
/// Most layers that are looked at.
const MOST_LAYERS: usize = 200;
/// The table by which a book of this program is known.
const OWN: &str = "scourline_book";

/// One layer of features.
struct Layer {
    table: String,
    column: String,
    /// How its positions are to be read, or why they cannot be.
    grid: Result<Option<Grid>, String>,
}

/// Reads every layer of features in a file, without touching the file itself.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let conn = open(source, progress)?;
    let broken = |e: rusqlite::Error| Stop::Fault(unreadable(&e));
    check(&conn)?;
    let layers = layers(&conn, taking).map_err(broken)?;
    if layers.is_empty() {
        taking.warn("the file holds no layer of features");
    }
    let mut said = Vec::new();
    let several = layers.len() > 1;
    for layer in layers {
        if several {
            taking.in_part(&format!("layer \"{}\"", layer.table));
        }
        match layer.grid {
            Err(why) => {
                let mark = Mark { line: 0, noun: "layer", number: said.len() as u64 + 1 };
                taking.refuse(mark, why);
                said.push(format!("\"{}\", which cannot be read", layer.table));
            }
            Ok(grid) => {
                let grid_words = grid.as_ref().map_or("longitude and latitude, WGS 84", |g| g.name()).to_owned();
                taking.understand(format!("layer \"{}\"", layer.table), grid_words);
                let count = features(&conn, &layer.table, &layer.column, grid.as_ref(), taking, progress)?;
                said.push(format!("\"{}\" with {count} feature(s)", layer.table));
            }
        }
    }
    taking.in_part("");
    Ok(format!("GeoPackage: {}", if said.is_empty() { "no layer".to_owned() } else { format!("layer {}", said.join(", ")) }))
}

/// Whether a file is a GeoPackage with layers of features, and no book.
///
/// # Errors
/// What it is instead.
pub(in crate::exchange) fn has_layers(source: &Source) -> Result<(), Fault> {
    let checked = open(source, &Progress::new()).and_then(|conn| Ok(check(&conn)?));
    if let Err(Stop::Fault(fault)) = checked { Err(fault) } else { Ok(()) }
}

fn check(conn: &Connection) -> Result<(), Fault> {
    let has = |name| has_table(conn, name).map_err(|e| unreadable(&e));
    if has(OWN)? {
        return Err(Fault::Binary { what: "a book of this program", todo: "open it as a book instead of importing it" });
    }
    if !has("gpkg_geometry_columns")? || !has("gpkg_spatial_ref_sys")? {
        let todo = "export its data as CSV or GeoJSON";
        return Err(Fault::Binary { what: "an SQLite database without the layers of a GeoPackage", todo });
    }
    Ok(())
}

fn unreadable(error: &rusqlite::Error) -> Fault {
    Fault::Option(format!(
        "is an SQLite database that cannot be read ({error}); if it is a book, open it as a book instead of importing it"
    ))
}

/// A copy of the database in memory: the file is never written to, and what its schema defines may do nothing.
fn open(source: &Source, progress: &Progress) -> Result<Connection, Stop> {
    if let Source::Path(path) = source {
        let mut wal = path.clone().into_os_string();
        wal.push("-wal");
        if std::fs::metadata(&wal).is_ok_and(|m| m.len() > 0) {
            return Err(Fault::Option(
                "is open in another program; close it there first, so that all of it is in the file".to_owned(),
            )
            .into());
        }
    }
    let mut bytes = source.whole(LARGEST, progress)?;
    // A database in write-ahead mode can only be opened beside its log; without one it is whole as it is.
    if let Some(modes) = bytes.get_mut(18..20) {
        modes.fill(1);
    }
    let broken = |e: rusqlite::Error| Stop::Fault(unreadable(&e));
    let mut conn = Connection::open_in_memory().map_err(broken)?;
    let length = bytes.len();
    conn.deserialize_read_exact(MAIN_DB, Cursor::new(bytes), length, true).map_err(broken)?;
    for (what, on) in [
        (DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER, false),
        (DbConfig::SQLITE_DBCONFIG_ENABLE_VIEW, false),
        (DbConfig::SQLITE_DBCONFIG_DEFENSIVE, true),
    ] {
        conn.set_db_config(what, on).map_err(broken)?;
    }
    conn.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON;").map_err(broken)?;
    Ok(conn)
}

fn has_table(conn: &Connection, name: &str) -> rusqlite::Result<bool> {
    conn.query_row("SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = ?1", [name], |row| row.get::<_, i64>(0))
        .map(|n| n > 0)
}

/// The layers of features, with what their positions are in.
fn layers(conn: &Connection, taking: &mut Taking<'_>) -> rusqlite::Result<Vec<Layer>> {
    let mut statement = conn.prepare(
        "SELECT g.table_name, g.column_name, s.organization, s.organization_coordsys_id, s.srs_id
         FROM gpkg_geometry_columns g LEFT JOIN gpkg_spatial_ref_sys s ON s.srs_id = g.srs_id
         WHERE g.table_name IN (SELECT name FROM sqlite_master WHERE type = 'table' AND sql NOT LIKE 'CREATE VIRTUAL%')
         ORDER BY g.table_name",
    )?;
    let rows = statement.query_map([], |row| {
        let text = |n| row.get::<_, Option<String>>(n);
        Ok((text(0)?.unwrap_or_default(), text(1)?.unwrap_or_default(), text(2)?.unwrap_or_default(), row.get(3)?, row.get(4)?))
    })?;
    let mut layers = Vec::new();
    for row in rows.take(MOST_LAYERS) {
        let (table, column, organisation, code, id): (String, String, String, Option<i64>, Option<i64>) = row?;
        let asked = taking.options.grid().ok().flatten();
        let grid = match asked {
            Some(grid) => Ok(Some(grid)),
            None => grid(&organisation, code, id),
        };
        layers.push(Layer { table, column, grid });
    }
    Ok(layers)
}

/// The grid of a layer by its reference system; `None` for degrees on WGS 84.
fn grid(organisation: &str, code: Option<i64>, id: Option<i64>) -> Result<Option<Grid>, String> {
    let Some(code) = code.filter(|_| id.is_some_and(|id| id > 0)) else {
        return Err("does not say which reference system its positions are on; name it (--grid EPSG:...)".to_owned());
    };
    if organisation.eq_ignore_ascii_case("EPSG") && code == 4326 {
        return Ok(None);
    }
    let named = format!("{}:{code}", organisation.to_uppercase());
    if !organisation.eq_ignore_ascii_case("EPSG") {
        return Err(format!("is on the reference system {named}, which is not known here; save the layer on WGS 84 (EPSG:4326)"));
    }
    Grid::named(&named)
        .map(Some)
        .map_err(|_| format!("is on the reference system {named}, which is not known here; save the layer on WGS 84 (EPSG:4326)"))
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}

/// Takes the features of one layer; how many.
fn features(
    conn: &Connection,
    table: &str,
    column: &str,
    grid: Option<&Grid>,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<u64, Stop> {
    let broken = |e: rusqlite::Error| Stop::Fault(unreadable(&e));
    let mut statement = conn.prepare(&format!("SELECT * FROM {}", quoted(table))).map_err(broken)?;
    // The library asserts that names are UTF-8, which in a spoiled file they need not be.
    let names = catch_unwind(AssertUnwindSafe(|| statement.column_names().map(Arc::from).collect::<Vec<Arc<str>>>()));
    let names = names.map_err(|_| Fault::Io(format!("the names of the columns of \"{table}\" are no text")))?;
    let meanings: Vec<_> = names.iter().map(|name| meaning(name).filter(|m| m.field != Field::Id)).collect();
    let Some(at) = names.iter().position(|n| n.eq_ignore_ascii_case(column)) else {
        taking.refuse(Mark { line: 0, noun: "layer", number: 1 }, format!("has no column \"{column}\" for its geometry"));
        return Ok(0);
    };
    let mut rows = statement.query([]).map_err(broken)?;
    let mut number = 0;
    while let Some(record) = rows.next().map_err(broken)? {
        if number % 1024 == 0 {
            progress.check().map_err(|_| Stop::Cancelled)?;
        }
        number += 1;
        let mark = Mark { line: 0, noun: "feature", number };
        let mut row = Row::new(mark, true);
        for (n, (name, meaning)) in names.iter().zip(&meanings).enumerate().filter(|(n, _)| *n != at) {
            let text = match record.get_ref(n).map_err(broken)? {
                ValueRef::Null | ValueRef::Blob(_) => continue,
                ValueRef::Integer(value) => value.to_string(),
                ValueRef::Real(value) => value.to_string(),
                ValueRef::Text(bytes) => String::from_utf8_lossy(bytes).into_owned(),
            };
            match meaning {
                Some(meaning) => row.add(meaning, name, &text, false),
                None if n > 0 => row.add_other(name, &text),
                // The first column is as a rule the layer's own numbering.
                None => {}
            }
        }
        let read = match record.get_ref(at).map_err(broken)? {
            ValueRef::Blob(blob) => shapes(blob, grid),
            ValueRef::Null => Err("has no geometry".to_owned()),
            _ => Err("its geometry is none of a GeoPackage".to_owned()),
        };
        match read.map(super::geometry::Shapes::into_shapes) {
            Err(why) => taking.refuse(mark, why),
            Ok(parts) if parts.is_empty() => taking.refuse(mark, "its geometry is empty"),
            Ok(parts) => {
                for part in parts {
                    shape::take(taking, &mut row, part)?;
                }
            }
        }
        row.tell_unread(taking);
    }
    Ok(number)
}
