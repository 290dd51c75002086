//! What a reading is made from: the beach with its ground covered, and its finds laid on it.

mod counts;
mod covered;
mod ground;
mod pinned;
mod placed;
mod tables;
mod visits;

pub use counts::{Counts, KindCount, LevelRange, WeightChoice};
pub use covered::{Covered, CoveredCell, Searched};
pub use ground::Ground;
pub use pinned::Pinned;
pub use tables::{OutingTables, ReadingTables};

pub(super) use counts::{kinds_of, level_range, main_band, outings_of};
pub(super) use placed::{Placed, PlacedFinds};
pub(super) use visits::{CoveredIndex, OneVisit, Visits};
