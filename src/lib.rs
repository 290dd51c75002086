//! Scourline reads a beach for people who search it with a metal detector.
//!
//! A person's files go through [`exchange`] into the [`book`], which [`store`] keeps on disk as one
//! OGC GeoPackage. [`tide`], [`sun`] and [`shore`] say where the water stands on the sand and when,
//! [`reading`] says what the finds have in common, [`share`] hands it over. Nothing in these rooms
//! knows of a screen; all stand on [`earth`].

#![cfg_attr(test, allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic"))]

#[cfg(feature = "window")]
pub mod app;
pub mod bench;
pub mod book;
#[cfg(test)]
mod cases;
pub mod chance;
pub mod cli;
pub mod demo;
pub mod earth;
pub mod effort;
pub mod exchange;
mod progress;
#[cfg_attr(not(feature = "window"), allow(dead_code, unused_imports, reason = "what is drawn is asked for by the window alone"))]
pub mod query;
pub mod reading;
pub mod route;
pub mod share;
pub mod shore;
pub mod store;
pub mod sun;
pub mod tide;
pub mod trial;

pub use progress::{Cancelled, Progress};
