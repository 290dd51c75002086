use crate::Cancelled;
use crate::demo::DemoError;
use crate::reading::ReadingError;

/// Why a trial came to no end.
#[derive(Debug, thiserror::Error)]
pub enum TrialError {
    /// A beach could not be made.
    #[error(transparent)]
    Demo(#[from] DemoError),
    /// A beach could not be read.
    #[error(transparent)]
    Reading(#[from] ReadingError),
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
