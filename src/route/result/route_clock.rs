use jiff::Timestamp;
use jiff::tz::TimeZone;

use crate::book::Beach;

/// The clock that a route's times are told on: the beach's.
///
/// Where that changes between the first and the last of them, all are told on the earlier of the two by the hour: whoever
/// reads them on the other is an hour early and never an hour late. Seconds are dropped, so that no time is printed later
/// than it is.
#[derive(Debug, Clone)]
pub struct RouteClock {
    zone: TimeZone,
    /// The names of the clock that is told and of the other, where the clocks change.
    change: Option<(String, String)>,
}

impl RouteClock {
    /// The clock of one moment on a beach.
    pub(in crate::route) fn at(time: Timestamp, beach: &Beach) -> Self {
        Self::between(beach.zone().unwrap_or(TimeZone::UTC), time, time)
    }

    /// The clock of a stretch of time.
    pub(super) fn between(zone: TimeZone, first: Timestamp, last: Timestamp) -> Self {
        let (before, after) = (zone.to_offset_info(first), zone.to_offset_info(last));
        if before.offset() == after.offset() {
            return Self { zone, change: None };
        }
        let (told, other) = if before.offset() < after.offset() { (before, after) } else { (after, before) };
        let change = Some((told.abbreviation().to_owned(), other.abbreviation().to_owned()));
        Self { zone: TimeZone::fixed(told.offset()), change }
    }

    /// That the clocks change on the way, and what that means for whoever reads the times.
    pub fn caution(&self) -> Option<String> {
        let (told, other) = self.change.as_ref()?;
        Some(format!(
            "The clocks change on the way: every time here is {told}, from setting out to the way back; a watch or phone on {other} shows more, so hold each against {told}."
        ))
    }

    fn said(&self, time: Timestamp, pattern: &str) -> String {
        time.to_zoned_datetime(self.zone.clone()).strftime(pattern).to_string()
    }

    /// Day and hour without the clock's name.
    pub fn dated(&self, time: Timestamp) -> String {
        self.said(time, "%a %-d %b %Y %H:%M")
    }

    /// The hour and the minute, with the clock's name where the clocks change.
    pub fn hour(&self, time: Timestamp) -> String {
        let hour = self.said(time, "%H:%M");
        self.change.as_ref().map_or_else(|| hour.clone(), |(told, _)| format!("{hour} {told}"))
    }

    /// The day of the week and the date.
    pub fn day(&self, time: Timestamp) -> String {
        self.said(time, "%A %-d %B %Y")
    }

    /// Day and hour with the clock's name.
    pub fn whole(&self, time: Timestamp) -> String {
        format!("{} {}", self.dated(time), self.name(time))
    }

    /// The clock's name then, such as GMT or BST.
    pub fn name(&self, time: Timestamp) -> String {
        self.change.as_ref().map_or_else(|| self.said(time, "%Z"), |(told, _)| told.clone())
    }

    /// How far it is ahead of UTC then, such as +01:00.
    pub fn offset(&self, time: Timestamp) -> String {
        self.said(time, "%:z")
    }

    /// The clock's name and how far it is ahead of UTC.
    pub fn zone(&self, time: Timestamp) -> String {
        format!("{}, UTC{}", self.name(time), self.offset(time))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn told(first: &str, last: &str) -> (Vec<String>, bool) {
        let [first, last] = [first, last].map(|t| t.parse::<Timestamp>().unwrap());
        let clock = RouteClock::between(TimeZone::get("Europe/London").unwrap(), first, last);
        (vec![clock.whole(first), clock.whole(last), clock.offset(last)], clock.caution().is_some())
    }

    /// Directive 2000/84/EC and the Summer Time Order 2002: clocks change at 01:00 UTC on the last Sundays of March and October,
    /// of 2028 on 26 March and of 2026 on 25 October.
    #[test]
    fn over_a_change_of_clocks_every_time_is_told_on_the_one_that_is_behind() {
        let spring = told("2028-03-25T23:30:00Z", "2028-03-26T03:59:49Z");
        assert_eq!(spring, (vec!["Sat 25 Mar 2028 23:30 GMT".into(), "Sun 26 Mar 2028 03:59 GMT".into(), "+00:00".into()], true));
        let autumn = told("2026-10-25T00:10:00Z", "2026-10-25T03:20:00Z");
        assert_eq!(autumn, (vec!["Sun 25 Oct 2026 00:10 GMT".into(), "Sun 25 Oct 2026 03:20 GMT".into(), "+00:00".into()], true));
        let usual = told("2026-07-01T08:10:00Z", "2026-07-01T13:20:00Z");
        assert_eq!(usual, (vec!["Wed 1 Jul 2026 09:10 BST".into(), "Wed 1 Jul 2026 14:20 BST".into(), "+01:00".into()], false));
    }
}
