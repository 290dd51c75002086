//! Writing edits: each record as its rows, and the contents table kept true.

use std::collections::btree_map::Entry;
use std::collections::{BTreeMap, BTreeSet};
use std::sync::mpsc::sync_channel;
use std::thread;

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
    let mut singles = edit.singles();
    // Levels in order of uid: there may be a million, and their index is then filled page by page.
    let is_level = |single: &&Edit| matches!(single, Edit::Put(Record::Level(_)));
    for run in singles.chunk_by_mut(|a, b| is_level(a) && is_level(b)).filter(|run| run.len() > 1) {
        run.sort_by_key(|single| if let Edit::Put(record) = single { Some(record.uid()) } else { None });
    }
    if singles.len() < MANY {
        singles.into_iter().try_for_each(|single| writer.single(single, rows_for(single)))?;
        return writer.finish();
    }
    write_beside(&mut writer, &singles)?;
    writer.finish()
}

/// Writes many changes: their rows are made on a thread of its own while those before are written.
fn write_beside(writer: &mut Writer<'_>, singles: &[&Edit]) -> rusqlite::Result<()> {
    let portions = || singles.chunk_by(|a, b| is_small(a) && is_small(b)).flat_map(|run| run.chunks(PORTION));
    let rows_of_all = |portion: &[&Edit]| portion.iter().map(|single| rows_for(single)).collect::<Vec<RowsOut>>();
    thread::scope(|scope| {
        let (sender, receiver) = sync_channel(WAITING);
        let making = thread::Builder::new().name("rows of a book".to_owned()).spawn_scoped(scope, move || {
            for portion in portions() {
                if sender.send(rows_of_all(portion)).is_err() {
                    // A row could not be written, so none after it is.
                    return;
                }
            }
        });
        // Where the system gives no more threads, they are made here.
        drop(making);
        for portion in portions() {
            let rows = receiver.recv().unwrap_or_else(|_| rows_of_all(portion));
            portion.iter().zip(rows).try_for_each(|(single, rows)| writer.single(single, rows))?;
        }
        Ok(())
    })
}

/// The rows of one record, for each of its tables.
type RowsOut = Vec<Vec<RowOut>>;

/// From so many changes on it is worth a thread to make their rows.
const MANY: usize = 2048;
/// How many small records' rows are handed on together, and how many portions may wait.
const PORTION: usize = 256;
const WAITING: usize = 4;

/// Whether a change takes so long to write that something else may well go on beside it.
pub(super) fn is_long(edit: &Edit) -> bool {
    fn count(edit: &Edit) -> usize {
        if let Edit::Batch(edits) = edit { edits.iter().map(count).sum() } else { 1 }
    }
    count(edit) >= MANY
}

/// Whether the rows of a record are few and short.
fn is_small(single: &Edit) -> bool {
    match single {
        Edit::Put(record) => {
            matches!(record.kind(), RecordKind::Level | RecordKind::Find | RecordKind::Signal | RecordKind::Bench)
        }
        Edit::Remove(..) | Edit::Batch(_) => true,
    }
}

fn rows_for(single: &Edit) -> RowsOut {
    if let Edit::Put(record) = single { rows_of(record) } else { Vec::new() }
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

    /// Writes a single change, a put one as these rows.
    fn single(&mut self, single: &Edit, rows: RowsOut) -> rusqlite::Result<()> {
        let spoilt = self.spoilt;
        match single {
            Edit::Put(record) => tables_of(record.kind())
                .iter()
                .zip(rows)
                .try_for_each(|(table, rows)| self.hand(table)?.put(record.uid(), rows, spoilt)),
            Edit::Remove(kind, uid) => self.remove(*kind, *uid),
            // `singles` has taken batches apart.
            Edit::Batch(_) => Ok(()),
        }
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
