//! What stands over the window until it is answered.

use std::collections::BTreeSet;
use std::path::PathBuf;

use super::beach_form::BeachForm;
use super::command::{Again, PickFor};
use super::intake::IntakeForm;
use super::permission_form::PermissionForm;
use super::place_form::PlaceForm;
use crate::book::Edit;
use crate::store::{Backup, Change, Deleted};

/// What stands over the window until it is answered.
pub(crate) enum Dialog {
    Intake(Box<IntakeForm>),
    Beach(Box<BeachForm>),
    Permission(Box<PermissionForm>),
    Book(PathForm),
    Replace(Standing),
    /// Several records that are about to be taken out of the book.
    Delete(Box<Deletion>),
    Keeping(Box<KeepingView>),
    /// A beach to be made at a place.
    Place(PlaceForm),
    /// What stands twice, and tracks to be cleaned.
    Tidy,
    Cautions,
    Keys,
}

/// A form that is about to be left with something typed in it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Leaving {
    /// The one that stands over the window.
    Dialog,
    /// The one on the sheet.
    Draft,
    /// That of a set-up on the bench.
    SetUp,
}

impl Dialog {
    /// Whether something was typed in it that would be lost.
    pub(crate) fn is_changed(&self) -> bool {
        match self {
            Self::Beach(form) => form.is_changed(),
            Self::Permission(form) => form.is_changed(),
            Self::Place(form) => form.is_changed(),
            _ => false,
        }
    }
}

/// Records that are to be taken out of the book, if the person says so.
#[derive(Debug)]
pub(crate) struct Deletion {
    pub(crate) edit: Edit,
    pub(crate) label: String,
    pub(crate) count: usize,
}

/// What a book keeps of itself; nothing until it was read.
#[derive(Debug, Default)]
pub(crate) struct KeepingView {
    pub(crate) known: Option<Keeping>,
    /// The backup that is to be put back, until that is confirmed.
    pub(crate) chosen: Option<PathBuf>,
}

/// The history of a book, what was taken out of it, its backups; each the newest first.
#[derive(Debug)]
pub(crate) struct Keeping {
    pub(crate) changes: Vec<Change>,
    pub(crate) deleted: Vec<Deleted>,
    pub(crate) backups: Vec<Backup>,
}

/// Something stands where a file was to be written.
#[derive(Debug, Clone)]
pub(crate) struct Standing {
    /// What stands there, in a sentence.
    pub(crate) said: String,
    /// What would be done if it is to be replaced.
    pub(crate) again: Again,
}

/// A path typed by hand, beside the system's dialog.
#[derive(Debug, Clone)]
pub(crate) struct PathForm {
    pub(crate) purpose: PickFor,
    pub(crate) text: String,
    /// Whether the field takes the keyboard.
    pub(crate) focus: bool,
    /// Whether it was sent to the book's thread, whose answer is awaited.
    pub(crate) sent: bool,
    /// Why that could not be done.
    pub(crate) refusal: Option<String>,
}

impl PathForm {
    /// Nothing typed yet, or what is proposed.
    pub(crate) fn new(purpose: PickFor, text: String) -> Self {
        Self { purpose, text, focus: true, sent: false, refusal: None }
    }
}

/// The program's own chooser, where the system has none.
#[derive(Debug, Clone)]
pub(crate) struct Chooser {
    pub(crate) purpose: PickFor,
    pub(crate) folder: PathBuf,
    /// The files picked so far.
    pub(crate) picked: BTreeSet<PathBuf>,
    /// The name of a file that is to be made.
    pub(crate) name: String,
}

impl Chooser {
    /// Open on the person's own folder.
    pub(crate) fn new(purpose: PickFor) -> Self {
        let name = match purpose {
            PickFor::New | PickFor::SaveAs => "my-beaches.gpkg".to_owned(),
            _ => String::new(),
        };
        Self { purpose, folder: home().unwrap_or_else(|| PathBuf::from("/")), picked: BTreeSet::new(), name }
    }
}

/// The person's own folder.
pub(crate) fn home() -> Option<PathBuf> {
    directories::UserDirs::new().map(|dirs| dirs.home_dir().to_owned())
}

/// A path as it was typed or pasted: `~` is the person's own folder, and quotes round the whole are none of it.
pub(crate) fn path_typed(text: &str) -> PathBuf {
    let text = text.trim();
    let quoted = |q: char| text.len() > 1 && text.starts_with(q) && text.ends_with(q);
    let text = if quoted('"') || quoted('\'') { &text[1..text.len() - 1] } else { text };
    match (text.strip_prefix('~'), home()) {
        (Some(rest), Some(home)) if rest.is_empty() || rest.starts_with(['/', '\\']) => {
            home.join(rest.trim_start_matches(['/', '\\']))
        }
        _ => PathBuf::from(text),
    }
}

/// The same for a book, whose name ends in `.gpkg` also where nobody typed that.
pub(crate) fn book_path_typed(text: &str) -> PathBuf {
    let path = path_typed(text);
    if path.extension().is_some() || path.file_name().is_none() { path } else { path.with_extension("gpkg") }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_is_read_as_people_type_or_paste_it() {
        let home = home().unwrap();
        assert_eq!(path_typed(" ~/tracks "), home.join("tracks"));
        assert_eq!(path_typed("~"), home.join(""));
        assert_eq!(path_typed("'/a b/c.gpx'"), PathBuf::from("/a b/c.gpx"));
        assert_eq!(path_typed("~other/x"), PathBuf::from("~other/x"));
        assert_eq!(path_typed("\""), PathBuf::from("\""));
        assert_eq!(book_path_typed("/b/mine"), PathBuf::from("/b/mine.gpkg"));
        assert_eq!(book_path_typed("/b/mine.GPKG"), PathBuf::from("/b/mine.GPKG"));
    }
}
