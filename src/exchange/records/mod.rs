//! From the fields of a row or the shape of a feature to a record of the book.

pub(super) mod known_targets;
mod named_setup;
pub(super) mod places;
pub(super) mod precision;
pub(super) mod row;
pub(super) mod shape;
pub(super) mod spoken;
pub(super) mod things;
pub(super) mod waypoint;
