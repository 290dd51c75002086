//! A find or signal of the book that comes back with day and month exchanged, as when a file is read again in the other
//! order of dates. As its time takes part in what a record is known by, it would come in a second time.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;

use super::identity::content_uid;
use crate::book::{Book, Find, Record, Signal, Uid};

/// The uid of the record of the book that this one is but for the order of day and month, and that record with the day of
/// this one; `None` for the record where the book has that day already.
pub(super) fn exchanged(book: &Book, zone: &TimeZone, record: &Record) -> Option<(Uid, Option<Record>)> {
    let time = match record {
        Record::Find(f) if !book.finds().is_empty() => f.time?,
        Record::Signal(s) if !book.signals().is_empty() => s.time?,
        _ => return None,
    };
    // Times of the file may stand on a clock of their own.
    [zone, &TimeZone::UTC].into_iter().find_map(|zone| {
        let then = other_order(time, zone)?;
        match record {
            Record::Find(f) => {
                let uid = content_uid(&Find { time: Some(then), ..(**f).clone() }.into());
                let mine = book.finds().get(&uid)?;
                let is_new = mine.time != Some(time);
                Some((uid, is_new.then(|| Find { time: Some(time), outing: None, ..mine.clone() }.into())))
            }
            Record::Signal(s) => {
                let uid = content_uid(&Signal { time: Some(then), ..(**s).clone() }.into());
                let mine = book.signals().get(&uid)?;
                let is_new = mine.time != Some(time);
                Some((uid, is_new.then(|| Signal { time: Some(time), outing: None, ..mine.clone() }.into())))
            }
            _ => None,
        }
    })
}

/// The same time of day on the day that the numbers make in the other order.
fn other_order(time: Timestamp, zone: &TimeZone) -> Option<Timestamp> {
    let at = zone.to_datetime(time);
    if at.day() == at.month() {
        return None;
    }
    let day = Date::new(at.year(), at.day(), at.month()).ok()?;
    zone.to_timestamp(day.to_datetime(at.time())).ok()
}
