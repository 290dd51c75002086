//! A gauge record too short or too poor to plan by.

use jiff::Timestamp;

use super::{Doubt, Found, SourceError, Weight};
use crate::tide::{Analysis, Constituent, Convention};

/// A logger at the end of its range writes one and the same level for this long, seconds, to within this part of the
/// record's range: half a cosine stays so near its top for 33 minutes only.
const CLIP_S: f64 = 4_500.0;
const CLIP_PART: f64 = 0.005;
/// Without these no prediction is one.
const MAIN: [&str; 5] = ["M2", "S2", "N2", "K1", "O1"];
/// The days that hold readings must be so much of those needed: gaps tell nothing apart (a judgement).
const LEAST_COVERED: f64 = 0.75;
/// A misfit above this, metres, or above this part of the range at springs where that is above half a metre, is too poor
/// to plan by (a judgement): the record is then not mainly tide, or its levels or clock are wrong.
const WORST_M: f64 = 0.5;
const WORST_PART: f64 = 0.2;
/// A logger that falls dry writes one and the same level for this long, seconds, ...
const FLAT_S: f64 = 9_000.0;
/// ... to within this part of the record's range ...
const FLAT_PART: f64 = 0.02;
/// ... and at this many low waters at least. A tide that is no flatter than a cosine of half a day stays within 2 % of its
/// range of its lowest point for 67 minutes, and no two lows of it in a row are alike to that.
const FLAT_LOWS: usize = 3;

/// Days that it takes to tell the five main constituents from one another: by the Rayleigh criterion two are told apart
/// by a record in which they drift by a whole cycle (Godin 1972, *The Analysis of Tides*, from memory), M2 and N2 last,
/// after 27.55 days.
pub fn days_needed() -> f64 {
    let speeds: Vec<f64> =
        MAIN.iter().filter_map(|name| Constituent::named(name, Convention::Iho)).map(|c| c.speed_deg_h()).collect();
    let gaps = speeds.iter().enumerate().flat_map(|(i, a)| speeds[i + 1..].iter().map(move |b| (a - b).abs()));
    360.0 / gaps.fold(f64::INFINITY, f64::min) / 24.0
}

/// What is to be said of a gauge record: its readings in order of time and what was found in them.
pub fn of_gauge(name: &str, key: &str, readings: &[(Timestamp, f64)], analysis: &Analysis) -> Found {
    let mut doubts = Vec::new();
    let mut tell = |kind: &str, sentence: String, settle: String| {
        let key = format!("gauge-{kind}:{}@{key}", readings.len());
        doubts.push(Doubt { key, sentence, weight: Weight::Refuses, settle: vec![settle], spans: Vec::new() });
    };
    let (need, (span, covered)) = (days_needed(), days(readings));
    let missing: Vec<&str> = MAIN.iter().copied().filter(|n| analysis.fitted.iter().all(|f| f.name != *n)).collect();
    let more = (need - span).max(LEAST_COVERED * need - covered).ceil();
    if more > 0.0 || !missing.is_empty() {
        let mixed = match missing.len() {
            0 => String::new(),
            _ => format!("; {} are still mixed up with others", missing.join(", ")),
        };
        tell(
            "short",
            format!(
                "Gauge record \"{name}\" holds {covered:.0} days of readings over {span:.1} days: it shows the tide, but nothing is planned by it. It takes {need:.1} days to tell the main constituents apart{mixed}."
            ),
            format!("Record {:.0} more days, or choose a station or a tide table.", more.max(1.0)),
        );
    }
    let range_m =
        2.0 * analysis.fitted.iter().filter(|f| MAIN.contains(&f.name) && f.name != "N2").map(|f| f.amplitude_m).sum::<f64>();
    let misfit_m = analysis.residual_m;
    if misfit_m > WORST_M || (range_m > 0.5 && misfit_m > WORST_PART * range_m) {
        tell(
            "poor",
            format!(
                "Gauge record \"{name}\" leaves {misfit_m:.2} m unexplained (root mean square) of a range of {range_m:.1} m at springs: too poor to plan by."
            ),
            "Look for a wrong clock, a logger that was moved or fell dry, or readings in another unit; more days do not mend it."
                .to_owned(),
        );
    }
    if let Some((level_m, lows)) = falls_dry(readings) {
        tell(
            "dry",
            format!(
                "Gauge record \"{name}\" stays at {level_m:.2} m through {lows} low waters: the logger falls dry there, so how far the water goes down, and when it comes back, is not in it."
            ),
            "Hang the logger lower and record again, or choose a station or a tide table.".to_owned(),
        );
    }
    if let Some((level_m, highs)) = clips(readings) {
        tell(
            "clipped",
            format!(
                "Gauge record \"{name}\" stays at {level_m:.2} m through {highs} high waters: the logger reads no higher, so how far the water comes up, and when, is not in it."
            ),
            "Hang the logger so that its range reaches above high water and record again, or choose a station or a tide table."
                .to_owned(),
        );
    }
    let error = SourceError { misfit_m, inferred_m: inferred_m(analysis), ..SourceError::default() };
    if doubts.is_empty() {
        doubts.extend(inferred(name, key, analysis, error.inferred_m));
        let error = SourceError { misfit_m, ..SourceError::default() };
        let wider = error.margin_m(crate::tide::Surge::UNKNOWN.sd_m);
        let sentence = format!(
            "Gauge record \"{name}\" leaves {misfit_m:.2} m unexplained: the margin is widened by it as an error beside the weather's (twice the root of the sum of both squares; {wider:.2} m where nothing is known of the weather)."
        );
        doubts.push(Doubt {
            key: format!("gauge-misfit:{misfit_m:.2}@{key}"),
            sentence,
            weight: Weight::Caution,
            settle: Vec::new(),
            spans: Vec::new(),
        });
    }
    Found { doubts, error }
}

/// By how much the tide may be off for what was inferred, metres: the root of the sum of the squares.
fn inferred_m(analysis: &Analysis) -> f64 {
    analysis.inferred.iter().map(|i| i.unsure_m * i.unsure_m).sum::<f64>().sqrt()
}

/// Which constituents were inferred, from which, and what that adds to the margin; `None` where none was.
fn inferred(name: &str, key: &str, analysis: &Analysis, wider_m: f64) -> Option<Doubt> {
    let of: Vec<String> = analysis.inferred.iter().map(|i| format!("{} from {}", i.fitted.name, i.reference)).collect();
    let by =
        if analysis.inferred.iter().any(|i| i.by_station) { "those of the station near by" } else { "the equilibrium tide's" };
    (!of.is_empty()).then(|| Doubt {
        key: format!("gauge-inferred:{wider_m:.2}@{key}"),
        sentence: format!(
            "Gauge record \"{name}\" is too short to tell some constituents from larger ones beside them; they are inferred ({}) by {by} ratios, and the margin is {wider_m:.2} m wider for it until the record is long enough (183 days for K2 and P1, 206 for NU2, 366 for T2).",
            of.join(", ")
        ),
        weight: Weight::Caution,
        settle: Vec::new(),
        spans: Vec::new(),
    })
}

/// Days from the first reading to the last, and days on which there are readings.
fn days(readings: &[(Timestamp, f64)]) -> (f64, f64) {
    let (Some(first), Some(last)) = (readings.first(), readings.last()) else { return (0.0, 0.0) };
    let of_day = |t: &Timestamp| t.as_second().div_euclid(86_400);
    let with = readings.chunk_by(|a, b| of_day(&a.0) == of_day(&b.0)).count();
    (last.0.duration_since(first.0).as_secs_f64() / 86_400.0, with as f64)
}

/// The level at which a record is cut off at its top, high water after high water, and how often: its foot, turned over.
fn clips(readings: &[(Timestamp, f64)]) -> Option<(f64, usize)> {
    let turned: Vec<(Timestamp, f64)> = readings.iter().map(|(t, m)| (*t, -m)).collect();
    rests(&turned, CLIP_PART, CLIP_S).map(|(m, highs)| (-m, highs))
}

/// The level at which a record is flat at its foot, low water after low water, and how often.
fn falls_dry(readings: &[(Timestamp, f64)]) -> Option<(f64, usize)> {
    rests(readings, FLAT_PART, FLAT_S)
}

/// The lowest level of a record at which it rests for so many seconds to this part of its range, and how often it does.
fn rests(readings: &[(Timestamp, f64)], part: f64, flat_s: f64) -> Option<(f64, usize)> {
    let low = readings.iter().map(|r| r.1).fold(f64::INFINITY, f64::min);
    let high = readings.iter().map(|r| r.1).fold(f64::NEG_INFINITY, f64::max);
    let near_m = part * (high - low);
    // A logger's own noise may put one reading under the level it rests at: that level is where most of the low ones are.
    let mut lowest: Vec<f64> = readings.iter().map(|r| r.1).filter(|m| *m <= low + 3.0 * near_m).collect();
    lowest.sort_by(f64::total_cmp);
    let rests_m = *lowest.get(lowest.len() / 2)?;
    let is_flat = |r: &(Timestamp, f64)| (r.1 - rests_m).abs() <= near_m;
    let long = |run: &&[(Timestamp, f64)]| match (run.first(), run.last()) {
        (Some(a), Some(b)) => is_flat(a) && b.0.duration_since(a.0).as_secs_f64() >= flat_s,
        _ => false,
    };
    let lows = readings.chunk_by(|a, b| is_flat(a) == is_flat(b)).filter(long).count();
    (near_m > 0.0 && lows >= FLAT_LOWS).then_some((rests_m, lows))
}

#[cfg(test)]
mod tests {
    use jiff::SignedDuration;

    use super::*;
    use crate::tide::{Catalogue, Datum, Predictor};

    /// Levels as a logger near Newlyn writes them, every ten minutes, with weather of this size that comes and goes.
    fn logged(days: i64, weather_m: f64, dry_below_m: f64) -> Vec<(Timestamp, f64)> {
        let station = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
        let predictor = Predictor::new(station, &Datum::Msl).unwrap();
        let start: Timestamp = "2025-01-01T00:00:00Z".parse().unwrap();
        let heights = predictor.heights(start, 600.0, (days * 144) as usize);
        let at = |i: i64| start + SignedDuration::from_secs(i * 600);
        let weather = |i: i64| weather_m * std::f64::consts::SQRT_2 * (i as f64 / 144.0 * 2.3).sin();
        (0..).zip(heights).map(|(i, m)| (at(i), (m + weather(i)).max(dry_below_m))).collect()
    }

    fn found(readings: &[(Timestamp, f64)]) -> Found {
        of_gauge("logger", "gauge:x", readings, &Analysis::from_record(readings).unwrap())
    }

    #[test]
    fn it_takes_27_55_days_to_tell_the_main_constituents_apart() {
        // One cycle of M2 against N2 is the anomalistic month of 27.5546 days (Meeus 1998, Astronomical Algorithms,
        // chapter 50, from memory); of M2 against S2 half a synodic month of 29.5306 days; of O1 against K1 half a
        // tropical month of 27.3216 days.
        assert!((days_needed() - 27.5546).abs() < 0.001, "{}", days_needed());
    }

    #[test]
    fn three_days_are_shown_but_plan_nothing_and_say_how_many_more_it_takes() {
        let told = found(&logged(3, 0.05, -9.0));
        assert_eq!(told.doubts[0].weight, Weight::Refuses);
        assert!(told.doubts[0].settle[0].contains("25 more days"), "{told:?}");
        assert!(told.doubts[0].sentence.contains("27.6 days"), "{told:?}");
        // A record of five weeks with three of them missing is as poor.
        let mut gaps = logged(35, 0.05, -9.0);
        gaps.drain(5 * 144..26 * 144);
        assert!(found(&gaps).doubts[0].key.starts_with("gauge-short:"));
        let whole = found(&logged(31, 0.05, -9.0));
        assert!(whole.doubts.iter().all(|d| d.weight == Weight::Caution), "{whole:?}");
    }

    #[test]
    fn the_misfit_widens_the_margin_and_too_much_of_it_plans_nothing() {
        let told = found(&logged(31, 0.36, -9.0));
        assert!(told.doubts.iter().all(|d| d.weight == Weight::Caution), "{told:?}");
        assert!((0.30..0.40).contains(&told.error.misfit_m), "{told:?}");
        // Twice the root of 0.2² + 0.36² in place of twice 0.2 (where nothing is known of the weather): 0.82 m for 0.40 m.
        let margin_m = SourceError { misfit_m: 0.36, ..SourceError::default() }.margin_m(0.2);
        assert!((margin_m - (2.0 * (0.04_f64 + 0.1296).sqrt() - 0.4)).abs() < 1e-12);
        assert!(found(&logged(31, 0.8, -9.0)).doubts[0].key.starts_with("gauge-poor:"));
    }

    #[test]
    fn a_logger_that_falls_dry_is_noticed_and_a_whole_tide_is_not_taken_for_one() {
        for dry_below_m in [-0.5, -1.2] {
            let told = found(&logged(31, 0.05, dry_below_m));
            assert!(told.doubts.iter().any(|d| d.key.starts_with("gauge-dry:") && d.weight == Weight::Refuses), "{told:?}");
        }
        for id in ["ticon/newlyn-new-gbr-bodc", "noaa/8729840", "noaa/9447130", "ticon/southampton-sou-gbr-da_idh"] {
            let station = Catalogue::shipped().get(id).unwrap();
            let predictor = Predictor::new(station, &Datum::Msl).unwrap();
            let start: Timestamp = "2025-03-01T00:00:00Z".parse().unwrap();
            let heights = predictor.heights(start, 600.0, 60 * 144);
            let readings: Vec<_> = (0..).zip(heights).map(|(i, m)| (start + SignedDuration::from_secs(i * 600), m)).collect();
            assert_eq!((falls_dry(&readings), clips(&readings)), (None, None), "{id}");
        }
    }

    #[test]
    fn a_logger_that_reads_no_higher_is_noticed() {
        for most_m in [1.5, 2.2] {
            let readings: Vec<_> = logged(40, 0.02, -9.0).into_iter().map(|(t, m)| (t, m.min(most_m))).collect();
            let told = found(&readings);
            let clipped = told.doubts.iter().find(|d| d.key.starts_with("gauge-clipped:")).expect("it is told");
            assert!(clipped.weight == Weight::Refuses && clipped.sentence.contains(&format!("{most_m:.2} m")), "{told:?}");
        }
    }

    #[test]
    fn what_is_inferred_widens_the_margin_until_the_record_tells_it_apart() {
        let wider = |days: i64| found(&logged(days, 0.02, -9.0)).error.inferred_m;
        let (two_months, seven_months) = (wider(62), wider(215));
        println!("margin for what is inferred: 62 days {two_months:.2} m, 215 days {seven_months:.2} m");
        // Newlyn's S2 is 0.57 m (from memory): K2 is 0.272 of it, wrong by up to 0.33 of that, and as much in S2.
        assert!((2.0 * 0.33 * 0.272 * 0.57 - 0.01..0.35).contains(&two_months), "{two_months}");
        assert!(seven_months > 0.0 && seven_months < 0.8 * two_months, "{seven_months}");
    }
}
