//! The ground at one low: its squares and blocks, what bars the way, how long each stays dry, the ways out and
//! the places where a route may begin and end.

pub(super) mod bars;
pub(super) mod block;
pub(super) mod cells;
pub(super) mod chord_plane;
pub(super) mod dryness;
pub(super) mod footing;
pub(super) mod gates;
pub(super) mod planner;
mod sea;
pub(super) mod ways_out;

pub use gates::WayIn;
