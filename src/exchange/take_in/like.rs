//! What was answered for the last file with the same headings, and what is answered for this one.

use jiff::Timestamp;

use super::unsettled::About;
use crate::book::{Book, Remembered};

/// What is remembered of files like this one. A file without headings is like no other.
#[derive(Debug, Default)]
pub(super) struct Like {
    /// As it is to be kept.
    now: Option<Remembered>,
    /// Whether something was said that the book does not hold yet.
    said: bool,
}

impl Like {
    /// What the book remembers of files with these headings.
    pub(super) fn of_headings<'h>(book: &Book, headings: impl IntoIterator<Item = &'h str>) -> Self {
        let new = Remembered::new(headings);
        let now = book.remembered().get(&new.uid).cloned().unwrap_or(new);
        Self { now: (!now.headings.trim().is_empty()).then_some(now), said: false }
    }

    /// The answer that was given to a question about such a file.
    pub(super) fn answer(&self, about: About) -> Option<&'static str> {
        let word = self.now.as_ref()?.answers.get(about.word())?;
        about.answers().iter().map(|(word, _)| *word).find(|known| known == word).filter(|_| about.is_of_the_headings())
    }

    /// Notes an answer, where it holds for files like this one.
    pub(super) fn answered(&mut self, about: About, answer: &str) {
        let Some(now) = self.now.as_mut().filter(|_| about.is_of_the_headings()) else { return };
        let before = now.answers.insert(about.word().to_owned(), answer.to_owned());
        self.said |= before.as_deref() != Some(answer);
    }

    /// The clock that was stated for such a file.
    pub(super) fn zone(&self) -> Option<&str> {
        self.now.as_ref().map(|n| n.zone.as_str()).filter(|zone| !zone.is_empty())
    }

    /// Notes the clock that was stated.
    pub(super) fn clock(&mut self, zone: &str) {
        let Some(now) = &mut self.now else { return };
        if now.zone != zone.trim() {
            now.zone = zone.trim().to_owned();
            self.said = true;
        }
    }

    /// The meanings that were chosen for columns of such a file, by their headings in lower case.
    pub(super) fn columns(&self) -> Vec<(String, String)> {
        self.now.iter().flat_map(|n| &n.columns).map(|(heading, word)| (heading.clone(), word.clone())).collect()
    }

    /// Notes the meaning that was chosen for a column.
    pub(super) fn column(&mut self, heading: &str, word: &str) {
        let Some(now) = &mut self.now else { return };
        let before = now.columns.insert(heading.trim().to_lowercase(), word.trim().to_owned());
        self.said |= before.as_deref() != Some(word.trim());
    }

    /// What is to be kept, if anything new was said.
    pub(super) fn into_new(self, book: &Book) -> Option<Remembered> {
        let now = self.now.filter(|_| self.said)?;
        (book.remembered().get(&now.uid) != Some(&now)).then(|| Remembered { time: Some(Timestamp::now()), ..now })
    }
}
