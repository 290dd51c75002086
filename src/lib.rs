//! Scourline reads a beach for people who search it with a metal detector.
//!
//! A person's files go through [`exchange`] into the [`book`], which [`store`] keeps on disk as one
//! OGC GeoPackage. [`tide`], [`sun`], [`sea`] and [`shore`] say where the water stands on the sand and when,
//! [`effort`] which ground the coil went over and [`mod@bench`] what a signal may be. [`reading`] says what
//! the finds have in common, [`route`] where to go at the next low water, and [`share`] hands it over.
//! Each of these answers is a question of [`query`], asked alike by the window (`app`) and the commands
//! ([`cli`]). [`demo`] makes invented beaches, on which a [`trial`] holds a reading against what was
//! planted. All stand on [`earth`], [`chance`] and [`Progress`]; none but `app` knows of a screen.
//!
//! Who may import whom stands in a table of `DEVELOPERS.md`, to which a test holds the code.

#![cfg_attr(test, allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic"))]

pub mod allowed;
#[cfg(feature = "window")]
pub mod app;
pub mod bench;
pub mod book;
#[cfg(test)]
mod cases;
pub mod chance;
pub mod cli;
pub mod demo;
pub mod duties;
pub mod earth;
pub mod effort;
pub mod exchange;
pub mod output;
mod progress;
#[cfg_attr(not(feature = "window"), allow(dead_code, unused_imports, reason = "what is drawn is asked for by the window alone"))]
pub mod query;
pub mod reading;
pub mod route;
pub mod sea;
pub mod share;
pub mod shore;
pub mod store;
pub mod sun;
pub mod tide;
pub mod tidy;
pub mod trial;
pub mod trust;
pub mod witness;

pub use progress::{Cancelled, Progress};
