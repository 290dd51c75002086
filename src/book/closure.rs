//! Why ground is not to be searched, and in which part of the year.

use std::fmt;
use std::str::FromStr;

use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::BookError;
use super::words::words;

words! {
    /// Why ground is not to be searched.
    ClosureWhy, "reason of a closure" {
        /// A protected monument, or the site of a protected wreck.
        Monument = "protected_site", "protected monument or wreck";
        /// A nature reserve.
        Reserve = "nature_reserve", "nature reserve";
        /// Nesting or resting birds.
        Birds = "bird_closure", "bird closure";
        /// Military ground.
        Military = "military", "military";
        /// A building site, dredging, or works on the shore.
        Works = "works", "works";
        /// Cables or pipes in the ground.
        Cables = "buried_cables", "buried cables";
        /// Anything else.
        Other = "other", "other";
    }
}

/// A part of every year, from one day of the calendar to another, both included; over New Year where it ends before it
/// begins. As text `03-01/08-31`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct YearlySpan {
    /// Month and day, as in a leap year.
    from: (i8, i8),
    to: (i8, i8),
}

impl YearlySpan {
    /// Whether a day of any year lies in it.
    pub fn holds(self, day: Date) -> bool {
        let day = (day.month(), day.day());
        if self.from <= self.to { self.from <= day && day <= self.to } else { day >= self.from || day <= self.to }
    }
}

fn month_and_day(text: &str) -> Option<(i8, i8)> {
    let (month, day) = text.trim().split_once('-')?;
    let date = Date::new(2024, month.parse().ok()?, day.parse().ok()?).ok()?;
    Some((date.month(), date.day()))
}

impl FromStr for YearlySpan {
    type Err = BookError;
    fn from_str(text: &str) -> Result<Self, BookError> {
        let ends = text.split_once('/').and_then(|(from, to)| Some((month_and_day(from)?, month_and_day(to)?)));
        ends.map(|(from, to)| Self { from, to })
            .ok_or_else(|| BookError::field("season", format!("\"{text}\" is not two days such as 03-01/08-31")))
    }
}

impl fmt::Display for YearlySpan {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let ((a, b), (c, d)) = (self.from, self.to);
        f.pad(&format!("{a:02}-{b:02}/{c:02}-{d:02}"))
    }
}

/// Why ground is not to be searched. As text the reason and, where it holds in a part of the year alone, its season:
/// `bird_closure 03-01/08-31`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Closure {
    /// Why.
    pub why: ClosureWhy,
    /// When; all year where nothing is said.
    pub season: Option<YearlySpan>,
}

impl Closure {
    /// Whether it holds on a day of the beach's calendar.
    pub fn holds(self, day: Date) -> bool {
        self.season.is_none_or(|s| s.holds(day))
    }

    /// How the screen says it: `bird closure, 1 March to 31 August`.
    pub fn said(self) -> String {
        let Some(YearlySpan { from, to }) = self.season else { return self.why.label().to_owned() };
        let day = |(month, day): (i8, i8)| Date::new(2024, month, day).map(|d| d.strftime("%-d %B").to_string());
        match (day(from), day(to)) {
            (Ok(from), Ok(to)) => format!("{}, {from} to {to}", self.why),
            _ => self.why.label().to_owned(),
        }
    }
}

impl FromStr for Closure {
    type Err = BookError;
    fn from_str(text: &str) -> Result<Self, BookError> {
        let text = text.trim();
        match text.rsplit_once(char::is_whitespace) {
            Some((why, season)) if season.contains('/') => {
                Ok(Self { why: why.trim().trim_end_matches(',').parse()?, season: Some(season.parse()?) })
            }
            _ => Ok(Self { why: text.parse()?, season: None }),
        }
    }
}

impl fmt::Display for Closure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.season {
            Some(season) => f.pad(&format!("{} {season}", self.why.word())),
            None => f.pad(self.why.word()),
        }
    }
}

/// Reading and writing as text for records that are kept as JSON.
macro_rules! as_text {
    ($($ty:ty),+) => { $(
        impl TryFrom<String> for $ty {
            type Error = BookError;
            fn try_from(text: String) -> Result<Self, BookError> {
                text.parse()
            }
        }

        impl From<$ty> for String {
            fn from(value: $ty) -> Self {
                value.to_string()
            }
        }
    )+ };
}
as_text!(YearlySpan, Closure);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn closures_are_read_as_they_are_written_and_hold_in_their_season() {
        let birds: Closure = "bird closure 03-01/08-31".parse().unwrap();
        assert_eq!(
            (birds.to_string(), birds.said()),
            ("bird_closure 03-01/08-31".into(), "bird closure, 1 March to 31 August".into())
        );
        assert_eq!(birds.to_string().parse::<Closure>().unwrap(), birds);
        let on = |c: Closure, day: &str| c.holds(day.parse().unwrap());
        assert!(on(birds, "2026-03-01") && on(birds, "2027-08-31") && !on(birds, "2026-02-28") && !on(birds, "2026-09-01"));
        let winter: Closure = "nature_reserve 11-15/02-29".parse().unwrap();
        assert!(on(winter, "2026-12-31") && on(winter, "2026-01-01") && !on(winter, "2026-03-01"));
        let cables: Closure = "Buried cables".parse().unwrap();
        assert!(on(cables, "2026-07-01") && cables.season.is_none());
        for bad in ["", "weeds", "works 13-01/02-01", "works 02-30/03-01", "works 1/2"] {
            assert!(bad.parse::<Closure>().is_err(), "{bad}");
        }
    }
}
