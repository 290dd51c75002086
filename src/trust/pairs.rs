//! The turns of a tide table paired with those of a station.

use jiff::{SignedDuration, Timestamp};

use crate::tide::{Predictor, Turn, TurnKind, without_small};

/// Days of a table that are looked at, from its start: the prediction of a year takes its time.
const DAYS: i64 = 400;
/// Turns this far from one of the same kind are those of another, minutes: a quarter of the time between two high waters.
const SAME_MIN: f64 = 186.0;
/// Whole tables are moved by up to so many minutes before their turns are paired, in steps of so many.
const MOVED_MIN: i32 = 360;
const STEP_MIN: usize = 30;
/// Pairs of turns that differ by less than this part of the mean range are left out at both: a table does not print them.
const SMALL_PART: f64 = 0.15;

/// A turn is the station's own where one of its kind stands there so near, minutes and metres, but for what those of its kind differ
/// by in the middle: less than a single one is told from.
const OWN_MIN: f64 = 8.0;
const OWN_M: f64 = 0.05;

/// One turn of a table with that of the station that it goes with.
#[derive(Clone, Copy)]
pub(super) struct Pair {
    pub(super) own: Turn,
    /// Later than the station's by so much, minutes.
    pub(super) late_min: f64,
    /// Height of the station's, metres above its zero.
    pub(super) there_m: f64,
    /// How far the station's water stands from that at this turn's minute, but for what its kind is late in the middle, metres.
    pub(super) made_m: f64,
}

/// Turns of a table with those of a station, moved in time to where most of them find one; empty where half find none.
pub(super) fn paired(turns: &[Turn], predictor: &Predictor) -> Vec<Pair> {
    let Some(first) = turns.first() else { return Vec::new() };
    let until = first.time + SignedDuration::from_hours(24 * DAYS);
    let own: Vec<Turn> = turns.iter().copied().take_while(|t| t.time < until).collect();
    let Some(last) = own.last() else { return Vec::new() };
    let margin = SignedDuration::from_hours(26);
    let all = predictor.turns(first.time - margin, last.time + margin);
    let there = without_small(&all, SMALL_PART * mean_range_m(&all).unwrap_or_default());
    let own = without_small(&own, SMALL_PART * mean_range_m(&own).unwrap_or_default());
    // Where the nearest of the same kind lie closest by in the middle, seen without a bias for nothing moved.
    let at = |moved_min: i32| {
        let mut off: Vec<f64> =
            own.iter().step_by(1 + own.len() / 60).filter_map(|t| Some(nearest(t, &there, moved_min)?.0.abs())).collect();
        off.sort_by(f64::total_cmp);
        off.get(off.len() / 2).copied().unwrap_or(f64::INFINITY)
    };
    let moves = (-MOVED_MIN..=MOVED_MIN).step_by(STEP_MIN);
    let Some(moved) = moves.min_by(|a, b| at(*a).total_cmp(&at(*b)).then(a.abs().cmp(&b.abs()))) else { return Vec::new() };
    let pair = |t: &Turn| {
        let (off_min, other) = nearest(t, &there, moved).filter(|(min, _)| min.abs() <= SAME_MIN)?;
        let late_min = off_min + f64::from(moved);
        Some(Pair { own: *t, late_min, there_m: other.level_m, made_m: 0.0 })
    };
    let mut pairs: Vec<Pair> = own.iter().filter_map(pair).collect();
    if 2 * pairs.len() < own.len() {
        return Vec::new();
    }
    for kind in [TurnKind::High, TurnKind::Low] {
        let late_min = median(pairs.iter().filter(|p| p.own.kind == kind).map(|p| p.late_min)).unwrap_or_default();
        let late = SignedDuration::from_secs((60.0 * late_min) as i64);
        pairs.iter_mut().filter(|p| p.own.kind == kind).for_each(|p| {
            p.made_m = (predictor.height_m(p.own.time - late) - p.there_m).abs();
        });
    }
    pairs
}

/// Whether a station has a turn of a table itself, its small ones among them: where two stand close by, of the table's and of the
/// station's not the same ones are left out as small, and they are then paired with others, or with none.
pub(super) fn is_own(turn: &Turn, pairs: &[Pair], predictor: &Predictor) -> bool {
    let of = || pairs.iter().filter(|p| p.own.kind == turn.kind);
    let late_min = median(of().map(|p| p.late_min));
    let Some((late_min, up_m)) = late_min.zip(median(of().map(|p| p.own.level_m - p.there_m))) else { return false };
    let (at, margin) = (turn.time - SignedDuration::from_secs((60.0 * late_min) as i64), SignedDuration::from_hours(1));
    let is_it = |t: &Turn| {
        let minutes = at.duration_since(t.time).as_secs_f64() / 60.0;
        t.kind == turn.kind && minutes.abs() <= OWN_MIN && (turn.level_m - up_m - t.level_m).abs() <= OWN_M
    };
    predictor.turns(at - margin, at + margin).iter().any(is_it)
}

/// The turn of the same kind nearest to one that is moved earlier by so many minutes, and how much later that one then is.
fn nearest<'a>(turn: &Turn, there: &'a [Turn], moved_min: i32) -> Option<(f64, &'a Turn)> {
    let moved: Timestamp = turn.time - SignedDuration::from_mins(i64::from(moved_min));
    let after = there.partition_point(|t| t.time < moved);
    let near = &there[after.saturating_sub(3)..(after + 3).min(there.len())];
    let minutes = |t: &Turn| moved.duration_since(t.time).as_secs_f64() / 60.0;
    let same = near.iter().filter(|t| t.kind == turn.kind).map(|t| (minutes(t), t));
    same.min_by(|a, b| a.0.abs().total_cmp(&b.0.abs()))
}

/// Mean of the differences between neighbouring turns, metres.
pub(super) fn mean_range_m(turns: &[Turn]) -> Option<f64> {
    let n = turns.len().checked_sub(1).filter(|n| *n > 0)?;
    Some(turns.windows(2).map(|p| (p[1].level_m - p[0].level_m).abs()).sum::<f64>() / n as f64).filter(|m| *m > 0.0)
}

/// The value in the middle; `None` of nothing.
pub(super) fn median(values: impl Iterator<Item = f64>) -> Option<f64> {
    let mut all: Vec<f64> = values.collect();
    all.sort_by(f64::total_cmp);
    all.get(all.len() / 2).copied()
}

/// Mean height of the turns of a kind, and that of the station's that they go with, metres; `None` of none.
pub(super) fn means_m(pairs: &[Pair], kind: TurnKind) -> Option<(f64, f64)> {
    let of: Vec<&Pair> = pairs.iter().filter(|p| p.own.kind == kind).collect();
    let mean = |m: fn(&Pair) -> f64| of.iter().map(|p| m(p)).sum::<f64>() / of.len() as f64;
    (!of.is_empty()).then(|| (mean(|p| p.own.level_m), mean(|p| p.there_m)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Beach;
    use crate::tide::{Catalogue, Datum, TableEntry, TideTable, Water};
    use crate::trust::{Weight, beside_station, of_table};

    /// A year of a station's own turns, all of them, to the minute and the centimetre, as the program prints them: in most of these places
    /// two turns stand close by at neaps, and nothing of it is wrong.
    #[test]
    fn a_station_s_own_turns_of_a_year_draw_no_question_at_its_place() {
        for id in [
            "ticon/port_hedland-169-aus-uhslc_fd",
            "ticon/port_hedland-62590-aus-bom",
            "ticon/karachi-147-pak-uhslc_fd",
            "ticon/esperanza-601-arg-uhslc_fd",
            "ticon/portrush-pru-gbr-bodc",
            "ticon/miyakeshima-ma71-jpn-jodc_jma",
            "ticon/shirahama-ma27-jpn-jodc_jma",
            "ticon/elmshornhafen-5970022-deu-wsv",
            "ticon/cherbourg-13-fra-refmar",
            "ticon/lamu-149-ken-uhslc_fd",
        ] {
            let station = Catalogue::shipped().get(id).unwrap();
            let predictor = Predictor::new(station, &station.chart_datum).unwrap();
            let from: Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
            let entry = |t: &Turn| TableEntry {
                time: t.time.round(jiff::Unit::Minute).unwrap(),
                level_m: (100.0 * t.level_m).round() / 100.0,
                kind: Some(t.kind),
            };
            let entries: Vec<TableEntry> =
                predictor.turns(from, from + SignedDuration::from_hours(24 * 366)).iter().map(entry).collect();
            let table = TideTable::new("own", Datum::ChartDatum, &entries).unwrap();
            let beach = Beach { time_zone: station.time_zone.clone(), ..Beach::new("Invented Bay", station.at) };
            let mut found = of_table(&beach, "table:x", &table);
            found.add_untold(beside_station(&beach, "table:x", &Water::of_table(table), from));
            assert!(found.doubts.iter().all(|d| d.weight == Weight::Caution), "{id}: {:?}", found.doubts);
        }
    }

    /// A turn that the station has is none that was moved by more than a few minutes or centimetres.
    #[test]
    fn a_turn_is_the_station_s_own_at_its_minute_and_height_alone() {
        let station = Catalogue::shipped().get("ticon/llandudno-lla-gbr-bodc").unwrap();
        let predictor = Predictor::new(station, &Datum::Msl).unwrap();
        let from: Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 20));
        let pairs = paired(&turns, &predictor);
        for t in &turns {
            assert!(is_own(t, &pairs, &predictor), "{t:?}");
            for (min, up_m) in [(20, 0.0), (-20, 0.0), (0, 0.2), (0, -0.2)] {
                let moved = Turn { time: t.time + SignedDuration::from_mins(min), level_m: t.level_m + up_m, ..*t };
                assert!(!is_own(&moved, &pairs, &predictor), "{t:?} {min} {up_m}");
            }
        }
    }
}
