//! Decimals written with commas in a table whose columns are parted by commas: each falls into two cells, of which the first
//! would be read without its fraction, and everything behind it under the wrong heading.

use csv::StringRecord;

use super::column::{Column, decimal_sign, is_measured, shown};
use crate::exchange::error::Fault;
use crate::exchange::tools::heading::Field;
use crate::exchange::tools::value::is_blank;

/// So many rows must have fallen apart, and more than half of all: one or two are odd rows.
const LEAST_ROWS: u64 = 3;

/// How many rows of a table seem to have fallen apart at the commas of their decimals.
#[derive(Debug, Default)]
pub(super) struct FallenApart {
    rows: u64,
    apart: u64,
    /// The first of them: its line, and how it stands.
    first: Option<(u64, String)>,
}

impl FallenApart {
    pub(super) fn add(&mut self, line: u64, row: &StringRecord, columns: &[Column]) {
        self.rows += 1;
        if fell_apart(row, columns) {
            self.apart += 1;
            self.first.get_or_insert_with(|| (line, shown(row)));
        }
    }

    /// Refuses a table most of whose rows have fallen apart.
    pub(super) fn refuse(&self) -> Result<(), Fault> {
        match &self.first {
            Some((line, row)) if self.apart >= LEAST_ROWS && 2 * self.apart > self.rows => Err(Fault::Option(format!(
                "holds more cells than headings in most of its rows, the first in line {line} (\"{row}\"): decimals seem to be written with \
                 commas in a file whose columns are parted by commas; save it with points, or parted by semicolons, or, if nothing fell \
                 apart there, give every column its heading"
            ))),
            _ => Ok(()),
        }
    }
}

/// Whether a row holds so many more cells than there are headings as numbers in it can have been parted from their fractions.
fn fell_apart(row: &StringRecord, columns: &[Column]) -> bool {
    // Saved again by a sheet the headings are filled up with blanks.
    let headings = columns.iter().rposition(|c| !c.title.is_empty()).map_or(0, |n| n + 1);
    if row.len() <= headings {
        return false;
    }
    let mut cells: Vec<&str> = row.iter().map(str::trim).collect();
    cells.truncate(cells.iter().rposition(|cell| !is_blank(cell)).map_or(0, |n| n + 1));
    let Some((headed, beyond)) = cells.split_at_checked(headings).filter(|(_, beyond)| !beyond.is_empty()) else { return false };
    parts_of_measured(&cells, columns) >= beyond.len() || runs_on(headed, beyond, columns)
}

/// How many numbers under headings of something measured stand in two cells, each heading one cell farther on for each before.
fn parts_of_measured(cells: &[&str], columns: &[Column]) -> usize {
    let (mut parted, mut cells) = (0, cells.iter().peekable());
    for column in columns {
        let Some(cell) = cells.next() else { break };
        // Several target IDs may stand there, with commas between them.
        let measured = column.field().is_some_and(|f| is_measured(f) && f != Field::TargetId);
        if measured && is_whole(cell) && cells.next_if(|next| is_fraction(next)).is_some() {
            parted += 1;
        }
    }
    parted
}

/// Whether whole numbers run on from under the last heading beyond it, in a row whose measured values have no points.
fn runs_on(headed: &[&str], beyond: &[&str], columns: &[Column]) -> bool {
    let last = columns.get(headed.len().saturating_sub(1)).and_then(Column::field);
    let pointed = |(cell, column): (&&str, &Column)| column.field().is_some_and(is_measured) && decimal_sign(cell) == Some('.');
    last != Some(Field::TargetId)
        && headed.last().is_some_and(|cell| is_whole(cell))
        && beyond.iter().all(|cell| is_whole(cell))
        && beyond.last().is_some_and(|cell| is_digits(cell))
        && !headed.iter().zip(columns).any(pointed)
}

fn is_digits(cell: &str) -> bool {
    !cell.is_empty() && cell.bytes().all(|b| b.is_ascii_digit())
}

/// Digits, with a sign before them or none.
fn is_whole(cell: &str) -> bool {
    is_digits(cell.strip_prefix(['-', '+', '−']).unwrap_or(cell))
}

/// Digits, with a unit or a side behind them or none.
fn is_fraction(cell: &str) -> bool {
    is_digits(cell.trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace()))
}
