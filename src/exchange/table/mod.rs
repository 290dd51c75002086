//! Tables of delimited text (RFC 4180 and its many cousins) with a row of headings.

mod dialect;
mod read;
mod series;

pub(super) use read::{guess, read};
