//! The rows of a table, read beside whatever makes records of them.

use std::io::Chain;

use csv::StringRecord;

use super::quotes::Quoted;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::tools::beside::{Give, PORTION};
use crate::exchange::tools::text::Line;

/// Rows in their order, to be handed on together.
#[derive(Default)]
pub(super) struct Portion {
    /// The cells of all rows.
    text: String,
    /// Where each cell ends.
    ends: Vec<usize>,
    /// The line of each row, and how many cells there are up to its last.
    rows: Vec<(u64, usize)>,
}

impl Portion {
    fn add(&mut self, line: u64, row: &StringRecord) {
        for cell in row {
            self.text.push_str(cell);
            self.ends.push(self.text.len());
        }
        self.rows.push((line, self.ends.len()));
    }

    /// Shows each row with its line.
    pub(super) fn each(&self, mut see: impl FnMut(u64, &StringRecord) -> Result<(), Stop>) -> Result<(), Stop> {
        let mut row = StringRecord::new();
        let (mut from, mut first) = (0, 0);
        for (line, last) in &self.rows {
            row.clear();
            for end in self.ends.get(first..*last).unwrap_or_default() {
                row.push_field(self.text.get(from..*end).unwrap_or_default());
                from = *end;
            }
            first = *last;
            see(*line, &row)?;
        }
        Ok(())
    }
}

/// A reader of rows, and the line it has come to. What it reads ends with an end of a line, so that every row does.
pub(super) type Reader<'s> = (csv::Reader<Chain<Quoted<'s>, &'static [u8]>>, Line);

/// The line that a row begins on. A reader of tables counts blank lines before a row as part of it.
pub(super) fn line_of(row: &StringRecord, next: &csv::Position) -> u64 {
    let (from, to) = (row.position().map_or(0, csv::Position::line), next.line());
    if to <= from + 1 {
        return from;
    }
    let inside: usize = row.iter().map(|cell| cell.bytes().filter(|b| *b == b'\n').count()).sum();
    from.max(to.saturating_sub(1 + inside as u64))
}

/// Reads the rows that hold anything, and gives them; `lines_before` stand before what the reader counts as its first.
pub(super) fn read(opened: Result<Reader<'_>, Stop>, lines_before: u64, give: Give<'_, Portion>) -> Result<(), Stop> {
    let (mut reader, line) = opened?;
    let mut row = StringRecord::new();
    let mut portion = Portion::default();
    loop {
        match reader.read_record(&mut row) {
            Ok(true) if row.iter().all(str::is_empty) => {}
            Ok(true) => portion.add(line_of(&row, reader.position()) + lines_before, &row),
            Ok(false) => {
                give(portion);
                return Ok(());
            }
            Err(error) => {
                give(portion);
                return Err(fault(&error, line.get()));
            }
        }
        if portion.text.len() as u64 >= PORTION && !give(std::mem::take(&mut portion)) {
            return Ok(());
        }
    }
}

/// Reads an error of the table reader as what it means for the file.
pub(super) fn fault(error: &csv::Error, line: u64) -> Stop {
    match error.kind() {
        csv::ErrorKind::Io(error) => Stop::from_io(error, line),
        _ => Fault::Syntax { line, why: error.to_string() }.into(),
    }
}
