//! Levels that are older than a storm, or than a year.
//!
//! One storm takes a beach down by decimetres in a night. A survey knows nothing of the storms after it, however exact it
//! was: its standard error is that of the instrument.

use jiff::civil::Date;
use jiff::{Timestamp, ToSpan as _};

use super::{Doubt, Weight};
use crate::book::{Beach, Storm};

/// By so much all sand is taken lower than its levels say where a storm or a year lies between, metres (common practice,
/// no published source: what a storm takes off the middle of a sandy beach is of this order, and can be several times it).
pub const AGED_M: f64 = 0.20;
/// Keys of this doubt begin so.
pub const AGED_SAND: &str = "levels-old:";
/// Days of a survey do not count as old for fewer of the levels than this share: strays of an earlier survey.
const STRAYS: f64 = 0.1;
/// Storms that are told by their days; more are counted.
const TOLD: usize = 3;

/// Of which days the levels of a beach are, and which storms it had.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct SandAge {
    /// Whether there are levels at all.
    levels: bool,
    /// A tenth of the levels are of this day or older; `None` where a tenth have no day.
    surveyed: Option<Date>,
    /// The last day that any level is of.
    latest: Option<Date>,
    /// First and last day (UTC) of each storm, earliest first.
    storms: Vec<(Date, Date)>,
}

/// What has happened since the levels were taken.
struct Since {
    surveyed: Option<Date>,
    storms: Vec<Date>,
    over_a_year: bool,
}

impl SandAge {
    /// From the day of each level that counts, and the storms of the beach.
    pub fn new<'a>(mut days: Vec<Option<Date>>, storms: impl IntoIterator<Item = &'a Storm>) -> Self {
        // Those without a day come first: of whatever age they are, they are not known to be young.
        days.sort();
        let strays = (days.len() as f64 * STRAYS) as usize;
        let day = |t: Timestamp| jiff::tz::TimeZone::UTC.to_datetime(t).date();
        let storms = storms.into_iter().filter_map(Storm::span).map(|(from, to)| (day(from), day(to))).collect();
        let (surveyed, latest) = (days.get(strays).copied().flatten(), days.last().copied().flatten());
        Self { levels: !days.is_empty(), surveyed, latest, storms }
    }

    /// The day that the levels are of: all but a few strays are no older.
    pub fn surveyed(&self) -> Option<Date> {
        self.surveyed
    }

    /// First days of the storms that came after the levels and before a moment.
    pub fn storms_since(&self, on: Timestamp) -> Vec<Date> {
        self.since(on).map_or_else(Vec::new, |s| s.storms)
    }

    /// By how much the sand is taken lower for it, metres.
    pub fn lower_m(&self, on: Timestamp) -> f64 {
        if self.since(on).is_some() { AGED_M } else { 0.0 }
    }

    /// What has happened since; `None` where nothing has, or there are no levels.
    fn since(&self, on: Timestamp) -> Option<Since> {
        let today = jiff::tz::TimeZone::UTC.to_datetime(on).date();
        let after = |to: Date| self.surveyed.is_none_or(|surveyed| to > surveyed);
        let storms: Vec<Date> = self.storms.iter().filter(|(from, to)| after(*to) && *from < today).map(|s| s.0).collect();
        let a_year_ago = today.checked_sub(1.year()).ok();
        let over_a_year = self.surveyed.zip(a_year_ago).is_some_and(|(surveyed, ago)| surveyed < ago);
        (self.levels && (over_a_year || !storms.is_empty())).then_some(Since { surveyed: self.surveyed, storms, over_a_year })
    }
}

/// What is to be said of the age of a beach's levels at a moment. An invented beach's sand does not move.
pub fn of_age(beach: &Beach, age: &SandAge, on: Timestamp) -> Option<Doubt> {
    let Since { surveyed, storms, over_a_year } = age.since(on).filter(|_| !beach.invented)?;
    let told = |d: Date| d.strftime("%-d %b %Y").to_string();
    let levels = match surveyed {
        Some(day) => format!("The levels of the sand are of {}", told(day)),
        None => "The levels of the sand have no day".to_owned(),
    };
    // The latest storms tell the most.
    let last: Vec<String> = storms.iter().rev().take(TOLD).rev().map(|d| told(*d)).collect();
    let more = storms.len() - last.len();
    let more = if more > 0 { format!(" and {more} before") } else { String::new() };
    let plural = if storms.len() == 1 { "a storm" } else { "storms" };
    let why = match (storms.is_empty(), over_a_year) {
        (true, _) => ", more than a year ago".to_owned(),
        (false, true) => {
            format!(", more than a year ago, and the record of the sea has {plural} since: {}{more}", last.join(", "))
        }
        (false, false) if surveyed.is_none() => format!(", and the record of the sea has {plural}: {}{more}", last.join(", ")),
        (false, false) => format!("; the record of the sea has {plural} since: {}{more}", last.join(", ")),
    };
    let newest = storms.last().map_or_else(|| "year".to_owned(), Date::to_string);
    Some(Doubt {
        spans: Vec::new(),
        key: format!("{AGED_SAND}{}<{newest}", surveyed.map_or_else(|| "undated".to_owned(), |d| d.to_string())),
        sentence: format!(
            "{levels}{why}. The sand may lie lower now and runnels elsewhere: all of it is taken {AGED_M:.2} m lower than surveyed (common practice, no published source)."
        ),
        weight: if storms.is_empty() { Weight::Caution } else { Weight::Question },
        settle: vec!["Survey it again: new levels take the place of old ones near them, and this margin goes.".to_owned()],
    })
}

/// What is to be said of levels of a day that has not come yet at the moment of the inquiry: they win over every other
/// survey, and no storm makes them old. A day is let pass, as clocks of the east are ahead.
pub fn of_future(beach: &Beach, age: &SandAge, now: Timestamp) -> Option<Doubt> {
    let today = jiff::tz::TimeZone::UTC.to_datetime(now).date();
    let tomorrow = today.checked_add(1.day()).ok()?;
    let latest = age.latest.filter(|day| !beach.invented && *day > tomorrow)?;
    Some(Doubt {
        spans: Vec::new(),
        key: format!("levels-future:{latest}"),
        sentence: format!(
            "Levels of the sand are of {}, a day that has not come yet: they take the place of every other survey, and no storm since counts.",
            latest.strftime("%-d %b %Y")
        ),
        weight: Weight::Blocks,
        settle: vec!["Take them out and import them again under the day on which they were surveyed.".to_owned()],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{SeaState, Uid};
    use crate::earth::LonLat;

    fn storm(day: &str) -> Storm {
        let time = format!("{day}T06:00:00Z").parse().unwrap();
        let state = SeaState { time, hs_m: 5.0, tp_s: Some(11.0), dir_deg: None, surge_m: None };
        Storm { uid: Uid::fresh(), beach: Uid::fresh(), name: String::new(), series: vec![state], notes: String::new() }
    }

    fn told(days: &[Option<&str>], storms: &[&str], on: &str) -> Option<(Weight, String)> {
        let storms: Vec<Storm> = storms.iter().map(|d| storm(d)).collect();
        let age = SandAge::new(days.iter().map(|d| d.map(|d| d.parse().unwrap())).collect(), &storms);
        let on: Timestamp = format!("{on}T12:00:00Z").parse().unwrap();
        let beach = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let doubt = of_age(&beach, &age, on);
        assert_eq!(age.lower_m(on) > 0.0, doubt.is_some());
        assert_eq!(of_age(&Beach { invented: true, ..beach }, &age, on), None);
        doubt.map(|d| (d.weight, d.sentence))
    }

    #[test]
    fn a_storm_after_the_levels_is_asked_about_with_both_days_and_a_year_is_told() {
        let autumn = [Some("2026-09-01"); 20];
        assert_eq!(told(&autumn, &[], "2027-02-10"), None);
        assert_eq!(told(&autumn, &["2026-08-20", "2026-09-01", "2027-03-01"], "2027-02-10"), None, "before, and yet to come");
        let (weight, said) = told(&autumn, &["2026-08-20", "2026-11-15"], "2027-02-10").unwrap();
        assert!(weight == Weight::Question && said.contains("1 Sep 2026") && said.contains("15 Nov 2026"), "{said}");
        assert!(!said.contains("20 Aug") && said.contains("0.20 m lower"), "{said}");
        let (weight, said) = told(&autumn, &[], "2027-09-02").unwrap();
        assert!(weight == Weight::Caution && said.contains("more than a year ago"), "{said}");
        // A stray of an old survey is passed over; a third of the levels is not. Without a day nothing is known to be young.
        let mut mixed = autumn.to_vec();
        mixed[0] = Some("2020-01-01");
        assert_eq!(told(&mixed, &[], "2027-02-10"), None);
        mixed[..7].fill(Some("2020-01-01"));
        assert!(told(&mixed, &[], "2027-02-10").is_some());
        assert_eq!(told(&[None; 9], &[], "2027-02-10"), None);
        assert!(told(&[None; 9], &["2026-11-15"], "2027-02-10").unwrap().1.contains("no day"));
        assert_eq!(told(&[], &["2026-11-15"], "2027-02-10"), None, "no levels");
    }

    #[test]
    fn a_level_of_a_day_that_has_not_come_blocks() {
        let beach = Beach::new("Invented Bay", LonLat::new(-5.5, 50.1).unwrap());
        let now: Timestamp = "2026-11-27T08:00:00Z".parse().unwrap();
        let told = |day: &str| {
            let days = [None, Some("2026-09-01"), Some(day)].map(|d| d.map(|d| d.parse().unwrap()));
            of_future(&beach, &SandAge::new(days.to_vec(), []), now).map(|d| (d.key, d.weight))
        };
        assert_eq!(told("2036-11-01"), Some(("levels-future:2036-11-01".to_owned(), Weight::Blocks)));
        assert_eq!(told("2026-11-29").map(|t| t.1), Some(Weight::Blocks));
        assert_eq!(told("2026-11-28"), None, "it is that day somewhere");
        assert_eq!(told("2026-11-01"), None);
        assert_eq!(of_future(&beach, &SandAge::new(vec![None; 3], []), now), None);
    }
}
