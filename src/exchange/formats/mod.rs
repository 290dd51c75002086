//! The formats, one folder each: what a file of the format holds, and how it is written.

pub mod geojson;
pub mod gpx;
pub(super) mod table;
