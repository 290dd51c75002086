//! Where a book comes to stand: a new one never over anything, and over a book only a book.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use super::StoreError;
use crate::output::{draft_in, folder_of, put_new};

/// What a book may take the place of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Replace {
    /// Nothing: the place must be free.
    Nothing,
    /// Another book, as the person said so.
    Book,
}

/// Whether nothing stands there.
pub(super) fn is_free(path: &Path) -> Result<bool, StoreError> {
    match path.symlink_metadata() {
        Ok(_) => Ok(false),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(true),
        Err(e) => Err(StoreError::io(path, e)),
    }
}

/// Makes a new book: complete beside its place, then moved there in one step that fails if something stands there by
/// then. A program that is ended meanwhile leaves a draft that nothing takes for a book.
pub(super) fn new_book(path: &Path, fill: impl FnOnce(&Path) -> Result<(), StoreError>) -> Result<(), StoreError> {
    if !is_free(path)? {
        return Err(if path.is_dir() {
            StoreError::Directory(path.to_owned())
        } else {
            StoreError::AlreadyThere(path.to_owned())
        });
    }
    let folder = folder_of(path);
    let draft = draft_in(folder).map_err(|e| match e.kind() {
        ErrorKind::NotFound => StoreError::Missing(folder.to_owned()),
        _ => StoreError::io(path, e),
    })?;
    fill(draft.path())?;
    draft.as_file().sync_all().map_err(|e| StoreError::io(path, e))?;
    clear_orphans(path)?;
    put_new(draft, path).map_err(|e| StoreError::io(path, e))
}

/// Takes away what SQLite kept beside a book that is gone: it would be played back into the new one. Whoever makes a
/// book in place makes the file first, so a journal without its book belongs to nobody.
fn clear_orphans(path: &Path) -> Result<(), StoreError> {
    for tail in ["-journal", "-wal", "-shm"] {
        let orphan = beside(path, tail);
        match fs::remove_file(&orphan) {
            Err(e) if e.kind() != ErrorKind::NotFound => return Err(StoreError::io(&orphan, e)),
            _ => {}
        }
    }
    Ok(())
}

pub(super) fn beside(path: &Path, tail: &str) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(tail);
    name.into()
}
