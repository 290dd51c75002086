//! What a beach stands on: its sand and water laid out, and the ground its tracks covered.

use super::{Question, Refusal, Work};
use crate::book::{Beach, Part as _, ReadingSettings, SearchSettings};
use crate::shore::{PlaceTables, SandTables, Setting};

/// A beach laid out: its sand, its water and the lines that the one draws on the other.
#[derive(Debug, Clone, PartialEq)]
pub struct SettingQuestion {
    /// The beach, without what was set of how it is read and what was confirmed: that changes nothing here.
    beach: Beach,
    sand: SandTables,
    /// Where people went, where the baseline is guessed from it.
    places: Option<PlaceTables>,
}

impl SettingQuestion {
    /// The layout of a beach of the book.
    pub fn new(book: &crate::book::Book, beach: &Beach) -> Self {
        Self {
            places: Setting::is_guessed(beach).then(|| PlaceTables::of_book(book)),
            sand: SandTables::of_book(book),
            beach: Beach {
                search: SearchSettings::default(),
                reading: ReadingSettings::default(),
                confirmed: Vec::new(),
                ..beach.clone()
            },
        }
    }
}

impl Question for SettingQuestion {
    type Answer = Setting;
    const NAME: &'static str = "the layout of the beach";

    fn work_out(&self, work: &Work<Setting>) -> Result<Setting, Refusal> {
        let setting = Setting::laid_out(self.beach.clone(), &self.sand, self.places.as_ref());
        work.check()?;
        Ok(setting)
    }
}
