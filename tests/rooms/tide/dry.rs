//! Dry windows, coming lows and secondary ports, against looking every few seconds.

use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use scourline::sun;
use scourline::tide::{
    Catalogue, Datum, Differences, LOWS_REACH, Low, LowsAsked, LowsOrder, Moon, SecondaryPort, TableEntry, TideTable, TurnKind,
    Water, Window, dry_windows, next_lows, order_lows,
};

fn at(text: &str) -> Timestamp {
    text.parse().unwrap()
}

fn water(id: &str) -> Water {
    let station = Catalogue::shipped().get(id).unwrap();
    Water::of_station(station, station.chart_datum.clone()).unwrap()
}

const PLACES: [&str; 4] =
    ["ticon/newlyn-new-gbr-bodc", "ticon/southampton-sou-gbr-da_idh", "noaa/8729840", "ticon/weymouth-wey-gbr-bodc"];

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// By looking every half minute over four days: dry inside a window, wet outside, ends to the second.
    #[test]
    fn dry_windows_are_dry_and_all_the_rest_is_wet(place in 0..4_usize, level in 0.0..1.0_f64, margin in 0.0..0.5_f64, day in 0..7000_i64) {
        let water = water(PLACES[place]);
        let levels = water.levels();
        let (low, high) = (levels.lat.unwrap().m, levels.hat.unwrap().m);
        let level = low + level * (high - low);
        let from = at("2005-01-01T00:00:00Z") + SignedDuration::from_hours(24 * day);
        let to = from + SignedDuration::from_hours(96);
        let windows = dry_windows(&water, level, margin, from, to);
        for pair in windows.windows(2) {
            prop_assert!(pair[0].to < pair[1].from);
        }
        let mut time = from;
        while time < to {
            let dry = water.height_m(time).unwrap() < level - margin;
            let inside = windows.iter().any(|w| w.holds(time));
            let near_end = windows.iter().any(|w| {
                w.from.duration_since(time).abs() < SignedDuration::from_secs(3) || w.to.duration_since(time).abs() < SignedDuration::from_secs(3)
            });
            prop_assert!(!inside || dry, "wet inside a window at {time}");
            // A dry spell shorter than the rounding is left out.
            prop_assert!(inside || !dry || near_end || level - margin - water.height_m(time).unwrap() < 1e-4, "dry outside at {time}");
            time += SignedDuration::from_secs(30);
        }
    }

    /// More margin never gives more dry time.
    #[test]
    fn more_margin_never_gives_more_dry_time(level in 0.5..5.0_f64, margin in 0.0..1.0_f64, more in 0.0..1.0_f64) {
        let water = water(PLACES[0]);
        let (from, to) = (at("2024-06-01T00:00:00Z"), at("2024-06-08T00:00:00Z"));
        let length = |margin: f64| dry_windows(&water, level, margin, from, to).iter().map(Window::length_s).sum::<f64>();
        prop_assert!(length(margin + more) <= length(margin));
    }
}

#[test]
fn always_dry_never_dry_and_no_time_at_all() {
    let water = water(PLACES[0]);
    let (from, to) = (at("2024-06-01T00:00:00Z"), at("2024-06-03T00:00:00Z"));
    assert_eq!(dry_windows(&water, -5.0, 0.0, from, to), []);
    let all = dry_windows(&water, 20.0, 0.3, from, to);
    assert_eq!(all.len(), 1);
    assert!(all[0].length_s() > 172_790.0 && all[0].from >= from && all[0].to <= to);
    assert_eq!(dry_windows(&water, 20.0, 0.0, to, from), []);
    assert_eq!(dry_windows(&water, f64::NAN, 0.0, from, to), []);
}

/// Where a tide table ends or has a gap, nothing is dry.
#[test]
fn nothing_is_dry_where_the_table_is_silent() {
    let entry = |hour: i64, level_m: f64| TableEntry {
        time: at("2024-06-01T00:00:00Z") + SignedDuration::from_hours(hour),
        level_m,
        kind: None,
    };
    let entries = [(0, 5.0), (6, 1.0), (12, 5.1), (18, 0.9), (66, 5.2), (72, 0.8), (78, 5.0)].map(|(h, m)| entry(h, m));
    let water = Water::of_table(TideTable::new("mine", Datum::ChartDatum, &entries).unwrap());
    let windows = dry_windows(&water, 3.0, 0.0, at("2024-05-20T00:00:00Z"), at("2024-06-20T00:00:00Z"));
    assert_eq!(windows.len(), 3);
    for window in &windows {
        let mid = window.from + SignedDuration::from_secs_f64(window.length_s() / 2.0);
        assert!(water.height_m(mid).is_some_and(|h| h < 3.0), "{window:?}");
    }
    assert!(windows[1].to <= entries[3].time);
}

#[test]
fn lows_are_ranked_and_weighed() {
    let water = water(PLACES[0]);
    let beach = Catalogue::shipped().get(PLACES[0]).unwrap().at;
    let free = [
        Window { from: at("2024-09-14T08:00:00Z"), to: at("2024-09-14T18:00:00Z") },
        Window { from: at("2024-09-14T09:00:00Z"), to: at("2024-09-14T10:00:00Z") },
    ];
    let (from, to) = (at("2024-09-10T00:00:00Z"), at("2024-09-25T00:00:00Z"));
    let lit = sun::lit(beach, from - LOWS_REACH, to + LOWS_REACH, sun::CIVIL_DEG);
    let daylight: Vec<Window> = lit.into_iter().map(Window::from).collect();
    let dry = [0.6, 2.0].map(|level_m| dry_windows(&water, level_m, 0.3, from - LOWS_REACH, to + LOWS_REACH));
    let mut asked = LowsAsked { daylight: &daylight, from, to, dry: &dry, free: None };
    let mut lows = next_lows(&water, &asked);
    let turns = water.turns(asked.from, asked.to);
    assert_eq!(lows.len(), turns.iter().filter(|t| t.kind == TurnKind::Low).count());
    for low in &lows {
        assert!((0.0..=1.0).contains(&low.lower_than) && (0.0..=1.0 + 1e-9).contains(&low.daylight), "{low:?}");
        assert!(low.dry[1].is_none_or(|w| w.holds(low.time)));
        assert!(low.usable_min <= low.dry[1].map_or(0.0, |w| w.length_s() / 60.0) + 1e-9);
    }
    // Equinoctial springs of 19 September 2024: among the lowest of the year; neaps of the 12th are not.
    order_lows(&mut lows, LowsOrder::Lowest);
    assert!(lows[0].lower_than > 0.97 && lows[0].moon == Moon::Spring, "{:?}", lows[0]);
    let day = |low: &Low| low.time.to_zoned_datetime(jiff::tz::TimeZone::UTC).day();
    assert!((18..=21).contains(&day(&lows[0])), "{}", lows[0].time);
    assert_eq!(lows.last().unwrap().moon, Moon::Neap);
    // Only the free hours count, and an hour given twice counts once.
    asked.free = Some(&free);
    let usable: f64 = next_lows(&water, &asked).iter().map(|low| low.usable_min).sum();
    let all_day = Window { from: free[0].from, to: free[0].to };
    let dry: f64 = dry_windows(&water, 2.0, 0.3, all_day.from, all_day.to).iter().map(Window::length_s).sum();
    assert!((usable * 60.0 - dry).abs() < 5.0, "{usable} {dry}");
    order_lows(&mut lows, LowsOrder::MostUsable);
    assert!(lows.windows(2).all(|pair| pair[0].usable_min >= pair[1].usable_min));
}

/// Secondary ports: the differences at springs and at neaps, linear in height between (the tide tables'
/// usual method; common practice).
#[test]
fn a_secondary_port_is_shifted_by_its_differences() {
    let standard = water("ticon/newlyn-new-gbr-bodc");
    let differences =
        Differences { high_time_min: (-10.0, -30.0), low_time_min: (5.0, 15.0), high_m: (-0.6, -0.2), low_m: (0.1, 0.3) };
    let port = SecondaryPort::new("Cove", standard.clone(), differences).unwrap();
    let levels = *standard.levels();
    let (mhws, mhwn, mlws, mlwn) =
        (levels.mhws.unwrap().m, levels.mhwn.unwrap().m, levels.mlws.unwrap().m, levels.mlwn.unwrap().m);
    let cove = Water::of_secondary(port);
    let (from, to) = (at("2024-03-05T00:00:00Z"), at("2024-03-25T00:00:00Z"));
    let theirs = cove.turns(from, to);
    let mine: Vec<_> = standard
        .turns(from - SignedDuration::from_hours(24), to + SignedDuration::from_hours(24))
        .into_iter()
        .map(|turn| {
            let (springs, neaps, minutes, metres) = match turn.kind {
                TurnKind::High => (mhws, mhwn, differences.high_time_min, differences.high_m),
                TurnKind::Low => (mlws, mlwn, differences.low_time_min, differences.low_m),
            };
            let part = (turn.level_m - springs) / (neaps - springs);
            let between = |(a, b): (f64, f64)| a + part * (b - a);
            (turn.time + SignedDuration::from_secs_f64(60.0 * between(minutes)), turn.level_m + between(metres))
        })
        .filter(|(time, _)| *time >= from && *time < to)
        .collect();
    assert_eq!(mine.len(), theirs.len());
    for ((time, level), turn) in mine.iter().zip(&theirs) {
        assert!(time.duration_since(turn.time).abs() < SignedDuration::from_millis(10) && (level - turn.level_m).abs() < 1e-6);
        assert!((cove.height_m(turn.time).unwrap() - turn.level_m).abs() < 1e-4, "the curve passes through {turn:?}");
    }
    let heights = cove.heights(from, 600.0, 100);
    for (i, h) in heights.into_iter().enumerate() {
        let one = cove.height_m(from + SignedDuration::from_secs(600 * i as i64)).unwrap();
        assert!((h.unwrap() - one).abs() < 1e-4);
    }
    // No differences at all is the standard port itself.
    let none = Differences { high_time_min: (0.0, 0.0), low_time_min: (0.0, 0.0), high_m: (0.0, 0.0), low_m: (0.0, 0.0) };
    let same = Water::of_secondary(SecondaryPort::new("Same", standard.clone(), none).unwrap());
    for hour in 0..200 {
        let time = from + SignedDuration::from_mins(37 * hour);
        assert!((same.height_m(time).unwrap() - standard.height_m(time).unwrap()).abs() < 1e-4);
    }
    assert!(!dry_windows(&cove, 1.0, 0.0, from, to).is_empty());
    // A diurnal coast has no springs and neaps to go by.
    let said = SecondaryPort::new("X", water("noaa/8729840"), none);
    assert!(said.is_err());
}
