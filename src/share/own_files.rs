//! Files that are handed out: made beside their place and moved into it, and never over somebody else's.

use std::fs;
use std::io::{self, Write as _};
use std::path::{Path, PathBuf};

/// What the files of this program say of themselves, each format in its own way.
const MARKS: [&str; 3] = [
    // HTML: the standard's own name for it.
    "<meta name=\"generator\" content=\"scourline\">",
    // GPX 1.1: the attribute that the standard asks for.
    "creator=\"Scourline\"",
    // GeoJSON: a property of its first feature.
    "\"made_by\":\"scourline\"",
];
/// The property by which GeoJSON says who made it.
pub(super) const MADE_BY: (&str, &str) = ("made_by", "scourline");
/// The element by which a page says who made it.
pub(super) const GENERATOR: &str = "scourline";
/// No file of ours is larger; one that is larger is somebody else's, bytes.
const LARGEST: u64 = 64 << 20;

/// A file that was not written; nothing was lost.
#[derive(Debug, thiserror::Error)]
pub enum PutError {
    /// The place holds something that this program did not make.
    #[error("{} was not made by this program and is not replaced; choose another name, or say --force", .0.display())]
    Foreign(PathBuf),
    /// It could not be written.
    #[error("{} could not be written: {why}", path.display())]
    Write {
        /// The place.
        path: PathBuf,
        /// What the system says.
        why: io::Error,
    },
}

/// Puts files in their places: all are looked at first, then each is written beside its place and moved into it, so
/// that a place holds the old file or the new one and never half of either. With `force` whatever stands there is
/// replaced, short of a folder.
///
/// # Errors
/// [`PutError::Foreign`] before anything is written; [`PutError::Write`] with the first that could not be.
pub fn put_files(files: &[(PathBuf, Vec<u8>)], force: bool) -> Result<(), PutError> {
    if let Some((path, _)) = files.iter().find(|(path, _)| !force && !is_free(path)) {
        return Err(PutError::Foreign(path.clone()));
    }
    files.iter().try_for_each(|(path, bytes)| put(path, bytes).map_err(|why| PutError::Write { path: path.clone(), why }))
}

/// Whether nothing stands at a place, or a file that this program made.
fn is_free(path: &Path) -> bool {
    let Ok(about) = path.symlink_metadata() else { return true };
    if about.is_dir() || fs::metadata(path).is_ok_and(|m| m.len() > LARGEST) {
        return false;
    }
    fs::read(path).is_ok_and(|bytes| MARKS.iter().any(|mark| bytes.windows(mark.len()).any(|w| w == mark.as_bytes())))
}

fn put(path: &Path, bytes: &[u8]) -> io::Result<()> {
    let name = path.file_name().ok_or_else(|| io::Error::from(io::ErrorKind::InvalidInput))?;
    let mut beside = name.to_owned();
    beside.push(format!(".{}.part", std::process::id()));
    let beside = path.with_file_name(beside);
    let written = fs::File::create(&beside).and_then(|mut file| {
        file.write_all(bytes)?;
        file.sync_all()
    });
    let moved = written.and_then(|()| fs::rename(&beside, path));
    if moved.is_err() {
        // What is left of it is of no use to anyone.
        let _ = fs::remove_file(&beside);
    }
    moved
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
        names.sort();
        names
    }

    #[test]
    fn own_files_are_replaced_and_others_only_when_it_is_said() {
        let folder = tempfile::tempdir().unwrap();
        let place = |name: &str| folder.path().join(name);
        let card = |text: &str| format!("<head>{}</head>{text}", MARKS[0]).into_bytes();
        put_files(&[(place("card.html"), card("one"))], false).unwrap();
        put_files(&[(place("card.html"), card("two"))], false).unwrap();
        assert_eq!(fs::read(place("card.html")).unwrap(), card("two"));
        fs::write(place("card.html"), "my own notes").unwrap();
        // Nothing of the batch is written when one of its places is somebody else's.
        let batch = [(place("route.gpx"), b"creator=\"Scourline\"".to_vec()), (place("card.html"), card("three"))];
        let refused = put_files(&batch, false).unwrap_err();
        assert!(matches!(&refused, PutError::Foreign(path) if *path == place("card.html")), "{refused}");
        assert!(refused.to_string().contains("--force"));
        assert_eq!(
            (names(folder.path()), fs::read(place("card.html")).unwrap()),
            (vec!["card.html".into()], b"my own notes".to_vec())
        );
        put_files(&batch, true).unwrap();
        assert_eq!(fs::read(place("card.html")).unwrap(), card("three"));
        assert_eq!(names(folder.path()), ["card.html", "route.gpx"]);
    }

    #[test]
    fn a_file_that_cannot_be_written_leaves_the_old_one_and_no_rest() {
        let folder = tempfile::tempdir().unwrap();
        let place = folder.path().join("card.html");
        fs::create_dir(&place).unwrap();
        assert!(matches!(put_files(&[(place.clone(), vec![1])], false), Err(PutError::Foreign(_))));
        assert!(matches!(put_files(&[(place, vec![1])], true), Err(PutError::Write { .. })));
        assert_eq!(names(folder.path()), ["card.html"]);
        let nowhere = folder.path().join("no such folder").join("card.html");
        assert!(matches!(put_files(&[(nowhere, vec![1])], false), Err(PutError::Write { .. })));
    }
}
