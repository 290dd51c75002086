use jiff::Timestamp;
use jiff::civil::{DateTime, Time};
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

    /// Stretches as they are typed, such as `06:40-07:10 wading; 07:30-08:00 not me`: times of the beach's clock on the
    /// day on which the outing began, or on the day after where they lie before its start; nothing is none.
    ///
    /// # Errors
    /// A sentence about the first stretch that cannot be read.
    pub fn read_all(text: &str, start: Timestamp, zone: &TimeZone) -> Result<Vec<Self>, BookError> {
        text.split(';').map(str::trim).filter(|t| !t.is_empty()).map(|t| Self::read(t, start, zone)).collect()
    }

    fn read(text: &str, start: Timestamp, zone: &TimeZone) -> Result<Self, BookError> {
        let unfit = || BookError::field("stretch to set aside", format!("\"{text}\" is not one such as 06:40-07:10 wading"));
        let (times, why) = text.split_once(' ').ok_or_else(unfit)?;
        let (from, to) = times.split_once('-').ok_or_else(unfit)?;
        let first = zone.to_datetime(start);
        let instant = |text: &str, after: DateTime| -> Option<Timestamp> {
            let time = Time::strptime("%H:%M", text.trim()).ok()?;
            let on = first.date().to_datetime(time);
            let whole_minute = after.date().at(after.hour(), after.minute(), 0, 0);
            let on = if on < whole_minute { on.checked_add(jiff::Span::new().days(1)).ok()? } else { on };
            zone.to_timestamp(on).ok()
        };
        let from = instant(from, first).ok_or_else(unfit)?;
        let to = instant(to, zone.to_datetime(from)).ok_or_else(unfit)?;
        let aside = Self { why: why.parse()?, from, to };
        aside.validate().map(|()| aside)
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
        let start: Timestamp = "2026-07-12T21:30:20Z".parse().unwrap();
        let text = "22:40-23:10 wading; 23:50-00:20 not me; 00:30-00:45 kept clear";
        let all = Aside::read_all(text, start, &zone).unwrap();
        // British Summer Time is an hour ahead of UTC.
        assert_eq!(all[0].from, "2026-07-12T21:40:00Z".parse().unwrap());
        assert_eq!((all[1].why, all[1].to), (AsideWhy::NotMe, "2026-07-12T23:20:00Z".parse().unwrap()));
        assert_eq!(all[2].from, "2026-07-12T23:30:00Z".parse().unwrap());
        assert_eq!(Aside::words_of_all(&all, &zone), text);
        // A stretch from the very minute of the start lies on that day.
        assert_eq!(Aside::read_all("22:30-22:40 wading", start, &zone).unwrap()[0].from, "2026-07-12T21:30:00Z".parse().unwrap());
        assert_eq!(Aside::read_all("  ", start, &zone), Ok(Vec::new()));
        for bad in ["wading", "22:40 wading", "25:00-26:00 wading", "22:40-23:10 flying", "22:40-22:40 wading"] {
            assert!(Aside::read_all(bad, start, &zone).is_err(), "{bad}");
        }
        assert!(all[0].holds(all[0].from.as_second() as f64) && !all[0].holds(all[0].to.as_second() as f64 + 1.0));
    }
}
