//! Scourline reads a beach for people who search it with a metal detector.
//!
//! A person's files enter the [`book`], which is kept on disk as one OGC GeoPackage. Positions,
//! metres and bearings come from [`earth`]. Nothing in the library's domain knows of a screen.

pub mod book;
pub mod earth;
mod progress;
pub mod store;

pub use progress::{Cancelled, Progress};
