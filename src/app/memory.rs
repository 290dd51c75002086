//! What outlives the window: the last book, in the person's own configuration folder.

use std::path::{Path, PathBuf};

/// Where the window remembers things between starts; nowhere, when it is told to forget.
#[derive(Debug, Clone, Default)]
pub(crate) struct Memory {
    folder: Option<PathBuf>,
}

/// The file that names the last book.
const LAST_BOOK: &str = "last-book.txt";

impl Memory {
    /// In the usual place for this person and system, if it has one.
    pub(crate) fn usual() -> Self {
        Self { folder: directories::ProjectDirs::from("", "", "scourline").map(|d| d.config_dir().to_owned()) }
    }

    /// A file for a new book that is not there yet, in the person's folder of documents.
    pub(crate) fn new_book(&self) -> String {
        let dirs = self.folder.as_ref().and_then(|_| directories::UserDirs::new());
        let Some(folder) = dirs.map(|d| d.document_dir().unwrap_or(d.home_dir()).to_owned()) else { return String::new() };
        let named = |n: usize| folder.join(if n == 1 { "my-beaches.gpkg".to_owned() } else { format!("my-beaches-{n}.gpkg") });
        (1..1000).map(named).find(|p| !p.exists()).map_or_else(String::new, |p| p.display().to_string())
    }

    /// Where reports of a mistake in the program go: beside what is remembered, else among temporary files.
    pub(crate) fn reports(&self) -> PathBuf {
        self.folder.as_ref().map_or_else(|| std::env::temp_dir().join("scourline-reports"), |f| f.join("reports"))
    }

    /// The last book, if it is remembered and still there.
    pub(crate) fn last_book(&self) -> Option<PathBuf> {
        let text = std::fs::read_to_string(self.folder.as_ref()?.join(LAST_BOOK)).ok()?;
        let path = PathBuf::from(text.trim_end_matches(['\n', '\r']));
        path.is_file().then_some(path)
    }

    /// Remembers a book. A folder that cannot be written to costs only the convenience.
    pub(crate) fn remember_book(&self, path: &Path) {
        let Some(folder) = &self.folder else { return };
        let whole = path.canonicalize().unwrap_or_else(|_| path.to_owned());
        if let Some(text) = whole.to_str() {
            let _ = std::fs::create_dir_all(folder).and_then(|()| crate::output::keep(&folder.join(LAST_BOOK), text.as_bytes()));
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_last_book_is_remembered_until_it_is_gone() {
        let dir = tempfile::tempdir().unwrap();
        let memory = Memory { folder: Some(dir.path().join("config")) };
        assert_eq!(memory.last_book(), None);
        let book = dir.path().join("my beach.gpkg");
        std::fs::write(&book, "x").unwrap();
        memory.remember_book(&book);
        assert_eq!(memory.last_book().unwrap().file_name(), book.file_name());
        std::fs::remove_file(&book).unwrap();
        assert_eq!(memory.last_book(), None);
        Memory::default().remember_book(&book);
    }
}
