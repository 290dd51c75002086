//! The commands, run as a stranger runs them.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

#[cfg(feature = "window")]
mod alike;
mod doubts;
mod end_to_end;
mod files;
mod keeping;
mod kills;
mod lost;
mod permissions;
mod tides;
