//! The files of one import, and what their dry run found.

use std::path::PathBuf;

use crate::app::work::Slot;
use crate::book::{Edit, Uid};
use crate::exchange::{Intakes, What};

/// Which beach the files belong to.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Home {
    /// One of the book's.
    Known(Uid),
    /// A new one, placed where the files are.
    New(String),
}

/// What was found in the files, and the edit that would take it in.
pub(crate) struct Looked {
    pub(crate) intakes: Intakes,
    pub(crate) edit: Edit,
    /// The beach that would be made, said in a sentence.
    pub(crate) made: Option<String>,
}

/// What is asked of the importers: files, beach, what they hold, the clock and unit where they state none, and how
/// much the book holds.
pub(crate) type Question = (Vec<PathBuf>, Home, Option<What>, (Option<String>, bool), usize);

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
    pub(crate) looked: Slot<Question, Looked>,
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
            looked: Slot::default(),
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

    /// Whether the dry run is under way.
    pub(crate) fn is_busy(&self) -> bool {
        self.looked.is_busy()
    }
}
