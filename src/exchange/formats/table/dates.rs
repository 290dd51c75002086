//! The order of day and month in dates of numbers: what the file shows, else the person's own outings, else what is
//! usual in the beach's country.

use std::collections::BTreeSet;

use jiff::civil::Date;

use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::when::{Order, When, order};

/// What the dates of a file say about their order.
#[derive(Debug, Default)]
pub(super) struct DateVotes {
    /// The first date that can only begin with its day, and its line.
    day_first: Option<(String, u64)>,
    /// The first that can only begin with its month.
    month_first: Option<(String, u64)>,
    /// Dates that leave it open, with the line of the first.
    open: Vec<String>,
    open_line: u64,
}

/// How many open dates are held against the outings.
const OPEN_KEPT: usize = 2000;

impl DateVotes {
    pub(super) fn add(&mut self, cell: &str, line: u64) {
        let first = || Some((cell.to_owned(), line));
        match order(cell) {
            Some(Order::DayFirst) if self.day_first.is_none() => self.day_first = first(),
            Some(Order::MonthFirst) if self.month_first.is_none() => self.month_first = first(),
            Some(Order::Open) if self.open.len() < OPEN_KEPT => {
                if self.open.is_empty() {
                    self.open_line = line;
                }
                self.open.push(cell.to_owned());
            }
            _ => {}
        }
    }

    /// What the file alone says: `Some(true)` for day first.
    pub(super) fn alone(&self) -> Option<bool> {
        match (&self.day_first, &self.month_first) {
            (Some(_), _) => Some(true),
            (None, Some(_)) => Some(false),
            (None, None) => None,
        }
    }

    /// Decides, tells how, and asks where it must: whether the day comes first.
    pub(super) fn decide(&self, taking: &mut Taking<'_>) -> bool {
        let (day_first, how) = self.decided(taking);
        if let Some(how) = how {
            taking.understand("dates", format!("{}, {how}", words(day_first)));
        }
        day_first
    }

    fn decided(&self, taking: &mut Taking<'_>) -> (bool, Option<&'static str>) {
        if self.day_first.is_none() && self.month_first.is_none() && self.open.is_empty() {
            return (taking.options.day_first.unwrap_or(true), None);
        }
        if let Some(asked) = taking.options.day_first {
            return (asked, Some("as asked"));
        }
        match (&self.day_first, &self.month_first) {
            (Some((day, day_line)), Some((month, month_line))) => {
                let question = || {
                    format!(
                        "dates of both orders stand in the file, \"{day}\" at line {day_line} and \"{month}\" at line {month_line}; \
                         those of the other order will be refused: which comes first?"
                    )
                };
                let answer = taking.settle(About::Dates, question, None);
                (answer != Some("month-first"), Some("though dates of the other order stand in the file"))
            }
            (Some(_), None) => (true, Some("as a date in the file can only be that")),
            (None, Some(_)) => (false, Some("as a date in the file can only be that")),
            (None, None) => self.open(taking),
        }
    }

    /// No date of the file says it: the days of the person's outings may, else the country does.
    fn open(&self, taking: &mut Taking<'_>) -> (bool, Option<&'static str>) {
        if taking.answered(About::Dates).is_some() {
            let answer = taking.settle(About::Dates, String::new, None);
            return (answer != Some("month-first"), Some("as answered"));
        }
        let remembered = taking.remembered(About::Dates);
        if remembered.is_none()
            && let Some(day_first) = self.by_outings(&days_out(taking))
        {
            return (day_first, Some("as the dates are then days of your outings"));
        }
        // What was said of such a file counts before what is usual, and is what the question tells.
        let usual = remembered.map_or_else(|| usually_day_first(&taking.beach.time_zone), |answer| answer != "month-first");
        let example = self.open.first().cloned().unwrap_or_default();
        let zone = taking.beach.time_zone.clone();
        let question = || {
            let read = day(&example, usual).map_or_else(String::new, |d| d.strftime("%-d %B %Y").to_string());
            let why = match remembered {
                Some(_) => "as in the last file with these headings; no date in the file says otherwise".to_owned(),
                None => format!(
                    "as is usual where the clock is that of {zone}; no date in the file, and no outing in the book, says otherwise"
                ),
            };
            format!("\"{example}\" at line {} is read as {read}, {why}: which comes first?", self.open_line)
        };
        let answer = taking.settle(About::Dates, question, Some(if usual { "day-first" } else { "month-first" }));
        let told = match remembered {
            Some(_) => "as for the last file with these headings",
            None => "as is usual in the beach's country",
        };
        (answer != Some("month-first"), Some(told))
    }
}

impl DateVotes {
    /// The order in which the dates are days of one's outings: most of them, on two days at least, as one alone may be by
    /// chance; and plainly more than in the other order.
    fn by_outings(&self, days: &BTreeSet<Date>) -> Option<bool> {
        let on = |day_first| {
            let own: Vec<Date> = self.open.iter().filter_map(|t| day(t, day_first)).filter(|d| days.contains(d)).collect();
            (own.len(), own.into_iter().collect::<BTreeSet<_>>().len())
        };
        let (by_day, by_month) = (on(true), on(false));
        let plain = |(dates, days): (usize, usize), (others, _): (usize, usize)| {
            2 * dates > self.open.len() && days >= 2 && dates > 3 * others
        };
        match (plain(by_day, by_month), plain(by_month, by_day)) {
            (true, _) => Some(true),
            (_, true) => Some(false),
            _ => None,
        }
    }
}

fn words(day_first: bool) -> &'static str {
    if day_first { "day first" } else { "month first" }
}

fn day(text: &str, day_first: bool) -> Option<Date> {
    match When::read(text, day_first)? {
        When::Day(day) => Some(day),
        When::Local(at) => Some(at.date()),
        When::Instant(_) => None,
    }
}

/// The days, by the file's clock, on which somebody was out on the beach.
pub(super) fn days_out(taking: &Taking<'_>) -> BTreeSet<Date> {
    let outings = taking.book.outings_of(taking.beach.uid);
    outings.iter().flat_map(|o| [o.start, o.end]).map(|t| taking.zone.to_datetime(t).date()).collect()
}

/// Whether dates of numbers usually begin with the day where this clock is kept. They begin with the month in the United
/// States and their territories, Panama, the Philippines, Palau, the Marshall Islands and Micronesia (Unicode CLDR, short date formats; from memory).
fn usually_day_first(zone: &str) -> bool {
    const MONTH_FIRST: &[&str] = &[
        "US/",
        "America/New_York",
        "America/Detroit",
        "America/Kentucky/",
        "America/Indiana/",
        "America/Chicago",
        "America/Menominee",
        "America/North_Dakota/",
        "America/Denver",
        "America/Boise",
        "America/Phoenix",
        "America/Los_Angeles",
        "America/Anchorage",
        "America/Juneau",
        "America/Sitka",
        "America/Metlakatla",
        "America/Yakutat",
        "America/Nome",
        "America/Adak",
        "America/Puerto_Rico",
        "America/St_Thomas",
        "America/Panama",
        "Pacific/Honolulu",
        "Pacific/Guam",
        "Pacific/Saipan",
        "Pacific/Pago_Pago",
        "Pacific/Palau",
        "Pacific/Majuro",
        "Pacific/Kwajalein",
        "Pacific/Chuuk",
        "Pacific/Pohnpei",
        "Pacific/Kosrae",
        "Asia/Manila",
    ];
    !MONTH_FIRST.iter().any(|m| zone == *m || (m.ends_with('/') && zone.starts_with(m)))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_dates_vote() {
        let mut votes = DateVotes::default();
        for cell in ["09:45", "9.45", "2024-05-13", "5 May 2024", ""] {
            votes.add(cell, 2);
        }
        assert!(votes.open.is_empty() && votes.alone().is_none());
        votes.add("05/04/2024 09:45", 3);
        assert_eq!((votes.alone(), votes.open.len()), (None, 1));
        votes.add("05/13/2024", 4);
        assert_eq!(votes.alone(), Some(false));
    }

    #[test]
    fn one_date_that_is_the_day_of_an_outing_by_chance_says_nothing() {
        let mut votes = DateVotes::default();
        for (line, cell) in ["03/02/2026", "05/04/2026", "07/06/2026", "09/08/2026"].into_iter().enumerate() {
            votes.add(cell, line as u64 + 2);
        }
        let days = |all: &[&str]| all.iter().map(|d| d.parse().unwrap()).collect::<BTreeSet<Date>>();
        assert_eq!(votes.by_outings(&days(&["2026-03-02"])), None);
        assert_eq!(votes.by_outings(&days(&["2026-03-02", "2026-05-04"])), None, "half of them are not most");
        assert_eq!(votes.by_outings(&days(&["2026-03-02", "2026-05-04", "2026-07-06"])), Some(false));
        assert_eq!(votes.by_outings(&days(&["2026-02-03", "2026-04-05", "2026-06-07"])), Some(true));
        let mut once = DateVotes::default();
        (2..5).for_each(|line| once.add("03/02/2026", line));
        assert_eq!(once.by_outings(&days(&["2026-03-02"])), None, "three finds of one day are one chance");
    }

    #[test]
    fn the_country_by_its_clock() {
        assert!(usually_day_first("Europe/London") && usually_day_first("America/Toronto") && usually_day_first("UTC"));
        assert!(!usually_day_first("America/New_York") && !usually_day_first("America/Indiana/Knox"));
    }
}
