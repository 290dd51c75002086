//! The history of a book, kept in its own file: what was changed and when, with the edit that takes each change back.
//!
//! It is written in the transaction of the change itself, so that neither is there without the other. The last
//! [`KEPT`] changes are kept; what is older than those is in the backups.

use std::io::{self, BufWriter, Read as _, Write};

use flate2::Compression;
use flate2::read::GzDecoder;
use flate2::write::GzEncoder;
use jiff::Timestamp;
use rusqlite::{Connection, OptionalExtension, params};

use crate::book::Edit;

/// How many changes are kept.
const KEPT: i64 = 10_000;
/// From this length on what takes a change back is packed, bytes of JSON.
const PACKED_FROM: usize = 64 * 1024;

/// The table, for whoever opens the file elsewhere.
const ABOUT: &str =
    "History of this book: what was changed and when; inverse is the edit as JSON that takes it back, packed the same with gzip";

/// One change of a book.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize)]
pub struct Change {
    /// Its number; later ones are higher.
    pub number: i64,
    /// When it was made.
    pub at: Timestamp,
    /// What was done, in a few words.
    pub what: String,
}

/// Makes the table where it is not there yet.
pub(super) fn lay_out(conn: &Connection) -> rusqlite::Result<()> {
    conn.execute_batch(
        "CREATE TABLE IF NOT EXISTS scourline_changes (
           fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, at DATETIME NOT NULL, what TEXT NOT NULL, inverse TEXT, packed BLOB
         )",
    )?;
    conn.execute(
        "INSERT OR IGNORE INTO gpkg_contents (table_name, data_type, identifier, description)
         VALUES ('scourline_changes', 'attributes', 'scourline_changes', ?1)",
        [ABOUT],
    )
    .map(drop)
}

/// Whether the table is there.
pub(super) fn is_laid_out(conn: &Connection) -> rusqlite::Result<bool> {
    let count: i64 = conn.query_row(
        "SELECT count(*) FROM pragma_table_info('scourline_changes') WHERE name IN ('fid', 'at', 'what', 'inverse', 'packed')",
        [],
        |row| row.get(0),
    )?;
    Ok(count == 5)
}

/// What takes a change back as it is kept: as JSON, packed once it is long. A million records are never held as text.
enum Kept {
    Plain(Vec<u8>),
    Packed(Box<GzEncoder<Vec<u8>>>),
}

impl Write for Kept {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        if let Self::Plain(text) = self
            && text.len() + bytes.len() >= PACKED_FROM
        {
            let mut packer = GzEncoder::new(Vec::new(), Compression::fast());
            packer.write_all(text)?;
            *self = Self::Packed(Box::new(packer));
        }
        match self {
            Self::Plain(text) => text.write(bytes),
            Self::Packed(packer) => packer.write(bytes),
        }
    }

    fn flush(&mut self) -> io::Result<()> {
        Ok(())
    }
}

/// What is kept of a change, made ready; this may go on while the change itself is written.
pub(super) struct Ready {
    json: Option<String>,
    packed: Option<Vec<u8>>,
}

/// Makes ready what takes a change back.
pub(super) fn ready(inverse: &Edit) -> rusqlite::Result<Ready> {
    let unfit = |e: Box<dyn std::error::Error + Send + Sync>| rusqlite::Error::ToSqlConversionFailure(e);
    let mut writer = BufWriter::new(Kept::Plain(Vec::new()));
    serde_json::to_writer(&mut writer, inverse).map_err(|e| unfit(e.into()))?;
    let kept = writer.into_inner().map_err(|e| unfit(e.into_error().into()))?;
    let (json, packed) = match kept {
        Kept::Plain(text) => (Some(String::from_utf8(text).map_err(|e| unfit(e.into()))?), None),
        Kept::Packed(packer) => (None, Some(packer.finish().map_err(|e| unfit(e.into()))?)),
    };
    Ok(Ready { json, packed })
}

/// Notes a change; to be called within its transaction.
pub(super) fn note(conn: &Connection, what: &str, inverse: &Ready) -> rusqlite::Result<()> {
    conn.prepare_cached("INSERT INTO scourline_changes (at, what, inverse, packed) VALUES (?1, ?2, ?3, ?4)")?
        .execute(params![format!("{:.3}", Timestamp::now()), what, inverse.json, inverse.packed])?;
    let last = conn.last_insert_rowid();
    conn.prepare_cached("DELETE FROM scourline_changes WHERE fid <= ?1")?.execute([last - KEPT]).map(drop)
}

/// The last changes, newest first. A row of which even the time cannot be read is passed over.
pub(super) fn last(conn: &Connection, count: usize) -> rusqlite::Result<Vec<Change>> {
    let mut statement =
        conn.prepare("SELECT fid, CAST(at AS TEXT), CAST(what AS TEXT) FROM scourline_changes ORDER BY fid DESC LIMIT ?1")?;
    let rows = statement.query_map([i64::try_from(count).unwrap_or(i64::MAX)], |row| {
        Ok((row.get::<_, i64>(0)?, row.get::<_, Option<String>>(1)?, row.get::<_, Option<String>>(2)?))
    })?;
    let mut changes = Vec::new();
    for row in rows {
        let (number, at, what) = row?;
        if let Some(at) = at.and_then(|at| at.parse().ok()) {
            changes.push(Change { number, at, what: what.unwrap_or_default() });
        }
    }
    Ok(changes)
}

/// What takes a change back: `None` when there is no such change, and an error in words when it cannot be read.
pub(super) fn inverse(conn: &Connection, number: i64) -> rusqlite::Result<Option<Result<Edit, String>>> {
    let found = conn
        .query_row("SELECT inverse, packed FROM scourline_changes WHERE fid = ?1", [number], |row| {
            Ok((row.get::<_, Option<String>>(0), row.get::<_, Option<Vec<u8>>>(1)))
        })
        .optional()?;
    Ok(found.map(|cells| match cells {
        (Ok(Some(json)), _) => read(json.as_bytes()),
        (_, Ok(Some(packed))) => {
            let mut json = Vec::new();
            GzDecoder::new(packed.as_slice()).read_to_end(&mut json).map_err(|e| e.to_string())?;
            read(&json)
        }
        _ => Err("nothing that takes it back was kept".to_owned()),
    }))
}

fn read(json: &[u8]) -> Result<Edit, String> {
    serde_json::from_slice(json).map_err(|e| e.to_string())
}

/// When the book was last changed by this program, or made.
pub(super) fn last_at(conn: &Connection) -> rusqlite::Result<Option<Timestamp>> {
    let made: Option<String> = conn.query_row("SELECT max(CAST(changed AS TEXT)) FROM scourline_book", [], |row| row.get(0))?;
    let changed = last(conn, 1)?.first().map(|c| c.at);
    Ok(changed.max(made.and_then(|at| at.parse().ok())))
}
