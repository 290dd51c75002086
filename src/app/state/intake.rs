//! The files of one import, and what their dry run found.

use std::collections::BTreeMap;
use std::path::PathBuf;

use crate::book::{Book, Uid};
use crate::exchange::{About, What};
use crate::query::{Home, IntakeQuestion, WholeBook};

/// The files of one import and what is known of them.
pub(crate) struct IntakeForm {
    pub(crate) paths: Vec<PathBuf>,
    pub(crate) typed: String,
    pub(crate) home: Home,
    pub(crate) name: String,
    pub(crate) what: Option<What>,
    /// The clock of times without an offset, as it is typed, and as it was left.
    pub(crate) clock: String,
    pub(crate) zone: Option<String>,
    /// Whether heights of the tide without a unit are feet.
    pub(crate) feet: bool,
    /// What was answered where a file leaves something open.
    pub(crate) answers: BTreeMap<About, &'static str>,
}

impl IntakeForm {
    /// The import of some files, into a beach of the book if there is one.
    pub(crate) fn new(paths: Vec<PathBuf>, beach: Option<Uid>) -> Self {
        let name = "My beach".to_owned();
        let home = beach.map_or_else(|| Home::New(name.clone()), Home::Known);
        Self {
            paths,
            typed: String::new(),
            home,
            name,
            what: None,
            clock: String::new(),
            zone: None,
            feet: false,
            answers: BTreeMap::new(),
        }
    }

    /// Adds files.
    pub(crate) fn add(&mut self, paths: Vec<PathBuf>) {
        for path in paths {
            if !self.paths.contains(&path) {
                self.paths.push(path);
            }
        }
    }

    /// What is asked of the importers.
    pub(crate) fn question(&self, book: &Book) -> IntakeQuestion {
        IntakeQuestion {
            book: WholeBook(book.clone()),
            paths: self.paths.clone(),
            home: self.home.clone(),
            what: self.what,
            zone: self.zone.clone(),
            feet: self.feet,
            answers: self.answers.clone(),
        }
    }
}
