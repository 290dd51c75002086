use std::path::{Path, PathBuf};

use rusqlite::ErrorCode;

use crate::book::BookError;

/// What can go wrong with a book on disk. Whatever it is, the file is as it was before.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum StoreError {
    /// There is no such file.
    #[error("there is no file {}", .0.display())]
    Missing(PathBuf),
    /// A folder where a file is needed.
    #[error("{} is a folder, not a book", .0.display())]
    Directory(PathBuf),
    /// The file may not be read, or the folder may not be written to.
    #[error("no permission to use {}; check who owns the file and its folder", .0.display())]
    Permission(PathBuf),
    /// Something already stands where a new book was to be made.
    #[error("{} is already there; choose another name or open it", .0.display())]
    AlreadyThere(PathBuf),
    /// A file that is no book where a book was to be kept.
    #[error("{} is already there and is no book; choose another name", .0.display())]
    NotReplaced(PathBuf),
    /// Some other kind of file.
    #[error("{} is not a GeoPackage, so it is not a book", .0.display())]
    NotGeoPackage(PathBuf),
    /// A GeoPackage of another make.
    #[error("{} is a GeoPackage but not a beach book; export its layers and import those into a book", .0.display())]
    NotABook(PathBuf),
    /// Written by a later version of the program.
    #[error("{} is a book of format {found}, newer than this program, which knows up to {known}; use a newer program", path.display())]
    Newer {
        /// The file.
        path: PathBuf,
        /// Its format.
        found: i64,
        /// The latest format known here.
        known: i64,
    },
    /// Another program is writing to it.
    #[error("{} is being written to by another program; close it there and try again", .0.display())]
    Locked(PathBuf),
    /// Another program changed it since it was opened here.
    #[error("{} was changed by another program since it was opened; open it again, then repeat the last edit", .0.display())]
    ChangedOutside(PathBuf),
    /// It can be read but not written.
    #[error("{} cannot be written to; save the book elsewhere or make the file and its folder writable", .0.display())]
    ReadOnly(PathBuf),
    /// The disk is full.
    #[error("the disk of {} is full; the edit was not kept", .0.display())]
    Full(PathBuf),
    /// A copy had to be made first and could not be.
    #[error("no backup could be made in {} ({why}), so the book was left as it is", folder.display())]
    NoBackup {
        /// The folder of the backups.
        folder: PathBuf,
        /// What went wrong.
        why: String,
    },
    /// There is no such change in the history.
    #[error("there is no change {0} in the history of the book")]
    NoChange(i64),
    /// What takes a change back cannot be read.
    #[error("change {number} cannot be taken back any more: {why}")]
    CannotTakeBack {
        /// The change.
        number: i64,
        /// Why not.
        why: String,
    },
    /// Later changes touched the same records.
    #[error(
        "change {number} cannot be taken back by itself: change {later} (\"{what}\") later touched the same; take that back first"
    )]
    ChangedSince {
        /// The change to be taken back.
        number: i64,
        /// The first later one that touched the same.
        later: i64,
        /// What that was.
        what: String,
    },
    /// Later records belong to all that would go.
    #[error("nothing of change {number} can be taken back by itself: {why}; take that out first")]
    StillHeld {
        /// The change to be taken back.
        number: i64,
        /// What stays, and what belongs to it.
        why: String,
    },
    /// Its bytes are not what SQLite wrote.
    #[error("{} is damaged ({why}); restore it from a copy", path.display())]
    Damaged {
        /// The file.
        path: PathBuf,
        /// What was found.
        why: String,
    },
    /// The operating system refused.
    #[error("{} could not be used: {why}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
    /// The edit is not possible in this book.
    #[error(transparent)]
    Book(#[from] BookError),
    /// Nothing to take back, or nothing to do again.
    #[error("there is nothing to {0}")]
    Nothing(&'static str),
    /// Anything else that SQLite said.
    #[error("{} could not be used: {why}", path.display())]
    Sqlite {
        /// The file.
        path: PathBuf,
        /// What SQLite said.
        why: rusqlite::Error,
    },
}

impl StoreError {
    pub(super) fn io(path: &Path, why: std::io::Error) -> Self {
        let path = path.to_owned();
        match why.kind() {
            std::io::ErrorKind::NotFound => Self::Missing(path),
            std::io::ErrorKind::PermissionDenied => Self::Permission(path),
            std::io::ErrorKind::AlreadyExists => Self::AlreadyThere(path),
            std::io::ErrorKind::StorageFull => Self::Full(path),
            std::io::ErrorKind::ReadOnlyFilesystem => Self::ReadOnly(path),
            std::io::ErrorKind::IsADirectory => Self::Directory(path),
            _ => Self::Io { path, why },
        }
    }

    pub(super) fn sqlite(path: &Path, why: rusqlite::Error) -> Self {
        let path = path.to_owned();
        match why.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => Self::Locked(path),
            Some(ErrorCode::ReadOnly) => Self::ReadOnly(path),
            Some(ErrorCode::DiskFull) => Self::Full(path),
            Some(ErrorCode::PermissionDenied | ErrorCode::AuthorizationForStatementDenied) => Self::Permission(path),
            // While writing, the journal could not be made beside the book.
            Some(ErrorCode::CannotOpen) => Self::ReadOnly(path),
            Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => Self::Damaged { path, why: why.to_string() },
            _ => Self::Sqlite { path, why },
        }
    }
}
