//! Scourline reads a beach for people who search it with a metal detector.
//!
//! A person's files enter the [`book`], which is kept on disk as one OGC GeoPackage. Positions,
//! metres and bearings come from [`earth`]. Nothing in the library's domain knows of a screen.

pub mod book;
pub mod demo;
pub mod earth;
pub mod exchange;
mod progress;
pub mod reading;
pub mod shore;
pub mod sun;
pub mod tide;
pub mod store;

pub use progress::{Cancelled, Progress};
