//! What stands over the window until it is answered.

use std::path::PathBuf;

use super::beach_form::BeachForm;
use super::command::{Again, PickFor};
use super::intake::IntakeForm;
use super::permission_form::PermissionForm;
use crate::store::{Backup, Change, Deleted};

/// What stands over the window until it is answered.
pub(crate) enum Dialog {
    Intake(Box<IntakeForm>),
    Beach(Box<BeachForm>),
    Permission(Box<PermissionForm>),
    Book(PathForm),
    Replace(Standing),
    Keeping(Box<KeepingView>),
    Cautions,
    Keys,
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
}

impl PathForm {
    /// Nothing typed yet.
    pub(crate) fn new(purpose: PickFor) -> Self {
        Self { purpose, text: String::new() }
    }
}
