//! Putting a book right: what stands in it twice, and what of a track is not where the coil went.
//!
//! Everything here is a proposal: a pure function of the book that says what it would change and why, with the edit that
//! does it. Nothing is changed before a person names it, and every edit can be taken back.

mod clean;
mod doubles;
mod merged;
mod paths;

pub use clean::{Cleaned, Rest, Spike, Thresholds, clean};
pub use doubles::{Proposal, Twice, doubles, walked_already};
