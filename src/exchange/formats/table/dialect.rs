//! How a table is written: encoding, delimiter, what its columns are and how each writes numbers, the order of day and
//! month. The whole file is read once for this, as a single late cell may decide.

use std::borrow::Cow;
use std::io::Read;
use std::sync::Arc;

use csv::StringRecord;
use encoding_rs::{Encoding, UTF_8, WINDOWS_1252};

use super::above::{Above, DELIMITERS, above};
use super::column::{Column, Thousands, decimal_sign, is_measured, shown};
use super::dates::DateVotes;
use super::decimals::FallenApart;
use super::digits::Digits;
use super::headings::{is_headings, reads_like_data, repeats};
use super::quotes::{Quoted, Watch};
use super::rows::{self, fault};
use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::take_in::taking::SURVEYED;
use crate::exchange::tools::beside::beside;
use crate::exchange::tools::by_line::{ByLine, Encodings};
use crate::exchange::tools::heading::{Field, Meaning, meaning};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{Text, marked_encoding};
use crate::exchange::tools::when::clock;

/// Headings and what was said of them.
type Given = [(String, Option<Meaning>)];

/// What a table came as.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Form {
    /// A text whose dialect is not known.
    Text,
    /// The rows of a sheet, written out here: UTF-8 with commas, each row on the line of its number.
    Sheet,
}

/// How a table is written and what its columns are.
#[derive(Debug)]
pub(super) struct Dialect {
    pub(super) form: Form,
    pub(super) encoding: &'static Encoding,
    /// Where the text is not all UTF-8 and claims nothing else, what its lines are in.
    pub(super) by_line: Option<Encodings>,
    pub(super) delimiter: u8,
    /// Whether the first line is `sep=;`, as one spreadsheet program writes it.
    pub(super) sep_line: bool,
    /// What stands above the headings.
    pub(super) above: Above,
    /// The first line, where it reads like a record and no heading is known in it.
    pub(super) open: Option<String>,
    /// Whether that line is a record, so that columns are called by their numbers.
    pub(super) headless: bool,
    /// Whether lines that begin with `#` are remarks rather than rows.
    remarks: bool,
    /// Whether its quotes are held to be closed.
    closes: bool,
    pub(super) columns: Vec<Column>,
    /// What the dates themselves say about their order.
    pub(super) dates: DateVotes,
    /// What each column says of dates of six digits.
    pub(super) digits: Vec<Digits>,
    /// The first rows as they stand, by which columns are told apart.
    pub(super) sample: Vec<StringRecord>,
    /// The lines of further rows of headings: of other tables below this one.
    pub(super) below: Vec<u64>,
    /// Whether the headings themselves stand there again.
    pub(super) repeated: bool,
    /// Rows that the commas of their decimals have parted; none where another sign parts the columns.
    pub(super) apart: FallenApart,
}

/// What the measured values of a column are written with.
#[derive(Debug, Clone, Default)]
struct Signs {
    commas: u64,
    points: u64,
    /// With a comma, with a point.
    thousands: [Option<Thousands>; 2],
}

impl Signs {
    fn add(&mut self, cell: &str, line: u64, placed: bool) {
        let sign = match decimal_sign(cell) {
            Some(',') => 0,
            Some(_) => 1,
            None => return,
        };
        if sign == 0 {
            self.commas += 1;
        } else {
            self.points += 1;
        }
        if !placed && in_thousands(cell) {
            let new = || Thousands { text: cell.trim().to_owned(), line, count: 0 };
            self.thousands[sign].get_or_insert_with(new).count += 1;
        }
    }
}

/// How many rows are held as a sample.
const SAMPLE: usize = 400;

/// How much of a table is looked through to know how it is written.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Rows {
    /// All of it, as one date in its last row may tell the order of day and month.
    All,
    /// As much as says where it lies.
    First,
    /// All of what may be the beginning alone, cut anywhere.
    Beginning,
}

impl Rows {
    fn most(self) -> u64 {
        match self {
            Self::All | Self::Beginning => u64::MAX,
            // Some rows have no position.
            Self::First => 2 * SURVEYED,
        }
    }
}

impl Dialect {
    pub(super) fn sniff(source: &Source, form: Form, given: &Given, rows: Rows, progress: &Progress) -> Result<Self, Stop> {
        let head = source.head()?;
        if form == Form::Sheet {
            let plain = Self::plain(form, UTF_8, b',');
            return plain.with_columns(source, given, rows, progress);
        }
        let marked = marked_encoding(&head);
        match Self::sniff_as(source, &head, marked.unwrap_or(UTF_8), None, given, rows, progress) {
            // Text that claims nothing and is not UTF-8 is most likely of the old Western code page; but one line from
            // elsewhere must not spoil the others.
            Err(Stop::Fault(Fault::Encoding { .. })) if marked.is_none() => {
                let lines = Encodings::of(source.open(progress)?)?;
                let by_line = Some(lines).filter(|l| l.utf8 > 0);
                Self::sniff_as(source, &head, WINDOWS_1252, by_line, given, rows, progress)
            }
            other => other,
        }
    }

    fn plain(form: Form, encoding: &'static Encoding, delimiter: u8) -> Self {
        Self {
            form,
            encoding,
            by_line: None,
            delimiter,
            sep_line: false,
            above: Above::default(),
            open: None,
            headless: false,
            remarks: false,
            closes: false,
            columns: Vec::new(),
            dates: DateVotes::default(),
            digits: Vec::new(),
            sample: Vec::new(),
            below: Vec::new(),
            repeated: false,
            apart: FallenApart::default(),
        }
    }

    fn sniff_as(
        source: &Source,
        head: &[u8],
        encoding: &'static Encoding,
        by_line: Option<Encodings>,
        given: &Given,
        rows: Rows,
        progress: &Progress,
    ) -> Result<Self, Stop> {
        let (mut lines, mut plain) = (ByLine::new(Box::new(head)), String::new());
        let start = match by_line {
            Some(_) => {
                lines.read_to_string(&mut plain).map_err(|e| Stop::from_io(&e, 1))?;
                Cow::Borrowed(plain.as_str())
            }
            None => encoding.decode_with_bom_removal(head).0,
        };
        let sep_line = start.len() > 4 && start.get(..4).is_some_and(|s| s.eq_ignore_ascii_case("sep="));
        let body = if sep_line { start.split_once('\n').map_or("", |(_, rest)| rest) } else { &start };
        let stated = start.as_bytes().get(4).copied().filter(|_| sep_line);
        let above = above(body, stated.as_slice(), given)?;
        let body = above.headings_on(body);
        let delimiter = stated.unwrap_or_else(|| delimiter(body));
        let remarks = remarks(body, delimiter);
        let closes = rows != Rows::Beginning;
        Self { sep_line, above, remarks, closes, by_line, ..Self::plain(Form::Text, encoding, delimiter) }
            .with_columns(source, given, rows, progress)
    }

    fn with_columns(self, source: &Source, given: &Given, rows: Rows, progress: &Progress) -> Result<Self, Stop> {
        let mut dialect = self;
        let (mut reader, line) = dialect.reader(source, progress)?;
        let headings = match reader.headers() {
            Ok(headings) => headings.clone(),
            Err(error) => return Err(fault(&error, line.get())),
        };
        // The number of a column is no heading of a record.
        let is_record = dialect.form == Form::Text && reads_like_data(&headings);
        let column = |h: &str| {
            let names = |heading: &str| heading == h.trim().to_lowercase() && !(is_record && counted(heading).is_some());
            let stated = given.iter().find(|(heading, _)| names(heading));
            let meaning = stated.map_or_else(|| meaning(h.trim()), |(_, meaning)| meaning.clone());
            Column { title: Arc::from(h.trim()), meaning, comma: false, thousands: None }
        };
        dialect.columns = headings.iter().map(column).collect();
        drop(reader);
        if dialect.columns.iter().all(|c| c.meaning.is_none()) {
            dialect.without_headings(&headings, given)?;
        }
        dialect.survey(source, rows, progress)?;
        Ok(dialect)
    }

    /// Sees to a table of which no heading is known: its first line may be a record, and its columns are then called by
    /// their numbers.
    fn without_headings(&mut self, first: &StringRecord, given: &Given) -> Result<(), Stop> {
        let is_counted = given.iter().any(|(h, _)| counted(h).is_some_and(|n| (1..=first.len()).contains(&n)));
        if self.form == Form::Sheet || !(is_counted || reads_like_data(first)) {
            return Err(self.no_headings().into());
        }
        (self.open, self.headless) = (Some(shown(first)), true);
        for (n, column) in self.columns.iter_mut().enumerate() {
            column.title = Arc::from(format!("column {}", n + 1));
            let stated = given.iter().find(|(heading, _)| counted(heading) == Some(n + 1));
            column.meaning = stated.and_then(|(_, meaning)| meaning.clone());
        }
        Ok(())
    }

    /// Why the table cannot be read as it stands: no heading of its first line is known, or that line is a record.
    pub(super) fn no_headings(&self) -> Fault {
        match &self.open {
            Some(first) => Fault::Unknown {
                why: format!(
                    "its first line reads like data, not headings (\"{first}\"); say what its columns hold by their numbers, with \
                     --columns 1=lat,2=lon"
                ),
            },
            None => unknown_headings(&shown(&self.columns.iter().map(|c| &*c.title).collect())),
        }
    }

    /// A reader of the rows in this dialect.
    pub(super) fn reader<'s>(&self, source: &'s Source, progress: &Progress) -> Result<rows::Reader<'s>, Stop> {
        let raw = source.open(progress)?;
        let mut text = match self.by_line {
            Some(_) => Text::new(Box::new(ByLine::new(raw)), UTF_8),
            None => Text::new(raw, self.encoding),
        };
        let line = text.line();
        for _ in 0..self.lines_before() {
            skip_line(&mut text).map_err(|e| Stop::from_io(&e, line.get()))?;
        }
        let mut builder = csv::ReaderBuilder::new();
        builder.delimiter(self.delimiter).flexible(true).comment(self.remarks.then_some(b'#')).trim(csv::Trim::All);
        builder.has_headers(!self.headless);
        let watch = self.closes.then(|| Watch::new(self.delimiter, self.remarks, line.get()));
        Ok((builder.from_reader(Quoted::new(text, watch).chain(b"\n".as_slice())), line))
    }

    /// Lines before what the reader counts as its first.
    pub(super) fn lines_before(&self) -> u64 {
        u64::from(self.sep_line) + self.above.lines
    }

    fn survey(&mut self, source: &Source, rows: Rows, progress: &Progress) -> Result<(), Stop> {
        let mut signs = vec![Signs::default(); self.columns.len()];
        let mut lists = vec![false; self.columns.len()];
        let (mut lower, mut repeated) = (Vec::new(), false);
        let dated = self.columns.iter().any(|c| c.field() == Some(Field::Date));
        let (mut dates, mut sample) = (std::mem::take(&mut self.dates), std::mem::take(&mut self.sample));
        let mut digits = vec![Digits::default(); self.columns.len()];
        let mut apart = FallenApart::default();
        // A sheet says itself where its cells end.
        let may_part = self.form == Form::Text && self.delimiter == b',';
        let mut left = rows.most();
        let mut see = |at: u64, row: &StringRecord| {
            if left == 0 {
                return Err(Stop::Enough);
            }
            left -= 1;
            if is_headings(row) {
                if repeats(row, self.columns.iter().map(|c| &*c.title)) {
                    repeated = true;
                } else {
                    lower.push(at);
                }
                return Ok(());
            }
            if may_part {
                apart.add(at, row, &self.columns);
            }
            let all = row.iter().zip(&self.columns).zip(&mut signs).zip(&mut lists).zip(&mut digits);
            for ((((cell, column), signs), list), digits) in all {
                if column.field() == Some(Field::Date) {
                    digits.add(cell, at);
                }
                match column.field() {
                    // Three numbers and more with commas between them are a list, as target IDs come.
                    Some(Field::TargetId) if is_a_list(cell) => *list = true,
                    // Beside a column of dates a time of day is one, whatever signs it is written with.
                    Some(Field::Time) if dated && clock(cell).is_some() => {}
                    Some(field) if field.is_about_time() => dates.add(cell, at),
                    Some(field) if is_measured(field) => signs.add(cell, at, is_placed(field)),
                    _ => {}
                }
            }
            if sample.len() < SAMPLE {
                sample.push(row.clone());
            }
            Ok(())
        };
        match beside(
            source,
            |give| rows::read(self.reader(source, progress), self.lines_before(), give),
            |portion| portion.each(&mut see),
        ) {
            Ok(()) | Err(Stop::Enough) => {}
            Err(stop) => return Err(stop),
        }
        (self.dates, self.sample, self.digits) = (dates, sample, digits);
        (self.below, self.repeated, self.apart) = (lower, repeated, apart);
        let commas = signs.iter().any(|s| s.commas > s.points);
        let points = signs.iter().any(|s| s.points > s.commas);
        for ((column, signs), list) in self.columns.iter_mut().zip(signs).zip(lists) {
            column.comma = signs.commas > signs.points && !list;
            let [with_comma, with_point] = signs.thousands;
            // A comma in a column of commas is its own sign, unless the rest of the file has points; and the other way round.
            column.thousands = with_point.filter(|_| commas).or(with_comma.filter(|_| points && column.comma));
        }
        Ok(())
    }

    /// What the sample holds in a column.
    pub(super) fn cells(&self, column: usize) -> impl Iterator<Item = &str> {
        self.sample.iter().map(move |row| row.get(column).unwrap_or_default())
    }
}

/// That no heading of a first line is known.
pub(super) fn unknown_headings(first: &str) -> Fault {
    Fault::Unknown {
        why: format!(
            "no column of its first line (\"{first}\") is known; name them, such as lon, lat, what, depth_cm, or say it with --columns \
             HEADING=lat, or, where that line is a record already, by their numbers, with --columns 1=lat,2=lon"
        ),
    }
}

/// The number of a column, as one without a heading is called: `3`, `column 3`.
pub(super) fn counted(heading: &str) -> Option<usize> {
    heading.strip_prefix("column").unwrap_or(heading).trim().parse().ok()
}

/// Whether commas part three whole numbers or more.
fn is_a_list(cell: &str) -> bool {
    let parts = || cell.trim().trim_matches(['[', ']']).split(',');
    parts().count() >= 3 && parts().all(|part| part.trim().parse::<i32>().is_ok())
}

/// Whether a value is written as thousands are: `1.200`, `12,500`.
fn in_thousands(cell: &str) -> bool {
    let number = cell.trim().trim_end_matches(|c: char| c.is_alphabetic() || c.is_whitespace());
    let Some((whole, rest)) = number.split_once([',', '.']) else { return false };
    let digits = |t: &str| t.bytes().all(|b| b.is_ascii_digit());
    (1..=3).contains(&whole.len()) && digits(whole) && !whole.starts_with('0') && rest.len() == 3 && digits(rest)
}

/// Whether a field is a part of a position, in which three decimals are nothing odd, or holds several numbers in a row.
fn is_placed(field: Field) -> bool {
    use Field::{East, Lat, LatMinutes, LatSeconds, Lon, LonMinutes, LonSeconds, North, TargetId, X, Y};
    matches!(field, East | Lat | LatMinutes | LatSeconds | Lon | LonMinutes | LonSeconds | North | TargetId | X | Y)
}

/// Whether lines that begin with `#` are remarks: not where the headings stand in one, or its column comes first.
fn remarks(body: &str, delimiter: u8) -> bool {
    let first = body.lines().find(|l| !l.trim().is_empty()).unwrap_or_default();
    let titles: Vec<&str> = first.split(char::from(delimiter)).map(|t| t.trim().trim_matches('"')).collect();
    let known = titles.iter().filter(|t| meaning(t).is_some()).count();
    let own_number = titles.first().is_some_and(|t| meaning(t).is_some_and(|m| m.field == Field::Id));
    !(own_number || (first.starts_with('#') && known >= 2))
}

fn skip_line(text: &mut Text<'_>) -> std::io::Result<()> {
    use std::io::BufRead;
    text.skip_until(b'\n').map(drop)
}

/// The delimiter under which most headings are known; among equals, the one that makes most columns.
fn delimiter(body: &str) -> u8 {
    let score = |delimiter: u8| {
        let mut builder = csv::ReaderBuilder::new();
        builder.delimiter(delimiter).flexible(true).comment(remarks(body, delimiter).then_some(b'#')).trim(csv::Trim::All);
        let mut reader = builder.from_reader(body.as_bytes());
        let headings = reader.headers().cloned().unwrap_or_default();
        (headings.iter().filter(|h| meaning(h).is_some()).count(), headings.len())
    };
    // The last of equal maxima wins, so the commonest delimiter comes last.
    DELIMITERS.into_iter().rev().max_by_key(|d| score(*d)).unwrap_or(b',')
}
