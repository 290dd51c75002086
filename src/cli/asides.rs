//! Stretches of outings that are no witness of the water, from the command line.

use jiff::civil::Date;

use super::Failure;
use crate::book::{Aside, Beach, Book, Edit, Outing};

/// Half an hour: a stretch may begin so long before its outing was noted to begin, or after its end, seconds.
const SLACK_S: i64 = 1800;

/// The edits that set stretches aside, each given as the day of its outing and the stretches, or `none`.
pub(super) fn edits(book: &Book, beach: &Beach, asked: &[String]) -> Result<Vec<Edit>, Failure> {
    asked.iter().map(|text| edit(book, beach, text)).collect()
}

fn edit(book: &Book, beach: &Beach, text: &str) -> Result<Edit, Failure> {
    let unfit = || Failure::usage(format!("\"{text}\" is not a day and stretches such as \"2026-07-12 06:40-07:10 wading\""));
    let (day, rest) = text.trim().split_once(' ').ok_or_else(unfit)?;
    let day: Date = day.parse().map_err(|_| unfit())?;
    let zone = beach.zone().map_err(Failure::input)?;
    let stretches = if rest.trim() == "none" { "" } else { rest };
    let mut last = None;
    for outing in book.outings_of(beach.uid).into_iter().filter(|o| zone.to_datetime(o.start).date() == day) {
        let asides = Aside::read_all(stretches, outing.start, &zone).map_err(Failure::usage)?;
        if asides.iter().all(|a| outing.covers(a.from, SLACK_S)) {
            return Ok(Edit::put(Outing { asides, ..outing.clone() }));
        }
        last = Some(outing);
    }
    Err(Failure::input(match last {
        Some(_) => format!("no outing of {day} has been under way at those times of the beach's clock"),
        None => format!("there is no outing on {day} at \"{}\"", beach.name),
    }))
}
