//! The hours of the week that a person has for the beach.

use std::fmt;
use std::str::FromStr;

use jiff::civil::{Date, Time, Weekday};
use jiff::tz::TimeZone;
use jiff::{Span, Timestamp};
use serde::{Deserialize, Serialize};

/// Weekdays in the order of their bits, with the names they are read by.
const DAYS: [(&str, Weekday); 7] = [
    ("mon", Weekday::Monday),
    ("tue", Weekday::Tuesday),
    ("wed", Weekday::Wednesday),
    ("thu", Weekday::Thursday),
    ("fri", Weekday::Friday),
    ("sat", Weekday::Saturday),
    ("sun", Weekday::Sunday),
];

/// A span of hours on some days of the week, by the beach's own clock.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
struct Rule {
    /// One flag a day, Monday first.
    days: [bool; 7],
    from: Time,
    /// Not after `from` when the hours run past midnight.
    to: Time,
}

/// The person's free hours. As text: days and hours, rules parted by commas, as in
/// `sat sun 8-18, mon-fri 17:30-21`; hours without a day hold daily, and `22-2` runs past midnight. No
/// rule at all means always.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct FreeHours {
    rules: Vec<Rule>,
}

/// Text that names no hours.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("\"{0}\" names no free hours; write days and hours such as \"sat sun 8-18, mon-fri 17:30-21\"")]
pub struct FreeHoursError(String);

impl FreeHours {
    /// Whether every hour is free.
    pub fn is_always(&self) -> bool {
        self.rules.is_empty()
    }

    /// The free hours within `from..to`, on the clock of `zone`, first and last instant of each, in order and
    /// without overlap; `None` when every hour is free.
    ///
    /// An end in an hour that the clocks skip moves as much later as they do.
    pub fn within(&self, zone: &TimeZone, from: Timestamp, to: Timestamp) -> Option<Vec<(Timestamp, Timestamp)>> {
        if self.is_always() {
            return None;
        }
        let day = |t: Timestamp| t.to_zoned_datetime(zone.clone()).date();
        let first = day(from).checked_sub(Span::new().days(1)).unwrap_or(Date::MIN);
        let last = day(to);
        let mut found: Vec<(Timestamp, Timestamp)> = std::iter::successors(Some(first), |d| d.tomorrow().ok())
            .take_while(|d| *d <= last)
            .flat_map(|date| self.rules.iter().filter_map(move |rule| rule.on(date, zone)))
            .map(|(a, b)| (a.max(from), b.min(to)))
            .filter(|(a, b)| a < b)
            .collect();
        found.sort_unstable();
        let mut out: Vec<(Timestamp, Timestamp)> = Vec::new();
        for (a, b) in found {
            match out.last_mut() {
                Some(last) if a <= last.1 => last.1 = last.1.max(b),
                _ => out.push((a, b)),
            }
        }
        Some(out)
    }
}

impl Rule {
    fn on(&self, date: Date, zone: &TimeZone) -> Option<(Timestamp, Timestamp)> {
        if !self.days[date.weekday().to_monday_zero_offset() as usize] {
            return None;
        }
        let end = if self.to > self.from { date } else { date.tomorrow().ok()? };
        let at = |date: Date, time: Time| zone.to_timestamp(date.to_datetime(time)).ok();
        let (from, to) = (at(date, self.from)?, at(end, self.to)?);
        (from < to).then_some((from, to))
    }

    fn read(text: &str) -> Option<Self> {
        let mut days = [false; 7];
        let mut hours = None;
        for word in text.split_whitespace() {
            if word.starts_with(|c: char| c.is_ascii_digit()) {
                let (from, to) = word.split_once(['-', '–'])?;
                if hours.replace((clock(from)?, clock(to)?)).is_some() {
                    return None;
                }
            } else {
                let (first, last) = match word.to_lowercase().as_str() {
                    "daily" => (0, 6),
                    "weekdays" => (0, 4),
                    "weekend" | "weekends" => (5, 6),
                    other => match other.split_once(['-', '–']) {
                        Some((first, last)) => (day(first)?, day(last)?),
                        None => (day(other)?, day(other)?),
                    },
                };
                // `fri-mon` goes on over the weekend.
                (0..7).map(|n| (first + n) % 7).take((last + 7 - first) % 7 + 1).for_each(|n| days[n] = true);
            }
        }
        let (from, to) = hours?;
        if days == [false; 7] {
            days = [true; 7];
        }
        Some(Self { days, from, to })
    }
}

fn day(text: &str) -> Option<usize> {
    (text.len() >= 2).then(|| DAYS.iter().position(|(name, _)| text.starts_with(name) || *text == name[..2])).flatten()
}

/// `8`, `08:30` or `24`, which is midnight.
fn clock(text: &str) -> Option<Time> {
    let (hour, minute) = text.split_once([':', '.']).unwrap_or((text, "0"));
    match (hour.parse().ok()?, minute.parse().ok()?) {
        (24, 0) => Some(Time::midnight()),
        (hour, minute) => Time::new(hour, minute, 0, 0).ok(),
    }
}

impl FromStr for FreeHours {
    type Err = FreeHoursError;

    fn from_str(text: &str) -> Result<Self, FreeHoursError> {
        let parts = text.split([',', ';']).map(str::trim).filter(|part| !part.is_empty());
        let rules: Option<Vec<Rule>> = parts.map(Rule::read).collect();
        Ok(Self { rules: rules.ok_or_else(|| FreeHoursError(text.trim().to_owned()))? })
    }
}

impl fmt::Display for FreeHours {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let rule = |rule: &Rule| {
            let days: Vec<&str> = DAYS.iter().zip(rule.days).filter(|(_, on)| *on).map(|((name, _), _)| *name).collect();
            let days = if days.len() == 7 { "daily".to_owned() } else { days.join(" ") };
            format!("{days} {}-{}", rule.from.strftime("%H:%M"), rule.to.strftime("%H:%M"))
        };
        f.pad(&self.rules.iter().map(rule).collect::<Vec<_>>().join(", "))
    }
}

impl TryFrom<String> for FreeHours {
    type Error = FreeHoursError;
    fn try_from(text: String) -> Result<Self, FreeHoursError> {
        text.parse()
    }
}

impl From<FreeHours> for String {
    fn from(hours: FreeHours) -> Self {
        hours.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn within(text: &str, zone: &str, from: &str, to: &str) -> Vec<String> {
        let hours: FreeHours = text.parse().unwrap();
        let again: FreeHours = hours.to_string().parse().unwrap();
        assert_eq!(again, hours, "{text}");
        let zone = TimeZone::get(zone).unwrap();
        hours
            .within(&zone, from.parse().unwrap(), to.parse().unwrap())
            .unwrap()
            .iter()
            .map(|(from, to)| format!("{}/{}", from.strftime("%dT%H:%M"), to.strftime("%dT%H:%M")))
            .collect()
    }

    #[test]
    fn days_and_hours_are_read_as_people_write_them() {
        // 2026-06-01 is a Monday.
        let (from, to) = ("2026-06-01T00:00:00Z", "2026-06-08T00:00:00Z");
        assert_eq!(within("Sat Sunday 8-18", "UTC", from, to), ["06T08:00/06T18:00", "07T08:00/07T18:00"]);
        assert_eq!(within("fri-mon 9:30-10", "UTC", from, to).len(), 4);
        assert_eq!(within("6-24", "UTC", from, to).len(), 7);
        assert_eq!(within("weekend 8-12, sat 10-14", "UTC", from, to), ["06T08:00/06T14:00", "07T08:00/07T12:00"]);
        for bad in ["sat", "8", "8-18 9-12", "noon-18", "xyz 8-18", "25-26"] {
            assert!(bad.parse::<FreeHours>().is_err(), "{bad}");
        }
        assert!("".parse::<FreeHours>().unwrap().is_always());
        assert_eq!(within("sat 8-18", "UTC", from, "2026-06-02T00:00:00Z"), Vec::<String>::new(), "none, not always");
    }

    #[test]
    fn hours_run_past_midnight_and_follow_the_clocks_of_the_zone() {
        let past = within("tue 22-2", "UTC", "2026-06-02T00:00:00Z", "2026-06-03T12:00:00Z");
        assert_eq!(past, ["02T22:00/03T02:00"]);
        assert_eq!(within("tue 22-2", "UTC", "2026-06-03T01:00:00Z", "2026-06-03T12:00:00Z"), ["03T01:00/03T02:00"]);
        // British clocks went forward over 01:00 to 02:00 on 29 March 2026: 01:30 is never shown.
        let spring = within("sun 1:30-4", "Europe/London", "2026-03-29T00:00:00Z", "2026-03-29T12:00:00Z");
        assert_eq!(spring, ["29T01:30/29T03:00"]);
    }
}
