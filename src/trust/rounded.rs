//! Tide tables whose times are rounded: to the hour, the half or the quarter, or to ten minutes.

use jiff::tz::TimeZone;

use super::{Doubt, Weight};
use crate::tide::{TideTable, Turn};

/// Steps that times are rounded to, minutes, the longest first.
const STEPS_MIN: [i8; 4] = [60, 30, 15, 10];
/// So many turns at least: of eight to the minute all stand at tens of minutes once in 100 million tables.
const LEAST_TURNS: usize = 8;

/// What is to be said of a table whose times are all rounded, with what the margin is wider by, metres.
pub(super) fn of_rounded(key: &str, table: &TideTable, zone: &TimeZone) -> Option<(Doubt, f64)> {
    let turns = table.entries();
    let is_round = |t: &Turn, step_min: i8| {
        let at = zone.to_datetime(t.time);
        at.minute() % step_min == 0 && at.second() == 0
    };
    let all_round = |step_min: &i8| turns.iter().all(|t| is_round(t, *step_min));
    let step_min = STEPS_MIN.into_iter().find(all_round).filter(|_| turns.len() >= LEAST_TURNS)?;
    let half_min = 0.5 * f64::from(step_min);
    // Half a cosine is steepest at its middle.
    let fastest = |p: &[Turn]| {
        let minutes = p[1].time.duration_since(p[0].time).as_secs_f64() / 60.0;
        0.5 * std::f64::consts::PI * (p[1].level_m - p[0].level_m).abs() / minutes
    };
    let wider_m = half_min * turns.windows(2).map(fastest).fold(0.0, f64::max);
    let to = match step_min {
        60 => "whole hours".to_owned(),
        step_min => format!("{step_min} minutes"),
    };
    let doubt = Doubt {
        key: format!("table-rounded:{step_min}@{key}"),
        sentence: format!(
            "The times of the tide table \"{}\" are all rounded to {to}, so a turn may come {half_min} minutes earlier or later; the margin is {wider_m:.2} m wider for it, which is what the water makes in that time at its fastest.",
            table.name()
        ),
        weight: Weight::Question,
        settle: vec![
            "Import a table whose times are to the minute; if minutes were cut off, turns come up to twice as much later."
                .to_owned(),
        ],
        spans: Vec::new(),
    };
    Some((doubt, wider_m))
}

#[cfg(test)]
mod tests {
    use jiff::{SignedDuration, Timestamp};

    use super::*;
    use crate::tide::{Catalogue, Datum, Predictor, TableEntry};

    /// Ten days at Newlyn, times rounded to so many minutes on the clock of a zone.
    fn told(step_min: i64, zone: &str, turns: usize) -> Option<(Doubt, f64)> {
        let newlyn = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
        let predictor = Predictor::new(newlyn, &newlyn.chart_datum).unwrap();
        let zone = TimeZone::get(zone).unwrap();
        let from: Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
        let entry = |t: &Turn| {
            let ahead_s = i64::from(zone.to_offset(t.time).seconds());
            let step_s = 60 * step_min;
            let local_s = t.time.as_second() + ahead_s;
            let rounded_s = (local_s + step_s / 2).div_euclid(step_s) * step_s;
            TableEntry { time: Timestamp::from_second(rounded_s - ahead_s).unwrap(), level_m: t.level_m, kind: Some(t.kind) }
        };
        let all = predictor.turns(from, from + SignedDuration::from_hours(240));
        let entries: Vec<TableEntry> = all.iter().take(turns).map(entry).collect();
        of_rounded("table:x", &TideTable::new("printed", Datum::ChartDatum, &entries).unwrap(), &zone)
    }

    #[test]
    fn times_rounded_to_the_hour_or_a_part_of_it_are_asked_about_and_widen_the_margin() {
        for zone in ["Europe/London", "Asia/Kolkata"] {
            for (step_min, said) in [(60, "whole hours"), (30, "30 minutes"), (15, "15 minutes"), (10, "10 minutes")] {
                let (doubt, wider_m) = told(step_min, zone, 100).unwrap();
                assert!(doubt.weight == Weight::Question && doubt.sentence.contains(said), "{doubt:?}");
                // Newlyn's springs range some 5 m (M2 1.70, S2 0.57 m, from memory): half a cosine of it makes 1.3 m an hour.
                let hours = step_min as f64 / 120.0;
                assert!((0.9 * hours..1.7 * hours).contains(&wider_m), "{step_min}: {wider_m}");
            }
        }
    }

    #[test]
    fn times_to_the_minute_or_to_five_and_too_few_are_not_told() {
        for (step_min, turns) in [(1, 100), (5, 100), (6, 100), (60, 7)] {
            assert_eq!(told(step_min, "Europe/London", turns), None, "{step_min} {turns}");
        }
    }
}
