//! Tables of delimited text (RFC 4180 and its many cousins) with a row of headings.

mod above;
mod below;
mod bench;
mod column;
mod columns;
mod dates;
mod decimals;
mod dialect;
mod digits;
mod headings;
mod misread;
mod place;
mod quotes;
mod read;
mod rows;
mod series;
mod told;
mod write;

pub(in crate::exchange) use dialect::Form;
pub(in crate::exchange) use read::{guess, has_headings, read};
pub(in crate::exchange) use write::{points, tracks};
