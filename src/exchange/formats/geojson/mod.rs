//! GeoJSON, RFC 7946.

mod layers;
mod parts;
mod read;
mod write;

/// What the name of a property begins with that holds what a file said under a heading which means something else here.
const MORE: &str = "more: ";

pub use layers::{accesses, barriers, baselines, finds, levels, permissions, signals, tracks, zones};
pub(in crate::exchange) use read::read;
pub use write::{Feature, write};
