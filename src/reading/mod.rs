//! Patterns: what the beach gives, and where that is more than luck.
//!
//! [`read`] makes a [`Reading`] from a snapshot of the book and a beach's setting. It changes
//! nothing, and the same input gives the same reading.

mod band;
mod cell_rates;
mod cell_reading;
mod cluster;
mod cluster_ground;
mod covered;
mod dbscan;
mod draw;
mod drop_zone;
mod filter;
mod fresh;
mod ground;
mod habit;
mod hdbscan;
mod hot_spot;
mod kd_tree;
mod kind_reading;
mod moved;
mod outings;
mod params;
mod power;
mod rate;
mod scan;
mod scour;
mod season;
mod spanning;
mod storm;
mod tide_state;
mod undug;
mod verdict;
mod visits;
mod weighed;
mod whole;
mod window;

pub use band::{BandReading, Yield, ZoneReading};
pub use cell_rates::{CellRate, CellRates};
pub use cell_reading::{CellReading, Cells};
pub use cluster::{Cluster, ClusterBy, ClusterRun, Counts, KindCount, LevelRange, Of};
pub use dbscan::{Dbscan, dbscan};
pub use drop_zone::{DropZone, Near};
pub use filter::{Cut, Filter};
pub use fresh::FreshAgain;
pub use ground::{Covered, CoveredCell, Ground, Searched, Visit};
pub use habit::Habit;
pub use hdbscan::{Hdbscan, hdbscan};
pub use hot_spot::{HotSpot, ScanRun};
pub use kind_reading::KindReading;
pub use moved::LineState;
pub use params::Params;
pub use power::{Needed, ToTell};
pub use rate::Rate;
pub use scour::ScourLine;
pub use season::Season;
pub use storm::{BeforeAfter, Days, StormReading, Storms};
pub use tide_state::{TideReading, TideState};
pub use undug::{BandUndug, ExpectedFinds, UndugReading};
pub use verdict::{Told, Verdict, ranked};
pub use weighed::Renewal;
pub use whole::{Reading, read};

pub use crate::chance::{COVERAGE, Fisher, Mean, RateRatio, Shrinkage, binomial_interval};

use crate::Cancelled;
use crate::earth::EarthError;

/// Why there is no reading.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ReadingError {
    /// A setting that cannot be.
    #[error("the setting \"{what}\" cannot be used: {why}")]
    Parameter {
        /// The setting.
        what: &'static str,
        /// What is wrong with it.
        why: String,
    },
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
    /// The ground covered cannot be had.
    #[error(transparent)]
    Effort(#[from] crate::effort::EffortError),
    /// The beach lies where no plane can be laid.
    #[error(transparent)]
    Earth(#[from] EarthError),
}
