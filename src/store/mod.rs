//! The beach book on disk: one OGC GeoPackage that any program for maps can open.
//!
//! A [`Store`] is the file; an [`OpenBook`] is the book in memory together with its file and with
//! what can be undone. Places are feature tables (finds, signals, accesses, beaches as points,
//! levels as points with a height, tracks as lines with height and time, zones and permissions as
//! multi-polygons, baselines and plans as lines, barriers as either), the rest attribute tables;
//! units are in the names of columns. Tables and columns that other programs add are left alone.
//!
//! The standard is OGC 12-128r18, *GeoPackage Encoding Standard* 1.3.1, and its 1.4.0.

mod backup;
mod blob;
mod cell;
mod changes;
mod error;
mod file;
mod geom;
mod layer;
mod layers;
mod load;
mod open_book;
mod place;
mod restore;
mod rows;
mod schema;
mod spatial;
mod write;

pub use backup::{Backup, Occasion, backups_of, list as backups};
pub use changes::Change;
pub use error::StoreError;
pub use file::{Loaded, Store};
pub use load::Complaint;
pub use open_book::{Deleted, OpenBook, TakenBack};
pub use place::Replace;
pub use restore::{Restored, restore};
