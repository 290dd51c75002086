//! What stands in a folder, for the program's own chooser: read off the drawing thread.

use std::path::PathBuf;

use crate::query::{Question, Refusal, Work};

/// The things in a folder.
#[derive(Clone, PartialEq)]
pub(crate) struct FolderQuestion {
    pub(crate) folder: PathBuf,
}

/// One thing in a folder.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct InFolder {
    pub(crate) name: String,
    pub(crate) path: PathBuf,
    pub(crate) is_folder: bool,
}

/// More than these are not listed.
const MOST: usize = 5_000;

impl Question for FolderQuestion {
    type Answer = Vec<InFolder>;
    const NAME: &'static str = "the folder";
    const ONLY_WHILE_ASKED: bool = true;

    /// Folders first, each sort in the order of names; what is hidden is left out.
    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let entries = std::fs::read_dir(&self.folder)
            .map_err(|e| Refusal::missing(format!("{} cannot be looked into: {e}", self.folder.display())))?;
        let named = entries.flatten().take(MOST).map(|e| InFolder {
            name: e.file_name().to_string_lossy().into_owned(),
            is_folder: e.path().is_dir(),
            path: e.path(),
        });
        let mut all: Vec<InFolder> = named.filter(|e| !e.name.starts_with('.')).collect();
        all.sort_by_key(|e| (!e.is_folder, e.name.to_lowercase(), e.name.clone()));
        Ok(all)
    }
}
