//! What is handed over: pictures, reports and open files, made from what was read.

mod cut;
mod open;
mod overview;
mod picture;
mod report;

pub use cut::{Cut, CutError, USUAL_GRID_M, cut_to};
pub use open::{OpenError, open_files};
pub use overview::{mark_of, plan_picture, report};
pub use picture::{MarkShape, PlanPicture};
pub use report::{Report, Table};

/// What is said where everything is written for oneself.
pub const EXACT_CAUTION: &str = "Exact positions of finds invite others. Hand this over to no one whose business it is not.";
