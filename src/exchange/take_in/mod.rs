//! Taking in: what is new, already there or refused, which outing a record belongs to, and what is told about it.

mod identity;
pub(super) mod intake;
mod outings;
pub(super) mod spots;
pub(super) mod taking;

pub use intake::{Format, Intake, Intakes, Refusal, Understood};
pub use spots::Extent;
