use std::collections::BTreeSet;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};
use std::thread;
use std::time::Duration;

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags, TransactionBehavior};

use super::backup::{self, Backup as Copied, Occasion};
use super::changes::{self, Change};
use super::load::{self, Complaint};
use super::{StoreError, place, schema, spatial, write};
use crate::book::{Book, Edit, RecordKind};
use crate::output::{clear_left, folder_of};

/// How long to wait for another program to finish writing.
const PATIENCE: Duration = Duration::from_secs(2);

/// How many records of a whole book are written at a time.
const PART: usize = 65_536;

/// A book as it was read from its file.
#[derive(Debug)]
pub struct Loaded {
    /// Every record that is valid.
    pub book: Book,
    /// What could not be taken as it stands; it is still in the file.
    pub complaints: Vec<Complaint>,
}

/// A beach book on disk.
///
/// Every [`write`](Store::write) is one transaction with a rollback journal and full
/// synchronisation: after a crash the file holds the last edit or does not, nothing in between.
/// Once the store is dropped there is one file only.
#[derive(Debug)]
pub struct Store {
    path: PathBuf,
    conn: Connection,
    /// SQLite's count of changes by others, as it was when the book was last read.
    seen: i64,
    mended: Vec<Complaint>,
    spoilt: write::Spoilt,
    /// Whether the file has a history that can be written to.
    history: bool,
    /// The day on which it was last seen whether a backup is due.
    looked: Option<Date>,
    remarks: Vec<String>,
}

impl Store {
    /// Makes a new, empty book. The standard wants its name to end in `.gpkg`.
    ///
    /// # Errors
    /// When something stands there already or the place cannot be written to; nothing is left behind.
    pub fn create(path: impl AsRef<Path>) -> Result<Self, StoreError> {
        let path = path.as_ref();
        place::new_book(path, |draft| Self::lay_out(draft)?.close())?;
        Self::open(path)
    }

    /// Lays out an empty book in an empty file.
    pub(super) fn lay_out(path: &Path) -> Result<Self, StoreError> {
        let mut store = Self::connect(path)?;
        store.transact(schema::create)?;
        store.history = true;
        Ok(store)
    }

    /// Opens a book, and brings it up to this program's format if it is older.
    ///
    /// # Errors
    /// One sentence for each way a file may be no book of this program's, or may not be used.
    pub fn open(path: impl AsRef<Path>) -> Result<Self, StoreError> {
        let path = path.as_ref();
        let mut store = Self::open_as_it_is(path)?;
        clear_left(folder_of(path));
        let found = schema::format(&store.conn).map_err(|e| StoreError::sqlite(path, e))?.unwrap_or(schema::FORMAT);
        if found < schema::FORMAT {
            if store.is_read_only() {
                return Err(StoreError::ReadOnly(path.to_owned()));
            }
            backup::make(&store.conn, path, Occasion::Format)?;
            store.transact(|conn| schema::upgrade(conn, found))?;
        }
        store.mend()?;
        store.find_history()?;
        store.name_rows()?;
        Ok(store)
    }

    fn connect(path: &Path) -> Result<Self, StoreError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let opened = Connection::open_with_flags(path, flags);
        Self::prepare(path, opened)
    }

    fn prepare(path: &Path, opened: rusqlite::Result<Connection>) -> Result<Self, StoreError> {
        let fail = |e| StoreError::sqlite(path, e);
        let conn = opened.map_err(|e| match fail(e) {
            StoreError::ReadOnly(path) => StoreError::Permission(path),
            other => other,
        })?;
        conn.busy_timeout(PATIENCE).map_err(fail)?;
        conn.set_prepared_statement_cache_capacity(128);
        spatial::register(&conn).map_err(fail)?;
        // Views and triggers in a stranger's file may call nothing but what is known to be harmless.
        conn.execute_batch("PRAGMA trusted_schema = OFF; PRAGMA synchronous = FULL; PRAGMA cache_size = -32000;")
            .map_err(fail)?;
        let mut store = Self {
            path: path.to_owned(),
            conn,
            seen: 0,
            mended: Vec::new(),
            spoilt: BTreeSet::new(),
            history: false,
            looked: None,
            remarks: Vec::new(),
        };
        if !store.is_read_only() {
            // Another program may have left it in write-ahead mode. Where that cannot be changed, as
            // it is open there, the mode serves as well: its side files go when the last one closes.
            let mode = store.conn.query_row("PRAGMA journal_mode = DELETE", [], |_| Ok(()));
            if let Err(StoreError::Damaged { path, .. }) = mode.map_err(fail) {
                return Err(StoreError::NotGeoPackage(path));
            }
        }
        store.seen = store.changes_by_others()?;
        Ok(store)
    }

    /// Makes good tables and columns that another program has taken out.
    fn mend(&mut self) -> Result<(), StoreError> {
        let lacks = schema::lacks(&self.conn).map_err(|e| StoreError::sqlite(&self.path, e))?;
        if let Some(lack) = lacks.iter().find(|l| !l.can_be_mended()) {
            return Err(StoreError::Damaged {
                path: self.path.clone(),
                why: lack.sentence().replace(" and has been made again, empty", ""),
            });
        }
        if !lacks.is_empty() {
            self.transact(|conn| schema::mend(conn, &lacks))?;
            self.mended = lacks.iter().map(|l| Complaint { table: "", row: None, why: l.sentence() }).collect();
        }
        Ok(())
    }

    /// Makes the history where another program has taken it out. What stands there in its place is left alone, and
    /// nothing is noted then.
    fn find_history(&mut self) -> Result<(), StoreError> {
        let look = |conn: &Connection| changes::is_laid_out(conn).map_err(|e| StoreError::sqlite(&self.path, e));
        self.history = look(&self.conn)?;
        // A book in a folder that cannot be written to can still be read.
        if !self.history && !self.is_read_only() && self.transact(changes::lay_out).is_ok() {
            self.history = changes::is_laid_out(&self.conn).map_err(|e| StoreError::sqlite(&self.path, e))?;
        }
        Ok(())
    }

    /// Gives a uid to rows that another program added; where the file cannot be written, such rows
    /// are left out with a complaint each.
    fn name_rows(&mut self) -> Result<(), StoreError> {
        let unnamed = schema::unnamed(&self.conn).map_err(|e| StoreError::sqlite(&self.path, e))?;
        if unnamed.is_empty() || self.is_read_only() {
            return Ok(());
        }
        self.transact(schema::name_rows)
    }

    /// The file.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Whether the file can be read but not written.
    pub fn is_read_only(&self) -> bool {
        self.conn.is_readonly("main").unwrap_or(true)
    }

    /// Reads the whole book.
    ///
    /// # Errors
    /// When the file cannot be read. Rows that make no valid record are no error but a complaint.
    pub fn load(&mut self) -> Result<Loaded, StoreError> {
        let path = self.path.clone();
        let fail = |e| StoreError::sqlite(&path, e);
        let tx = self.conn.transaction().map_err(fail)?;
        let (records, mut complaints) = load::load(&tx).map_err(fail)?;
        let seen = data_version(&tx).map_err(fail)?;
        tx.finish().map_err(fail)?;
        self.seen = seen;
        self.spoilt = complaints.iter().filter_map(|c| Some((c.table, c.row?))).collect();
        let book = Book::gather(records)?;
        complaints.splice(0..0, std::mem::take(&mut self.mended));
        Ok(Loaded { book, complaints })
    }

    /// Whether another program changed the file since it was read.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn is_changed_outside(&self) -> Result<bool, StoreError> {
        Ok(self.changes_by_others()? != self.seen)
    }

    /// Writes an edit in one transaction. Whether it is possible in the book, the book says.
    ///
    /// # Errors
    /// When the file cannot be written, or another program changed it since it was read; it is then
    /// as it was before.
    pub fn write(&mut self, edit: &Edit) -> Result<(), StoreError> {
        let spoilt = std::mem::take(&mut self.spoilt);
        let done = self.transact(|conn| write::write(conn, edit, &spoilt));
        self.spoilt = spoilt;
        done
    }

    /// As [`Store::write`], and notes in the history what was done and the edit that takes it back; before the first
    /// change of a day a backup is made. Where that is not possible the edit is made all the same, and it is told among
    /// the [remarks](Store::take_remarks).
    ///
    /// # Errors
    /// As [`Store::write`].
    pub fn write_noted(&mut self, edit: &Edit, what: &str, inverse: &Edit) -> Result<(), StoreError> {
        self.back_up_daily()?;
        let spoilt = std::mem::take(&mut self.spoilt);
        let noted = if self.history { vec![(what, inverse)] } else { Vec::new() };
        let done = self.write_and_note(|conn| write::write(conn, edit, &spoilt), &noted);
        self.spoilt = spoilt;
        done
    }

    /// Writes something and notes changes in one transaction. What is long is made ready beside the writing.
    fn write_and_note(
        &mut self,
        write: impl FnOnce(&Connection) -> rusqlite::Result<()>,
        noted: &[(&str, &Edit)],
    ) -> Result<(), StoreError> {
        let ready = || noted.iter().map(|(_, inverse)| changes::ready(inverse)).collect::<rusqlite::Result<Vec<_>>>();
        let note = |conn: &Connection, ready: Vec<changes::Ready>| {
            noted.iter().zip(&ready).try_for_each(|((what, _), ready)| changes::note(conn, what, ready))
        };
        if !noted.iter().any(|(_, inverse)| write::is_long(inverse)) {
            return self.transact(|conn| {
                write(conn)?;
                note(conn, ready()?)
            });
        }
        thread::scope(|scope| {
            let beside = thread::Builder::new().name("history of a book".to_owned()).spawn_scoped(scope, ready);
            self.transact(|conn| {
                write(conn)?;
                let ready = match beside {
                    Ok(beside) => beside.join().unwrap_or_else(|died| std::panic::resume_unwind(died)),
                    // The system gives no more threads.
                    Err(_) => ready(),
                };
                note(conn, ready?)
            })
        })
    }

    /// A backup is due before the first change of a day: when the book was last changed, or made, on another.
    fn back_up_daily(&mut self) -> Result<(), StoreError> {
        let day = |t: Timestamp| TimeZone::UTC.to_datetime(t).date();
        let today = day(Timestamp::now());
        if self.looked == Some(today) || self.is_read_only() || !self.history {
            return Ok(());
        }
        let last = changes::last_at(&self.conn).map_err(|e| StoreError::sqlite(&self.path, e))?;
        if last.is_none_or(|last| day(last) != today)
            && let Err(why) = backup::make(&self.conn, &self.path, Occasion::Day)
        {
            let StoreError::NoBackup { folder, why } = &why else { return Err(why) };
            self.remarks
                .push(format!("today's backup could not be made in {} ({why}); the change itself was kept", folder.display()));
        }
        self.looked = Some(today);
        Ok(())
    }

    /// Makes a backup now.
    ///
    /// # Errors
    /// [`StoreError::NoBackup`].
    pub fn back_up(&self, occasion: Occasion) -> Result<Copied, StoreError> {
        backup::make(&self.conn, &self.path, occasion)
    }

    /// What is to be told once, of what could not be done beside the edits.
    pub fn take_remarks(&mut self) -> Vec<String> {
        std::mem::take(&mut self.remarks)
    }

    /// The last changes, newest first.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn history(&self, count: usize) -> Result<Vec<Change>, StoreError> {
        if !self.history {
            return Ok(Vec::new());
        }
        changes::last(&self.conn, count).map_err(|e| StoreError::sqlite(&self.path, e))
    }

    /// The edit that takes a change back, as the book was then.
    ///
    /// # Errors
    /// When there is no such change, or what takes it back cannot be read.
    pub fn inverse_of(&self, number: i64) -> Result<Edit, StoreError> {
        if !self.history {
            return Err(StoreError::NoChange(number));
        }
        let found = changes::inverse(&self.conn, number).map_err(|e| StoreError::sqlite(&self.path, e))?;
        found.ok_or(StoreError::NoChange(number))?.map_err(|why| StoreError::CannotTakeBack { number, why })
    }

    /// Opens a file to be read alone, as it stands: no upgrade, no mending.
    pub(super) fn peek(path: &Path) -> Result<Self, StoreError> {
        check_file(path)?;
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        Self::as_book(Self::prepare(path, Connection::open_with_flags(path, flags))?)
    }

    /// Opens a book to be written to, as it stands.
    pub(super) fn open_as_it_is(path: &Path) -> Result<Self, StoreError> {
        check_file(path)?;
        Self::as_book(Self::connect(path)?)
    }

    fn as_book(store: Self) -> Result<Self, StoreError> {
        let fail = |e| StoreError::sqlite(&store.path, e);
        let id: i32 = store.conn.query_row("PRAGMA application_id", [], |row| row.get(0)).map_err(fail)?;
        if id != schema::APPLICATION_ID {
            return Err(StoreError::NotGeoPackage(store.path.clone()));
        }
        match schema::format(&store.conn).map_err(fail)? {
            None => Err(StoreError::NotABook(store.path.clone())),
            Some(found) if found > schema::FORMAT => {
                Err(StoreError::Newer { path: store.path.clone(), found, known: schema::FORMAT })
            }
            Some(found) if found < 1 => {
                Err(StoreError::Damaged { path: store.path.clone(), why: format!("it states the format {found}") })
            }
            Some(_) => Ok(store),
        }
    }

    /// Writes a whole book into a store that is still empty, and notes what was done to it before it had a file: each
    /// change with the edit that takes it back.
    pub(super) fn write_all<'s>(
        &mut self,
        book: &Book,
        changes: impl IntoIterator<Item = (&'s str, &'s Edit)>,
    ) -> Result<(), StoreError> {
        let mut records = RecordKind::ALL.iter().flat_map(|kind| book.records(*kind));
        let noted: Vec<_> = changes.into_iter().collect();
        let write = |conn: &Connection| {
            // A part at a time: a million edits are not held beside the million records.
            loop {
                let part: Vec<Edit> = records.by_ref().take(PART).map(Edit::put).collect();
                if part.is_empty() {
                    return Ok(());
                }
                write::write(conn, &Edit::Batch(part), &write::Spoilt::new())?;
            }
        };
        self.write_and_note(write, &noted)
    }

    /// Writes a copy of the file, with all that other programs put into it, to an empty file.
    pub(super) fn copy_to(&self, path: &Path) -> Result<(), StoreError> {
        let Some(target) = path.to_str() else {
            return Err(StoreError::Io { path: path.to_owned(), why: std::io::Error::other("the name is not readable text") });
        };
        self.conn.execute("VACUUM INTO ?1", [target]).map(drop).map_err(|e| StoreError::sqlite(path, e))
    }

    /// Copies the file page by page, whatever its format, to an empty file.
    pub(super) fn copy_pages_to(&self, path: &Path) -> Result<(), StoreError> {
        let fail = |e| StoreError::sqlite(path, e);
        let mut target = Connection::open(path).map_err(fail)?;
        {
            let copying = Backup::new(&self.conn, &mut target).map_err(fail)?;
            if copying.step(-1).map_err(fail)? != StepResult::Done {
                return Err(StoreError::Locked(self.path.clone()));
            }
        }
        target.close().map_err(|(_, e)| fail(e))
    }

    /// An empty book without a file.
    pub(super) fn in_memory() -> Result<Self, StoreError> {
        let mut store = Self::prepare(Path::new(":memory:"), Connection::open_in_memory())?;
        store.transact(schema::create)?;
        Ok(store)
    }

    /// Becomes, in one transaction, what another store holds, with all that other programs put into it.
    pub(super) fn become_copy_of(&mut self, other: &Store) -> Result<(), StoreError> {
        let fail = |e| StoreError::sqlite(&self.path, e);
        let backup = Backup::new(&other.conn, &mut self.conn).map_err(fail)?;
        // All pages in one step: whoever reads meanwhile sees the old book or the new one.
        match backup.step(-1).map_err(fail)? {
            StepResult::Done => Ok(()),
            _ => Err(StoreError::Locked(self.path.clone())),
        }
    }

    /// Closes the file.
    ///
    /// # Errors
    /// When SQLite cannot finish; every edit is on disk nevertheless.
    pub fn close(self) -> Result<(), StoreError> {
        self.conn.close().map_err(|(_, e)| StoreError::sqlite(&self.path, e))
    }

    fn changes_by_others(&self) -> Result<i64, StoreError> {
        data_version(&self.conn).map_err(|e| match StoreError::sqlite(&self.path, e) {
            StoreError::Damaged { path, .. } => StoreError::NotGeoPackage(path),
            other => other,
        })
    }

    fn transact(&mut self, work: impl FnOnce(&Connection) -> rusqlite::Result<()>) -> Result<(), StoreError> {
        if self.is_read_only() {
            return Err(StoreError::ReadOnly(self.path.clone()));
        }
        let fail = |e| StoreError::sqlite(&self.path, e);
        let tx = self.conn.transaction_with_behavior(TransactionBehavior::Immediate).map_err(fail)?;
        if data_version(&tx).map_err(fail)? != self.seen {
            return Err(StoreError::ChangedOutside(self.path.clone()));
        }
        // Dropping the transaction takes everything back.
        work(&tx).map_err(fail)?;
        tx.commit().map_err(fail)
    }
}

fn data_version(conn: &Connection) -> rusqlite::Result<i64> {
    conn.query_row("PRAGMA data_version", [], |row| row.get(0))
}

/// How often a database was changed, as its header counts it: the 4 bytes at 24, big-endian (SQLite's *Database File
/// Format*, 1.3.7). `None` where it cannot be read.
pub(super) fn changes_of_file(path: &Path) -> Option<u32> {
    let mut head = [0; 28];
    File::open(path).and_then(|mut file| file.read_exact(&mut head)).ok()?;
    head.last_chunk().map(|bytes| u32::from_be_bytes(*bytes))
}

/// Tells what SQLite would not: that a file is missing, a folder, out of bounds or of another kind.
fn check_file(path: &Path) -> Result<(), StoreError> {
    let fail = |e| StoreError::io(path, e);
    let kind = fs::metadata(path).map_err(fail)?;
    if kind.is_dir() {
        return Err(StoreError::Directory(path.to_owned()));
    }
    let mut head = Vec::new();
    if kind.is_file() {
        File::open(path).map_err(fail)?.take(16).read_to_end(&mut head).map_err(fail)?;
    }
    if head == b"SQLite format 3\0" { Ok(()) } else { Err(StoreError::NotGeoPackage(path.to_owned())) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Setup;

    fn stuffed(n: usize) -> Edit {
        let setup = |n| Setup { notes: "x".repeat(5000), ..Setup::new(format!("setup {n}")) };
        Edit::Batch((0..n).map(|n| Edit::put(setup(n))).collect())
    }

    #[test]
    fn a_full_disk_is_said_to_be_so_and_the_book_stays() {
        let dir = tempfile::tempdir().expect("a folder");
        let path = dir.path().join("book.gpkg");
        let mut store = Store::create(&path).expect("a book");
        store.write(&stuffed(3)).expect("room for three");
        let pages: i64 = store.conn.query_row("PRAGMA page_count", [], |row| row.get(0)).expect("a count");
        store.conn.query_row(&format!("PRAGMA max_page_count = {}", pages + 5), [], |_| Ok(())).expect("a limit");
        assert!(matches!(store.write(&stuffed(50)), Err(StoreError::Full(_))));
        assert_eq!(store.load().expect("a book").book.count(RecordKind::Setup), 3);
        store.write(&stuffed(1)).expect("the store is still of use");
    }

    #[test]
    fn a_connection_that_may_only_read_refuses_to_write() {
        let dir = tempfile::tempdir().expect("a folder");
        let path = dir.path().join("book.gpkg");
        let mut store = Store::create(&path).expect("a book");
        store.write(&stuffed(2)).expect("room");
        store.conn = Connection::open_with_flags(&path, OpenFlags::SQLITE_OPEN_READ_ONLY).expect("readable");
        assert!(store.is_read_only());
        assert!(matches!(store.write(&stuffed(1)), Err(StoreError::ReadOnly(_))));
        assert_eq!(store.load().expect("a book").book.count(RecordKind::Setup), 2);
    }
}
