//! Patterns: what the beach gives, and where that is more than luck.
//!
//! [`read`] makes a [`Reading`] from a snapshot of the book and a beach's setting: first [`count`] tells counts and
//! rates, then [`seek`] the patterns. It changes nothing, and the same input gives the same reading. What is given to it lies in `given`, narrowed by a
//! [`Filter`]; `clusters`, `rates` and `scan` each read one thing from that, `verdicts` say what the ground is.

mod clusters;
mod counted;
mod error;
mod exposure;
mod filter;
mod given;
mod outcome;
mod params;
mod rates;
mod scan;
mod verdicts;
mod whole;

pub use crate::chance::{COVERAGE, Fisher, Mean, RateRatio, Shrinkage, binomial_interval};
pub use crate::effort::Visit;
pub use clusters::{Cluster, ClusterRun, Dbscan, Hdbscan, dbscan, hdbscan};
pub use counted::{Counted, count};
pub use error::ReadingError;
pub use exposure::{Apart, KnownGround, Renewal};
pub use filter::{Cut, Filter, Season};
pub use given::{
    Counts, Covered, CoveredCell, Ground, KindCount, LevelRange, OutingTables, Pinned, ReadingTables, Searched, WeightChoice,
};
pub use outcome::Reading;
pub use params::{ClusterBy, Params};
pub use rates::{
    BandReading, BandUndug, BeforeAfter, CellRate, CellRates, CellReading, Cells, Days, Differ, ExpectedFinds, Forecast,
    Forecasts, FreshAgain, KindReading, Rate, RatioToForecast, StormReading, Storms, TideReading, TideState, UndugReading, Yield,
    ZoneReading,
};
pub use scan::{HotSpot, Needed, ScanRun, ToTell};
pub use verdicts::{AcrossRange, DropZone, Habit, LineState, Near, Pattern, ScourLine, Since, Verdict, odds, ranked};
pub use whole::{read, seek};
