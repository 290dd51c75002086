//! Writing edits: each record as its rows, and the contents table kept true.

use std::collections::{BTreeMap, BTreeSet};

use rusqlite::types::Value;
use rusqlite::{Connection, OptionalExtension, params, params_from_iter};

use super::blob::{self, Bounds};
use super::layer::{GEOM, RowOut, Table};
use super::layers::tables_of;
use super::rows::rows_of;
use crate::book::{Edit, Record, RecordKind, Uid};

/// Rows, by table and number, that could not be read and are not known to the book.
pub(super) type Spoilt = BTreeSet<(&'static str, i64)>;

/// Writes an edit; to be called within a transaction.
///
/// A spoilt row is deleted only when its record is; a change to that record leaves it, unless the
/// change brings a row for the very same place, which mends it.
pub(super) fn write(conn: &Connection, edit: &Edit, spoilt: &Spoilt) -> rusqlite::Result<()> {
    let mut writer = Writer { conn, spoilt, touched: BTreeMap::new() };
    for single in edit.singles() {
        match single {
            Edit::Put(record) => writer.put(record)?,
            Edit::Remove(kind, uid) => writer.remove(*kind, *uid)?,
            // `singles` has taken batches apart.
            Edit::Batch(_) => {}
        }
    }
    writer.finish()
}

/// What an edit did to the ground that a table covers.
#[derive(Default)]
struct Touched {
    has_geom: bool,
    grown: Option<Bounds>,
    gone: Option<Bounds>,
    /// A geometry went whose bounds are not known.
    unsure: bool,
}

/// A row that is in the file already.
struct Old {
    row: i64,
    number: Option<i64>,
    bounds: Option<Bounds>,
}

struct Writer<'a> {
    conn: &'a Connection,
    spoilt: &'a Spoilt,
    touched: BTreeMap<&'static str, Touched>,
}

fn join(a: Option<Bounds>, b: Option<Bounds>) -> Option<Bounds> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.with(b)),
        (a, b) => a.or(b),
    }
}

impl Writer<'_> {
    fn put(&mut self, record: &Record) -> rusqlite::Result<()> {
        for (table, rows) in tables_of(record.kind()).iter().zip(rows_of(record)) {
            self.put_rows(table, record.uid(), rows)?;
        }
        Ok(())
    }

    /// Rows are changed in place, never replaced, so that columns others added keep their values.
    fn put_rows(&mut self, table: &'static Table, owner: Uid, rows: Vec<RowOut>) -> rusqlite::Result<()> {
        let old = self.old(table, owner)?;
        let count = rows.len() as i64;
        for row in rows {
            self.touch(table).grown = join(self.touch(table).grown, row.geom.as_ref().and_then(|g| g.1));
            let values = row.geom.map(|g| Value::Blob(g.0)).into_iter().chain(row.cells);
            match old.iter().find(|o| o.number == Some(i64::from(row.number))) {
                Some(there) => {
                    self.gone(table, there);
                    let values = values.chain([Value::Integer(there.row)]);
                    self.conn.prepare_cached(&table.update())?.execute(params_from_iter(values))?;
                }
                None => {
                    self.conn.prepare_cached(&table.insert())?.execute(params_from_iter(values))?;
                }
            }
        }
        let spoilt = self.spoilt;
        let beyond = |o: &&Old| o.number.is_some_and(|n| n >= count) && !spoilt.contains(&(table.name, o.row));
        for left in old.iter().filter(beyond) {
            self.delete(table, left)?;
        }
        Ok(())
    }

    fn remove(&mut self, kind: RecordKind, uid: Uid) -> rusqlite::Result<()> {
        for table in tables_of(kind) {
            for old in self.old(table, uid)? {
                self.delete(table, &old)?;
            }
        }
        Ok(())
    }

    fn old(&self, table: &Table, owner: Uid) -> rusqlite::Result<Vec<Old>> {
        let mut statement = self.conn.prepare_cached(&table.find())?;
        let rows = statement.query_map([owner.to_string()], |row| {
            let head = row.get_ref(2)?.as_blob_or_null().ok().flatten();
            Ok(Old { row: row.get(0)?, number: row.get(1).ok(), bounds: head.and_then(blob::bounds_of) })
        })?;
        rows.collect()
    }

    fn delete(&mut self, table: &'static Table, old: &Old) -> rusqlite::Result<()> {
        self.gone(table, old);
        self.conn.prepare_cached(&format!("DELETE FROM \"{}\" WHERE rowid = ?", table.name))?.execute([old.row])?;
        Ok(())
    }

    fn gone(&mut self, table: &'static Table, old: &Old) {
        let touched = self.touch(table);
        touched.gone = join(touched.gone, old.bounds);
        touched.unsure |= old.bounds.is_none();
    }

    fn touch(&mut self, table: &'static Table) -> &mut Touched {
        self.touched.entry(table.name).or_insert_with(|| Touched { has_geom: table.geom.is_some(), ..Touched::default() })
    }

    /// Brings time of change and bounds of every touched table up to date.
    fn finish(self) -> rusqlite::Result<()> {
        for (name, touched) in &self.touched {
            let bounds = if touched.has_geom { self.covered(name, touched)? } else { None };
            self.conn
                .prepare_cached(
                    "UPDATE gpkg_contents SET last_change = strftime('%Y-%m-%dT%H:%M:%fZ','now'),
                     min_x = ?2, min_y = ?3, max_x = ?4, max_y = ?5 WHERE table_name = ?1",
                )?
                .execute(params![
                    name,
                    bounds.map(|b| b.min_x),
                    bounds.map(|b| b.min_y),
                    bounds.map(|b| b.max_x),
                    bounds.map(|b| b.max_y)
                ])?;
        }
        Ok(())
    }

    /// The box of a table now: the old one grown, unless what went leaned on a side of it.
    fn covered(&self, name: &str, touched: &Touched) -> rusqlite::Result<Option<Bounds>> {
        let stated = self
            .conn
            .prepare_cached("SELECT min_x, min_y, max_x, max_y FROM gpkg_contents WHERE table_name = ?1")?
            .query_row([name], |row| {
                let side = |n| row.get::<_, f64>(n).ok();
                Ok((|| Some(Bounds { min_x: side(0)?, min_y: side(1)?, max_x: side(2)?, max_y: side(3)? }))())
            })
            .optional()?
            .flatten();
        match stated {
            Some(stated) if !touched.unsure && !touched.gone.is_some_and(|gone| stated.leans_on(gone)) => {
                Ok(join(Some(stated), touched.grown))
            }
            _ => self.scan(name),
        }
    }

    fn scan(&self, name: &str) -> rusqlite::Result<Option<Bounds>> {
        let mut bounds = None;
        let mut statement = self.conn.prepare_cached(&format!("SELECT \"{GEOM}\" FROM \"{name}\""))?;
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let blob = row.get_ref(0)?.as_blob_or_null().ok().flatten();
            bounds = join(bounds, blob.and_then(blob::bounds_of));
        }
        Ok(bounds)
    }
}
