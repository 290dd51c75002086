//! When the outings fall: around low waters by daylight, at springs and weekends for choice, and after storms.

use std::collections::BTreeSet;
use std::sync::OnceLock;

use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};
use rand::RngExt as _;
use rand_chacha::ChaCha8Rng;

use super::planting::StormTruth;
use super::weather;
use crate::book::TideTurn;

/// The beach's time zone.
pub(super) const TIME_ZONE: &str = "Europe/London";

/// High and low waters of the station whose tide is borrowed, metres above its chart datum.
pub(super) fn turns() -> &'static [TideTurn] {
    static TURNS: OnceLock<Vec<TideTurn>> = OnceLock::new();
    TURNS.get_or_init(|| {
        include_str!("../../data/demo/tide/turns.csv")
            .lines()
            .skip(1)
            .filter_map(|line| {
                let mut cells = line.split(',');
                let time = cells.next()?.replace('Z', ":00Z").parse().ok()?;
                Some(TideTurn { time, level_m: cells.next()?.parse().ok()?, high: cells.next()? == "high" })
            })
            .collect()
    })
}

/// Water level at an instant, metres above chart datum: a half cosine between the turns.
pub(super) fn water_m(turns: &[TideTurn], time: Timestamp) -> f64 {
    let i = turns.partition_point(|t| t.time <= time).clamp(1, turns.len().max(2) - 1);
    let (Some(before), Some(after)) = (turns.get(i - 1), turns.get(i)) else { return 0.0 };
    let span = (after.time.as_second() - before.time.as_second()) as f64;
    let share = ((time.as_second() - before.time.as_second()) as f64 / span).clamp(0.0, 1.0);
    let eased = (1.0 - (std::f64::consts::PI * share).cos()) / 2.0;
    before.level_m + (after.level_m - before.level_m) * eased
}

/// One visit as it is meant: around a low water, from `start` to about `end`.
#[derive(Debug, Clone, Copy)]
pub(super) struct Visit {
    pub(super) low: Timestamp,
    pub(super) start: Timestamp,
    pub(super) end: Timestamp,
}

/// Picks `count` visits on different days, in order of time.
pub(super) fn visits(count: usize, storms: &[StormTruth], rng: &mut ChaCha8Rng) -> Vec<Visit> {
    let zone = TimeZone::get(TIME_ZONE).unwrap_or(TimeZone::UTC);
    let (start, end) = weather::span();
    let days = (end.as_second() - start.as_second()) / 86_400;
    // A third of the visits follow the storms, the rest are spread over the whole time.
    let after: Vec<i64> = storms
        .iter()
        .flat_map(|s| {
            let day = (s.peak.as_second() - start.as_second()) / 86_400;
            [day + 3, day + 11]
        })
        .take(count / 3)
        .collect();
    let rest = count - after.len();
    let spread_out = (0..rest).map(|i| 4 + (days - 8) * (2 * i as i64 + 1) / (2 * rest as i64).max(1));
    let mut taken = BTreeSet::new();
    let wanted: Vec<(i64, i64)> = after.iter().map(|d| (*d, 3)).chain(spread_out.map(|d| (d, 7))).collect();
    let mut visits: Vec<Visit> = wanted
        .into_iter()
        .filter_map(|(day, slack)| {
            // Low water by daylight may be a fortnight off in winter.
            (1..=3).find_map(|n| visit_near(day, slack * n, storms, &zone, &mut taken, rng))
        })
        .collect();
    visits.sort_by_key(|v| v.start);
    visits
}

fn visit_near(
    day: i64,
    slack: i64,
    storms: &[StormTruth],
    zone: &TimeZone,
    taken: &mut BTreeSet<Date>,
    rng: &mut ChaCha8Rng,
) -> Option<Visit> {
    let middle = weather::span().0 + SignedDuration::from_hours(24 * day);
    let mut best: Option<(f64, Timestamp, Date)> = None;
    for turn in turns().iter().filter(|t| !t.high) {
        if (turn.time.as_second() - middle.as_second()).abs() > slack * 86_400 {
            continue;
        }
        let local = turn.time.to_zoned_datetime(zone.clone());
        let daylight = if (4..=9).contains(&local.month()) { 8..=18 } else { 10..=14 };
        let stormy = storms.iter().any(|s| (turn.time.as_second() - s.peak.as_second()).abs() < 30 * 3600);
        if !daylight.contains(&local.hour()) || stormy || taken.contains(&local.date()) {
            continue;
        }
        let weekend = local.weekday().to_monday_zero_offset() >= 5;
        let score = turn.level_m - if weekend { 0.6 } else { 0.0 } + rng.random_range(0.0..0.8);
        if best.is_none_or(|(b, _, _)| score < b) {
            best = Some((score, turn.time, local.date()));
        }
    }
    let (_, low, date) = best?;
    taken.insert(date);
    let minutes = |m: i64| SignedDuration::from_mins(m);
    let start = low - minutes(rng.random_range(95..150)) + SignedDuration::from_secs(rng.random_range(0..60));
    Some(Visit { low, start, end: low + minutes(rng.random_range(60..105)) })
}

#[cfg(test)]
mod tests {
    use super::super::STATION;
    use super::*;
    use crate::tide::{Catalogue, TurnKind, Water};

    /// The table was predicted outside the project (data/demo/README.md says with what).
    #[test]
    fn the_borrowed_table_agrees_with_the_shipped_station() {
        let station = Catalogue::shipped().get(STATION).unwrap();
        let water = Water::of_station(station, station.chart_datum.clone()).unwrap();
        let table = turns();
        let minutes = |m| SignedDuration::from_mins(m);
        let own = water.turns(table[0].time - minutes(30), table[table.len() - 1].time + minutes(30));
        assert_eq!(own.len(), table.len());
        let (mut late_min, mut off_m) = (0.0_f64, 0.0_f64);
        for (o, t) in own.iter().zip(table) {
            assert_eq!(o.kind == TurnKind::High, t.high, "{}", t.time);
            late_min = late_min.max((o.time.as_second() - t.time.as_second()).abs() as f64 / 60.0);
            off_m = off_m.max((o.level_m - t.level_m).abs());
        }
        // Two programs that handle the minor constituents in their own ways; the outings need no more.
        assert!(late_min < 12.0 && off_m < 0.1, "{late_min} min, {off_m} m");
    }

    #[test]
    fn water_stands_at_its_turns_and_half_way_between() {
        let (a, b) = (turns()[10], turns()[11]);
        assert!((water_m(turns(), a.time) - a.level_m).abs() < 1e-9);
        let middle = Timestamp::from_second((a.time.as_second() + b.time.as_second()) / 2).unwrap();
        assert!((water_m(turns(), middle) - (a.level_m + b.level_m) / 2.0).abs() < 0.01);
    }
}
