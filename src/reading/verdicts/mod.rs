//! What the ground is: scour lines and how they moved, drop zones and their habits, and all of it ranked.

mod drop_zone;
mod habit;
mod leveled;
mod levels;
mod moved;
mod scour;
mod since;
mod verdict;
mod whereabouts;

pub use drop_zone::{DropZone, Near};
pub use habit::Habit;
pub use moved::LineState;
pub use scour::{AcrossRange, ScourLine};
pub use since::Since;
pub use verdict::{Pattern, Verdict, odds, ranked};

pub(super) use drop_zone::{drop_zones, is_compact_and_mixed};
pub(super) use scour::scour_lines;
pub(super) use whereabouts::Whereabouts;
