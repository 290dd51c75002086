//! Effort: the ground that the coil covered, from the tracks of a beach.
//!
//! A fix tells where the person walked; the coil swings from side to side of that, so a track is a
//! swath. [`Effort::from_tracks`] tells searching from walking and from gaps, lays the swaths on a grid and
//! counts for each square how much of it was swept, how often, and how much of that was fresh
//! ground on each outing. The grid lies in any plane of metres the caller gives: the beach's own,
//! or along and across the shore.
//!
//! What the figures rest on is stated in [`Params`]; how exact they are: the union of the swaths is
//! measured to well under 2 % of the exact polygons' (checked against shapely), but the tracks
//! themselves carry the receiver's error of some metres.

mod capsule;
mod going;
mod grid;
mod params;
mod stretch;
mod walk;
mod whole;

pub use params::Params;
pub use stretch::{Stretch, StretchKind};
pub use walk::{EffortTables, Fix, Walk, walks_of};
pub use whole::{Cell, Effort, OutingGround, Totals, Visit};

use crate::Cancelled;

/// Why the effort cannot be had.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum EffortError {
    /// A setting that cannot be.
    #[error("the setting \"{what}\" of the ground covered is {value}; it must be between {low} and {high}")]
    Parameter {
        /// The setting.
        what: &'static str,
        /// Its value.
        value: f64,
        /// The least it can be.
        low: f64,
        /// The most it can be.
        high: f64,
    },
    /// The beach is not in the book.
    #[error("this beach is not in the book")]
    NoBeach,
    /// The beach lies where no plane can be laid.
    #[error(transparent)]
    Earth(#[from] crate::earth::EarthError),
    /// The work was called off.
    #[error(transparent)]
    Cancelled(#[from] Cancelled),
}
