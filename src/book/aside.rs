use jiff::Timestamp;
use jiff::civil::{Date, Time};
use jiff::tz::TimeZone;
use serde::{Deserialize, Serialize};

use super::BookError;
use super::words::words;

words! {
    /// Why a stretch of an outing says nothing of where the water stood.
    AsideWhy, "reason to set a stretch aside" {
        /// In the water on purpose.
        Wading = "wading", "wading";
        /// In a boat, in a car, swimming.
        NotOnFoot = "not_on_foot", "not on foot";
        /// The receiver was somebody else's, or lay somewhere.
        NotMe = "not_me", "not me";
        /// So far from the water that the limit of the search says nothing of its edge.
        KeptClear = "kept_clear", "kept clear";
    }
}

/// A stretch of an outing that is no witness of the water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Aside {
    /// Why.
    pub why: AsideWhy,
    /// From when.
    pub from: Timestamp,
    /// To when; after `from`.
    pub to: Timestamp,
}

impl Aside {
    /// Whether an instant lies in it, seconds since 1970.
    pub fn holds(&self, time_s: f64) -> bool {
        let s = |t: Timestamp| t.as_millisecond() as f64 / 1000.0;
        (s(self.from)..=s(self.to)).contains(&time_s)
    }

    /// Stretches as they are typed, such as `06:40-07:10 wading; 07:30-08:00 not me`: times of the beach's clock, each on the
    /// day on which it shares most with the outing, which lasts from `start` to `end`; nothing is none.
    ///
    /// # Errors
    /// A sentence about the first stretch that cannot be read.
    pub fn read_all(text: &str, (start, end): (Timestamp, Timestamp), zone: &TimeZone) -> Result<Vec<Self>, BookError> {
        text.split(';').map(str::trim).filter(|t| !t.is_empty()).map(|t| Self::read(t, (start, end), zone)).collect()
    }

    fn read(text: &str, (start, end): (Timestamp, Timestamp), zone: &TimeZone) -> Result<Self, BookError> {
        let unfit = || BookError::field("stretch to set aside", format!("\"{text}\" is not one such as 06:40-07:10 wading"));
        let (times, why) = text.split_once(' ').ok_or_else(unfit)?;
        let (from, to) = times.split_once('-').ok_or_else(unfit)?;
        let time = |text: &str| Time::strptime("%H:%M", text.trim()).map_err(|_| unfit());
        let (from, to, why) = (time(from)?, time(to)?, why.parse()?);
        let days = |n: i64| jiff::Span::new().days(n);
        let on = |day: Date| {
            let ends = if to < from { day.checked_add(days(1)).ok()? } else { day };
            let instant = |day: Date, time: Time| zone.to_timestamp(day.to_datetime(time)).ok();
            Some(Self { why, from: instant(day, from)?, to: instant(ends, to)? })
        };
        // From the day before the start to that of the end; what lies apart from the outing shares less than nothing.
        let (first, last) = (zone.to_datetime(start).date(), zone.to_datetime(end.max(start)).date());
        let all = first.checked_sub(days(1)).map_err(|_| unfit())?.series(days(1)).take_while(|day| *day <= last);
        let shared = |a: &Self| a.to.min(end).duration_since(a.from.max(start));
        let most = all.filter_map(on).reduce(|a, b| if shared(&b) > shared(&a) { b } else { a });
        let aside = most.ok_or_else(unfit)?;
        aside.validate().map(|()| aside)
    }

    /// What of it lies between two instants; `None` where it does not touch what lies between them.
    pub fn within(&self, from: Timestamp, to: Timestamp) -> Option<Self> {
        let cut = Self { from: self.from.max(from), to: self.to.min(to), ..*self };
        (cut.from < cut.to).then_some(cut)
    }

    /// Stretches as they are typed; see [`Aside::read_all`].
    pub fn words_of_all(all: &[Self], zone: &TimeZone) -> String {
        let clock = |t: Timestamp| zone.to_datetime(t).strftime("%H:%M").to_string();
        let one = |a: &Self| format!("{}-{} {}", clock(a.from), clock(a.to), a.why.label());
        all.iter().map(one).collect::<Vec<_>>().join("; ")
    }

    pub(super) fn validate(&self) -> Result<(), BookError> {
        if self.to <= self.from {
            return Err(BookError::field(
                "stretch to set aside",
                format!("ends at {} before it starts at {}", self.to, self.from),
            ));
        }
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_are_read_as_they_are_written_over_midnight_too() {
        let zone = TimeZone::get("Europe/London").unwrap();
        let [start, end] = ["2026-07-12T21:30:20Z", "2026-07-13T00:10:00Z"].map(|t| t.parse::<Timestamp>().unwrap());
        let outing = (start, end);
        let text = "22:40-23:10 wading; 23:50-00:20 not me; 00:30-00:45 kept clear";
        let all = Aside::read_all(text, outing, &zone).unwrap();
        // British Summer Time is an hour ahead of UTC.
        assert_eq!(all[0].from, "2026-07-12T21:40:00Z".parse().unwrap());
        assert_eq!((all[1].why, all[1].to), (AsideWhy::NotMe, "2026-07-12T23:20:00Z".parse().unwrap()));
        assert_eq!(all[2].from, "2026-07-12T23:30:00Z".parse().unwrap());
        assert_eq!(Aside::words_of_all(&all, &zone), text);
        // A stretch from the very minute of the start lies on that day.
        // A stretch from the very minute of the start, or from before it, lies on that day.
        for (text, from) in [("22:30-22:40 wading", "2026-07-12T21:30:00Z"), ("21:50-22:40 wading", "2026-07-12T20:50:00Z")] {
            assert_eq!(Aside::read_all(text, outing, &zone).unwrap()[0].from, from.parse().unwrap(), "{text}");
        }
        let over = Aside::read_all("21:50-22:40 wading", outing, &zone).unwrap()[0];
        assert_eq!(over.within(start, end), Some(Aside { from: start, ..over }));
        assert_eq!(Aside::read_all("21:50-22:30 wading", outing, &zone).unwrap()[0].within(start, end), None);
        // One from after midnight, of an outing that began a little later.
        let late = (end - jiff::SignedDuration::from_mins(60), end);
        let early = Aside::read_all("23:50-00:30 wading", late, &zone).unwrap()[0];
        assert_eq!(early.from, "2026-07-12T22:50:00Z".parse().unwrap());
        assert_eq!(Aside::read_all("  ", outing, &zone), Ok(Vec::new()));
        for bad in ["wading", "22:40 wading", "25:00-26:00 wading", "22:40-23:10 flying", "22:40-22:40 wading"] {
            assert!(Aside::read_all(bad, outing, &zone).is_err(), "{bad}");
        }
        assert!(all[0].holds(all[0].from.as_second() as f64) && !all[0].holds(all[0].to.as_second() as f64 + 1.0));
    }
}
