//! The ground covered and what is read from it.

use jiff::Timestamp;

use super::{Given, Question, Refusal, Work};
use crate::book::FindTables;
use crate::effort::{self, Effort};
use crate::reading::{self, Covered, CoveredIndex, Filter, Ground, OutingTables, Params, Reading, ReadingError, ReadingTables};
use crate::route::Paces;
use crate::shore::Setting;

impl From<ReadingError> for Refusal {
    fn from(error: ReadingError) -> Self {
        match error {
            ReadingError::Parameter { .. } | ReadingError::Effort(_) => Self::bad_use(error),
            other => Self::missing(other),
        }
    }
}

/// The ground covered, and the effort behind it.
pub struct GroundCovered {
    /// The ground, as a reading takes it; `None` where no track shows any.
    pub covered: Option<Covered>,
    /// What counted as searched.
    pub params: effort::Params,
    /// What the tracks did, its shares handed on to the ground.
    pub effort: Option<Effort>,
    /// The ground's index, which stands whatever finds are read on it.
    pub(super) index: Option<CoveredIndex>,
}

/// The ground that the outings of a filter covered.
#[derive(Clone, PartialEq)]
pub struct CoveredQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) tables: OutingTables,
    /// Which outings; without the part that only chooses among finds.
    pub(super) outings: Filter,
    pub(super) effort: effort::Params,
}

impl Question for CoveredQuestion {
    type Answer = GroundCovered;
    const NAME: &'static str = "the ground covered";

    fn work_out(&self, work: &Work<GroundCovered>) -> Result<GroundCovered, Refusal> {
        let tables = self.outings.cut_tracks(&self.tables, &self.setting.beach)?;
        let made = Covered::from_tracks(&tables, &self.setting, &self.effort, work.progress())?;
        let (covered, effort) = made.unzip();
        let index = covered.as_ref().map(|covered| CoveredIndex::built(&self.setting, covered));
        Ok(GroundCovered { covered, params: self.effort, effort, index })
    }
}

/// The person's own paces, learnt from the outings behind the ground covered.
#[derive(Clone, PartialEq)]
pub struct PacesQuestion {
    pub(super) covered: Given<GroundCovered>,
    pub(super) finds: FindTables,
}

impl Question for PacesQuestion {
    type Answer = Option<Paces>;
    const NAME: &'static str = "your own paces";

    fn work_out(&self, _work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        Ok(self.covered.effort.as_ref().map(|effort| Paces::learned_from(&self.finds, effort)))
    }
}

/// How much of a book a reading took: so many of so many.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Taken {
    /// Finds taken, of all of the beach.
    pub finds: (usize, usize),
    /// Outings taken, of all of the beach.
    pub outings: (usize, usize),
    /// Finds and tracks of which the filter cannot tell whether to take them.
    pub undated: usize,
}

/// A reading, with what it was made of.
pub struct ReadBeach {
    /// What was read.
    pub reading: Reading,
    /// Which finds and outings it was asked for.
    pub filter: Filter,
    /// What counted as searched.
    pub effort: effort::Params,
    /// How much of the book that took.
    pub taken: Taken,
    /// The tables with only what the filter takes.
    pub tables: ReadingTables,
    /// Whether patterns were sought: counts and rates come first.
    pub is_whole: bool,
}

/// What a beach gives, as far as a filter takes it.
#[derive(Clone, PartialEq)]
pub struct ReadingQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) covered: Given<GroundCovered>,
    pub(super) tables: ReadingTables,
    pub(super) filter: Filter,
    pub(super) params: Params,
    /// To tell finds dated in the future.
    pub(super) now: Timestamp,
}

impl Question for ReadingQuestion {
    type Answer = ReadBeach;
    const NAME: &'static str = "the reading";

    fn work_out(&self, work: &Work<ReadBeach>) -> Result<ReadBeach, Refusal> {
        let cut = self.filter.cut(&self.tables, &self.setting.beach)?;
        let taken =
            Taken { finds: (cut.finds, cut.finds_in_all), outings: (cut.outings, cut.outings_in_all), undated: cut.undated };
        let made = |reading: Reading, is_whole: bool| ReadBeach {
            reading,
            filter: self.filter.clone(),
            effort: self.covered.params,
            taken,
            tables: cut.book.clone(),
            is_whole,
        };
        let (covered, now) = (self.covered.covered.as_ref(), Some(self.now));
        let ground = Ground { book: &cut.book, setting: &self.setting, covered, now };
        let index = self.covered.index.as_ref();
        let first = |rates| work.show(made(rates, false));
        let reading = reading::read_indexed(&ground, index, &self.params, work.progress(), first)?;
        Ok(made(reading, true))
    }
}
