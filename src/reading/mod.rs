//! Patterns: what the beach gives, and where that is more than luck.

mod dbscan;

pub use dbscan::{Dbscan, dbscan};

use crate::Cancelled;

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
}
