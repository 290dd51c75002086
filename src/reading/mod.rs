//! Patterns: what the beach gives, and where that is more than luck.
//!
//! [`read`] makes a [`Reading`] from a snapshot of the book and a beach's setting. It changes
//! nothing, and the same input gives the same reading.

mod band;
mod cell_rates;
mod cell_reading;
mod cluster;
mod cluster_ground;
mod compare;
mod covered;
mod dbscan;
mod draw;
mod drop_zone;
mod filter;
mod fresh;
mod gi;
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
mod strata;
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
pub use compare::{Fisher, RateRatio, Shrinkage, binomial_interval, false_discovery, fisher_exact, rate_ratio};
pub use dbscan::{Dbscan, dbscan};
pub use drop_zone::{DropZone, Near};
pub use filter::{Cut, Filter};
pub use fresh::FreshAgain;
pub use gi::getis_ord;
pub use ground::{Covered, CoveredCell, Ground, Searched, Visit};
pub use habit::Habit;
pub use hdbscan::{Hdbscan, hdbscan};
pub use hot_spot::{HotSpot, ScanRun};
pub use kind_reading::KindReading;
pub use moved::{LineState, Mean};
pub use params::Params;
pub use power::{Needed, ToTell};
pub use rate::{COVERAGE, Rate, gamma_quantile, poisson_interval};
pub use scour::ScourLine;
pub use season::Season;
pub use storm::{BeforeAfter, Days, StormReading, Storms};
pub use strata::{Pair, common_rate_ratio};
pub use tide_state::{TideReading, TideState};
pub use undug::{BandUndug, ExpectedFinds, UndugReading};
pub use verdict::{Told, Verdict, ranked};
pub use weighed::Renewal;
pub use whole::{Reading, read};

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

/// The value below which a standard normal variable falls with chance `p`.
pub(crate) fn normal_quantile(p: f64) -> f64 {
    -std::f64::consts::SQRT_2 * statrs::function::erf::erfc_inv(2.0 * p)
}
