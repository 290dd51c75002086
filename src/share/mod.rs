//! What is handed over: pictures, reports and open files, made from what was read.

mod picture;
mod report;

pub use picture::{MarkShape, PlanPicture};
pub use report::{Report, Table};
