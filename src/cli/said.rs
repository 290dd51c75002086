use std::io::Write as _;
use std::path::Path;

use jiff::Timestamp;
use jiff::civil::DateTime;
use jiff::tz::TimeZone;
use serde_json::Value;

use super::Failure;
use crate::book::{Beach, Book};
use crate::earth::LonLat;
use crate::output::{OutputError, Over};
use crate::store::{OpenBook, Replace, StoreError};
pub(super) use crate::tide::rounded;

/// Which promise the keys of every JSON document keep: `schema` in each of them.
///
/// A key keeps its meaning and new ones may join without a new number. The number counts up once for every round of
/// changes in which a key went or changed its meaning. Documents before there was a number had none; 2 is the first.
const SCHEMA: u32 = 2;

/// Prints one JSON document on standard output, with the `schema` its keys keep.
pub(super) fn print_json(document: &Value) -> Result<(), Failure> {
    let mut document = document.clone();
    if let Some(keys) = document.as_object_mut() {
        keys.insert("schema".to_owned(), SCHEMA.into());
    }
    let text = serde_json::to_string_pretty(&document).map_err(Failure::output)?;
    print_text(&(text + "\n"))
}

/// Prints text on standard output; a reader that has gone away is no failure.
pub(super) fn print_text(text: &str) -> Result<(), Failure> {
    match std::io::stdout().lock().write_all(text.as_bytes()) {
        Err(e) if e.kind() != std::io::ErrorKind::BrokenPipe => {
            Err(Failure::output(format!("standard output could not be written: {e}")))
        }
        _ => Ok(()),
    }
}

impl From<StoreError> for Failure {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::ReadOnly(_)
            | StoreError::Full(_)
            | StoreError::Locked(_)
            | StoreError::ChangedOutside(_)
            | StoreError::NoBackup { .. } => Self::output(error),
            _ => Self::input(error),
        }
    }
}

/// The book in a file, with what could not be taken from it said on standard error.
pub(super) fn open(path: &Path) -> Result<OpenBook, Failure> {
    let open = OpenBook::open(path)?;
    for complaint in open.complaints() {
        eprintln!("scourline: {}: {complaint}", path.display());
    }
    Ok(open)
}

/// The book in a file, or an empty one in memory where there is no such file yet.
pub(super) fn open_or_new(path: &Path) -> Result<OpenBook, Failure> {
    match path.symlink_metadata() {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(OpenBook::in_memory()),
        _ => open(path),
    }
}

/// Says on standard error what could not be done beside the edits, such as today's backup.
pub(super) fn tell_remarks(open: &mut OpenBook) {
    for remark in open.take_remarks() {
        eprintln!("scourline: {remark}");
    }
}

/// Whether a new book stands in its file.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kept {
    /// It does.
    Yes,
    /// Another program made a book there meanwhile, and what was done is to be done in that one.
    AnotherIsThere,
}

/// Gives a book that is only in memory its file.
pub(super) fn keep(book: &mut OpenBook, path: &Path) -> Result<Kept, Failure> {
    tell_remarks(book);
    match book.path() {
        Some(_) => Ok(Kept::Yes),
        None => match book.save_as(path, Replace::Nothing) {
            Ok(()) => Ok(Kept::Yes),
            Err(StoreError::AlreadyThere(_)) => Ok(Kept::AnotherIsThere),
            Err(why) => Err(Failure::output(why)),
        },
    }
}

/// Does a job on a book that may not be there yet; anew where another program made it meanwhile, so that neither
/// is lost.
pub(super) fn until_kept(mut job: impl FnMut() -> Result<Kept, Failure>) -> Result<(), Failure> {
    while job()? == Kept::AnotherIsThere {}
    Ok(())
}

/// The beach meant: the named one, or the only one.
pub(super) fn beach_of<'b>(book: &'b Book, name: Option<&str>) -> Result<&'b Beach, Failure> {
    let names = || book.beaches().values().map(|b| b.name.as_str()).collect::<Vec<_>>().join(", ");
    match name {
        Some(name) => book.beach_named(name).ok_or_else(|| match book.beaches().is_empty() {
            true => Failure::input(format!("there is no beach \"{name}\" in the book; make it with `scourline beach`")),
            false => Failure::input(format!("there is no beach \"{name}\" in the book; it has {}", names())),
        }),
        None => match book.beaches().len() {
            1 => book.beaches().values().next().ok_or_else(|| Failure::input("there is no beach in the book")),
            0 => Err(Failure::input(
                "there is no beach in the book; make one with `scourline beach` or import files with --beach NAME",
            )),
            _ => Err(Failure::usage(format!("the book has several beaches; choose one with --beach: {}", names()))),
        },
    }
}

/// Reads `LON,LAT`.
pub(super) fn lonlat(text: &str) -> Result<LonLat, Failure> {
    let wrong = || Failure::usage(format!("\"{text}\" is not LON,LAT in degrees, such as -5.54,50.10"));
    let (lon, lat) = text.split_once([',', ';']).ok_or_else(wrong)?;
    let number = |t: &str| t.trim().parse::<f64>().map_err(|_| wrong());
    LonLat::new(number(lon)?, number(lat)?).map_err(Failure::usage)
}

/// Reads a day (its first instant in the zone) or an RFC 3339 instant.
pub(super) fn instant(text: &str, zone: &TimeZone) -> Result<Timestamp, Failure> {
    if let Ok(time) = text.parse::<Timestamp>() {
        return Ok(time);
    }
    let wrong = || {
        Failure::usage(format!(
            "\"{text}\" is neither a day such as 2026-11-25, nor a time on the beach's clock such as 2026-11-25T06:00, nor an instant \
             such as 2026-11-25T06:00:00Z"
        ))
    };
    let time: DateTime = text.parse().map_err(|_| wrong())?;
    zone.to_timestamp(time).map_err(|_| wrong())
}

/// An instant on the beach's clock, to the minute; with the clock's name in the hour that comes twice as it goes back.
pub(super) fn clock(time: Timestamp, zone: &TimeZone) -> String {
    let at = time.to_zoned_datetime(zone.clone());
    let comes_twice = zone.to_ambiguous_timestamp(at.datetime()).is_ambiguous();
    at.strftime(if comes_twice { "%a %d %b %Y %H:%M %Z" } else { "%a %d %b %Y %H:%M" }).to_string()
}

/// An instant for JSON: RFC 3339 in UTC, to the second.
pub(super) fn rfc3339(time: Timestamp) -> String {
    // Rounding to a second can only fail at the ends of the calendar.
    time.round(jiff::Unit::Second).unwrap_or(time).to_string()
}

impl From<OutputError> for Failure {
    fn from(error: OutputError) -> Self {
        match error {
            OutputError::Foreign(_) => Self::output(format!("{error}; choose another place, or give --force to replace")),
            other => Self::output(other),
        }
    }
}

/// What files may be replaced, as `--force` says.
pub(super) fn over(force: bool) -> Over {
    if force { Over::Anything } else { Over::Own }
}

/// Makes a folder and those above it.
pub(super) fn make_folder(path: &Path) -> Result<(), Failure> {
    std::fs::create_dir_all(path).map_err(|e| Failure::output(format!("the folder {} could not be made: {e}", path.display())))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Directive 2000/84/EC and the Summer Time Order 2002: on 25 October 2026 clocks go back at 01:00 UTC.
    #[test]
    fn the_hour_that_comes_twice_is_told_with_its_clock() {
        let of = |time: &str, zone: &str| clock(time.parse().unwrap(), &TimeZone::get(zone).unwrap());
        for (time, told) in [
            ("2026-10-24T23:59:00Z", "Sun 25 Oct 2026 00:59"),
            ("2026-10-25T00:31:00Z", "Sun 25 Oct 2026 01:31 BST"),
            ("2026-10-25T01:31:00Z", "Sun 25 Oct 2026 01:31 GMT"),
            ("2026-10-25T02:00:00Z", "Sun 25 Oct 2026 02:00"),
            ("2026-03-29T01:00:00Z", "Sun 29 Mar 2026 02:00"),
        ] {
            assert_eq!(of(time, "Europe/London"), told);
        }
        assert_eq!(of("2026-10-25T01:31:00Z", "UTC"), "Sun 25 Oct 2026 01:31");
    }
}
