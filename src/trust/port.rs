//! A secondary port: differences on a standard port, typed by hand, whose signs, columns and hours are easily mixed up.
//!
//! What they make is held against a station next to the beach as a table of its turns would be. Beside that the figures
//! themselves are looked at, and the margin allows for what such differences are given to. Where the station finds no other
//! lateness than was stated, that says nothing of a clock: the differences are said back instead, with what a lost sign does.

use jiff::{SignedDuration, Timestamp};

use super::{Doubt, Found, Weight, beside_station, of_afar, of_table};
use crate::book::Beach;
use crate::tide::{Catalogue, Datum, Differences, SecondaryPort, TableEntry, TideTable, Turn, Water};

/// From when on a prediction that holds at any time is held against another: 5 January 2026.
const MIDWINTER_2026: Timestamp = Timestamp::constant(1_767_571_200, 0);
/// Days of turns that are looked at.
const DAYS: i64 = 40;
/// Chart datum is so low that the tide hardly falls below it: a mean low water lower than this is no low water above it, metres.
const LOWEST_M: f64 = -0.3;
/// What differences may be off by: they are given to some minutes and a decimetre, and stand for a whole stretch of coast
/// (common practice, no published source).
const GIVEN_MIN: f64 = 10.0;
const GIVEN_M: f64 = 0.1;
/// Hours from one high water to the next.
const TIDE_H: f64 = 12.42;
/// A time difference of so much is asked about: with its sign lost it would be an hour off.
const ASKED_MIN: f64 = 30.0;
/// What a station finds restates differences of so much at least, ...
const RESTATED_MIN: f64 = 20.0;
/// ... where it finds them but for this, minutes: a clock is told to the half hour.
const RESTATES_MIN: f64 = 15.0;
/// Another station than the standard port speaks for itself where it is this near, metres.
const NEAR_M: f64 = 10_000.0;

/// What is to be said of a secondary port that a beach takes its tide from; nothing of another source.
pub fn of_secondary(beach: &Beach, water: &Water) -> Found {
    let Some(port) = water.secondary() else { return Found::default() };
    let key = beach.tide.key();
    let from = water.covers().map_or(MIDWINTER_2026, |(from, _)| from + SignedDuration::from_hours(48));
    let turns = water.turns(from, from + SignedDuration::from_hours(24 * DAYS));
    let entry = |t: &Turn| TableEntry { time: t.time, level_m: t.level_m, kind: Some(t.kind) };
    let table = TideTable::new(port.name(), Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>());
    let mut found = table.map_or_else(|_| Found::default(), |table| of_table(beach, &key, &table));
    // Its curve is the standard port's and no half-cosine, unless that is a table.
    if port.standard().covers().is_none() {
        found.doubts.retain(|d| !d.key.starts_with("table-curve"));
        found.error.curve_m = 0.0;
    }
    found.add_untold(beside_station(beach, &key, water, from));
    found.doubts.extend(of_afar(beach, &key, water, from));
    for doubt in &mut found.doubts {
        // Places up a creek range otherwise.
        if doubt.key.contains("-range:") {
            doubt.weight = doubt.weight.min(Weight::Question);
        }
        doubt.sentence = doubt
            .sentence
            .replace("the tide table \"", "the secondary port \"")
            .replace("The tide table \"", "The secondary port \"");
        doubt.settle = vec![MEND.to_owned()];
    }
    let blocked = restated(beach, port, &mut found.doubts) == Some(Weight::Blocks);
    found.doubts.extend(no_tide(port, water, &key));
    found.doubts.push(understood(port, water, &key, (&mut found.error, blocked)));
    found
}

const MEND: &str = "Compare the differences with the printed ones: their signs, hours and minutes, and their columns.";

/// Takes out what only restates the differences, and returns how much hung on it. What bars a route stays where another
/// station than the standard port says it next to the beach: there the port should not come so late.
fn restated(beach: &Beach, port: &SecondaryPort, doubts: &mut Vec<Doubt>) -> Option<Weight> {
    let Differences { high_time_min: (a, b), low_time_min: (c, d), .. } = *port.differences();
    let stated_min = 0.25 * (a + b + c + d);
    let standard = port.standard().station().map(|s| &s.id);
    let nearest = Catalogue::shipped().nearest(beach.origin, 1).into_iter().next();
    let another = nearest.is_some_and(|(s, away_m)| away_m <= NEAR_M && Some(&s.id) != standard);
    let restates = |d: &Doubt| {
        let same = late_min(d).is_some_and(|m| (m - stated_min).abs() <= RESTATES_MIN);
        same && stated_min.abs() >= RESTATED_MIN && !(another && d.weight >= Weight::Blocks)
    };
    let weight = doubts.iter().filter(|d| restates(d)).map(|d| d.weight).max();
    doubts.retain(|d| !restates(d));
    weight
}

/// How late a doubt of a clock says that the water comes, minutes.
fn late_min(doubt: &Doubt) -> Option<f64> {
    let (kind, rest) = doubt.key.split_once(':')?;
    let value = rest.split('@').next()?;
    match kind {
        "table-clock" => value.split('h').next()?.parse::<f64>().ok().map(|hours| 60.0 * hours),
        "table-late" | "source-late" => value.parse().ok(),
        _ => None,
    }
}

/// Minutes as hours and minutes: `45 min`, `1 h 15 min`, `2 h`.
fn hours_said(minutes: f64) -> String {
    let whole = minutes.round() as i64;
    match (whole / 60, whole % 60) {
        (0, min) => format!("{min} min"),
        (h, 0) => format!("{h} h"),
        (h, min) => format!("{h} h {min} min"),
    }
}

/// Levels that no tide has.
fn no_tide(port: &SecondaryPort, water: &Water, key: &str) -> Option<Doubt> {
    let levels = water.levels();
    let (mhws, mhwn, mlwn, mlws) = (levels.mhws?.m, levels.mhwn?.m, levels.mlwn?.m, levels.mlws?.m);
    let mixed = mhws < mhwn || mhwn < mlwn || mlwn < mlws;
    (mixed || mlws.min(mlwn) < LOWEST_M).then(|| Doubt {
        key: format!("port-levels:{mhws:.1},{mhwn:.1},{mlwn:.1},{mlws:.1}@{key}"),
        sentence: format!(
            "By its differences high water at \"{}\" stands {mhws:.1} m at springs and {mhwn:.1} m at neaps, low water {mlwn:.1} m at neaps and {mlws:.1} m at springs above chart datum: {}.",
            port.name(),
            if mixed { "no tide has its levels in that order" } else { "chart datum is about the lowest tide, and these lie well below it" }
        ),
        weight: Weight::Blocks,
        settle: vec!["Compare the heights with the printed differences: their signs, and the columns MHWS, MHWN, MLWN, MLWS.".to_owned()],
        spans: Vec::new(),
    })
}

/// What was understood, in words, and what the margin is wider for it; asked where a lost sign would matter, and barring a
/// route where what `blocked` one only restated it.
fn understood(port: &SecondaryPort, water: &Water, key: &str, (error, blocked): (&mut super::SourceError, bool)) -> Doubt {
    let Differences { high_time_min, low_time_min, high_m, low_m } = *port.differences();
    let levels = water.levels();
    let range_m = levels.mhws.zip(levels.mlws).map_or(0.0, |(high, low)| (high.m - low.m).max(0.0));
    // Half a cosine of this range is steepest at its middle.
    let made_m = 0.5 * range_m * std::f64::consts::TAU / (TIDE_H * 60.0) * GIVEN_MIN;
    (error.short_m, error.late_m) = (error.short_m.max(GIVEN_M), error.late_m.max(made_m));
    let times = [high_time_min.0, high_time_min.1, low_time_min.0, low_time_min.1];
    let most_min = times.into_iter().map(f64::abs).fold(0.0, f64::max);
    let asks = blocked || most_min >= ASKED_MIN;
    let mean = |(springs, neaps): (f64, f64)| 0.5 * (springs + neaps);
    let higher = |metres: (f64, f64)| match mean(metres) {
        m if m >= 0.05 => format!("{m:.1} m higher"),
        m if m <= -0.05 => format!("{:.1} m lower", -m),
        _ => "as high".to_owned(),
    };
    let (name, there) = (port.name(), port.standard().name());
    let said = if asks {
        let after = |minutes: (f64, f64)| match mean(minutes) {
            m if m >= 0.5 => format!("{} after", hours_said(m)),
            m if m <= -0.5 => format!("{} before", hours_said(-m)),
            _ => "at the same time as".to_owned(),
        };
        format!(
            "\"{name}\" is taken to have its high water {} that of {there} and {}, its low water {} that of {there} and {} (means of springs and neaps): a lost sign would put it {} wrong; look at the printed sign",
            after(high_time_min),
            higher(high_m),
            after(low_time_min),
            higher(low_m),
            hours_said(2.0 * most_min)
        )
    } else {
        let later = |minutes: (f64, f64)| match mean(minutes) {
            m if m >= 0.5 => format!("{m:.0} min later"),
            m if m <= -0.5 => format!("{:.0} min earlier", -m),
            _ => "at the same time".to_owned(),
        };
        format!(
            "At \"{name}\" high water is taken to come {} and to stand {}, low water {} and {}, than or as at {there} (means of springs and neaps)",
            later(high_time_min),
            higher(high_m),
            later(low_time_min),
            higher(low_m)
        )
    };
    let weight = match asks {
        true if blocked => Weight::Blocks,
        true => Weight::Question,
        false => Weight::Caution,
    };
    let values = times.map(|m| format!("{m:+.0}")).join(",");
    Doubt {
        key: if asks { format!("port-differences:{values}@{key}") } else { format!("port-differences@{key}") },
        sentence: format!(
            "{said}; such differences are given to some minutes and a decimetre, and the margin keeps {:.2} m for the tide source.",
            error.short_m + error.late_m
        ),
        weight,
        settle: if asks { vec![MEND.to_owned()] } else { Vec::new() },
        spans: Vec::new(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::{SecondaryChoice, StandardPort, TideChoice};
    use crate::earth::LonLat;
    use crate::tide::{Catalogue, Predictor};

    const LLANDUDNO: &str = "ticon/llandudno-lla-gbr-bodc";

    /// A secondary port on Llandudno, or on a table of its turns so much later, for a beach so far north of it in degrees.
    fn told(differences: [f64; 8], north_deg: f64, table_late_min: Option<i64>) -> (Vec<(String, Weight)>, Found) {
        let station = Catalogue::shipped().get(LLANDUDNO).unwrap();
        let [a, b, c, d, e, f, g, h] = differences;
        let differences = Differences { high_time_min: (a, b), low_time_min: (c, d), high_m: (e, f), low_m: (h, g) };
        let plain = Water::of_station(station, station.chart_datum.clone()).unwrap();
        let port = match table_late_min {
            None => SecondaryPort::new("Little Bay", plain, differences).unwrap(),
            Some(min) => {
                let from: Timestamp = "2026-11-20T00:00:00Z".parse().unwrap();
                let predictor = Predictor::new(station, &station.chart_datum).unwrap();
                let turns = predictor.turns(from, from + SignedDuration::from_hours(24 * 30));
                let entry = |t: &Turn| TableEntry {
                    time: t.time + SignedDuration::from_mins(min),
                    level_m: t.level_m,
                    kind: Some(t.kind),
                };
                let table = TideTable::new("x", Datum::ChartDatum, &turns.iter().map(entry).collect::<Vec<_>>()).unwrap();
                let levels = plain.levels();
                let levels = [levels.mhws, levels.mhwn, levels.mlwn, levels.mlws].map(|l| l.unwrap().m);
                SecondaryPort::with_levels("Little Bay", Water::of_table(table), differences, levels)
            }
        };
        let choice = SecondaryChoice {
            name: "Little Bay".into(),
            standard: StandardPort::Station(LLANDUDNO.into()),
            differences: "0,0,0,0,0,0,0,0".parse().unwrap(),
            standard_levels_m: None,
        };
        let at = LonLat::new(station.at.lon_deg(), station.at.lat_deg() + north_deg).unwrap();
        let bare = Beach { time_zone: station.time_zone.clone(), ..Beach::new("Invented Bay", at) };
        let beach = Beach { tide: TideChoice::Secondary(choice), datum_offset_m: Some(3.85), ..bare };
        let found = of_secondary(&beach, &Water::of_secondary(port));
        (found.doubts.iter().map(|d| (d.key.split([':', '@']).next().unwrap().to_owned(), d.weight)).collect(), found)
    }

    fn worst(said: &[(String, Weight)]) -> Weight {
        said.iter().map(|(_, w)| *w).max().unwrap()
    }

    #[test]
    fn sound_differences_are_said_back_and_cost_a_margin() {
        let (said, found) = told([5.0, 5.0, 10.0, 10.0, -0.2, -0.1, 0.0, 0.0], 0.005, None);
        assert!(worst(&said) <= Weight::Caution, "{said:?}");
        let sentence = &found.doubts.last().unwrap().sentence;
        assert!(
            sentence.contains("high water is taken to come 5 min later") && sentence.contains("low water 10 min later"),
            "{sentence}"
        );
        // Springs of some 7 m make 1.8 m an hour at half tide, 0.3 m in ten minutes.
        assert!(found.error.short_m >= 0.1 && (0.2..0.45).contains(&found.error.late_m), "{:?}", found.error);
        assert_eq!(found.error.curve_m, 0.0);
    }

    #[test]
    fn signs_hours_and_columns_mixed_up_block() {
        for wrong in [
            [360.0, 360.0, 360.0, 360.0, 0.0, 0.0, 0.0, 0.0],
            [90.0, 90.0, 90.0, 90.0, 0.0, 0.0, 0.0, 0.0],
            [-60.0, -60.0, -60.0, -60.0, 0.0, 0.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -2.0, -2.0],
            [0.0, 0.0, 0.0, 0.0, -2.0, -2.0, 0.0, 0.0],
            [0.0, 0.0, 0.0, 0.0, -4.0, 0.0, 0.0, 0.0],
        ] {
            let (said, found) = told(wrong, 0.005, None);
            assert_eq!(worst(&said), Weight::Blocks, "{wrong:?}: {said:?}");
            assert!(found.doubts.iter().all(|d| !d.sentence.contains("tide table")), "{found:?}");
        }
        // Fifteen kilometres off half a tide is asked about, and a low water far below chart datum blocks.
        assert!(worst(&told([360.0, 360.0, 360.0, 360.0, 0.0, 0.0, 0.0, 0.0], 0.14, None).0) >= Weight::Question);
        assert_eq!(worst(&told([0.0, 0.0, 0.0, 0.0, 0.0, 0.0, -2.0, -2.0], 0.14, None).0), Weight::Blocks);
    }

    /// Whose differences make it late comes late beside its standard port: that was asked of as if it were of its clock.
    #[test]
    fn differences_of_half_an_hour_are_asked_back_with_their_direction_and_not_as_another_clock() {
        for (min, said) in [(35.0, "its high water 35 min after that of"), (-35.0, "its high water 35 min before that of")] {
            let (kinds, found) = told([min, min, min, min, 0.0, 0.0, 0.0, 0.0], 0.005, None);
            let asked: Vec<_> = kinds.iter().filter(|(_, w)| *w > Weight::Caution).collect();
            assert_eq!(asked, [&("port-differences".to_owned(), Weight::Question)], "{kinds:?}");
            let doubt = found.doubts.last().unwrap();
            assert!(
                doubt.sentence.contains(said) && doubt.sentence.contains("lost sign would put it 1 h 10 min wrong"),
                "{doubt:?}"
            );
            assert!(doubt.key.contains(if min > 0.0 { ":+35,+35,+35,+35@" } else { ":-35,-35,-35,-35@" }), "{doubt:?}");
        }
        // So long a way between a beach and the port next to it bars a route still, in the same words.
        let (kinds, found) = told([60.0, 60.0, 60.0, 60.0, 0.0, 0.0, 0.0, 0.0], 0.005, None);
        assert!(kinds.contains(&("port-differences".to_owned(), Weight::Blocks)), "{kinds:?}");
        let sentences: Vec<&String> = found.doubts.iter().map(|d| &d.sentence).collect();
        assert!(sentences.iter().all(|s| !s.contains("another clock")), "{sentences:?}");
        assert!(sentences.last().unwrap().contains("1 h after that of") && sentences.last().unwrap().contains("2 h wrong"));
    }

    #[test]
    fn a_clock_that_the_differences_do_not_explain_is_still_told() {
        let late = |said: &[(String, Weight)]| {
            said.iter().any(|(kind, w)| ["table-clock", "source-late", "table-late"].contains(&&**kind) && *w == Weight::Blocks)
        };
        let differences = |min: f64| [min, min, min, min, 0.0, 0.0, 0.0, 0.0];
        // The standard port's table is itself an hour late.
        assert!(late(&told(differences(35.0), 0.005, Some(60)).0));
        // As late as stated, but beside another station than the standard port.
        let (said, _) = told(differences(60.0), 0.005, Some(0));
        assert!(late(&said) && said.contains(&("port-differences".to_owned(), Weight::Question)), "{said:?}");
    }

    #[test]
    fn minutes_are_said_as_hours_and_minutes() {
        assert_eq!([45.0, 60.0, 75.4, 150.0].map(hours_said), ["45 min", "1 h", "1 h 15 min", "2 h 30 min"]);
    }

    #[test]
    fn a_table_that_blocks_blocks_as_a_standard_port_too() {
        assert!(worst(&told([0.0; 8], 0.005, Some(0)).0) < Weight::Blocks);
        assert_eq!(worst(&told([0.0; 8], 0.005, Some(60)).0), Weight::Blocks);
    }
}
