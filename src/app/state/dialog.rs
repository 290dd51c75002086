//! What stands over the window until it is answered.

use super::beach_form::BeachForm;
use super::command::PickFor;
use super::intake::IntakeForm;

/// What stands over the window until it is answered.
pub(crate) enum Dialog {
    Intake(Box<IntakeForm>),
    Beach(Box<BeachForm>),
    Book(PathForm),
    Cautions,
    Keys,
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
