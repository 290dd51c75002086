//! Layers of others in GeoPackage (OGC 12-128r18): points, lines and areas with what stands beside them.

mod geometry;
mod read;

pub(in crate::exchange) use read::{has_layers, read};
