//! A book becomes again what a backup holds. What stood in its place is kept among the backups, whatever state it is in.

use std::fs;
use std::path::{Path, PathBuf};

use jiff::Timestamp;

use super::backup::{self, Occasion};
use super::{Store, StoreError, place};

/// What was done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Restored {
    /// Where the book is that stood there before; `None` where none did.
    pub before: Option<PathBuf>,
}

/// Puts a backup in the place of the book it was made of.
///
/// # Errors
/// When the backup is no book of this program's, or something cannot be written; the book is then as it was, or stands
/// among its backups as the error says.
pub fn restore(book: &Path, backup: &Path) -> Result<Restored, StoreError> {
    let from = Store::peek(backup)?;
    if place::is_free(book)? {
        place::new_book(book, |draft| from.copy_pages_to(draft))?;
        return Ok(Restored { before: None });
    }
    // What cannot be opened, or not be copied as it is not sound, is moved aside as it is.
    match Store::open_as_it_is(book) {
        Ok(there) if there.is_read_only() => Err(StoreError::ReadOnly(book.to_owned())),
        Ok(mut there) => match there.back_up(Occasion::Restore) {
            Ok(before) => {
                there.become_copy_of(&from)?;
                there.close()?;
                Ok(Restored { before: Some(before.path) })
            }
            Err(_) => {
                there.close()?;
                move_aside(book, &from)
            }
        },
        Err(StoreError::NotGeoPackage(_) | StoreError::NotABook(_) | StoreError::Damaged { .. }) => move_aside(book, &from),
        Err(other) => Err(other),
    }
}

fn move_aside(book: &Path, from: &Store) -> Result<Restored, StoreError> {
    let folder = backup::backups_of(book);
    fs::create_dir_all(&folder).map_err(|e| StoreError::io(&folder, e))?;
    let aside = backup::free_name(book, &folder, Timestamp::now(), Occasion::Restore).with_extension("damaged");
    // A journal goes with its book: played back into another it would destroy that.
    for tail in ["", "-journal", "-wal", "-shm"] {
        let (part, to) = (place::beside(book, tail), place::beside(&aside, tail));
        match fs::rename(&part, &to) {
            Err(e) if e.kind() == std::io::ErrorKind::NotFound && !tail.is_empty() => {}
            other => other.map_err(|e| StoreError::io(&part, e))?,
        }
    }
    place::new_book(book, |draft| from.copy_pages_to(draft))?;
    Ok(Restored { before: Some(aside) })
}
