//! Files of the world, in and out.

mod again;
mod bad;
pub(crate) mod common;
mod export;
mod folder;
mod gpx;
mod grids;
mod kml;
mod known_targets;
mod large;
mod layers;
mod misread;
mod mutants;
mod nmea;
mod outside;
mod photos;
mod round;
mod sheets;
mod strangers;
mod table;
mod watch;
