//! Whether the zero of a gauge record stays where it is. A logger that slips on its post, or whose sensor drifts, writes the
//! water too low or too high by that, and no tide shows it: the mean level does.
//!
//! The tide is taken out by running means of 24, 25 and 25 hours, one after the other (Godin 1972, *The Analysis of Tides*,
//! from memory), and so is the season as the nearest station predicts it. What is left is weather, which comes and goes within
//! days, and what the zero does: a straight line, or one step, is fitted to a value a day.

use jiff::{SignedDuration, Timestamp};

use super::{Doubt, Weight};
use crate::book::Beach;
use crate::tide::{Catalogue, Datum, Predictor};

//
// Set on made weather, alike from day to day by 0.75, of 0.1 to 0.25 m (standard deviation), with a season of 0.15 m: of records
// of 70 days and more 0.1 in 100 are told, of 45 days 0.6 and of 28 days 1.9, those of 0.25 m mostly. A drift of 1.2 m, and a slip
// of 0.8 m half way or of 0.9 m in the last third, are told of 95 in 100 at 28 days and 99 from 70 days on.

/// The running means, hours.
const MEANS_H: [usize; 3] = [24, 25, 25];
/// Readings so many hours apart are drawn through.
const MOST_GAP_H: usize = 3;
/// Nothing is looked for in a record that spans so many hours: its dates are wrong.
const MOST_H: usize = 30 * 366 * 24;
/// So many days at least are known, ...
const LEAST_DAYS: usize = 20;
/// ... and so many before a step and after it.
const EDGE_DAYS: usize = 5;
/// A drift or a step is told from so many metres on: weather makes 0.3 to 0.5 m over days (common practice, no published
/// source), ...
const LEAST_M: f64 = 0.5;
/// ... in fewer days than this from so many, ...
const FEW_DAYS: f64 = 60.0;
const FEW_LEAST_M: f64 = 0.65;
/// ... and where no station tells of the season from so many: the yearly constituent is above 0.28 m at 5 in 100 stations.
const NO_SEASON_LEAST_M: f64 = 0.8;
/// It explains this part of what the daily values vary by.
const EXPLAINS: f64 = 0.65;
/// A station this near tells of the season, metres (a judgement).
const SEASON_M: f64 = 100_000.0;

/// What the zero does.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Change {
    /// It drifts by so much over so many days, metres.
    Drift { up_m: f64, days: f64 },
    /// It steps by so much, so many days after the start, metres.
    Step { up_m: f64, day: f64 },
}

/// What is to be said of the zero of a gauge record: its readings in order of time.
pub fn of_zero(beach: &Beach, name: &str, key: &str, readings: &[(Timestamp, f64)]) -> Option<Doubt> {
    let (change, start) = change(beach, readings)?;
    let way = |m: f64| if m < 0.0 { "falls" } else { "rises" };
    let (kind, up_m, sentence) = match change {
        Change::Drift { up_m, days } => (
            "drifts",
            up_m,
            format!(
                "The zero of gauge record \"{name}\" seems to drift: with the tide taken out its water {} by {:.2} m over {days:.0} days of the record, which weather and season do not make. The record is shown, but nothing is planned by it.",
                way(up_m),
                up_m.abs()
            ),
        ),
        Change::Step { up_m, day } => {
            let at = start.checked_add(SignedDuration::from_mins((1_440.0 * day) as i64)).unwrap_or(start);
            let zone = beach.zone().unwrap_or(jiff::tz::TimeZone::UTC);
            (
                "slips",
                up_m,
                format!(
                    "The zero of gauge record \"{name}\" seems to slip by {:.2} m about {}: with the tide taken out its water {} by that and stays there, which weather and season do not make. The record is shown, but nothing is planned by it.",
                    up_m.abs(),
                    zone.to_datetime(at).strftime("%Y-%m-%d"),
                    way(up_m)
                ),
            )
        }
    };
    Some(Doubt {
        key: format!("gauge-{kind}:{up_m:+.2},{}@{key}", readings.len()),
        sentence,
        weight: Weight::Refuses,
        settle: vec![
            "Look how the logger was fastened and hold its level against a fixed mark; import the part in which it hung still, or choose a station or a tide table."
                .to_owned(),
        ],
        spans: Vec::new(),
    })
}

/// What the zero does, and when the days begin to count.
fn change(beach: &Beach, readings: &[(Timestamp, f64)]) -> Option<(Change, Timestamp)> {
    let start = readings.first()?.0;
    let hours = hourly(readings)?;
    let season = season(beach, start, hours.len());
    let known = season.is_some();
    let less = |(n, m): (usize, Option<f64>)| Some(m? - season.as_ref().map_or(0.0, |s| s[n]));
    let rest: Vec<Option<f64>> = hours.into_iter().enumerate().map(less).collect();
    let means = without_tide(rest);
    // The middle of the hours that a mean is of.
    let before_h = MEANS_H.iter().map(|h| h - 1).sum::<usize>() as f64 / 2.0 + 0.5;
    let days: Vec<(f64, f64)> =
        (0..).zip(&means).step_by(24).filter_map(|(n, m)| Some(((f64::from(n) + before_h) / 24.0, (*m)?))).collect();
    let change = fitted(&days)?;
    let (Change::Drift { up_m, .. } | Change::Step { up_m, .. }) = change;
    let span = days.last()?.0 - days.first()?.0;
    let least_m = if !known {
        NO_SEASON_LEAST_M
    } else if span < FEW_DAYS {
        FEW_LEAST_M
    } else {
        LEAST_M
    };
    (up_m.abs() >= least_m).then_some((change, start))
}

/// The mean of each hour from the first reading on; short gaps are drawn through.
fn hourly(readings: &[(Timestamp, f64)]) -> Option<Vec<Option<f64>>> {
    let (start, end) = (readings.first()?.0, readings.last()?.0);
    let hour = |t: Timestamp| usize::try_from(t.duration_since(start).as_secs() / 3_600).unwrap_or(0);
    let n = hour(end) + 1;
    if n > MOST_H {
        return None;
    }
    let mut sums = vec![(0.0, 0.0); n];
    for (time, m) in readings.iter().filter(|(_, m)| m.is_finite()) {
        if let Some(sum) = sums.get_mut(hour(*time)) {
            *sum = (sum.0 + m, sum.1 + 1.0);
        }
    }
    let mut hours: Vec<Option<f64>> = sums.into_iter().map(|(m, n)| (n > 0.0).then(|| m / n)).collect();
    let mut last: Option<(usize, f64)> = None;
    for n in 0..hours.len() {
        let Some(here) = hours[n] else { continue };
        if let Some((before, m)) = last.filter(|(before, _)| (2..=MOST_GAP_H).contains(&(n - before))) {
            let between = n - before;
            for (k, gap) in (1..).zip(&mut hours[before + 1..n]) {
                *gap = Some(m + (here - m) * f64::from(k) / between as f64);
            }
        }
        last = Some((n, here));
    }
    Some(hours)
}

/// What the nearest station predicts hour by hour: once the tide is taken out, its season.
fn season(beach: &Beach, start: Timestamp, hours: usize) -> Option<Vec<f64>> {
    let (station, away_m) = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next()?;
    if beach.invented || away_m > SEASON_M || station.constants.iter().all(|c| &*c.name != "SA") {
        return None;
    }
    Some(Predictor::new(station, &Datum::Msl).ok()?.heights(start, 3_600.0, hours))
}

/// The running means, one after the other; known where all of their hours are.
fn without_tide(mut hours: Vec<Option<f64>>) -> Vec<Option<f64>> {
    for n in MEANS_H {
        hours = hours.windows(n).map(|w| w.iter().copied().sum::<Option<f64>>().map(|m| m / n as f64)).collect();
    }
    hours
}

/// The line or the step that explains most of a value a day, if it explains enough.
fn fitted(days: &[(f64, f64)]) -> Option<Change> {
    let n = days.len();
    if n < LEAST_DAYS {
        return None;
    }
    let mean = |of: fn(&(f64, f64)) -> f64| days.iter().map(of).sum::<f64>() / n as f64;
    let (day, level) = (mean(|d| d.0), mean(|d| d.1));
    let all: f64 = days.iter().map(|d| (d.1 - level).powi(2)).sum();
    let (xx, xy) = days.iter().fold((0.0, 0.0), |(xx, xy), (x, y)| (xx + (x - day).powi(2), xy + (x - day) * (y - level)));
    let span = days.last()?.0 - days.first()?.0;
    let line = (xy * xy / xx, Change::Drift { up_m: xy / xx * span, days: span });
    let mut before = 0.0;
    let mut best = line;
    for k in 1..=n - EDGE_DAYS {
        before += days[k - 1].1 - level;
        if k < EDGE_DAYS {
            continue;
        }
        let (first, last) = (k as f64, (n - k) as f64);
        let explained = before * before / first + before * before / last;
        if explained > best.0 {
            let up_m = -before / last - before / first;
            best = (explained, Change::Step { up_m, day: 0.5 * (days[k - 1].0 + days[k].0) });
        }
    }
    (all > 0.0 && best.0 >= EXPLAINS * all).then_some(best.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

    /// Levels as a logger at a station writes them, every ten minutes, with weather of 0.15 m (standard deviation) of four days
    /// and ten, and its zero moved by metres that depend on the day.
    fn told(id: &str, days: i64, moved_m: impl Fn(f64) -> f64) -> Option<Doubt> {
        let station = Catalogue::shipped().get(id).unwrap();
        let predictor = Predictor::new(station, &Datum::Msl).unwrap();
        let start: Timestamp = "2026-09-10T00:00:00Z".parse().unwrap();
        let weather = |day: f64| 0.15 * ((day * 1.57).sin() + (day * 0.63 + 1.0).sin());
        let reading = |(n, m): (i64, f64)| {
            let day = n as f64 / 144.0;
            (start + SignedDuration::from_secs(600 * n), m + weather(day) + moved_m(day))
        };
        let readings: Vec<(Timestamp, f64)> =
            (0..).zip(predictor.heights(start, 600.0, (days * 144) as usize)).map(reading).collect();
        let beach = Beach { time_zone: station.time_zone.clone(), ..Beach::new("Invented Bay", station.at) };
        of_zero(&beach, "logger", "gauge:x", &readings)
    }

    /// M2 goes round by 28.984 104° an hour, O1 by 13.943 036° and K1 by 15.041 069° (Schureman 1958, table 2, from memory).
    #[test]
    fn running_means_take_the_tide_out_and_leave_the_level() {
        for speed_deg_h in [28.984_104_f64, 13.943_036, 15.041_069, 30.0] {
            let hours: Vec<Option<f64>> = (0..240).map(|n| Some(2.0 + (speed_deg_h * f64::from(n)).to_radians().cos())).collect();
            let rest = without_tide(hours);
            assert_eq!(rest.len(), 240 - 71);
            assert!(rest.iter().all(|m| (m.unwrap() - 2.0).abs() < 5e-3), "{speed_deg_h}");
        }
    }

    #[test]
    fn a_logger_that_hangs_still_draws_no_word_in_weather_and_season() {
        for id in [NEWLYN, "ticon/saint_malo-410-fra-refmar", "ticon/heysham-hey-gbr-bodc", "noaa/9447130", "noaa/8729840"] {
            for days in [30, 70, 200] {
                assert_eq!(told(id, days, |_| 0.0), None, "{id} {days}");
                // What a season makes of two months.
                assert_eq!(told(id, days, |day| 0.15 * day / 70.0), None, "{id} {days}");
            }
        }
        // A storm of two days, 1 m high.
        assert_eq!(told(NEWLYN, 70, |day| if (40.0..42.0).contains(&day) { 1.0 } else { 0.0 }), None);
        assert_eq!(told(NEWLYN, 15, |day| -0.1 * day), None, "too short to tell");
    }

    #[test]
    fn a_zero_that_drifts_or_slips_plans_nothing() {
        for id in [NEWLYN, "ticon/heysham-hey-gbr-bodc"] {
            for all_m in [-1.2, -1.5, 1.2] {
                let said = told(id, 70, |day| all_m * day / 70.0).unwrap_or_else(|| panic!("{all_m} is not told"));
                assert!(said.weight == Weight::Refuses && said.key.starts_with("gauge-drifts:"), "{said:?}");
                assert!(said.sentence.contains(if all_m < 0.0 { "falls by" } else { "rises by" }), "{said:?}");
            }
            // Day 35 after 10 September is 15 October; a value a day and weather leave some days open.
            let said = told(id, 70, |day| if day > 35.0 { -0.8 } else { 0.0 }).expect("it is told");
            assert!(said.weight == Weight::Refuses && said.key.starts_with("gauge-slips:"), "{said:?}");
            assert!(said.sentence.contains("2026-10-1") && said.sentence.contains("falls by that"), "{said:?}");
            assert!(told(id, 70, |day| if day > 47.0 { -0.9 } else { 0.0 }).is_some_and(|d| d.key.starts_with("gauge-slips:")));
        }
    }

    #[test]
    fn gaps_are_left_out_and_dates_that_are_wrong_ask_for_no_memory() {
        let start: Timestamp = "2026-09-10T00:00:00Z".parse().unwrap();
        let at = |h: i64, m: f64| (start + SignedDuration::from_hours(h), m);
        let hours = hourly(&[at(0, 1.0), at(2, 3.0), at(8, 4.0)]).unwrap();
        assert_eq!(hours[..4], [Some(1.0), Some(2.0), Some(3.0), None]);
        assert_eq!(hourly(&[at(0, 1.0), at(24 * 366 * 900, 3.0)]), None);
        assert_eq!(hourly(&[]), None);
    }
}
