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
