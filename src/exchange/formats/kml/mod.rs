//! KML 2.2 and 2.3 (OGC 07-147r2, 12-007r2), alone or in a KMZ archive.

mod coordinates;
mod placemark;
mod read;
mod write;

pub(in crate::exchange) use read::{read, read_packed};
pub(in crate::exchange) use write::write;
