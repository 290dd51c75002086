use std::collections::BTreeMap;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::{BookError, Uid};

/// What a person answered about files of one make, known again by their row of headings.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Remembered {
    /// Its lasting name, made of the headings.
    pub uid: Uid,
    /// The headings, as the last such file had them.
    pub headings: String,
    /// The answer by what was asked, both in the words of the command line.
    pub answers: BTreeMap<String, String>,
    /// The meaning that was chosen for a column, by its heading.
    pub columns: BTreeMap<String, String>,
    /// The clock of times that state none; empty where nobody said.
    pub zone: String,
    /// When it was last said.
    pub time: Option<Timestamp>,
}

impl Remembered {
    /// Nothing yet about files with these headings.
    pub fn new<'h>(headings: impl IntoIterator<Item = &'h str>) -> Self {
        let headings: Vec<&str> = headings.into_iter().map(str::trim).collect();
        let (answers, columns, zone) = (BTreeMap::new(), BTreeMap::new(), String::new());
        Self { uid: Self::uid_of(&headings), headings: headings.join(" | "), answers, columns, zone, time: None }
    }

    /// The uid of what is remembered of files with these headings: their words and order count, capitals do not.
    fn uid_of(headings: &[&str]) -> Uid {
        let words: Vec<String> = headings.iter().map(|h| h.to_lowercase()).collect();
        Uid::of_content("files with these headings", words.iter().map(|w| w.as_bytes()))
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.headings.trim().is_empty() {
            return Err(BookError::field("what is remembered of files", "names no headings; forget it"));
        }
        Ok(())
    }
}
