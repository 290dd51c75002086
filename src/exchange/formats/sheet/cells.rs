//! The cells of a sheet as the text that a table would hold.

use std::collections::BTreeMap;

use jiff::civil::Date;

use crate::exchange::error::Fault;
use crate::exchange::tools::heading::meaning;
use crate::exchange::tools::text::quoted;

/// Most cells of a workbook that are read.
const MOST_CELLS: usize = 4_000_000;
/// Most columns of a sheet that are looked at; what lies farther right is told and left out.
const MOST_COLUMNS: u32 = 1024;

/// How many more cells a workbook may hold.
pub(super) struct Left(usize);

impl Default for Left {
    fn default() -> Self {
        Self(MOST_CELLS)
    }
}

impl Left {
    pub(super) fn take(&mut self, cells: usize) -> Result<(), Fault> {
        self.0 =
            self.0.checked_sub(cells).ok_or_else(|| Fault::TooLarge { what: format!("holds more than {MOST_CELLS} cells") })?;
        Ok(())
    }
}

/// One sheet: its rows by their number from 1, each row its cells by column from 0; what is empty is left out.
#[derive(Debug, Default)]
pub(super) struct Sheet {
    pub(super) name: String,
    rows: BTreeMap<u32, Vec<(u32, String)>>,
    /// Cells that hold an error of the sheet, such as `#N/A`: how many, and the row of the first.
    pub(super) errors: (usize, u32),
    /// Cells farther right than is looked at.
    pub(super) too_far_right: usize,
    /// Cells that are merged over rows: the first row, the last, and the column.
    merged: Vec<(u32, u32, u32)>,
    /// How many cells got the value of the one that they are merged into.
    pub(super) filled: usize,
    /// Which cells are merged could not be read.
    pub(super) merges_unread: bool,
    /// Whether it is not shown.
    pub(super) hidden: bool,
    /// Rows with something in them that are not shown: how many, and the first.
    pub(super) hidden_rows: (usize, u32),
    /// Cells with a formula whose value was never stored: how many, and the row of the first.
    pub(super) unreckoned: (usize, u32),
}

impl Sheet {
    pub(super) fn named(name: &str) -> Self {
        Self { name: name.to_owned(), ..Self::default() }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.rows.is_empty()
    }

    /// Puts a text into a cell, row from 1 and column from 0.
    pub(super) fn put(&mut self, row: u32, column: u32, text: String, left: &mut Left) -> Result<(), Fault> {
        if text.trim().is_empty() {
            return Ok(());
        }
        if column >= MOST_COLUMNS {
            self.too_far_right += 1;
            return Ok(());
        }
        left.take(1)?;
        self.rows.entry(row).or_default().push((column, text));
        Ok(())
    }

    pub(super) fn error(&mut self, row: u32) {
        let first = if self.errors.0 == 0 { row } else { self.errors.1 };
        self.errors = (self.errors.0 + 1, first);
    }

    /// Notes a formula without a value.
    pub(super) fn unreckoned(&mut self, row: u32) {
        let first = if self.unreckoned.0 == 0 { row } else { self.unreckoned.1 };
        self.unreckoned = (self.unreckoned.0 + 1, first);
    }

    /// Notes rows that are not shown.
    pub(super) fn hide(&mut self, row: u32, count: u32) {
        let first = if self.hidden_rows.0 == 0 { row } else { self.hidden_rows.1 };
        self.hidden_rows = (self.hidden_rows.0 + count as usize, first);
    }

    /// Notes that a cell is merged over rows, rows from 1 and column from 0.
    pub(super) fn merge(&mut self, first: u32, last: u32, column: u32) {
        if first < last {
            self.merged.push((first, last, column));
        }
    }

    /// Gives the value of a cell that is merged downwards to each row below it that holds something of its own, as a day that
    /// stands once beside several finds. Headings are left as they are.
    pub(super) fn fill_merged(&mut self, left: &mut Left) -> Result<(), Fault> {
        let Some(headings) = self.headings() else { return Ok(()) };
        for (first, last, column) in std::mem::take(&mut self.merged) {
            let value = |cells: &Vec<(u32, String)>| cells.iter().find(|(c, _)| *c == column).map(|(_, text)| text.clone());
            let Some(value) = self.rows.get(&first).filter(|_| first > headings).and_then(value) else { continue };
            for (_, cells) in self.rows.range_mut(first + 1..=last) {
                left.take(1)?;
                if !cells.iter().any(|(c, _)| *c == column) {
                    cells.push((column, value.clone()));
                    self.filled += 1;
                }
            }
        }
        Ok(())
    }

    /// The row of the headings: the first of the upper rows in which two are known, else the first in which one is.
    /// A title may stand above them.
    pub(super) fn headings(&self) -> Option<u32> {
        const UPPER: usize = 30;
        let known = |least: usize| {
            let upper = self.rows.iter().take(UPPER);
            upper
                .filter(|(_, cells)| cells.iter().filter(|(_, t)| meaning(t.trim()).is_some()).count() >= least)
                .map(|(n, _)| *n)
                .next()
        };
        known(2).or_else(|| known(1))
    }

    /// How many rows stand above a row.
    pub(super) fn above(&self, row: u32) -> usize {
        self.rows.range(..row).count()
    }

    /// The last row.
    pub(super) fn last(&self) -> u32 {
        self.rows.keys().next_back().copied().unwrap_or(0)
    }

    /// From a row on as delimited text with commas, each row on the line of its number.
    pub(super) fn delimited(&self, from: u32) -> Vec<u8> {
        let width = self.rows.range(from..).flat_map(|(_, cells)| cells.iter().map(|(c, _)| *c)).max().unwrap_or(0);
        let mut out = String::new();
        let mut line = 1;
        for (row, cells) in self.rows.range(from..) {
            out.extend(std::iter::repeat_n('\n', row.saturating_sub(line) as usize));
            line = *row;
            let mut sorted: Vec<&(u32, String)> = cells.iter().collect();
            sorted.sort_by_key(|(column, _)| *column);
            sorted.dedup_by_key(|(column, _)| *column);
            let mut at = 0;
            for (column, text) in sorted {
                out.extend(std::iter::repeat_n(',', (column - at) as usize));
                at = *column;
                quoted(&mut out, text);
            }
            out.extend(std::iter::repeat_n(',', (width - at) as usize));
        }
        out.push('\n');
        out.into_bytes()
    }
}

/// A number without an exponent, as tables have them.
pub(super) fn number(value: f64) -> String {
    if value.is_finite() { value.to_string() } else { String::new() }
}

/// A serial date of a sheet: the whole days as `date` gives them, the fraction as the time of day. Below one it is a time
/// of day alone, without a fraction a day alone.
pub(super) fn serial(value: f64, date: impl FnOnce() -> Option<Date>) -> Option<String> {
    const DAY_MS: i64 = 86_400_000;
    if !(0.0..3_000_000.0).contains(&value) {
        return None;
    }
    let mut days = value.floor() as i64;
    let mut ms = (value.fract() * DAY_MS as f64).round() as i64;
    // Such numbers are good to a fraction of a millisecond; sheets show and mean whole seconds.
    if (ms + 2) % 1000 <= 4 {
        ms = (ms + 2) / 1000 * 1000;
    }
    let over = ms / DAY_MS;
    (days, ms) = (days + over, ms % DAY_MS);
    let clock = || {
        let s = ms / 1000;
        let whole = format!("{:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60);
        if ms % 1000 == 0 { whole } else { format!("{whole}.{:03}", ms % 1000) }
    };
    if days == 0 {
        return Some(clock());
    }
    let mut day = date()?;
    if over > 0 {
        day = day.tomorrow().ok()?;
    }
    Some(if ms == 0 { day.to_string() } else { format!("{day}T{}", clock()) })
}

/// A duration such as `PT10H05M00S` as a time of day (ISO 8601; ODF 1.2 part 1, 18.2 `duration`).
pub(super) fn duration(text: &str) -> Option<String> {
    let mut rest = text.trim().strip_prefix("PT")?;
    let mut parts = [0_u32; 2];
    for (part, unit) in parts.iter_mut().zip(['H', 'M']) {
        if let Some((number, after)) = rest.split_once(unit) {
            *part = number.parse().ok()?;
            rest = after;
        }
    }
    let seconds: f64 = if rest.is_empty() { 0.0 } else { rest.strip_suffix('S')?.replace(',', ".").parse().ok()? };
    let [hours, minutes] = parts;
    (hours < 24 && minutes < 60 && (0.0..60.0).contains(&seconds))
        .then(|| format!("{hours:02}:{minutes:02}:{:02}", seconds.floor() as u32))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 45413 is 1 May 2024 in the calendar that counts from 1900 (openpyxl 3.1.5, `from_excel`).
    #[test]
    fn serial_dates_days_and_times_of_day() {
        let of = |value: f64| serial(value, || Some(Date::constant(2024, 5, 1)));
        assert_eq!(of(45_413.0).as_deref(), Some("2024-05-01"));
        assert_eq!(of(45_413.420_138_888_89).as_deref(), Some("2024-05-01T10:05:00"));
        assert_eq!(of(0.420_138_888_888_888_9).as_deref(), Some("10:05:00"));
        assert_eq!(of(45_413.999_999_999_9).as_deref(), Some("2024-05-02"), "midnight that is a fraction of a millisecond short");
        assert_eq!(of(45_413.0 + 0.5 / 86_400.0).as_deref(), Some("2024-05-01T00:00:00.500"));
        assert_eq!((of(-1.0), of(f64::NAN), of(1e300)), (None, None, None));
    }

    #[test]
    fn durations_are_times_of_day() {
        assert_eq!(duration("PT10H05M00S").as_deref(), Some("10:05:00"));
        assert_eq!(duration("PT09H45M07.5S").as_deref(), Some("09:45:07"));
        for wrong in ["", "PT", "P1D", "PT25H00M00S", "PT1H61M0S", "PTxH", "10:05"] {
            assert!(duration(wrong).is_none_or(|d| d == "00:00:00"), "{wrong}");
        }
    }

    #[test]
    fn a_merged_cell_counts_for_the_rows_that_hold_anything() {
        let mut sheet = Sheet::named("x");
        let mut left = Left::default();
        for (row, column, text) in
            [(2, 0, "date"), (2, 1, "what"), (3, 0, "2024-05-01"), (3, 1, "ring"), (4, 1, "key"), (6, 1, "pin")]
        {
            sheet.put(row, column, text.to_owned(), &mut left).unwrap();
        }
        sheet.merge(1, 2, 1);
        sheet.merge(3, 5, 0);
        sheet.fill_merged(&mut left).unwrap();
        let text = String::from_utf8(sheet.delimited(2)).unwrap();
        assert_eq!(text, "\n\"date\",\"what\"\n\"2024-05-01\",\"ring\"\n\"2024-05-01\",\"key\"\n\n,\"pin\"\n");
        assert_eq!(sheet.filled, 1);
    }

    #[test]
    fn rows_stand_on_their_lines() {
        let mut sheet = Sheet::named("x");
        let mut left = Left::default();
        for (row, column, text) in [(3, 1, "lat"), (3, 0, "lon"), (5, 1, "4\"5\n"), (1, 0, "my finds")] {
            sheet.put(row, column, text.to_owned(), &mut left).unwrap();
        }
        assert_eq!(sheet.headings(), Some(3));
        assert_eq!(String::from_utf8(sheet.delimited(3)).unwrap(), "\n\n\"lon\",\"lat\"\n\n,\"4\"\"5 \"\n");
    }
}
