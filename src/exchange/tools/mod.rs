//! Tools for reading any format: bytes as text, which format they are, words of a heading, numbers, times.

pub(super) mod heading;
pub(super) mod sniff;
pub(super) mod source;
pub(super) mod text;
pub(super) mod value;
pub(super) mod when;

pub use source::Source;
