//! How a table is written: encoding, delimiter, decimal sign, order of day and month. The whole file
//! is read once for this, as a single late cell may decide.

use csv::StringRecord;
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::tools::heading::{Field, Unit, heading};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{Line, Text, marked_encoding};
use crate::exchange::tools::when;

/// How a table is written and what its columns are.
#[derive(Debug)]
pub(super) struct Dialect {
    pub(super) encoding: &'static Encoding,
    pub(super) delimiter: u8,
    /// Whether the first line is `sep=;`, as one spreadsheet program writes it.
    pub(super) sep_line: bool,
    pub(super) headings: Vec<String>,
    pub(super) columns: Vec<Option<(Field, Option<Unit>)>>,
    /// Whether a comma parts whole from fraction.
    pub(super) comma: bool,
    /// What the dates themselves say: `Some(true)` for day first, `None` when every date fits both.
    pub(super) day_first: Option<bool>,
    /// Dates of both orders stand in the file.
    pub(super) mixed_dates: bool,
    /// Whether any date of numbers alone was seen that leaves the order open.
    pub(super) open_dates: bool,
}

const DELIMITERS: [u8; 4] = *b",;\t|";

impl Dialect {
    pub(super) fn sniff(source: &Source, progress: &Progress) -> Result<Self, Stop> {
        let head = source.head()?;
        let marked = marked_encoding(&head);
        match Self::sniff_as(source, &head, marked.unwrap_or(UTF_8), progress) {
            // Text that claims nothing and is not UTF-8 is most likely of the old Western code page.
            Err(Stop::Fault(Fault::Encoding { .. })) if marked.is_none() => Self::sniff_as(source, &head, WINDOWS_1252, progress),
            other => other,
        }
    }

    fn sniff_as(source: &Source, head: &[u8], encoding: &'static Encoding, progress: &Progress) -> Result<Self, Stop> {
        let (start, _) = encoding.decode_with_bom_removal(head);
        let sep_line = start.len() > 4 && start.get(..4).is_some_and(|s| s.eq_ignore_ascii_case("sep="));
        let body = if sep_line { start.split_once('\n').map_or("", |(_, rest)| rest) } else { &start };
        let delimiter = match start.as_bytes().get(4) {
            Some(stated) if sep_line => *stated,
            _ => delimiter(body),
        };
        let mut dialect = Self {
            encoding,
            delimiter,
            sep_line,
            headings: Vec::new(),
            columns: Vec::new(),
            comma: false,
            day_first: None,
            mixed_dates: false,
            open_dates: false,
        };
        let (mut reader, line) = dialect.reader(source, progress)?;
        let headings = match reader.headers() {
            Ok(headings) => headings.clone(),
            Err(error) => return Err(fault(&error, line.get())),
        };
        dialect.headings = headings.iter().map(|h| h.trim().to_owned()).collect();
        dialect.columns = headings.iter().map(heading).collect();
        if dialect.columns.iter().all(Option::is_none) {
            return Err(dialect.no_headings().into());
        }
        dialect.survey(&mut reader, &line)?;
        Ok(dialect)
    }

    fn no_headings(&self) -> Fault {
        let shown: String = self.headings.join(" | ").chars().take(80).collect();
        Fault::Unknown {
            why: format!("no column of its first line (\"{shown}\") is known; name them, such as lon, lat, what, depth_cm"),
        }
    }

    /// A reader of the rows in this dialect.
    pub(super) fn reader<'s>(&self, source: &'s Source, progress: &Progress) -> Result<(csv::Reader<Text<'s>>, Line), Stop> {
        let mut text = Text::new(source.open(progress)?, self.encoding);
        let line = text.line();
        if self.sep_line {
            skip_line(&mut text).map_err(|e| Stop::from_io(&e, line.get()))?;
        }
        let mut builder = csv::ReaderBuilder::new();
        builder.delimiter(self.delimiter).flexible(true).comment(Some(b'#')).trim(csv::Trim::All);
        Ok((builder.from_reader(text), line))
    }

    /// Lines before what the reader counts as its first.
    pub(super) fn lines_before(&self) -> u64 {
        u64::from(self.sep_line)
    }

    fn survey(&mut self, reader: &mut csv::Reader<Text<'_>>, line: &Line) -> Result<(), Stop> {
        let (mut commas, mut points) = (0_u64, 0_u64);
        let (mut day_first, mut month_first) = (false, false);
        let mut row = StringRecord::new();
        while reader.read_record(&mut row).map_err(|e| fault(&e, line.get()))? {
            for (cell, column) in row.iter().zip(&self.columns) {
                match column {
                    Some((field, _)) if is_time(*field) => match when::order(cell) {
                        Some(true) => day_first = true,
                        Some(false) => month_first = true,
                        None => self.open_dates |= !cell.is_empty() && !starts_with_year(cell),
                    },
                    Some((field, _)) if is_measured(*field) => {
                        let digits = cell.trim_start_matches(['-', '+', '~']);
                        if let Some((whole, rest)) = digits.split_once([',', '.']) {
                            let both = !whole.is_empty()
                                && whole.bytes().all(|b| b.is_ascii_digit())
                                && rest.starts_with(|c: char| c.is_ascii_digit());
                            let comma = digits.as_bytes().get(whole.len()) == Some(&b',');
                            commas += u64::from(both && comma);
                            points += u64::from(both && !comma);
                        }
                    }
                    _ => {}
                }
            }
        }
        self.comma = commas > points;
        self.mixed_dates = day_first && month_first;
        self.day_first = match (day_first, month_first) {
            (true, _) => Some(true),
            (false, true) => Some(false),
            (false, false) => None,
        };
        Ok(())
    }
}

fn starts_with_year(cell: &str) -> bool {
    cell.len() >= 4 && cell.bytes().take(4).all(|b| b.is_ascii_digit())
}

fn is_time(field: Field) -> bool {
    matches!(field, Field::Time | Field::Date | Field::Start | Field::End | Field::From | Field::To)
}

fn is_measured(field: Field) -> bool {
    use Field::{Coarsen, CoilWidth, Depth, Direction, East, Hs, Lat, Level, Lon, Mass, North, Sigma, Size, Surge, Tp, X, Y};
    matches!(
        field,
        Coarsen
            | CoilWidth
            | Depth
            | Direction
            | East
            | Hs
            | Lat
            | Level
            | Lon
            | Mass
            | North
            | Sigma
            | Size
            | Surge
            | Tp
            | X
            | Y
    )
}

fn skip_line(text: &mut Text<'_>) -> std::io::Result<()> {
    use std::io::BufRead;
    text.skip_until(b'\n').map(drop)
}

/// The delimiter under which most headings are known; among equals, the one that makes most columns.
fn delimiter(body: &str) -> u8 {
    let score = |delimiter: u8| {
        let mut builder = csv::ReaderBuilder::new();
        builder.delimiter(delimiter).flexible(true).comment(Some(b'#')).trim(csv::Trim::All);
        let mut reader = builder.from_reader(body.as_bytes());
        let headings = reader.headers().cloned().unwrap_or_default();
        (headings.iter().filter(|h| heading(h).is_some()).count(), headings.len())
    };
    // The last of equal maxima wins, so the commonest delimiter comes last.
    DELIMITERS.into_iter().rev().max_by_key(|d| score(*d)).unwrap_or(b',')
}

/// Reads an error of the table reader as what it means for the file.
pub(super) fn fault(error: &csv::Error, line: u64) -> Stop {
    match error.kind() {
        csv::ErrorKind::Io(error) => Stop::from_io(error, line),
        _ => Fault::Syntax { line, why: error.to_string() }.into(),
    }
}
