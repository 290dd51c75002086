use std::fmt;
use std::process::ExitCode;

use crate::query::{NotYet, Refusal};

/// Why a command did not do its job, as the exit code tells it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FailureKind {
    /// The command was not used as it can be: exit code 2.
    Use,
    /// What was given cannot be read or does not fit; nothing was changed: exit code 3.
    Input,
    /// Something could not be written; nothing was lost: exit code 4.
    Output,
}

impl From<FailureKind> for ExitCode {
    fn from(kind: FailureKind) -> Self {
        ExitCode::from(match kind {
            FailureKind::Use => 2,
            FailureKind::Input => 3,
            FailureKind::Output => 4,
        })
    }
}

/// One sentence for the person, and the exit code that goes with it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Failure {
    /// What went wrong, by its kind.
    pub kind: FailureKind,
    /// The sentence.
    pub says: String,
}

impl Failure {
    /// Bad use.
    pub fn usage(says: impl fmt::Display) -> Self {
        Self { kind: FailureKind::Use, says: says.to_string() }
    }

    /// Bad input.
    pub fn input(says: impl fmt::Display) -> Self {
        Self { kind: FailureKind::Input, says: says.to_string() }
    }

    /// Could not write.
    pub fn output(says: impl fmt::Display) -> Self {
        Self { kind: FailureKind::Output, says: says.to_string() }
    }
}

impl From<Refusal> for Failure {
    fn from(refusal: Refusal) -> Self {
        if refusal.is_bad_use { Self::usage(refusal) } else { Self::input(refusal) }
    }
}

impl From<NotYet> for Failure {
    fn from(why: NotYet) -> Self {
        match why {
            NotYet::Failed(refusal) => refusal.into(),
            NotYet::Waiting | NotYet::CalledOff => Self::input(why),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.says)
    }
}
