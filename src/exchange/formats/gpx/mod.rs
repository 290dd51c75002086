//! GPS Exchange Format 1.0 and 1.1 (<https://www.topografix.com/GPX/1/1/>).

mod fix;
mod read;
mod write;

pub(in crate::exchange) use read::read;
pub use write::{Content, Route, Waypoint, finds, plans, signals, tracks, write};

/// The namespace in which files written here keep a record's uid.
pub(super) const OWN_NAMESPACE: &str = "urn:scourline:gpx:1";

/// The sort of a track that was planned and not walked.
const PLANNED: &str = "plan";
