//! A tide table or a gauge record of the person's own held against the curve of a station next to the beach: whether it
//! rises when that rises, at the same time, and as far.

use jiff::Timestamp;

use super::coast::{INLAND_M, inland_m};
use super::{Doubt, Weight};
use crate::book::Beach;
use crate::earth::distance_words;
use crate::tide::{Catalogue, Datum, Predictor, Water};

/// A station this near tells alone, metres: of pairs of stations with no land between, M2 differs by 17 minutes in the
/// middle pair at 5 to 15 km.
const NEAR_M: f64 = 10_000.0;
/// The curves are held against each other at steps of so many seconds, ...
const STEP_S: i32 = 900;
/// ... over so many days at most, ...
const DAYS: usize = 30;
/// ... of which so many must be known, ...
const LEAST_DAYS: usize = 7;
/// ... and with one moved by up to so many steps: half of the time between two high waters.
const MOST_STEPS: usize = 25;
/// Moved by less than this it is not told: places a few kilometres apart may differ by so much, minutes.
const TOLD_MIN: f64 = 40.0;
/// A move is told only where the curves then agree so well.
const AGREE: f64 = 0.9;
/// Ranges of places so near that differ by more than this factor are not those of one sea (a judgement, no published
/// source).
const MOST_TIMES: f64 = 1.67;
/// A range so many times too large fits when the heights are read as feet (3.28).
const FEET: std::ops::Range<f64> = 2.7..4.0;

/// How two curves go together: their correlation, and how many times as far as the other the first one goes.
#[derive(Clone, Copy)]
struct Together {
    agree: f64,
    times: f64,
}

fn together(pairs: impl Iterator<Item = (f64, f64)> + Clone) -> Option<Together> {
    let n = pairs.clone().count() as f64;
    let (a, b) = pairs.clone().fold((0.0, 0.0), |(a, b), (x, y)| (a + x / n, b + y / n));
    let (xx, yy, xy) = pairs.fold((0.0, 0.0, 0.0), |(xx, yy, xy), (x, y)| {
        let (x, y) = (x - a, y - b);
        (xx + x * x, yy + y * y, xy + x * y)
    });
    (xx > 0.0 && yy > 0.0).then(|| Together { agree: xy / (xx * yy).sqrt(), times: (xx / yy).sqrt() })
}

/// What is to be said of a source of the person's own, from `from` on; `key` is that of the choice. Nothing where no
/// station lies next to the beach, and of an invented beach.
pub fn beside_station(beach: &Beach, key: &str, water: &Water, from: Timestamp) -> Vec<Doubt> {
    if beach.invented {
        return Vec::new();
    }
    let next = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next();
    let Some((station, away_m)) = next.filter(|(s, m)| *m <= NEAR_M && inland_m(beach.origin, s.at) < INLAND_M) else {
        return Vec::new();
    };
    let Ok(predictor) = Predictor::new(station, &Datum::Msl) else { return Vec::new() };
    let steps = DAYS * 86_400 / STEP_S as usize;
    let own = water.heights(from, f64::from(STEP_S), steps);
    if own.iter().flatten().count() < LEAST_DAYS * 86_400 / STEP_S as usize {
        return Vec::new();
    }
    let before = jiff::SignedDuration::from_secs(i64::from(STEP_S) * MOST_STEPS as i64);
    let there = predictor.heights(from - before, f64::from(STEP_S), steps + 2 * MOST_STEPS);
    // Moved earlier by `k - MOST_STEPS` steps.
    let moved = |k: usize| {
        let pair = move |(n, own): (usize, &Option<f64>)| Some((n, (*own)?));
        together(own.iter().enumerate().filter_map(pair).map(|(n, own)| (own, there[n + 2 * MOST_STEPS - k])))
    };
    let all: Vec<(usize, Together)> = (0..=2 * MOST_STEPS).filter_map(|k| Some((k, moved(k)?))).collect();
    let best = all.iter().max_by(|a, b| a.1.agree.total_cmp(&b.1.agree));
    let (Some((k, best)), Some((_, as_it_is))) = (best, all.iter().find(|(k, _)| *k == MOST_STEPS)) else { return Vec::new() };
    let late_min = (*k as f64 - MOST_STEPS as f64) * f64::from(STEP_S) / 60.0;
    let (name, there, away) = (water.name(), &station.name, distance_words(away_m));
    let mut doubts = Vec::new();
    let mut tell = |key: String, sentence: String, settle: &str| {
        doubts.push(Doubt { key, sentence, weight: Weight::Blocks, settle: vec![settle.to_owned()] });
    };
    if late_min.abs() >= TOLD_MIN && best.agree > AGREE {
        let way = if late_min > 0.0 { "later" } else { "earlier" };
        let turned =
            if as_it_is.agree < 0.0 { ", and rises while the water falls there: it may be upside down, too" } else { "" };
        tell(
            format!("source-late:{late_min:+.0}@{key}"),
            format!(
                "The water of \"{name}\" comes about {:.0} minutes {way} than that of {there}, {away} away{turned}: it may be on another clock than it was read on.",
                late_min.abs()
            ),
            "Look at its head for its clock, or at the clock of the logger, and import it again on that one.",
        );
    } else if as_it_is.agree < 0.5 {
        tell(
            format!("source-odd:{:.1}@{key}", as_it_is.agree),
            format!("The water of \"{name}\" does not go with that of {there}, {away} away: it is of another place, or misread."),
            "Look whether it is of this place, and how its times and heights are to be read.",
        );
    }
    if !(1.0 / MOST_TIMES..=MOST_TIMES).contains(&best.times) {
        let feet = if FEET.contains(&best.times) { " Read as feet it fits." } else { "" };
        tell(
            format!("source-range:{:.2}@{key}", best.times),
            format!(
                "The water of \"{name}\" rises and falls {:.1} times as far as that of {there}, {away} away.{feet}",
                best.times
            ),
            if feet.is_empty() {
                "Look whether it is of this place, and in which unit its heights are."
            } else {
                "Import it again with its heights in feet (`import --feet`)."
            },
        );
    }
    doubts
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tide::{Station, TableEntry, TideTable};
    use jiff::SignedDuration;

    const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

    fn told(late_min: i64, times: f64) -> Vec<(String, String)> {
        let station: &Station = Catalogue::shipped().get(NEWLYN).unwrap();
        let predictor = Predictor::new(station, &station.chart_datum).unwrap();
        let from: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 40));
        // Upside down a high water becomes a low one.
        let entry = |t: &crate::tide::Turn| TableEntry {
            time: t.time + SignedDuration::from_mins(late_min),
            level_m: times * t.level_m,
            kind: (times > 0.0).then_some(t.kind),
        };
        let table = TideTable::new("own", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
        let beach = Beach::new("Invented Bay", station.at);
        let doubts = beside_station(&beach, "table:x", &Water::of_table(table), from);
        assert!(doubts.iter().all(|d| d.weight == Weight::Blocks));
        doubts.into_iter().map(|d| (d.key.split(':').next().unwrap().to_owned(), d.sentence)).collect()
    }

    #[test]
    fn a_source_of_the_place_itself_draws_no_word() {
        for (late_min, times) in [(0, 1.0), (20, 0.9), (-20, 1.2)] {
            assert_eq!(told(late_min, times), [], "{late_min} {times}");
        }
    }

    #[test]
    fn another_clock_half_a_tide_and_heights_upside_down_are_told() {
        for late_min in [60, -60, 120, 372, -300] {
            let said = told(late_min, 1.0);
            assert!(said.len() == 1 && said[0].0 == "source-late", "{late_min}: {said:?}");
        }
        let turned = told(0, -1.0);
        assert!(turned.len() == 1 && turned[0].1.contains("upside down"), "{turned:?}");
    }

    #[test]
    fn heights_in_feet_and_a_crushed_range_are_told() {
        let feet = told(0, 3.28);
        assert!(feet.len() == 1 && feet[0].0 == "source-range" && feet[0].1.contains("Read as feet"), "{feet:?}");
        assert_eq!(told(0, 0.3)[0].0, "source-range");
    }
}
