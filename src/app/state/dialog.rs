//! What stands over the window until it is answered.

use super::beach_form::BeachForm;
use super::command::{Again, PickFor};
use super::intake::IntakeForm;

/// What stands over the window until it is answered.
pub(crate) enum Dialog {
    Intake(Box<IntakeForm>),
    Beach(Box<BeachForm>),
    Book(PathForm),
    Replace(Standing),
    Cautions,
    Keys,
}

/// Something stands where a file was to be written.
#[derive(Debug, Clone)]
pub(crate) struct Standing {
    /// What stands there, in a sentence.
    pub(crate) said: String,
    /// What would be done if it is to be replaced.
    pub(crate) again: Again,
}

/// A path typed by hand, beside the system's dialog.
#[derive(Debug, Clone)]
pub(crate) struct PathForm {
    pub(crate) purpose: PickFor,
    pub(crate) text: String,
}

impl PathForm {
    /// Nothing typed yet.
    pub(crate) fn new(purpose: PickFor) -> Self {
        Self { purpose, text: String::new() }
    }
}
