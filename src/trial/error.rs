use crate::Cancelled;
use crate::book::BookError;
use crate::earth::EarthError;
use crate::reading::ReadingError;

/// Why a trial, or one beach of it, came to no end.
#[derive(Debug, thiserror::Error)]
pub enum TrialError {
    /// A position that is none.
    #[error("a beach of the trial could not be made: {0}")]
    Earth(#[from] EarthError),
    /// A record that is not valid.
    #[error("a beach of the trial could not be made: {0}")]
    Book(#[from] BookError),
    /// A beach could not be read.
    #[error(transparent)]
    Reading(#[from] ReadingError),
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
