//! Taking in: what is new, already there or refused, which outing a record belongs to, and what is told about it.

mod changes;
pub(super) mod identity;
pub(super) mod intake;
mod like;
mod outings;
pub(super) mod spots;
mod swapped;
pub(super) mod taking;
mod unsettled;

pub use intake::{ColumnRead, Format, Intake, Intakes, Refusal, Understood};
pub use spots::Extent;
pub use unsettled::{About, Unsettled};
