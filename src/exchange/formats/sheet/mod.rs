//! Spreadsheets: workbooks of Office Open XML (XLSX, ISO/IEC 29500) and OpenDocument (ODS, ISO/IEC 26300).
//!
//! Each sheet that has headings of something known is a table of its own, read as every other table. Cells are taken by
//! their stored values: a date is a date whatever its format shows, a formula is what it last came to.

mod cells;
mod ods;
mod read;
mod xlsx;

pub(in crate::exchange) use read::{read, turn};
