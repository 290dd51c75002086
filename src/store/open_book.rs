mod take_back;

use std::collections::BTreeSet;
use std::path::Path;

use super::backup::{Backup, Occasion};
use super::changes::Change;
use super::file::changes_of_file;
use super::place::{self, Replace};
use super::{Complaint, Store, StoreError, load};
use crate::book::{Book, Edit, Record, RecordKind, Uid};

pub use take_back::TakenBack;

/// An edit that can be made, and what it is called.
#[derive(Debug, Clone)]
struct Step {
    label: String,
    edit: Edit,
}

/// A record that was taken out, and by which change.
#[derive(Debug, Clone, PartialEq)]
pub struct Deleted {
    /// The change that took it out.
    pub change: Change,
    /// The record as it last was.
    pub record: Record,
}

/// A book in memory together with its file, and what can be undone.
///
/// Every edit reaches memory and file together, or neither; so there is nothing to save. It can
/// be sent to a worker thread, which is where it belongs: it waits for the disk.
#[derive(Debug, Default)]
pub struct OpenBook {
    book: Book,
    store: Option<Store>,
    undo: Vec<Step>,
    redo: Vec<Step>,
    complaints: Vec<Complaint>,
}

impl OpenBook {
    /// An empty book that has no file yet.
    pub fn in_memory() -> Self {
        Self::default()
    }

    /// A book that has no file yet and nothing to be taken back.
    pub fn holding(book: Book) -> Self {
        Self { book, ..Self::default() }
    }

    /// A new, empty book in a new file.
    ///
    /// # Errors
    /// As [`Store::create`].
    pub fn create(path: impl AsRef<Path>) -> Result<Self, StoreError> {
        Ok(Self { store: Some(Store::create(path)?), ..Self::default() })
    }

    /// The book in a file.
    ///
    /// # Errors
    /// As [`Store::open`] and [`Store::load`].
    pub fn open(path: impl AsRef<Path>) -> Result<Self, StoreError> {
        let mut store = Store::open(path)?;
        let loaded = store.load()?;
        Ok(Self { book: loaded.book, complaints: loaded.complaints, store: Some(store), ..Self::default() })
    }

    /// The book as it is now.
    pub fn book(&self) -> &Book {
        &self.book
    }

    /// A copy of the book for background work; cheap, as its tables are shared until one changes.
    pub fn snapshot(&self) -> Book {
        self.book.clone()
    }

    /// Its file, if it has one.
    pub fn path(&self) -> Option<&Path> {
        self.store.as_ref().map(Store::path)
    }

    /// Whether another program changed its file since it was read; the book is then no longer what the file holds.
    pub fn is_changed_outside(&self) -> bool {
        self.store.as_ref().is_some_and(|store| store.is_changed_outside().unwrap_or(false))
    }

    /// Whether it comes from a file that cannot be written.
    pub fn is_read_only(&self) -> bool {
        self.store.as_ref().is_some_and(Store::is_read_only)
    }

    /// What in the file could not be taken as it stood when it was opened.
    pub fn complaints(&self) -> &[Complaint] {
        &self.complaints
    }

    /// Makes an edit, named after what it does.
    ///
    /// # Errors
    /// When the book refuses it or the file cannot be written; neither is changed then.
    pub fn apply(&mut self, edit: &Edit) -> Result<(), StoreError> {
        let label = label(&self.book, edit);
        self.apply_as(label, edit)
    }

    /// Makes an edit under a name of the caller's, such as "import shore.gpx".
    ///
    /// # Errors
    /// As [`OpenBook::apply`].
    pub fn apply_as(&mut self, label: impl Into<String>, edit: &Edit) -> Result<(), StoreError> {
        let label = label.into();
        let inverse = self.change(edit, &label)?;
        self.redo.clear();
        self.undo.push(Step { label, edit: inverse });
        Ok(())
    }

    /// Takes back the last edit and returns its name.
    ///
    /// # Errors
    /// When there is none, or as [`OpenBook::apply`].
    pub fn undo(&mut self) -> Result<String, StoreError> {
        let step = self.undo.last().cloned().ok_or(StoreError::Nothing("undo"))?;
        let inverse = self.change(&step.edit, &format!("undo: {}", step.label))?;
        self.undo.pop();
        self.redo.push(Step { label: step.label.clone(), edit: inverse });
        Ok(step.label)
    }

    /// Makes the edit again that was last taken back, and returns its name.
    ///
    /// # Errors
    /// When there is none, or as [`OpenBook::apply`].
    pub fn redo(&mut self) -> Result<String, StoreError> {
        let step = self.redo.last().cloned().ok_or(StoreError::Nothing("redo"))?;
        let inverse = self.change(&step.edit, &format!("do again: {}", step.label))?;
        self.redo.pop();
        self.undo.push(Step { label: step.label.clone(), edit: inverse });
        Ok(step.label)
    }

    /// The name of the edit that [`OpenBook::undo`] would take back.
    pub fn can_undo(&self) -> Option<&str> {
        self.undo.last().map(|s| s.label.as_str())
    }

    /// The name of the edit that [`OpenBook::redo`] would make again.
    pub fn can_redo(&self) -> Option<&str> {
        self.redo.last().map(|s| s.label.as_str())
    }

    /// The last changes as the file keeps them, newest first; none for a book without a file.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn history(&self, count: usize) -> Result<Vec<Change>, StoreError> {
        self.store.as_ref().map_or(Ok(Vec::new()), |store| store.history(count))
    }

    /// Records that were taken out and are not in the book, as they last were, the last taken out first.
    ///
    /// # Errors
    /// When the file cannot be read.
    pub fn deleted(&self) -> Result<Vec<Deleted>, StoreError> {
        let Some(store) = &self.store else { return Ok(Vec::new()) };
        let mut seen = BTreeSet::new();
        let mut deleted = Vec::new();
        for change in store.history(usize::MAX)? {
            // One change that cannot be read hides no other.
            let Ok(edit) = store.inverse_of(change.number) else { continue };
            for single in edit.singles() {
                if let Edit::Put(record) = single
                    && !self.book.holds(record.kind(), record.uid())
                    && seen.insert((record.kind(), record.uid()))
                {
                    deleted.push(Deleted { change: change.clone(), record: record.clone() });
                }
            }
        }
        Ok(deleted)
    }

    /// Puts a record back that was taken out; what it named and is gone since it can do without.
    ///
    /// # Errors
    /// [`StoreError::Nothing`] when nothing of this uid was taken out, or as [`OpenBook::apply`].
    pub fn bring_back(&mut self, uid: Uid) -> Result<Record, StoreError> {
        let found = self.deleted()?.into_iter().find(|d| d.record.uid() == uid);
        let mut record = found.ok_or(StoreError::Nothing("bring back under that uid"))?.record;
        let gone: Vec<RecordKind> =
            record.names().into_iter().filter(|(kind, uid)| !self.book.holds(*kind, *uid)).map(|(kind, _)| kind).collect();
        for kind in gone {
            load::let_go(&mut record, kind);
        }
        self.apply_as(format!("bring back {}", record.kind()), &Edit::put(record.clone()))?;
        Ok(record)
    }

    /// Makes a backup of the file now.
    ///
    /// # Errors
    /// [`StoreError::NoBackup`], or [`StoreError::Nothing`] for a book without a file.
    pub fn back_up(&self) -> Result<Backup, StoreError> {
        self.store.as_ref().ok_or(StoreError::Nothing("back up: the book has no file yet"))?.back_up(Occasion::Asked)
    }

    /// What is to be told once, of what could not be done beside the edits.
    pub fn take_remarks(&mut self) -> Vec<String> {
        self.store.as_mut().map(Store::take_remarks).unwrap_or_default()
    }

    /// Saves the book under another name and goes on in that file.
    ///
    /// What other programs put into the old file comes along: their tables, the rows that make no
    /// record here, and what they changed since it was read; in that last case the book is what the
    /// file holds, and what was done before can no longer be undone. The new file is complete before
    /// it takes its place.
    ///
    /// # Errors
    /// [`StoreError::AlreadyThere`] where a book stands that may not be replaced,
    /// [`StoreError::NotReplaced`] where anything else does, or when the place cannot be written to;
    /// whatever stood there still does, and the book goes on in its old file.
    pub fn save_as(&mut self, path: impl AsRef<Path>, replace: Replace) -> Result<(), StoreError> {
        let path = path.as_ref();
        let real = |p: &Path| p.canonicalize().ok();
        if self.path().is_some_and(|own| own == path || real(own).is_some_and(|own| Some(own) == real(path))) {
            return Ok(());
        }
        let mut made = None;
        if place::is_free(path)? {
            place::new_book(path, |draft| {
                self.copy_to(draft)?;
                made = changes_of_file(draft);
                Ok(())
            })?;
        } else {
            let mut there = replaceable(path, replace)?;
            match &self.store {
                Some(store) => there.become_copy_of(store)?,
                None => {
                    let mut made = Store::in_memory()?;
                    made.write_all(&self.book, self.noted())?;
                    there.become_copy_of(&made)?;
                }
            }
            there.close()?;
        }
        let mut store = Store::open(path)?;
        if self.store.is_none() && made.is_some() && made == changes_of_file(path) {
            // The file holds this very book and nobody has written to it since.
            self.store = Some(store);
            return Ok(());
        }
        let loaded = store.load()?;
        if loaded.book != self.book {
            // Another program had changed the old file: what it left there is the book.
            self.undo.clear();
            self.redo.clear();
        }
        (self.book, self.complaints, self.store) = (loaded.book, loaded.complaints, Some(store));
        Ok(())
    }

    /// Writes the whole book into an empty file.
    fn copy_to(&self, draft: &Path) -> Result<(), StoreError> {
        match &self.store {
            Some(store) => store.copy_to(draft),
            None => {
                let mut store = Store::lay_out(draft)?;
                store.write_all(&self.book, self.noted())?;
                store.close()
            }
        }
    }

    /// What was done so far, for the history of a book that gets its file only now.
    fn noted(&self) -> impl Iterator<Item = (&str, &Edit)> {
        self.undo.iter().map(|step| (step.label.as_str(), &step.edit))
    }

    fn change(&mut self, edit: &Edit, what: &str) -> Result<Edit, StoreError> {
        let mut draft = self.book.clone();
        let inverse = draft.apply(edit)?;
        if let Some(store) = &mut self.store {
            store.write_noted(edit, what, &inverse)?;
        }
        self.book = draft;
        Ok(inverse)
    }
}

/// Which record a single change is about.
fn key_of(single: &Edit) -> Option<(RecordKind, Uid)> {
    match single {
        Edit::Put(record) => Some((record.kind(), record.uid())),
        Edit::Remove(kind, uid) => Some((*kind, *uid)),
        Edit::Batch(_) => None,
    }
}

/// The book that stands there, opened to be replaced; a write that another program left half done is taken back first.
fn replaceable(path: &Path, replace: Replace) -> Result<Store, StoreError> {
    let there = Store::open(path).map_err(|why| match why {
        StoreError::NotGeoPackage(path) | StoreError::NotABook(path) => StoreError::NotReplaced(path),
        other => other,
    })?;
    match replace {
        Replace::Nothing => Err(StoreError::AlreadyThere(path.to_owned())),
        Replace::Book if there.is_read_only() => Err(StoreError::ReadOnly(path.to_owned())),
        Replace::Book => Ok(there),
    }
}

/// What an edit does, in a few words.
fn label(book: &Book, edit: &Edit) -> String {
    let singles = edit.singles();
    let verb = |single: &Edit| match single {
        Edit::Put(r) if book.holds(r.kind(), r.uid()) => ("change", r.kind()),
        Edit::Put(r) => ("add", r.kind()),
        Edit::Remove(kind, _) => ("remove", *kind),
        Edit::Batch(_) => ("change", RecordKind::Beach),
    };
    match singles.as_slice() {
        [] => "change nothing".to_owned(),
        [single] => {
            let (verb, kind) = verb(single);
            format!("{verb} {kind}")
        }
        [first, rest @ ..] if rest.iter().all(|s| verb(s) == verb(first)) => {
            let (verb, kind) = verb(first);
            format!("{verb} {}", kind.counted(singles.len()))
        }
        // What lets go of a record comes before its removal.
        [.., Edit::Remove(kind, _)] => format!("remove {kind}"),
        several => format!("change {} records", several.len()),
    }
}
