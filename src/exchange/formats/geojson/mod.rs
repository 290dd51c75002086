//! GeoJSON, RFC 7946.

mod layers;
mod read;
mod write;

pub use layers::{accesses, barriers, baselines, finds, levels, permissions, signals, tracks, zones};
pub(in crate::exchange) use read::read;
pub use write::{Feature, write};
