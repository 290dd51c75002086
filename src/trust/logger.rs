//! A gauge record of the person's own held against a station next to the beach: its range, its lateness, and whether its
//! clock drifts.

use jiff::{SignedDuration, Timestamp};

use super::afar::of_afar;
use super::beside::{AGREE, BLOCKS_MIN, Held, HeldTo, NEAR_M, beside_station, together};
use super::heights::{BLOCKS_PART, GREAT_RANGE_M, NEXT_DOOR_M, RANGE_M};
use super::{Doubt, Found, Weight};
use crate::book::Beach;
use crate::earth::distance_words;
use crate::tide::{Catalogue, Datum, Predictor, Station, Water};

/// A range that is as small as one of a table that blocks does so only where no other station ranges as little, to this part.
const GOES_PART: f64 = 0.9;
/// A range that is as small but makes less, and so much at least at high and at low water, metres, is asked about and carried:
/// where the tide ranges a metre, 0.7 of it lacks no more.
const SHORT_M: f64 = 0.1;
/// What a record's clock drifts is looked for in so many parts of it at most, ...
const MOST_PARTS: usize = 6;
/// ... of so many days at least, ...
const PART_DAYS: f64 = 5.0;
/// ... and told where two of them are farther apart than this, minutes.
const DRIFT_MIN: f64 = 15.0;
/// Each is held against the station at steps of so many seconds, moved by up to so many of them (three hours).
const STEP_S: i64 = 300;
const MOST_STEPS: i64 = 36;
/// The zero of the levels that stands so much above where the station has it, metres, once mean sea level is that of the record,
/// is asked about, and blocks: then the record reads too low, or the offset is not to its zero. Of 442 pairs of neighbours that
/// tie the same land datum none differ by 0.4 m. Where the station ties none it is held against mean sea level itself, and above
/// it alone: of the 622 land datums that stations of the catalogue tie to it none stands 0.4 m above it, but 23 in 100 as much
/// below.
const LEVEL_ASKED_M: f64 = 0.4;
const LEVEL_BLOCKS_M: f64 = 0.7;
/// No mean is taken of a record that spans so many seconds: its dates are wrong.
const MOST_S: f64 = 30.0 * 366.0 * 86_400.0;
/// Of each part no more than about so many readings are looked at.
const MOST_READINGS: usize = 1_000;
/// The fastest water is looked for at steps of so many seconds over so many of them (thirty days).
const RATE_STEP_S: f64 = 900.0;
const RATE_STEPS: usize = 30 * 96;

/// What is to be said of a gauge record beside the station next to the beach, and by how much its times may be off.
pub fn of_gauge_beside(beach: &Beach, key: &str, water: &Water, readings: &[(Timestamp, f64)]) -> Found {
    let mut found = Found::default();
    let Some((from, _)) = readings.first().filter(|_| !beach.invented) else { return found };
    found.doubts = beside_station(beach, key, water, *from);
    found.doubts.extend(of_afar(beach, key, water, *from));
    let Some(held_to) = HeldTo::new(beach, water, *from).filter(|h| h.away_m <= NEAR_M) else { return found };
    let (station, away_m) = (held_to.station, held_to.away_m);
    if let Some((doubt, wider_m)) = level(beach, (key, water.name()), readings, (station, away_m)) {
        found.error.short_m = wider_m;
        found.doubts.push(doubt);
    }
    let near = Catalogue::shipped().nearest(beach.origin, 4).into_iter();
    let mut near = near.filter(|(s, m)| *m <= NEAR_M && held_to.is_beside(s));
    let Some(held) = Held::new(station, water, *from) else { return found };
    let there = format!("{}, {} away", station.name, distance_words(away_m));
    if away_m <= NEXT_DOOR_M && is_small(&held) {
        let goes = |(other, _): (&Station, f64)| {
            Held::new(other, water, *from).is_some_and(|h| h.best.agree >= AGREE && h.best.times >= GOES_PART)
        };
        let weight = if near.any(goes) { Weight::Question } else { Weight::Blocks };
        found.doubts.retain(|d| !d.key.starts_with("source-range"));
        found.doubts.push(Doubt {
            key: format!("gauge-range:{:.2}@{key}", held.best.times),
            sentence: format!(
                "The water of gauge record \"{}\" rises and falls {:.2} times as far as that of {there}: a logger in a creek or behind a weir, or one that reads too little, knows less of the water than comes to the beach.",
                water.name(),
                held.best.times
            ),
            weight,
            settle: vec!["Look where the logger hung, and in which unit and to which scale it reads.".to_owned()],
            spans: Vec::new(),
        });
    }
    let (times, wider_m) = (held.best.times, 0.5 * range_off_m(&held));
    let is_told = found.doubts.iter().any(|d| d.key.contains("-range:"));
    let is_short = away_m <= NEXT_DOOR_M && times <= BLOCKS_PART && wider_m >= SHORT_M;
    if held.best.agree >= AGREE && (2.0 * wider_m >= GREAT_RANGE_M || is_short) && !is_told {
        found.error.short_m += wider_m;
        let means = if times < 1.0 {
            "If its high waters are too low, the flood stands higher at every minute before them than by this record."
        } else {
            "If its low waters are too low, sand counts as dry that lies under water."
        };
        found.doubts.push(Doubt {
            key: format!("gauge-range:{times:.2}@{key}"),
            sentence: format!(
                "The water of gauge record \"{}\" rises and falls {times:.2} times as far as that of {there}, which is {wider_m:.2} m at high and at low water; the margin is wider by that. {means}",
                water.name()
            ),
            weight: Weight::Question,
            settle: vec!["Look where the logger hung, and in which unit and to which scale it reads.".to_owned()],
            spans: Vec::new(),
        });
    }
    let rate_m_min = fastest_m_min(water, *from);
    if let Some(late) = found.doubts.iter_mut().find(|d| d.key.starts_with("source-late")) {
        let wider_m = rate_m_min * held.late_min.abs().min(BLOCKS_MIN);
        late.sentence = format!(
            "{} The margin is {wider_m:.2} m wider for it, which is what the water makes in that time at its fastest.",
            late.sentence
        );
        found.error.late_m = wider_m;
    }
    if let Some((least_min, most_min)) = drift_min(readings, station) {
        let greatest_min = if most_min.abs() >= least_min.abs() { most_min } else { least_min };
        let wider_m = rate_m_min * greatest_min.abs();
        found.error.late_m = found.error.late_m.max(wider_m);
        let said = |min: f64| format!("{:.0} minutes {}", min.abs(), if min < 0.0 { "earlier" } else { "later" });
        found.doubts.push(Doubt {
            key: format!("gauge-drift:{least_min:+.0}..{most_min:+.0}@{key}"),
            sentence: format!(
                "The clock of gauge record \"{}\" drifts: in one part of it the water comes {}, in another {} than that of {there}. It is taken to be off by the greatest of that: the margin is {wider_m:.2} m wider, which is what the water makes in that time at its fastest.",
                water.name(),
                said(least_min),
                said(most_min)
            ),
            weight: if greatest_min.abs() >= BLOCKS_MIN { Weight::Blocks } else { Weight::Question },
            settle: vec![
                "Hold the logger's clock against a right one at both ends of the record, put its times right, and import it again.".to_owned(),
            ],
            spans: Vec::new(),
        });
    }
    found
}

/// The zero of a record held against mean sea level: where the offset then puts the zero of the levels, beside where the
/// station has it. With what the margin is wider by, metres.
fn level(
    beach: &Beach,
    (key, name): (&str, &str),
    readings: &[(Timestamp, f64)],
    (station, away_m): (&Station, f64),
) -> Option<(Doubt, f64)> {
    let (offset_m, mean_m) = (beach.datum_offset_m?, mean_sea_m(readings, station)?);
    let zero_m = offset_m - mean_m;
    let ties = station.land_datums().filter_map(|land| Some((land.words(), station.above_m(land, &Datum::Msl)?)));
    let tie = ties.min_by(|a, b| (zero_m - a.1).abs().total_cmp(&(zero_m - b.1).abs()));
    let high_m = tie.map_or(zero_m.max(0.0), |(_, m)| zero_m - m);
    if high_m.abs() < LEVEL_ASKED_M {
        return None;
    }
    // Beyond what blocks, whoever says that it is so says that the offset is to this zero.
    let wider_m = high_m.clamp(0.0, LEVEL_BLOCKS_M);
    let side = |m: f64| if m < 0.0 { "below" } else { "above" };
    let known = tie.map_or_else(
        || "the zero of a country's levels hardly ever stands so far above it (common practice)".to_owned(),
        |(land, m)| format!("{land} stands {:.2} m {} it there", m.abs(), side(m)),
    );
    let means = if high_m > 0.0 {
        format!(
            "The record reads too low, or the offset is not to its zero: sand then counts as dry that lies under water. The margin is {wider_m:.2} m wider for it."
        )
    } else {
        "The record reads too high, or the offset is not to its zero.".to_owned()
    };
    let doubt = Doubt {
        key: format!("gauge-level:{offset_m:.3},{high_m:+.2}@{key}"),
        sentence: format!(
            "By gauge record \"{name}\", its tide and season taken out as {}, {} away, has them, mean sea level stands {mean_m:.2} m above its zero, and an offset of {offset_m:+.2} m puts the zero of your levels {:.2} m {} mean sea level: {known}. {means}",
            station.name,
            distance_words(away_m),
            zero_m.abs(),
            side(zero_m)
        ),
        weight: if high_m >= LEVEL_BLOCKS_M { Weight::Blocks } else { Weight::Question },
        settle: vec![
            "Level in the logger's zero on the sand, and give the offset from it to what your levels count from.".to_owned(),
        ],
        spans: Vec::new(),
    };
    Some((doubt, wider_m))
}

/// Mean sea level above the zero of a record, by how far it stands in the mean above what a station predicts about its own,
/// metres.
fn mean_sea_m(readings: &[(Timestamp, f64)], station: &Station) -> Option<f64> {
    let (from, last) = (readings.first()?.0, readings.last()?.0);
    let seconds = |t: Timestamp| t.duration_since(from).as_secs_f64();
    let span_s = Some(seconds(last)).filter(|s| *s <= MOST_S)?;
    let there = Predictor::new(station, &Datum::Msl).ok()?.heights(from, RATE_STEP_S, (span_s / RATE_STEP_S) as usize + 2);
    let above = |(time, m): &(Timestamp, f64)| {
        let at = seconds(*time) / RATE_STEP_S;
        let (a, b) = (there.get(at as usize)?, there.get(at as usize + 1)?);
        Some(m - a - (b - a) * at.fract()).filter(|m| m.is_finite())
    };
    let (sum, n) = readings.iter().filter_map(above).fold((0.0, 0.0), |(sum, n), m| (sum + m, n + 1.0));
    (n > 0.0).then(|| sum / n)
}

/// By how much a source ranges otherwise than a station, metres, as a cosine ranges two times the root of two as far as its
/// standard deviation.
fn range_off_m(held: &Held) -> f64 {
    let (times, least_m) = (held.best.times, held.best.least_m);
    let there_m = least_m / times.min(1.0);
    2.0 * std::f64::consts::SQRT_2 * there_m * (times - 1.0).abs()
}

/// Whether a source that otherwise goes with a station ranges less than blocks.
fn is_small(held: &Held) -> bool {
    let (agree, times, least_m) = (held.best.agree, held.best.times, held.best.least_m);
    // Of a cosine the height is the root of two times its standard deviation.
    let short_m = std::f64::consts::SQRT_2 * least_m * (1.0 / times - 1.0);
    agree >= AGREE && times <= BLOCKS_PART && short_m >= RANGE_M
}

/// How fast the water rises or falls at its fastest, metres a minute.
fn fastest_m_min(water: &Water, from: Timestamp) -> f64 {
    let heights = water.heights(from, RATE_STEP_S, RATE_STEPS);
    let steps = heights.windows(2).filter_map(|w| Some((w[1]? - w[0]?).abs()));
    steps.fold(0.0, f64::max) / (RATE_STEP_S / 60.0)
}

/// The least and the greatest lateness of the parts of a record, minutes, where they are too far apart for one clock.
fn drift_min(readings: &[(Timestamp, f64)], station: &Station) -> Option<(f64, f64)> {
    let (first, last) = (readings.first()?.0, readings.last()?.0);
    let span_s = last.duration_since(first).as_secs_f64();
    let parts = ((span_s / (86_400.0 * PART_DAYS)) as usize).min(MOST_PARTS);
    let predictor = Predictor::new(station, &Datum::Msl).ok()?;
    let part_of = |t: Timestamp| (t.duration_since(first).as_secs_f64() / span_s * parts as f64) as usize;
    let late: Vec<f64> =
        readings.chunk_by(|a, b| part_of(a.0) == part_of(b.0)).filter_map(|part| late_min(part, &predictor)).collect();
    let (least, most) = late.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |s, m| (s.0.min(*m), s.1.max(*m)));
    (late.len() >= 2 && most - least > DRIFT_MIN).then_some((least, most))
}

/// How much later than a station's water the readings come, minutes; `None` where they do not go with it.
fn late_min(readings: &[(Timestamp, f64)], predictor: &Predictor) -> Option<f64> {
    let (first, last) = (readings.first()?.0, readings.last()?.0);
    let moved = SignedDuration::from_secs(STEP_S * MOST_STEPS);
    let from = first.checked_sub(moved).ok()?;
    let span_s = last.duration_since(from).as_secs();
    if last.duration_since(first).as_secs_f64() < 0.5 * 86_400.0 * PART_DAYS {
        return None;
    }
    let there = predictor.heights(from, STEP_S as f64, (span_s / STEP_S + MOST_STEPS + 2) as usize);
    let some: Vec<(f64, f64)> = readings
        .iter()
        .step_by(readings.len() / MOST_READINGS + 1)
        .map(|(t, m)| (t.duration_since(from).as_secs_f64() / STEP_S as f64, *m))
        .collect();
    let held = |k: i64| {
        let pair = |(at, m): &(f64, f64)| {
            let at = at - k as f64;
            let (a, b) = (there.get(at as usize)?, there.get(at as usize + 1)?);
            Some((*m, a + (b - a) * at.fract()))
        };
        together(some.iter().filter_map(pair).collect::<Vec<_>>().into_iter()).map(|t| t.agree)
    };
    let all: Vec<(i64, f64)> = (-MOST_STEPS..=MOST_STEPS).filter_map(|k| Some((k, held(k)?))).collect();
    let (n, (k, best)) = all.iter().copied().enumerate().max_by(|a, b| a.1.1.total_cmp(&b.1.1))?;
    let (before, after) = (all.get(n.checked_sub(1)?)?.1, all.get(n + 1)?.1);
    // Where a parabola through the best and both beside it is highest.
    let bend = before + after - 2.0 * best;
    let between = if bend < 0.0 { 0.5 * (before - after) / bend } else { 0.0 };
    (best >= AGREE).then_some((k as f64 + between) * STEP_S as f64 / 60.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::LonLat;
    use crate::tide::Analysis;

    const NEWLYN: &str = "ticon/newlyn-new-gbr-bodc";

    /// Sixty days of a logger at Newlyn that ranges so many times as far and whose clock is so many minutes late on each day.
    fn found(times: f64, late_min: impl Fn(f64) -> f64) -> Found {
        found_at(NEWLYN, times, late_min)
    }

    /// The same at another station.
    fn found_at(id: &str, times: f64, late_min: impl Fn(f64) -> f64) -> Found {
        found_above(id, times, late_min, (0.0, None))
    }

    /// The same with readings that stand so much higher, and an offset of the beach.
    fn found_above(id: &str, times: f64, late_min: impl Fn(f64) -> f64, (up_m, offset_m): (f64, Option<f64>)) -> Found {
        let station = Catalogue::shipped().get(id).unwrap();
        let predictor = Predictor::new(station, &Datum::Msl).unwrap();
        let start: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let reading = |n: i64| {
            let time = start + SignedDuration::from_mins(30 * n);
            let late_s = (60.0 * late_min(n as f64 / 48.0)) as i64;
            (time, up_m + times * predictor.height_m(time - SignedDuration::from_secs(late_s)))
        };
        let readings: Vec<(Timestamp, f64)> = (0..60 * 48).map(reading).collect();
        let bare = Beach::new("Invented Bay", LonLat::new(station.at.lon_deg(), station.at.lat_deg()).unwrap());
        let beach = Beach { datum_offset_m: offset_m, ..bare };
        let analysis = Analysis::beside(&readings, Some(station)).unwrap();
        let own = analysis.station("gauge/x".to_owned(), "logger".to_owned(), beach.origin, beach.time_zone.clone());
        let water = Water::of_station(&own, own.chart_datum.clone()).unwrap();
        of_gauge_beside(&beach, "gauge:x", &water, &readings)
    }

    #[test]
    fn a_logger_beyond_an_isthmus_is_held_to_the_station_of_its_own_water() {
        let manukau = Catalogue::shipped().get("ticon/manukau-mnkt-nzl-ttw").unwrap();
        let predictor = Predictor::new(manukau, &Datum::Msl).unwrap();
        let start: Timestamp = "2026-01-05T00:00:00Z".parse().unwrap();
        let reading = |n: i64| {
            let time = start + SignedDuration::from_mins(30 * n);
            (time, predictor.height_m(time))
        };
        let readings: Vec<(Timestamp, f64)> = (0..60 * 48).map(reading).collect();
        // Onehunga, 9.6 km from Auckland over the isthmus.
        let beach = Beach::new("Invented Bay", LonLat::new(174.785, -36.935).unwrap());
        let analysis = Analysis::beside(&readings, Some(manukau)).unwrap();
        let own = analysis.station("gauge/x".to_owned(), "logger".to_owned(), beach.origin, beach.time_zone.clone());
        let water = Water::of_station(&own, own.chart_datum.clone()).unwrap();
        let told = of_gauge_beside(&beach, "gauge:x", &water, &readings);
        assert_eq!(kinds(&told), [("source-divided", Weight::Question)], "{told:?}");
    }

    fn kinds(found: &Found) -> Vec<(&str, Weight)> {
        found.doubts.iter().map(|d| (d.key.split(':').next().unwrap_or_default(), d.weight)).collect()
    }

    #[test]
    fn a_logger_of_the_place_draws_no_word_and_one_that_ranges_too_little_blocks() {
        for (times, late) in [(1.0, 0.0), (0.95, 10.0), (1.1, -10.0)] {
            let told = found(times, |_| late);
            assert!(told.doubts.is_empty() && told.error.late_m == 0.0, "{times} {late}: {told:?}");
        }
        for times in [0.7, 0.8] {
            let told = found(times, |_| 0.0);
            assert_eq!(kinds(&told), [("gauge-range", Weight::Blocks)], "{times}");
            assert!(told.doubts[0].sentence.contains(&format!("{times:.2} times as far")), "{told:?}");
        }
    }

    #[test]
    fn where_the_tide_ranges_most_half_a_metre_at_high_water_is_asked_about_and_carried() {
        // M2 of 3.67 m and S2 of 1.43 m make a tide of about 8 m: 0.12 of it is 0.96 m, half of that at high water.
        let told = found_at("ticon/saint_malo-410-fra-refmar", 0.88, |_| 0.0);
        assert_eq!(kinds(&told), [("gauge-range", Weight::Question)]);
        assert!((0.4..0.56).contains(&told.error.short_m), "{told:?}");
        assert!(told.doubts[0].sentence.contains("the flood stands higher at every minute"), "{told:?}");
        // As small a part of Newlyn's tide is less.
        let told = found(0.88, |_| 0.0);
        assert!(told.doubts.is_empty() && told.error.short_m == 0.0, "{told:?}");
    }

    /// M2 of 0.51 m and S2 of 0.06 m (TICON-4) make a tide of about a metre at Nuku'alofa.
    #[test]
    fn where_the_tide_ranges_a_metre_a_record_scaled_down_and_one_an_hour_late_are_asked_about() {
        let tonga = "ticon/nukualofa-038-ton-uhslc_fd";
        let sound = found_at(tonga, 1.0, |_| 0.0);
        assert!(sound.doubts.is_empty() && sound.error.short_m == 0.0, "{sound:?}");
        let small = found_at(tonga, 0.7, |_| 0.0);
        assert_eq!(kinds(&small), [("gauge-range", Weight::Question)]);
        assert!((0.1..0.2).contains(&small.error.short_m), "{small:?}");
        let late = found_at(tonga, 1.0, |_| 60.0);
        assert_eq!(kinds(&late), [("source-late", Weight::Question)]);
        assert!(late.error.late_m > 0.05, "{late:?}");
    }

    /// The offset was levelled to a zero 3 m below mean sea level; then the record reads too low, or too high.
    #[test]
    fn a_record_whose_zero_is_not_that_of_the_offset_is_told_by_mean_sea_level() {
        let told = |id: &str, low_m: f64, zero_m: f64| found_above(id, 1.0, |_| 0.0, (3.0 - low_m, Some(3.0 + zero_m)));
        // Newlyn's station ties no land datum; Ordnance Datum there was mean sea level of 1915 to 1921, and stands some 0.2 m
        // under that of today (from memory).
        for (low_m, zero_m) in [(0.0, 0.0), (0.0, -0.2), (0.3, 0.0), (-0.8, 0.0)] {
            let sound = told(NEWLYN, low_m, zero_m);
            assert!(sound.doubts.is_empty() && sound.error.short_m == 0.0, "{low_m} {zero_m}: {sound:?}");
        }
        let asked = told(NEWLYN, 0.7, -0.2);
        assert_eq!(kinds(&asked), [("gauge-level", Weight::Question)]);
        assert!((asked.error.short_m - 0.5).abs() < 0.05, "{asked:?}");
        for low_m in [0.8, 1.0, 1.5] {
            let low = told(NEWLYN, low_m, 0.0);
            assert_eq!(kinds(&low), [("gauge-level", Weight::Blocks)], "{low_m}");
            assert!((low.error.short_m - 0.7).abs() < 1e-9, "{low:?}");
        }
        // At Seattle NAVD 88 stands 1.31 m below mean sea level by the station's own datums: the right one draws no word, mean sea
        // level in its stead does, and one too low by as much is asked about.
        let seattle = "noaa/9447130";
        let level = |found: &Found| found.doubts.iter().find(|d| d.key.starts_with("gauge-level")).map(|d| d.weight);
        assert_eq!(level(&told(seattle, 0.0, -1.309)), None);
        assert_eq!(level(&told(seattle, 0.5, -1.309)), Some(Weight::Question));
        assert_eq!(level(&told(seattle, 0.0, 0.0)), Some(Weight::Blocks));
        assert_eq!(level(&told(seattle, -1.0, -1.309)), Some(Weight::Question));
    }

    #[test]
    fn half_an_hour_is_asked_about_and_carried_as_what_the_water_makes_in_it() {
        let told = found(1.0, |_| 32.0);
        assert_eq!(kinds(&told), [("source-late", Weight::Question)]);
        // Half a cosine of the 4.6 m between high and low water of springs at Newlyn (Admiralty Tide Tables, from memory) in
        // 12.42 h is steepest by 1.9 cm a minute.
        assert!((0.45..0.85).contains(&told.error.late_m), "{told:?}");
        assert!(told.doubts[0].sentence.contains("m wider for it"), "{told:?}");
    }

    #[test]
    fn a_clock_that_drifts_is_told_by_its_greatest_lateness_and_that_is_carried() {
        let told = found(1.0, |day| 40.0 * day / 60.0);
        let drift = told.doubts.iter().find(|d| d.key.starts_with("gauge-drift:")).expect("it is told");
        assert!(drift.weight == Weight::Question && drift.sentence.contains("minutes later"), "{told:?}");
        // Of the last ten days, about 37 minutes late.
        assert!((0.5..0.95).contains(&told.error.late_m), "{told:?}");
        // A summer clock put back by an hour in the middle.
        let told = found(1.0, |day| if day < 30.0 { 60.0 } else { 0.0 });
        let drift = told.doubts.iter().find(|d| d.key.starts_with("gauge-drift:")).expect("it is told");
        assert!(drift.weight == Weight::Blocks && told.error.late_m > 0.9, "{told:?}");
    }
}
