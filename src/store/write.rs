//! Writing edits: each record as its rows, and the contents table kept true.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};

use rusqlite::types::{ToSqlOutput, Value, ValueRef};
use rusqlite::{CachedStatement, Connection, OptionalExtension, params, params_from_iter};

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
    let mut writer = Writer { conn, spoilt, hands: BTreeMap::new() };
    let mut levels = Vec::new();
    for single in edit.singles() {
        match single {
            Edit::Put(record @ Record::Level(_)) => levels.push(record),
            Edit::Put(record) => {
                writer.levels(&mut levels)?;
                writer.put(record)?;
            }
            Edit::Remove(kind, uid) => {
                writer.levels(&mut levels)?;
                writer.remove(*kind, *uid)?;
            }
            // `singles` has taken batches apart.
            Edit::Batch(_) => {}
        }
    }
    writer.levels(&mut levels)?;
    writer.finish()
}

/// What an edit did to the ground that a table covers.
#[derive(Default)]
struct Touched {
    grown: Option<Bounds>,
    gone: Option<Bounds>,
    /// A geometry went whose bounds are not known.
    unsure: bool,
}

impl Touched {
    fn gone(&mut self, old: &Old) {
        self.gone = join(self.gone, old.bounds);
        self.unsure |= old.bounds.is_none();
    }
}

/// A row that is in the file already.
struct Old {
    row: i64,
    number: Option<i64>,
    bounds: Option<Bounds>,
}

/// A table that is being written to: its statements, made once, and what became of its ground.
struct Hand<'c> {
    table: &'static Table,
    find: CachedStatement<'c>,
    insert: CachedStatement<'c>,
    /// Adds the row of a record that has one alone, unless a row of that record is there; `None` where the table, as
    /// another program may have left it, does not keep records apart.
    insert_new: Option<CachedStatement<'c>>,
    update: CachedStatement<'c>,
    delete: CachedStatement<'c>,
    touched: Touched,
}

impl<'c> Hand<'c> {
    fn new(conn: &'c Connection, table: &'static Table) -> rusqlite::Result<Self> {
        Ok(Self {
            table,
            find: conn.prepare_cached(&table.find())?,
            insert: conn.prepare_cached(&table.insert())?,
            insert_new: table.insert_new().and_then(|sql| conn.prepare_cached(&sql).ok()),
            update: conn.prepare_cached(&table.update())?,
            delete: conn.prepare_cached(&format!("DELETE FROM \"{}\" WHERE rowid = ?", table.name))?,
            touched: Touched::default(),
        })
    }

    /// Rows are changed in place, never replaced, so that columns others added keep their values.
    fn put(&mut self, owner: Uid, rows: Vec<RowOut>, spoilt: &Spoilt) -> rusqlite::Result<()> {
        for row in &rows {
            self.touched.grown = join(self.touched.grown, row.geom.as_ref().and_then(|g| g.1));
        }
        // Of many records taken in at once nearly all are new: none is looked for that can simply be added.
        if let (Some(insert_new), [row]) = (&mut self.insert_new, rows.as_slice())
            && execute(insert_new, row, None)? > 0
        {
            return Ok(());
        }
        let old = self.old(owner)?;
        let count = rows.len() as i64;
        for row in &rows {
            match old.iter().find(|o| o.number == Some(i64::from(row.number))) {
                Some(there) => {
                    self.touched.gone(there);
                    execute(&mut self.update, row, Some(there.row))?;
                }
                None => drop(execute(&mut self.insert, row, None)?),
            }
        }
        let beyond = |o: &&Old| o.number.is_some_and(|n| n >= count) && !spoilt.contains(&(self.table.name, o.row));
        let beyond: Vec<&Old> = old.iter().filter(beyond).collect();
        beyond.into_iter().try_for_each(|left| self.delete(left))
    }

    fn old(&mut self, owner: Uid) -> rusqlite::Result<Vec<Old>> {
        let rows = self.find.query_map([owner.to_string()], |row| {
            let head = row.get_ref(2)?.as_blob_or_null().ok().flatten();
            Ok(Old { row: row.get(0)?, number: row.get(1).ok(), bounds: head.and_then(blob::bounds_of) })
        })?;
        rows.collect()
    }

    fn delete(&mut self, old: &Old) -> rusqlite::Result<()> {
        self.touched.gone(old);
        self.delete.execute([old.row]).map(drop)
    }
}

/// Runs a statement with the values of a row, the row's number last where it has one; how many rows it changed.
fn execute(statement: &mut CachedStatement<'_>, row: &RowOut, number: Option<i64>) -> rusqlite::Result<usize> {
    let geom = row.geom.as_ref().map(|g| ToSqlOutput::Borrowed(ValueRef::Blob(&g.0)));
    let cells = row.cells.iter().map(|cell| ToSqlOutput::Borrowed(ValueRef::from(cell)));
    let number = number.map(|n| ToSqlOutput::Owned(Value::Integer(n)));
    statement.execute(params_from_iter(geom.into_iter().chain(cells).chain(number)))
}

struct Writer<'a> {
    conn: &'a Connection,
    spoilt: &'a Spoilt,
    hands: BTreeMap<&'static str, Hand<'a>>,
}

fn join(a: Option<Bounds>, b: Option<Bounds>) -> Option<Bounds> {
    match (a, b) {
        (Some(a), Some(b)) => Some(a.with(b)),
        (a, b) => a.or(b),
    }
}

impl<'a> Writer<'a> {
    fn hand(&mut self, table: &'static Table) -> rusqlite::Result<&mut Hand<'a>> {
        match self.hands.entry(table.name) {
            Entry::Occupied(there) => Ok(there.into_mut()),
            Entry::Vacant(place) => Ok(place.insert(Hand::new(self.conn, table)?)),
        }
    }

    fn put(&mut self, record: &Record) -> rusqlite::Result<()> {
        let spoilt = self.spoilt;
        for (table, rows) in tables_of(record.kind()).iter().zip(rows_of(record)) {
            self.hand(table)?.put(record.uid(), rows, spoilt)?;
        }
        Ok(())
    }

    /// Writes levels in order of uid: there may be a million, and their index is then filled page by page.
    fn levels(&mut self, levels: &mut Vec<&Record>) -> rusqlite::Result<()> {
        levels.sort_by_key(|record| record.uid());
        levels.drain(..).try_for_each(|record| self.put(record))
    }

    fn remove(&mut self, kind: RecordKind, uid: Uid) -> rusqlite::Result<()> {
        for table in tables_of(kind) {
            let hand = self.hand(table)?;
            for old in hand.old(uid)? {
                hand.delete(&old)?;
            }
        }
        Ok(())
    }

    /// Brings time of change and bounds of every touched table up to date.
    fn finish(self) -> rusqlite::Result<()> {
        for (name, hand) in &self.hands {
            let bounds = if hand.table.geom.is_some() { self.covered(name, &hand.touched)? } else { None };
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
