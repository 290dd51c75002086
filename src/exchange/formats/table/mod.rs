//! Tables of delimited text (RFC 4180 and its many cousins) with a row of headings.

mod columns;
mod dates;
mod dialect;
mod place;
mod read;
mod series;

pub(in crate::exchange) use read::{guess, read};
