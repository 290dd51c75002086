//! Tools for reading any format: bytes as text, which format they are, words of a heading, numbers, times.

pub(super) mod beside;
pub(super) mod by_line;
pub(super) mod clock_word;
pub(super) mod degrees;
mod field;
pub(super) mod grid_ref;
pub(super) mod heading;
pub(super) mod packed;
pub(super) mod sniff;
pub(super) mod source;
pub(super) mod text;
mod tongues;
mod typed_place;
mod unit;
pub(super) mod value;
pub(super) mod when;
pub(super) mod xml;

pub use source::Source;
pub use typed_place::place_typed;
