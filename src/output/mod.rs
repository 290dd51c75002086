//! How files are written: beside the place and then moved there, and never over what was not made here.
//!
//! Every file the program writes for people goes through [`write()`] or [`write_all`]; a book takes its place by
//! the same [`draft_in`] and [`put_new`]. A full disk, or a program that is ended, leaves what stood there whole.
//!
//! The program knows its own files by a mark inside the format, which carries a seal over all the rest: a file
//! that was edited since is no longer the program's own. A format puts [`MARK`] where it has room for one (the
//! creator's comment of a GPX, a foreign member of GeoJSON, the generator of a page); the seal is filled in when
//! the file is written.

mod left;
mod seal;

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};
use std::time::{Duration, SystemTime};

use tempfile::NamedTempFile;

pub use seal::{MARK, as_written, is_marked, is_own};

/// What may be replaced where something stands already.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Over {
    /// Only a file that was made here and is as it was made.
    #[default]
    Own,
    /// Any file but a database, as the person said so.
    Anything,
}

/// Why a file was not written. Whatever stood there still does.
#[derive(Debug, thiserror::Error)]
pub enum OutputError {
    /// Files of somebody else, or changed since they were made here.
    #[error(
        "{} already there and not as this program made {}, so nothing was written",
        listed(.0),
        if .0.len() == 1 { "it" } else { "them" }
    )]
    Foreign(Vec<PathBuf>),
    /// A database, which may be somebody's book.
    #[error("{} is a database, perhaps a book; it is never replaced by anything but a book", .0.display())]
    Database(PathBuf),
    /// Two files for one place.
    #[error("{} is named for two files, so that one would be lost; give each a name of its own", .0.display())]
    Twice(PathBuf),
    /// A folder where a file is to be written.
    #[error("{} is a folder; name a file in it", .0.display())]
    Folder(PathBuf),
    /// The system refused.
    #[error("{} could not be written: {why}", path.display())]
    Io {
        /// The file or folder.
        path: PathBuf,
        /// What the system said.
        why: io::Error,
    },
}

fn listed(paths: &[PathBuf]) -> String {
    let names: Vec<String> = paths.iter().map(|p| p.display().to_string()).collect();
    format!("{} {}", names.join(", "), if names.len() == 1 { "is" } else { "are" })
}

fn failed(path: &Path) -> impl Fn(io::Error) -> OutputError + '_ {
    move |why| OutputError::Io { path: path.to_owned(), why }
}

/// What a database begins with.
const SQLITE: &[u8] = b"SQLite format 3\0";

/// What stands at a place.
enum Standing {
    Nothing,
    /// A file that may be replaced.
    Ours,
    /// A file that may not, unless the person says so.
    Foreign,
    /// A pipe, a terminal and the like: bytes are passed to it, nothing is replaced.
    Stream,
}

fn standing(path: &Path) -> Result<Standing, OutputError> {
    let about = match fs::metadata(path) {
        Err(e) if e.kind() == io::ErrorKind::NotFound => return Ok(Standing::Nothing),
        other => other.map_err(failed(path))?,
    };
    if about.is_dir() {
        return Err(OutputError::Folder(path.to_owned()));
    }
    if !about.is_file() {
        return Ok(Standing::Stream);
    }
    let bytes = match fs::read(path) {
        Ok(bytes) => bytes,
        // What may not be read may not be judged.
        Err(_) => return Ok(Standing::Foreign),
    };
    if bytes.starts_with(SQLITE) {
        return Err(OutputError::Database(path.to_owned()));
    }
    Ok(if bytes.is_empty() || is_own(&bytes) { Standing::Ours } else { Standing::Foreign })
}

/// Whether all of these could be written as far as what stands there goes.
///
/// # Errors
/// As [`write_all`].
pub fn check<'p>(paths: impl IntoIterator<Item = &'p Path>, over: Over) -> Result<(), OutputError> {
    let mut foreign = Vec::new();
    let paths: Vec<&Path> = paths.into_iter().collect();
    if let Some(twice) = (1..paths.len()).find(|n| paths[..*n].contains(&paths[*n])) {
        return Err(OutputError::Twice(paths[twice].to_owned()));
    }
    for path in paths {
        if matches!((standing(path)?, over), (Standing::Foreign, Over::Own)) {
            foreign.push(path.to_owned());
        }
    }
    if foreign.is_empty() { Ok(()) } else { Err(OutputError::Foreign(foreign)) }
}

/// Writes one file.
///
/// # Errors
/// As [`write_all`].
pub fn write(path: &Path, bytes: &[u8], over: Over) -> Result<(), OutputError> {
    write_all(&[(path.to_owned(), bytes)], over)
}

/// Writes several files: all are complete beside their places before the first is moved there.
///
/// # Errors
/// [`OutputError`]; where it is known beforehand, nothing was written at all.
pub fn write_all(files: &[(PathBuf, impl AsRef<[u8]>)], over: Over) -> Result<(), OutputError> {
    check(files.iter().map(|(path, _)| path.as_path()), over)?;
    let mut ready = Vec::with_capacity(files.len());
    for (path, bytes) in files {
        ready.push((path, prepare(path, &seal::sealed(bytes.as_ref()))?));
    }
    for (path, prepared) in ready {
        if let Some((draft, to)) = prepared {
            place(path, draft, &to, over)?;
        }
    }
    Ok(())
}

/// The files of a folder whose names begin and end so; none where it cannot be looked into.
pub fn named_like(folder: &Path, begin: &str, end: &str) -> Vec<PathBuf> {
    let entries = fs::read_dir(folder).into_iter().flatten().flatten();
    let fits = |name: &str| name.starts_with(begin) && name.ends_with(end);
    let mut all: Vec<PathBuf> = entries.filter(|e| e.file_name().to_str().is_some_and(fits)).map(|e| e.path()).collect();
    all.sort();
    all
}

/// No more files than this are looked at in a folder.
const MOST_FILES: usize = 10_000;

/// Every file in a folder and in those within it, by name; links to folders are not followed.
pub fn files_under(folder: &Path) -> Vec<PathBuf> {
    let (mut all, mut open) = (Vec::new(), vec![folder.to_owned()]);
    while let Some(next) = open.pop() {
        for entry in fs::read_dir(&next).into_iter().flatten().flatten() {
            match entry.file_type() {
                Ok(kind) if kind.is_dir() => open.push(entry.path()),
                _ => all.push(entry.path()),
            }
            if all.len() + open.len() >= MOST_FILES {
                open.clear();
                break;
            }
        }
    }
    all.sort();
    all
}

/// Whether a file is one that the program made, whoever changed it since, or a book.
pub fn was_made_here(path: &Path) -> bool {
    path.is_file() && fs::read(path).is_ok_and(|bytes| bytes.starts_with(SQLITE) || is_marked(&bytes))
}

/// As [`write_all`]; files of an earlier writing that these stand in place of, and that are not among them, go with it, if
/// they were made here. Somebody's own of such a name stand in the way unless anything may be replaced, and then stay. Says
/// which went.
///
/// # Errors
/// As [`write_all`].
pub fn write_instead(files: &[(PathBuf, impl AsRef<[u8]>)], of: &[PathBuf], over: Over) -> Result<Vec<PathBuf>, OutputError> {
    let gone: Vec<PathBuf> = of.iter().filter(|path| path.is_file()).cloned().collect();
    check(files.iter().map(|(path, _)| path.as_path()).chain(gone.iter().map(PathBuf::as_path)), over)?;
    write_all(files, over)?;
    let mut went = Vec::new();
    for path in gone {
        if matches!(standing(&path)?, Standing::Ours) {
            fs::remove_file(&path).map_err(failed(&path))?;
            went.push(path);
        }
    }
    Ok(went)
}

/// What became of files that were written earlier and that nothing is written in place of.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Withdrawn {
    /// Those that were made here and are gone.
    pub gone: Vec<PathBuf>,
    /// Those that still stand: of somebody else, changed since they were made here, or not to be removed.
    pub stay: Vec<PathBuf>,
}

/// Takes away what was made here earlier and is as it was made, as it holds no more. All else stays.
pub fn withdraw<'p>(paths: impl IntoIterator<Item = &'p Path>) -> Withdrawn {
    let mut withdrawn = Withdrawn::default();
    for path in paths {
        let told = match fs::metadata(path) {
            Ok(about) => about.is_file() && about.len() > 0,
            Err(_) => false,
        };
        if told && fs::read(path).is_ok_and(|bytes| is_own(&bytes)) && take_away(path).is_ok() {
            withdrawn.gone.push(path.to_owned());
        } else if told {
            withdrawn.stay.push(path.to_owned());
        }
    }
    withdrawn
}

/// A link stays one, for what is written there next: what it leads to is emptied.
fn take_away(path: &Path) -> io::Result<()> {
    if path.symlink_metadata()?.is_symlink() { fs::File::create(path).map(drop) } else { fs::remove_file(path) }
}

/// Writes a file of the program's own keeping, such as what it remembers between starts, whatever stood there.
///
/// # Errors
/// When the system refuses.
pub fn keep(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let mut draft = draft_in(folder_of(path))?;
    draft.write_all(bytes)?;
    draft.persist(path).map(drop).map_err(|e| e.error)
}

/// A complete draft and the file it is to become; `None` when the bytes went into a stream.
fn prepare(path: &Path, bytes: &[u8]) -> Result<Option<(NamedTempFile, PathBuf)>, OutputError> {
    let fail = failed(path);
    let there = standing(path)?;
    if matches!(there, Standing::Stream) {
        fs::OpenOptions::new().write(true).open(path).and_then(|mut f| f.write_all(bytes)).map_err(fail)?;
        return Ok(None);
    }
    // A link stays one: what it leads to is replaced.
    let to = if matches!(there, Standing::Nothing) { path.to_owned() } else { path.canonicalize().map_err(&fail)? };
    let mut draft = draft_in(folder_of(&to)).map_err(&fail)?;
    draft.write_all(bytes).and_then(|()| draft.as_file().sync_all()).map_err(&fail)?;
    if let Ok(about) = fs::metadata(&to) {
        draft.as_file().set_permissions(about.permissions()).map_err(&fail)?;
    }
    Ok(Some((draft, to)))
}

fn place(path: &Path, draft: NamedTempFile, to: &Path, over: Over) -> Result<(), OutputError> {
    match standing(to)? {
        Standing::Nothing => match put_new(draft, to) {
            Err(e) if e.kind() == io::ErrorKind::AlreadyExists => Err(OutputError::Foreign(vec![path.to_owned()])),
            other => other.map_err(failed(path)),
        },
        Standing::Foreign if over == Over::Own => Err(OutputError::Foreign(vec![path.to_owned()])),
        _ => draft.persist(to).map(drop).map_err(|e| failed(path)(e.error)),
    }
}

/// The folder that a file stands or will stand in.
pub fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// What the names of drafts begin and end with: nothing that opens such a file as a book or a report.
const DRAFT: (&str, &str) = (".scourline-", ".part");
/// A draft that nobody has written to for this long was left by a program that was ended.
const STALE: Duration = Duration::from_secs(3600);

/// A new, empty file to be completed in this folder and then moved to its place; it goes when it is dropped.
/// Drafts that an ended program left there are cleared away.
///
/// # Errors
/// When the folder cannot be written to.
pub fn draft_in(folder: &Path) -> io::Result<NamedTempFile> {
    clear_left(folder);
    let begin = match left::machine() {
        Some(machine) => format!("{}{machine}-{}-", DRAFT.0, std::process::id()),
        None => DRAFT.0.to_owned(),
    };
    let mut draft = tempfile::Builder::new();
    draft.prefix(&begin).suffix(DRAFT.1);
    // An ordinary document: whoever may read the folder's other files may read it.
    #[cfg(unix)]
    draft.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    draft.tempfile_in(folder)
}

/// Moves a draft to a place where nothing stands; another program cannot come in between.
///
/// # Errors
/// `AlreadyExists` when something stands there after all, else what the system said.
pub fn put_new(draft: NamedTempFile, to: &Path) -> io::Result<()> {
    draft.persist_noclobber(to).map(drop).map_err(|e| e.error)
}

/// Clears away the drafts in a folder that a program left which was ended: at once where their names tell of a process that
/// is gone, else when they are old.
pub fn clear_left(folder: &Path) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        // SQLite keeps a journal beside a draft of a book.
        let draft = name.to_str().filter(|n| {
            n.starts_with(DRAFT.0) && (n.ends_with(DRAFT.1) || n.strip_suffix("-journal").is_some_and(|n| n.ends_with(DRAFT.1)))
        });
        let age = || SystemTime::now().duration_since(entry.metadata().ok()?.modified().ok()?).ok();
        if draft.is_some_and(|n| left::is_left(n, &entry.path()) || age().is_some_and(|age| age > STALE)) {
            // One that cannot be removed is in nobody's way.
            let _ = fs::remove_file(entry.path());
        }
    }
}

#[cfg(test)]
mod tests;
