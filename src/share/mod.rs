//! What is handed over: pictures, reports and open files, made from what was read, and the card and files of a route.

mod cut;
mod emergency;
mod open;
mod overview;
mod picture;
mod report;
mod route_card;
mod route_files;
mod route_map;

pub use cut::{Cut, CutError, USUAL_GRID_M, cut_to};
pub use emergency::{EMERGENCY_SOURCE, Emergency, emergency};
pub use open::{OpenError, open_files};
pub use overview::{mark_of, plan_picture, report};
pub use picture::{MarkShape, PlanPicture};
pub use report::{Report, Table};
