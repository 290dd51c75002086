//! A tide table held against the stations near it: its clock, its datum, and whether half-cosines can follow its tide.

use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::beside::HeldTo;
use super::coast::{INLAND_M, inland_m};
use super::heights::{Beside, NEAR_M, beside};
use super::pairs::{Pair, mean_range_m, paired};
use super::rounded::of_rounded;
use super::shifted::Shifted;
use super::turn::{lost_lines_doubt, out_of_line_doubt};
use super::{Doubt, Found, SourceError, Weight};
use crate::book::Beach;
use crate::earth::{distance_m, distance_words};
use crate::tide::{Catalogue, Datum, Predictor, Station, TideTable, Turn, TurnKind, Water, without_small};

/// A station this near can tell of a clock, metres; so near that it does so alone, metres. Judgements: of pairs of
/// stations with no land between, M2 differs by 17 minutes in the middle pair at 5 to 15 km and by 34 at 45 to 60 km.
const TELLS_M: f64 = 50_000.0;
const TELLS_ALONE_M: f64 = 10_000.0;
/// A table is held against the curve of a station this near, metres.
const CURVE_M: f64 = 30_000.0;
/// So many turns at least, on one side of the change of clocks, tell of a clock to the half hour, and of a misprint.
const LEAST_TURNS: usize = 8;
/// So many that go with a station's are held against them: who types the next tide alone types a high and a low.
const LEAST_PAIRS: usize = 2;
/// A shift is asked about where without it turns are off by so much in the middle, minutes, ...
const LEAST_OFF_MIN: f64 = 40.0;
/// ... with it by no more than this, minutes, ...
const FITS_MIN: f64 = 15.0;
/// ... and by no more than this one from another, minutes.
const SPREAD_MIN: f64 = 20.0;
/// Turns are paired with a station's of the same kind this near, minutes: half of the time between two high waters.
const PAIRED_MIN: f64 = 372.0;
/// No table of a tide of two highs and two lows a lunar day has more turns a day (4 in 24.84 h is 3.86).
const MOST_A_DAY: f64 = 4.1;
/// Days of a table that its curve is looked at for.
const CURVE_DAYS: i64 = 60;
/// A difference of a curve below this is not told, metres.
const TOLD_M: f64 = 0.1;
/// An offset this near to nothing goes with heights about mean sea level, metres.
const NO_OFFSET_M: f64 = 0.5;

/// A station near the beach with its prediction.
struct Near {
    station: &'static Station,
    away_m: f64,
    predictor: Predictor,
}

/// What is to be said of a tide table of the person's own, `key` being that of the choice.
pub fn of_table(beach: &Beach, key: &str, table: &TideTable) -> Found {
    let mut found = Found { doubts: Vec::new(), error: SourceError::default() };
    found.doubts.extend(too_many_turns(key, table));
    found.doubts.extend(about_mean(beach, key, table));
    let zone = beach.zone().unwrap_or(TimeZone::UTC);
    found.doubts.extend(lost_lines_doubt(key, table, &zone));
    if beach.invented {
        found.doubts.extend(out_of_line_doubt(key, table, None, &zone));
        return found;
    }
    // Where the stations near are of two waters, those of its own.
    let held_to = HeldTo::new(beach, &Water::of_table(table.clone()), table.covers().0);
    let instead = held_to.as_ref().filter(|h| h.is_instead()).map(|h| h.station);
    let others = Catalogue::shipped()
        .nearest(beach.origin, 4)
        .into_iter()
        .filter(|(station, away_m)| *away_m <= TELLS_M && inland_m(beach.origin, station.at) < INLAND_M)
        .map(|(station, _)| station)
        .filter(|station| instead.is_none() || held_to.as_ref().is_some_and(|h| h.is_beside(station)));
    let near: Vec<Near> = instead
        .into_iter()
        .chain(others)
        .filter_map(|station| {
            let predictor = Predictor::new(station, &Datum::Msl).ok()?;
            Some(Near { station, away_m: distance_m(beach.origin, station.at), predictor })
        })
        .collect();
    found.doubts.extend(clock(beach, key, table, &near));
    if let Some((doubt, curve_m)) = near.first().filter(|n| n.away_m <= CURVE_M).and_then(|n| curve(key, table, n)) {
        found.doubts.push(doubt);
        found.error.curve_m = curve_m;
    }
    let told = |kind: &str| found.doubts.iter().any(|d| d.key.starts_with(kind));
    let pairs = near.first().map(|n| (n, paired(table.entries(), &n.predictor))).filter(|(_, pairs)| pairs.len() >= LEAST_PAIRS);
    let many = pairs.as_ref().filter(|(_, pairs)| pairs.len() >= LEAST_TURNS);
    let there = many.map(|(n, pairs)| (&*n.station.name, &pairs[..], &n.predictor));
    let turn = out_of_line_doubt(key, table, there, &zone);
    if let Some((n, pairs)) = &pairs {
        let said = (told("table-clock"), told("table-datum"));
        let mut beside = beside((beach, key, table), (n.station, n.away_m), pairs, said);
        vouched(&mut beside, (beach, key, table), near.iter().skip(1).filter(|o| o.away_m <= NEAR_M), said);
        (found.error.short_m, found.error.late_m) = (beside.short_m, beside.late_m);
        found.doubts.extend(beside.doubts);
        if n.away_m <= NEAR_M {
            let shifted = heights_shifted((key, table), n, pairs, near.iter().skip(1).filter(|o| o.away_m <= NEAR_M));
            // With the heights a clock is told whatever it is; the turns alone tell it but for whole tides.
            if shifted.as_ref().is_some_and(|d| d.key.starts_with("table-clock") && d.weight == Weight::Blocks) {
                found.doubts.retain(|d| !d.key.starts_with("table-clock"));
            }
            found.doubts.extend(shifted);
        }
    }
    found.doubts.extend(turn);
    if let Some((doubt, wider_m)) = of_rounded(key, table, &zone) {
        found.error.late_m += wider_m;
        found.doubts.push(doubt);
    }
    if let Some(held_to) = held_to {
        held_to.unadvised(&mut found.doubts);
    }
    found
}

/// What blocks is asked about where one of the other stations next to the beach stands by the table.
fn vouched<'a>(
    of: &mut Beside,
    (beach, key, table): (&Beach, &str, &TideTable),
    others: impl Iterator<Item = &'a Near>,
    said: (bool, bool),
) {
    for other in others {
        if of.doubts.iter().all(|d| d.weight < Weight::Blocks) {
            return;
        }
        let pairs = paired(table.entries(), &other.predictor);
        if pairs.len() >= LEAST_PAIRS {
            let there = beside((beach, key, table), (other.station, other.away_m), &pairs, said);
            of.unless_another(&other.station.name, &there);
        }
    }
}

/// The heights of a table that stand some tides off their times beside the station next to the beach; asked about where
/// another one next to it goes with them as they stand.
fn heights_shifted<'a>(
    (key, table): (&str, &TideTable),
    near: &Near,
    pairs: &[Pair],
    mut others: impl Iterator<Item = &'a Near>,
) -> Option<Doubt> {
    let shifted = Shifted::new(pairs)?;
    let there = format!("{}, {} away,", near.station.name, distance_words(near.away_m));
    let other = others.find(|o| shifted.goes_with(&paired(table.entries(), &o.predictor)));
    Some(shifted.doubt((key, table.name()), &there, other.map(|o| &*o.station.name)))
}

/// What its turns say of a table beside one station, and where others next to it may stand by it, for the figures.
#[cfg(test)]
pub(super) fn of_table_beside(
    beach: &Beach,
    table: &TideTable,
    (station, away_m): (&'static Station, f64),
    others: &[(&'static Station, f64)],
) -> Vec<Doubt> {
    let Ok(predictor) = Predictor::new(station, &Datum::Msl) else { return Vec::new() };
    let pairs = paired(table.entries(), &predictor);
    if pairs.len() < LEAST_PAIRS {
        return Vec::new();
    }
    let mut beside = beside((beach, "x", table), (station, away_m), &pairs, (false, false));
    let near = |(station, away_m): &(&'static Station, f64)| {
        Some(Near { station, away_m: *away_m, predictor: Predictor::new(station, &Datum::Msl).ok()? })
    };
    let others: Vec<Near> = others.iter().filter_map(near).collect();
    vouched(&mut beside, (beach, "x", table), others.iter(), (false, false));
    let held = Near { station, away_m, predictor };
    beside.doubts.extend(heights_shifted(("x", table), &held, &pairs, others.iter()));
    let there = (pairs.len() >= LEAST_TURNS).then_some((&*station.name, &pairs[..], &held.predictor));
    beside.doubts.extend(out_of_line_doubt("x", table, there, &TimeZone::UTC));
    beside.doubts
}

/// Turns come more often than a plain tide turns.
fn too_many_turns(key: &str, table: &TideTable) -> Option<Doubt> {
    let (turns, spans) = (table.entries(), table.spans());
    let days = spans.iter().map(crate::tide::Window::length_s).sum::<f64>() / 86_400.0;
    let a_day = (turns.len().saturating_sub(spans.len())) as f64 / days;
    (turns.len() > 12 && a_day > MOST_A_DAY).then(|| Doubt {
        key: format!("table-double:{a_day:.1}@{key}"),
        sentence: format!(
            "The tide table \"{}\" turns {a_day:.1} times a day: the tide stands double there, and half-cosines between printed turns cannot follow it.",
            table.name()
        ),
        weight: Weight::Refuses,
        settle: vec!["Choose a station near by, or record the tide with a gauge for a month.".to_owned()],
        spans: Vec::new(),
    })
}

/// Heights of both signs whose mean is nearly nothing are heights about mean sea level, not above a chart datum.
fn about_mean(beach: &Beach, key: &str, table: &TideTable) -> Option<Doubt> {
    let mean = |kind: TurnKind| {
        let of: Vec<f64> = table.entries().iter().filter(|t| t.kind == kind).map(|t| t.level_m).collect();
        (!of.is_empty()).then(|| of.iter().sum::<f64>() / of.len() as f64)
    };
    let (high_m, low_m) = (mean(TurnKind::High)?, mean(TurnKind::Low)?);
    let (middle_m, range_m) = (0.5 * (high_m + low_m), high_m - low_m);
    // A fifth of the range: mean low water stands well above any chart datum but mean sea level itself.
    let is_about_mean = table.entries().len() >= 4 && range_m > 0.2 && middle_m.abs() < 0.2 * range_m && low_m < -0.2 * range_m;
    let offset_m = beach.datum_offset_m?;
    (is_about_mean && *table.datum() != Datum::Msl && offset_m.abs() > NO_OFFSET_M).then(|| Doubt {
        key: format!("table-datum:{offset_m:.3},{low_m:+.1}{high_m:+.1}@{key}"),
        sentence: format!(
            "The heights of the tide table \"{}\" lie about nothing (mean high water {high_m:+.2} m, mean low water {low_m:+.2} m): they are heights about mean sea level, and not above {}, to which an offset of {offset_m:+.2} m belongs.",
            table.name(),
            table.datum().words()
        ),
        weight: Weight::Blocks,
        settle: vec!["Give the offset to mean sea level, which is near nothing for a country's levels, or import a table above chart datum.".to_owned()],
        spans: Vec::new(),
    })
}

/// How a table stands against a station on one side of the change of clocks.
struct Shift {
    /// Later than the station's by so much in the middle, minutes.
    late_min: f64,
    /// Whole or half hours that it fits with, if it fits with any better than as it is.
    hours: Option<f64>,
}

fn shift(turns: &[&Turn], there: &[Turn]) -> Option<Shift> {
    let late = |turn: &&Turn| {
        let minutes = |other: &Turn| turn.time.duration_since(other.time).as_secs_f64() / 60.0;
        let same = there.iter().filter(|t| t.kind == turn.kind).map(minutes);
        same.min_by(|a, b| a.abs().total_cmp(&b.abs())).filter(|m| m.abs() <= PAIRED_MIN)
    };
    let mut all: Vec<f64> = turns.iter().filter_map(late).collect();
    if all.len() < LEAST_TURNS {
        return None;
    }
    all.sort_by(f64::total_cmp);
    let late_min = all[all.len() / 2];
    let spread_min = all[all.len() * 3 / 4] - all[all.len() / 4];
    let hours = (late_min / 30.0).round() / 2.0;
    let fits = late_min.abs() >= LEAST_OFF_MIN && spread_min <= SPREAD_MIN && (late_min - 60.0 * hours).abs() <= FITS_MIN;
    Some(Shift { late_min, hours: fits.then_some(hours) })
}

/// Turns on the winter and on the summer clock of the beach against the stations near: a whole or half hour by which
/// they all fit better is asked about; where one station next to the beach, two that agree, or the change of clocks
/// shows it, no route is planned until it is settled.
fn clock(beach: &Beach, key: &str, table: &TideTable, near: &[Near]) -> Vec<Doubt> {
    let zone = beach.zone().unwrap_or(TimeZone::UTC);
    let (from, to) = table.covers();
    let margin = SignedDuration::from_hours(13);
    let seasons = [jiff::tz::Dst::No, jiff::tz::Dst::Yes];
    // By station, then by season.
    let seen: Vec<(&Near, [Option<Shift>; 2])> = near
        .iter()
        .map(|n| {
            let there = n.predictor.turns(from - margin, to + margin);
            let of = |dst: jiff::tz::Dst| {
                let turns: Vec<&Turn> = table.entries().iter().filter(|t| zone.to_offset_info(t.time).dst() == dst).collect();
                shift(&turns, &there)
            };
            (n, seasons.map(of))
        })
        .collect();
    let mut doubts = Vec::new();
    for (season, name) in ["", " while the clocks of the beach are put forward"].into_iter().enumerate() {
        let all: Vec<(&Near, &Shift)> = seen.iter().filter_map(|(n, s)| Some((*n, s[season].as_ref()?))).collect();
        let Some((n, Shift { late_min, hours: Some(hours) })) = all.first().copied() else { continue };
        let agree = all.get(1).is_some_and(|(_, s)| s.hours == Some(*hours));
        // The same station fits as it is in the other half of the year: nothing but a clock does that.
        let jumps = seen[0].1[1 - season].as_ref().is_some_and(|other| other.late_min.abs() < LEAST_OFF_MIN);
        let near = n.away_m <= TELLS_ALONE_M;
        // Another one next to the beach with which it fits as it is: the two differ among themselves.
        let fits = |(o, s): &(&Near, &Shift)| o.away_m <= TELLS_ALONE_M && s.late_min.abs() < LEAST_OFF_MIN;
        let sure = agree || jumps || (near && !all.iter().skip(1).any(fits));
        if !sure && !near && all.len() > 1 {
            continue;
        }
        let sentence = format!(
            "The turns of the tide table \"{}\"{name} come {:.0} minutes {} than those of {}, {} away, and fit when moved by {} h: was it printed for another clock than {}?",
            table.name(),
            late_min.abs(),
            if *late_min > 0.0 { "later" } else { "earlier" },
            n.station.name,
            distance_words(n.away_m),
            hours.abs(),
            beach.time_zone
        );
        doubts.push(Doubt {
            key: format!("table-clock:{hours:+.1}h{season}@{key}"),
            sentence,
            weight: if sure { Weight::Blocks } else { Weight::Question },
            settle: vec!["Look at the head of the table for its clock, and import it again on that one.".to_owned()],
            spans: Vec::new(),
        });
    }
    doubts
}

/// How far the water really stands above half-cosines between its turns: a station's own prediction against half-cosines
/// between its own main turns, over the days of the table, 995 in a thousand of them less; scaled by the ranges.
fn curve(key: &str, table: &TideTable, near: &Near) -> Option<(Doubt, f64)> {
    let (from, end) = table.covers();
    let to = end.min(from + SignedDuration::from_hours(24 * CURVE_DAYS));
    let margin = SignedDuration::from_hours(26);
    let all = near.predictor.turns(from - margin, to + margin);
    let there_m = mean_range_m(&all)?;
    let turns = without_small(&all, 0.3 * there_m);
    let (scale, step_s) = ((mean_range_m(table.entries())? / mean_range_m(&turns)?).clamp(0.2, 3.0), 600.0);
    let n = (to.duration_since(from).as_secs_f64() / step_s) as usize;
    let heights = near.predictor.heights(from, step_s, n);
    let mut above: Vec<f64> = (0..)
        .zip(heights)
        .filter_map(|(i, m)| Some(m - half_cosine_m(&turns, from + SignedDuration::from_secs(i * 600))?))
        .collect();
    above.sort_by(f64::total_cmp);
    let curve_m = (scale * above.get(above.len() * 995 / 1000)?).max(0.0);
    (curve_m >= TOLD_M).then(|| {
        let sentence = format!(
            "Between the turns of the tide table \"{}\" the water is drawn as half a cosine; that of {}, {} away, stands up to {curve_m:.2} m above such a curve{}, and the margin is wider by that.",
            table.name(),
            near.station.name,
            distance_words(near.away_m),
            if turns.len() < all.len() { " and stands double at times" } else { "" }
        );
        let key = format!("table-curve:{curve_m:.2}@{key}");
        (Doubt { key, sentence, weight: Weight::Caution, settle: Vec::new(), spans: Vec::new() }, curve_m)
    })
}

/// The height of half a cosine between the turns about a moment, metres.
fn half_cosine_m(turns: &[Turn], time: Timestamp) -> Option<f64> {
    let after = turns.partition_point(|t| t.time <= time);
    let (a, b) = (turns.get(after.checked_sub(1)?)?, turns.get(after)?);
    let part = time.duration_since(a.time).as_secs_f64() / b.time.duration_since(a.time).as_secs_f64();
    Some(a.level_m + (b.level_m - a.level_m) * 0.5 * (1.0 - (std::f64::consts::PI * part).cos()))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tide::TableEntry;

    fn station(id: &str) -> &'static Station {
        Catalogue::shipped().get(id).unwrap()
    }

    /// A beach next to a station, on the clock of its place.
    fn beach(id: &str, offset_m: f64) -> Beach {
        let station = station(id);
        let bare = Beach::new("Invented Bay", station.at);
        Beach { time_zone: station.time_zone.clone(), datum_offset_m: Some(offset_m), ..bare }
    }

    /// What a table of a station's main turns prints, above its chart datum and a level more, moved by minutes that depend
    /// on the moment.
    fn table(id: &str, from: &str, days: i64, up_m: f64, moved_min: impl Fn(Timestamp) -> i64) -> TideTable {
        let station = station(id);
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = from.parse().unwrap();
        let all = predictor.turns(from, from + SignedDuration::from_hours(24 * days));
        let turns = without_small(&all, 0.3 * mean_range_m(&all).unwrap());
        let entry = |t: &Turn| TableEntry {
            time: t.time + SignedDuration::from_mins(moved_min(t.time)),
            level_m: t.level_m + up_m,
            kind: Some(t.kind),
        };
        TideTable::new("printed", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap()
    }

    const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

    fn kinds(found: &Found) -> Vec<(&str, Weight)> {
        found.doubts.iter().map(|d| (d.key.split(':').next().unwrap(), d.weight)).collect()
    }

    #[test]
    fn the_turns_of_one_day_are_held_against_the_station_too() {
        let own = station("ticon/llandudno-lla-gbr-bodc");
        let predictor = Predictor::new(own, &own.chart_datum).unwrap();
        let from: Timestamp = "2026-12-05T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(26));
        let beach = Beach { datum_offset_m: None, ..beach("ticon/llandudno-lla-gbr-bodc", 0.0) };
        for (late_min, up_m, blocks) in [(0, 0.0, false), (120, 0.0, true), (372, 0.0, true), (0, -1.0, true)] {
            for n in [3, 4] {
                let entry = |t: &Turn| TableEntry {
                    time: t.time + SignedDuration::from_mins(late_min),
                    level_m: t.level_m + up_m,
                    kind: Some(t.kind),
                };
                let entries: Vec<TableEntry> = turns.iter().take(n).map(entry).collect();
                let table = TideTable::new("tomorrow", Datum::ChartDatum, &entries).unwrap();
                let mut found = of_table(&beach, "table:x", &table);
                found.add_untold(super::super::beside_station(&beach, "table:x", &Water::of_table(table), from));
                let told = found.doubts.iter().any(|d| d.weight >= Weight::Blocks);
                assert_eq!(told, blocks, "{n} turns, {late_min} min, {up_m} m: {:?}", found.doubts);
            }
        }
    }

    #[test]
    fn a_table_on_the_right_clock_draws_no_question_and_one_an_hour_off_blocks() {
        let beach = beach(NEWLYN, 3.05);
        for (from, days) in [("2026-01-05T00:00:00Z", 20), ("2026-05-05T00:00:00Z", 20), ("2026-01-05T00:00:00Z", 350)] {
            let right = of_table(&beach, "table:x", &table(NEWLYN, from, days, 0.0, |_| 7));
            assert!(kinds(&right).iter().all(|(kind, w)| *kind == "table-curve" && *w == Weight::Caution), "{right:?}");
            for minutes in [60, -60, 120] {
                let wrong = of_table(&beach, "table:x", &table(NEWLYN, from, days, 0.0, |_| minutes + 7));
                let clocks: Vec<&Doubt> = wrong.doubts.iter().filter(|d| d.key.starts_with("table-clock")).collect();
                assert!(!clocks.is_empty() && clocks.iter().all(|d| d.weight == Weight::Blocks), "{minutes} {wrong:?}");
                assert!(clocks[0].sentence.contains(&format!("moved by {} h", minutes.abs() / 60)), "{wrong:?}");
            }
        }
    }

    #[test]
    fn a_table_in_winter_time_all_the_year_is_told_by_its_summer_half() {
        let beach = beach(NEWLYN, 3.05);
        let zone = beach.zone().unwrap();
        // Printed in GMT and read on the clock of the beach: every turn of the summer half lands an hour early.
        let summer = |t: Timestamp| if zone.to_offset_info(t).dst() == jiff::tz::Dst::Yes { -60 } else { 0 };
        let told = of_table(&beach, "table:x", &table(NEWLYN, "2026-01-01T00:00:00Z", 200, 0.0, summer));
        let clocks: Vec<&Doubt> = told.doubts.iter().filter(|d| d.key.starts_with("table-clock")).collect();
        assert!(clocks.len() == 1 && clocks[0].sentence.contains("put forward"), "{told:?}");
    }

    #[test]
    fn heights_about_mean_sea_level_are_told_where_the_offset_is_to_chart_datum() {
        // Newlyn's chart datum lies 3.02 m below mean sea level.
        let about_mean = table(NEWLYN, "2026-01-05T00:00:00Z", 20, -3.02, |_| 0);
        let told = of_table(&beach(NEWLYN, 3.05), "table:x", &about_mean);
        assert!(kinds(&told).contains(&("table-datum", Weight::Blocks)), "{told:?}");
        assert!(!kinds(&of_table(&beach(NEWLYN, 0.1), "table:x", &about_mean)).iter().any(|(kind, _)| *kind == "table-datum"));
        let above = table(NEWLYN, "2026-01-05T00:00:00Z", 20, 0.0, |_| 0);
        assert!(!kinds(&of_table(&beach(NEWLYN, 3.05), "table:x", &above)).iter().any(|(kind, _)| *kind == "table-datum"));
    }

    const LLANDUDNO: &str = "ticon/llandudno-lla-gbr-bodc";

    /// A table of Llandudno beside its station: heights so many times, and so much higher, and turns so much later.
    fn beside_llandudno(times: f64, up_m: f64, late_min: i64, offset_m: f64) -> Found {
        let plain = table(LLANDUDNO, "2026-11-20T00:00:00Z", 21, 0.0, |_| late_min);
        let entry = |t: &Turn| TableEntry { time: t.time, level_m: times * t.level_m + up_m, kind: Some(t.kind) };
        let entries: Vec<TableEntry> = plain.entries().iter().map(entry).collect();
        of_table(&beach(LLANDUDNO, offset_m), "table:x", &TideTable::new("printed", Datum::ChartDatum, &entries).unwrap())
    }

    fn weight_of(found: &Found, kind: &str) -> Option<Weight> {
        found.doubts.iter().filter(|d| d.key.starts_with(kind)).map(|d| d.weight).max()
    }

    #[test]
    fn a_table_too_low_or_too_flat_beside_a_station_blocks_and_widens_the_margin() {
        // Ordnance datum stands 3.85 m above chart datum at Llandudno (Admiralty Tide Tables, from memory).
        let sound = beside_llandudno(1.0, 0.0, 7, 3.85);
        assert!(sound.doubts.iter().all(|d| d.key.starts_with("table-curve")) && sound.error.short_m == 0.0, "{sound:?}");
        for up_m in [-1.0, -1.5] {
            let low = beside_llandudno(1.0, up_m, 0, 3.85);
            assert_eq!(weight_of(&low, "table-level"), Some(Weight::Blocks), "{low:?}");
            assert!(low.error.short_m >= 0.5, "{low:?}");
        }
        let little = beside_llandudno(1.0, -0.4, 0, 3.85);
        assert_eq!(weight_of(&little, "table-level"), Some(Weight::Question), "{little:?}");
        assert!((little.error.short_m - 0.4).abs() < 0.02, "{little:?}");
        for times in [0.8, 0.7] {
            let flat = beside_llandudno(times, 0.0, 0, 3.85);
            assert_eq!(weight_of(&flat, "table-range"), Some(Weight::Blocks), "{flat:?}");
            // Half of a range of some 5 m, less by this part.
            assert!(flat.error.short_m > 0.5 * 4.5 * (1.0 - times), "{flat:?}");
        }
        // The same whole table above another surface with the offset to that one: 1.6 m less, and no more to be said.
        let other = beside_llandudno(1.0, -4.1, 0, -0.2);
        assert_eq!(weight_of(&other, "table-level"), None, "{other:?}");
        assert_eq!(other.error.short_m, 0.0);
    }

    /// High waters a metre too low at springs of 11 m, with an offset that would fit another surface, were told by nothing: less
    /// than a tenth of the range, and half-way between high and low water where that surface would have it.
    #[test]
    fn a_metre_at_high_or_low_water_is_asked_about_where_the_tide_ranges_most() {
        let id = "ticon/saint_malo-410-fra-refmar";
        let told = |high_up_m: f64, low_up_m: f64, offset_m: f64| {
            let plain = table(id, "2026-04-17T00:00:00Z", 4, 0.0, |_| 0);
            let up_m = |kind: TurnKind| if kind == TurnKind::High { high_up_m } else { low_up_m };
            let entry = |t: &Turn| TableEntry { time: t.time, level_m: t.level_m + up_m(t.kind), kind: Some(t.kind) };
            let entries: Vec<TableEntry> = plain.entries().iter().map(entry).collect();
            of_table(&beach(id, offset_m), "table:x", &TideTable::new("printed", Datum::ChartDatum, &entries).unwrap())
        };
        // Mean sea level stands 6.75 m above chart datum there.
        let sound = told(0.0, 0.0, 6.4);
        assert!(sound.doubts.iter().all(|d| d.weight == Weight::Caution), "{sound:?}");
        let low = told(-1.0, 0.0, 5.4);
        assert_eq!(weight_of(&low, "table-great-range"), Some(Weight::Question), "{low:?}");
        assert_eq!(weight_of(&low, "table-level"), None, "the offset fits another surface: {low:?}");
        assert!((low.error.short_m - 0.5).abs() < 0.02, "{low:?}");
        let said = |found: &Found| {
            let doubt = found.doubts.iter().find(|d| d.key.starts_with("table-great-range")).unwrap();
            doubt.sentence.clone()
        };
        assert!(said(&low).contains("the flood stands higher at every minute") && !said(&low).contains("chart datum"), "{low:?}");
        // Where the offset is to chart datum both are told, the whole metre is carried, and which of the turns are low.
        let low = told(-1.0, 0.0, 6.4);
        assert_eq!(weight_of(&low, "table-level"), Some(Weight::Question), "{low:?}");
        assert!((low.error.short_m - 1.0).abs() < 0.02, "{low:?}");
        assert!(said(&low).contains("its high waters stand 1.00 m below those there, its low waters level with them"), "{low:?}");
        let dry = told(0.0, -1.0, 6.4);
        assert!(
            said(&dry).contains("its low waters 1.00 m below them. If its low waters are too low, sand counts as dry"),
            "{dry:?}"
        );
        assert!(low.doubts.iter().chain(&dry.doubts).all(|d| d.weight <= Weight::Question), "it asks and does not block");
    }

    /// Times of one line and heights of another, a day and three days off, beside the station of the place.
    #[test]
    fn heights_that_stand_some_tides_off_their_times_block() {
        let id = "ticon/saint_malo-410-fra-refmar";
        let told = |lines: usize| {
            let plain = table(id, "2026-11-15T00:00:00Z", 30, 0.0, |_| 0);
            let both = plain.entries().iter().zip(plain.entries().iter().skip(lines));
            let entry = |(at, of): (&Turn, &Turn)| TableEntry { time: at.time, level_m: of.level_m, kind: Some(at.kind) };
            let entries: Vec<TableEntry> = both.map(entry).collect();
            of_table(&beach(id, 6.4), "table:x", &TideTable::new("printed", Datum::ChartDatum, &entries).unwrap())
        };
        assert_eq!(weight_of(&told(0), "table-shifted"), None);
        // Two turns of each kind are four lines; three days' worth is no column that slipped.
        for (lines, kind) in [(4, "table-shifted"), (8, "table-shifted"), (12, "table-odd")] {
            assert_eq!(weight_of(&told(lines), kind), Some(Weight::Blocks), "{lines}");
        }
    }

    #[test]
    fn a_table_early_or_late_by_less_than_an_hour_is_asked_about_and_widens_the_margin() {
        for (late_min, weight) in [(25, Weight::Question), (-30, Weight::Question), (38, Weight::Question), (46, Weight::Blocks)]
        {
            let late = beside_llandudno(1.0, 0.0, late_min, 3.85);
            let said = weight_of(&late, "table-late").max(weight_of(&late, "table-clock"));
            assert_eq!(said, Some(weight), "{late_min}: {late:?}");
            // Water of 5 m range makes 1.2 m an hour at half tide.
            let least_m = 1.1 / 60.0 * f64::from(late_min as i32).abs();
            assert!(late.error.late_m >= least_m.min(0.7), "{late_min}: {late:?}");
        }
    }

    #[test]
    fn where_the_tide_stands_double_the_difference_of_the_curve_becomes_margin() {
        // Southampton Water is known for its double high water (Admiralty Tide Tables; common knowledge of the trade).
        let double = station("ticon/southampton-sou-gbr-da_idh");
        let curve =
            |id: &str| of_table(&beach(id, 2.7), "table:x", &table(id, "2026-01-05T00:00:00Z", 40, 0.0, |_| 0)).error.curve_m;
        let (here, there) = (curve(&double.id), curve(NEWLYN));
        println!("half-cosines: {} {here:.2} m, Newlyn {there:.2} m", double.name);
        assert!(here > 0.4 && here > 2.0 * there, "{here} {there}");
    }

    #[test]
    fn more_turns_than_four_a_day_refuse() {
        let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let entry = |i: i64| TableEntry {
            time: from + SignedDuration::from_mins(i * 186),
            level_m: [0.5, 4.0, 3.6, 3.9][(i % 4) as usize],
            kind: None,
        };
        let double = TideTable::new("double", Datum::ChartDatum, &(0..40).map(entry).collect::<Vec<_>>()).unwrap();
        let told = of_table(&Beach::new("Invented Bay", crate::earth::LonLat::new(-20.0, 45.0).unwrap()), "table:x", &double);
        assert_eq!(kinds(&told), [("table-double", Weight::Refuses)]);
    }
}
