//! Where finds are more than the searching done and luck explain: the scan, the hot spots it shows, and what it takes
//! to tell one.

mod asked;
mod draw;
mod gi_star;
mod grid;
mod hot_spot;
mod needs;
mod plan;
mod power;
mod replicate;
mod run;
mod statistic;
#[cfg(test)]
mod tests;
mod trend;
mod window;

pub use hot_spot::HotSpot;
pub use power::{Needed, ToTell};
pub use run::ScanRun;

pub(super) use asked::Window;
pub(super) use grid::{ByCell, ExposureGrid};
pub(super) use hot_spot::{COMPACT_M, hot_spots};
pub(super) use power::{to_tell, told_from};
pub(super) use run::settings;
pub(super) use statistic::scan_since;
pub(super) use window::{Shape, strips};
