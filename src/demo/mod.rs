//! Tarrow Sands: an invented beach with invented finds, made by a seeded generator that knows what it planted.
//!
//! The beach lies on no real coast but in open water, and the tide of a real place is borrowed for it.
//! [`Planting::make`] makes any number of such beaches, with and without patterns, as records and as files;
//! [`Truth`] says what was planted, so that a reading can be held against it. The files of
//! [`Planting::shipped`] lie in `data/demo`, are embedded in the program ([`files()`]) and enter it through
//! the same importers as anyone's.
//!
//! ```
//! let made = scourline::demo::Planting::patterned(7).make()?;
//! assert_eq!(made.truth.drop_zones.len(), 4);
//! assert_eq!(made.truth.cause_of.len(), made.finds.len());
//! # Ok::<(), scourline::demo::DemoError>(())
//! ```

mod buried;
mod calendar;
mod files;
mod ground;
mod made;
mod planting;
mod receiver;
mod scene;
mod things;
mod walk;
mod weather;

use std::path::{Path, PathBuf};

use include_dir::{Dir, include_dir};

use crate::book::{Beach, Book, BookError, Edit, Permission};
use crate::earth::EarthError;
use crate::output;

pub use made::Made;
pub use planting::{Bias, Cause, DropZone, Planting, Renewal, ScourLine, StormTruth, Truth};

/// The station of the shipped catalogue whose tide is borrowed: St Marys, Isles of Scilly.
pub const STATION: &str = "ticon/st_marys-stm-gbr-da_idh";

static SHIPPED: Dir<'static> = include_dir!("$CARGO_MANIFEST_DIR/data/demo");

/// What can go wrong with the demo beach.
#[derive(Debug, thiserror::Error)]
pub enum DemoError {
    /// A position that is none.
    #[error("the demo beach could not be made: {0}")]
    Earth(#[from] EarthError),
    /// A record that is not valid.
    #[error("the demo beach could not be made: {0}")]
    Book(#[from] BookError),
    /// A file that could not be written.
    #[error("the demo file {} could not be written: {why}; check that the folder exists and may be written to", path.display())]
    Write {
        /// The file.
        path: PathBuf,
        /// What the system said.
        why: std::io::Error,
    },
}

/// One file of the demo beach, from the program itself.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DemoFile {
    /// Its name, with `/` before the last part where it lies in a folder.
    pub name: &'static str,
    /// What stands in it.
    pub bytes: &'static [u8],
    /// What to import it as, in the words of `--as`; `None` when the file speaks for itself.
    pub import_as: Option<&'static str>,
}

/// The shipped files in the order in which they are to be imported: the shore first, then what lies on it.
pub fn files() -> Vec<DemoFile> {
    let mut tracks: Vec<_> = SHIPPED.get_dir("tracks").into_iter().flat_map(Dir::files).collect();
    tracks.sort_by_key(|f| f.path());
    let named = |names: &'static [(&'static str, Option<&'static str>)]| {
        names.iter().filter_map(|(name, import_as)| SHIPPED.get_file(name).map(|f| (f, *import_as)))
    };
    named(files::BEFORE_TRACKS)
        .chain(tracks.into_iter().map(|f| (f, None)))
        .chain(named(files::AFTER_TRACKS))
        .filter_map(|(f, import_as)| Some(DemoFile { name: f.path().to_str()?, bytes: f.contents(), import_as }))
        .collect()
}

/// The demo beach before anything is imported: its place, time zone, tide and datum offset. The baseline comes by import.
///
/// # Errors
/// [`DemoError::Earth`], which would be an error of the program.
pub fn beach() -> Result<Beach, DemoError> {
    Ok(Beach { baseline: Vec::new(), ..made::beach(&ground::Ground::new()?)? })
}

/// Gives the permissions of the invented beach keys that anyone may know, so that the same files make the same book.
pub fn keyed(book: &Book) -> Edit {
    let keyed = |p: &Permission| Edit::put(Permission { key: scene::key(&p.name), ..p.clone() });
    Edit::Batch(book.permissions().values().map(keyed).collect())
}

/// Makes the shipped beach anew and writes its files below `dir`. Returns their names.
///
/// # Errors
/// [`DemoError::Write`] with the file that could not be written.
pub fn write_files(dir: &Path) -> Result<Vec<String>, DemoError> {
    let files = Planting::shipped().make()?.files();
    let mut names = Vec::with_capacity(files.len());
    for (name, bytes) in files {
        let path = dir.join(&name);
        let written = path.parent().map_or(Ok(()), std::fs::create_dir_all).and_then(|()| output::keep(&path, &bytes));
        written.map_err(|why| DemoError::Write { path, why })?;
        names.push(name);
    }
    Ok(names)
}
