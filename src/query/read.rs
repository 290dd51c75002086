//! The ground covered and what is read from it.

use std::sync::Arc;

use jiff::Timestamp;

use super::{Given, Question, Refusal, Work};
use crate::book::{FindTables, Uid};
use crate::effort::{self, Effort};
use crate::reading::{
    self, Counted, Covered, Filter, Ground, KnownGround, OutingTables, Params, Reading, ReadingError, ReadingTables,
};
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
        Ok(GroundCovered { covered, params: self.effort, effort })
    }
}

/// What stands on the ground covered, whatever finds are read on it.
#[derive(Clone, PartialEq)]
pub struct KnownGroundQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) covered: Given<GroundCovered>,
    pub(super) outings: OutingTables,
    pub(super) scan_cell_m: f64,
}

impl Question for KnownGroundQuestion {
    type Answer = Option<KnownGround>;
    const NAME: &'static str = "the visits to each part of the ground";

    fn work_out(&self, work: &Work<Self::Answer>) -> Result<Self::Answer, Refusal> {
        let covered = self.covered.covered.as_ref();
        let known = covered.map(|covered| KnownGround::new(&self.setting, &self.outings, covered, self.scan_cell_m));
        work.check()?;
        Ok(known)
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
    /// Finds of other people, which are never read.
    pub of_others: usize,
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
    /// The finds in each band, in order of uid.
    pub(super) finds_by_band: Arc<Vec<Vec<Uid>>>,
    /// Whether patterns were sought: counts and rates come first.
    pub is_whole: bool,
}

/// Counts and rates, and what patterns are then sought in.
pub struct CountedBeach {
    /// What was read; without patterns.
    pub read: Given<ReadBeach>,
    counted: Counted,
}

/// Counts and rates of a beach, as far as a filter takes it.
#[derive(Clone, PartialEq)]
pub struct CountsQuestion {
    pub(super) setting: Given<Setting>,
    pub(super) covered: Given<GroundCovered>,
    pub(super) known: Given<Option<KnownGround>>,
    pub(super) tables: ReadingTables,
    pub(super) filter: Filter,
    pub(super) params: Params,
    /// To tell finds dated in the future.
    pub(super) now: Timestamp,
}

impl CountsQuestion {
    fn ground<'a>(&'a self, tables: &'a ReadingTables) -> Ground<'a> {
        Ground { book: tables, setting: &self.setting, covered: self.covered.covered.as_ref(), now: Some(self.now) }
    }
}

impl Question for CountsQuestion {
    type Answer = CountedBeach;
    const NAME: &'static str = "the counts and rates";

    fn work_out(&self, work: &Work<CountedBeach>) -> Result<CountedBeach, Refusal> {
        let cut = self.filter.cut(&self.tables, &self.setting.beach)?;
        let taken = Taken {
            finds: (cut.finds, cut.finds_in_all),
            outings: (cut.outings, cut.outings_in_all),
            undated: cut.undated,
            of_others: cut.of_others,
        };
        let counted = reading::count(&self.ground(&cut.book), self.known.as_ref(), &self.params, work.progress())?;
        let read = ReadBeach {
            reading: counted.reading.clone(),
            filter: self.filter.clone(),
            effort: self.covered.params,
            taken,
            tables: cut.book,
            finds_by_band: Arc::new(counted.finds_by_band(self.setting.bands.len())),
            is_whole: false,
        };
        Ok(CountedBeach { read: Given::new(read), counted })
    }
}

/// What a beach gives, as far as a filter takes it: counts and rates, and the patterns in them.
#[derive(Clone, PartialEq)]
pub struct ReadingQuestion {
    pub(super) of: CountsQuestion,
    pub(super) counted: Given<CountedBeach>,
}

impl Question for ReadingQuestion {
    type Answer = ReadBeach;
    const NAME: &'static str = "the reading";
    const IS_LONG: bool = true;

    fn work_out(&self, work: &Work<ReadBeach>) -> Result<ReadBeach, Refusal> {
        let (of, CountedBeach { read, counted }) = (&self.of, &*self.counted);
        let reading = reading::seek(&of.ground(&read.tables), of.known.as_ref(), counted, &of.params, work.progress())?;
        Ok(ReadBeach {
            reading,
            filter: read.filter.clone(),
            effort: read.effort,
            taken: read.taken,
            tables: read.tables.clone(),
            finds_by_band: Arc::clone(&read.finds_by_band),
            is_whole: true,
        })
    }
}
