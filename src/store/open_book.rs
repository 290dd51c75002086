use std::path::{Path, PathBuf};

use super::{Complaint, Store, StoreError};
use crate::book::{Book, Edit, RecordKind};

/// How many edits can be taken back.
const MEMORY: usize = 1000;

/// An edit that can be made, and what it is called.
#[derive(Debug, Clone)]
struct Step {
    label: String,
    edit: Edit,
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
        let inverse = self.change(edit)?;
        self.redo.clear();
        self.undo.push(Step { label: label.into(), edit: inverse });
        if self.undo.len() > MEMORY {
            self.undo.remove(0);
        }
        Ok(())
    }

    /// Takes back the last edit and returns its name.
    ///
    /// # Errors
    /// When there is none, or as [`OpenBook::apply`].
    pub fn undo(&mut self) -> Result<String, StoreError> {
        let step = self.undo.last().cloned().ok_or(StoreError::Nothing("undo"))?;
        let inverse = self.change(&step.edit)?;
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
        let inverse = self.change(&step.edit)?;
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

    /// Saves the book under another name, replacing what stood there, and goes on in that file.
    ///
    /// What other programs put into the old file comes along. The new file is complete before it
    /// takes its place.
    ///
    /// # Errors
    /// When the place cannot be written to; whatever stood there still does, and the book goes on
    /// in its old file.
    pub fn save_as(&mut self, path: impl AsRef<Path>) -> Result<(), StoreError> {
        let path = path.as_ref();
        let real = |p: &Path| p.canonicalize().ok();
        if self.path().is_some_and(|own| own == path || real(own).is_some_and(|own| Some(own) == real(path))) {
            return Ok(());
        }
        if path.is_dir() {
            return Err(StoreError::Directory(path.to_owned()));
        }
        if ["-journal", "-wal"].iter().any(|tail| beside(path, tail).exists()) {
            return Err(StoreError::Locked(path.to_owned()));
        }
        let fail = |e| StoreError::io(path, e);
        let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
        let mut draft = tempfile::Builder::new();
        draft.prefix(".book").suffix(".gpkg");
        // A book is an ordinary document: whoever may read the folder's other files may read it.
        #[cfg(unix)]
        draft.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let draft = draft.tempfile_in(folder).map_err(fail)?;
        match &self.store {
            Some(store) => store.copy_to(draft.path())?,
            None => {
                let mut store = Store::lay_out(draft.path())?;
                store.write_all(&self.book)?;
                store.close()?;
            }
        }
        draft.as_file().sync_all().map_err(fail)?;
        draft.persist(path).map_err(|e| fail(e.error))?;
        self.store = Some(Store::open(path)?);
        Ok(())
    }

    fn change(&mut self, edit: &Edit) -> Result<Edit, StoreError> {
        let mut draft = self.book.clone();
        let inverse = draft.apply(edit)?;
        if let Some(store) = &mut self.store {
            store.write(edit)?;
        }
        self.book = draft;
        Ok(inverse)
    }
}

fn beside(path: &Path, tail: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(tail);
    name.into()
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
            format!("{verb} {} {kind}{}", singles.len(), if kind == RecordKind::Beach { "es" } else { "s" })
        }
        // What lets go of a record comes before its removal.
        [.., Edit::Remove(kind, _)] => format!("remove {kind}"),
        several => format!("change {} records", several.len()),
    }
}
