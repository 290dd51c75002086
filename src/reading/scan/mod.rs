//! Where finds are more than the ground covered and luck explain: the scan, what effort is worth to it, the hot
//! spots it shows, and what it takes to tell one.

mod draw;
mod field;
mod grid;
mod hot_spot;
mod power;
mod run;
mod statistic;
mod weighed;
mod window;

pub use hot_spot::HotSpot;
pub use power::{Needed, ToTell};
pub use run::ScanRun;
pub use weighed::Renewal;

pub(super) use field::{Weighed, by_cell, finds_in};
pub(super) use grid::EffortGrid;
pub(super) use hot_spot::hot_spots;
pub(super) use power::{to_tell, told_from};
pub(super) use run::settings;
pub(super) use statistic::{Window, scan};
pub(super) use weighed::Weighing;
pub(super) use window::{Shape, strips};
