//! Dates that may have been written 1,024 weeks too early.

use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};

use super::Taking;
use crate::book::TrackPoint;
use crate::exchange::take_in::unsettled::About;

/// Weeks that the satellites' calendar counts before it begins again: its number has ten bits (IS-GPS-200; from memory).
const WEEKS: i64 = 1024;
/// A file is made within this of its walk, as a rule, seconds.
const MADE_S: i64 = 31 * 86_400;

/// What a date or time that is 1,024 weeks too early should be.
fn round() -> SignedDuration {
    SignedDuration::from_hours(WEEKS * 7 * 24)
}

/// The time 1,024 weeks later.
pub(in crate::exchange) fn weeks_later(time: Timestamp) -> Option<Timestamp> {
    time.checked_add(round()).ok()
}

impl Taking<'_> {
    /// Whether the dates are 1,024 weeks too early, as receivers write them whose calendar began again: asked where that
    /// would still lie in the past.
    pub(in crate::exchange) fn settle_weeks(&mut self, noun: &str, date: Date, line: u64) -> bool {
        self.settle_weeks_as(noun, date, line, "", None)
    }

    /// The same of a time in a file of which much may be old in truth: it keeps nothing out, unless the file was made on a
    /// day by which the time is that much too early (`made`), or the book knows that day.
    pub(in crate::exchange) fn is_weeks_early(&mut self, time: Timestamp, line: u64, made: Option<Timestamp>) -> bool {
        let Some(later) = weeks_later(time).filter(|later| *later <= self.present()) else { return false };
        let date = self.zone.to_datetime(time).date();
        let of_its_making = made.is_some_and(|made| (0..=MADE_S).contains(&(made.as_second() - later.as_second() + 86_400)));
        let (hint, meanwhile) = if of_its_making {
            (", when the file says it was made", None)
        } else if self.was_out_on(self.zone.to_datetime(later).date()) {
            (", a day of which the book has an outing or a find", None)
        } else {
            ("", Some("as-written"))
        };
        if meanwhile.is_none() {
            // What was asked of an earlier time, for which nothing spoke, gives way to this.
            self.unsettled.retain(|u| !(u.about == About::Weeks && u.taken.is_some()));
        }
        self.settle_weeks_as("file", date, line, hint, meanwhile)
    }

    /// The fixes of a track, 1,024 weeks later where their times are that much too early.
    pub(in crate::exchange) fn of_their_weeks(&mut self, runs: &mut [Vec<TrackPoint>], line: u64) {
        let first = runs.iter().flatten().find_map(TrackPoint::time);
        if first.is_some_and(|first| self.is_weeks_early(first, line, None)) {
            for point in runs.iter_mut().flatten() {
                *point = point.with_time(point.time().and_then(weeks_later));
            }
        }
    }

    fn settle_weeks_as(&mut self, noun: &str, date: Date, line: u64, hint: &str, meanwhile: Option<&'static str>) -> bool {
        let today = self.zone.to_datetime(self.present()).date();
        let Ok(later) = date.checked_add(round()) else { return false };
        if later > today {
            return false;
        }
        let question = || {
            let place = if line > 0 { format!(" at line {line}") } else { String::new() };
            format!(
                "the {noun} says {date}{place}; a receiver whose count of weeks began again writes dates {WEEKS} weeks (19.6 years) \
                 too early, and then it was {later}{hint}: which is it?"
            )
        };
        self.settle(About::Weeks, question, meanwhile) == Some("later")
    }

    fn present(&self) -> Timestamp {
        self.options.now.unwrap_or_else(Timestamp::now)
    }

    /// Whether somebody was out on the beach on a day, or found something there.
    fn was_out_on(&self, day: Date) -> bool {
        let days = self.days_out.get_or_init(|| {
            let outings = self.book.outings_of(self.beach.uid).into_iter().flat_map(|o| [o.start, o.end]);
            let finds = self.book.finds_of(self.beach.uid).filter_map(|f| f.time);
            outings.chain(finds).map(|time| self.zone.to_datetime(time).date()).collect()
        });
        days.contains(&day)
    }
}
