//! The sea: run-up against py-wave-runup, and what is taken where a record covers the hours and where none does.

use jiff::{SignedDuration, Timestamp};
use proptest::prelude::*;
use scourline::book::{SeaRecord, SeaState, Uid};
use scourline::sea::{Foreshore, Sea, SeaFrom, Seas, USUAL_RUN_UP_M, Waves, swash};
use scourline::tide::{Catalogue, Water, dry_windows};

/// Values from `tests/reference/sea/run_up.py` (py-wave-runup 0.1.12, after Stockdon and others 2006).
#[test]
fn run_up_is_that_of_another_library() {
    let text = include_str!("../reference/sea/run_up.tsv");
    let mut rows = 0;
    for line in text.lines().skip(2) {
        let v: Vec<f64> = line.split('\t').map(|t| t.parse().unwrap()).collect();
        let [height_m, period_s, slope, iribarren, setup_m, swash_m, r2_m] = v[..] else { panic!("{line}") };
        let ours = swash(Waves { height_m, period_s }, slope);
        for (ours, theirs) in
            [(ours.iribarren, iribarren), (ours.setup_m, setup_m), (ours.height_m, swash_m), (ours.run_up_m, r2_m)]
        {
            assert!((ours - theirs).abs() < 1e-6, "{line}: {ours} {theirs}");
        }
        rows += 1;
    }
    assert_eq!(rows, 8 * 6 * 8);
}

fn at(hour: i64) -> Timestamp {
    let start: Timestamp = "2026-03-01T00:00:00Z".parse().unwrap();
    start + SignedDuration::from_hours(hour)
}

fn state(hour: i64, hs_m: f64) -> SeaState {
    SeaState { time: at(hour), hs_m, tp_s: Some(8.0), dir_deg: None, surge_m: None }
}

fn sea_of(states: Vec<SeaState>) -> Sea {
    let beach = Uid::fresh();
    let record = SeaRecord { uid: SeaRecord::uid_of(beach, "buoy"), beach, name: "buoy".into(), states };
    Sea { seas: Seas::from_records([&record]).into(), ..Sea::default() }
}

const SAND: Foreshore = Foreshore { slope: 0.05, sd: 0.0, steepest: 0.05 };

fn run_up_m(height_m: f64) -> f64 {
    swash(Waves { height_m, period_s: 8.0 }, 0.05).run_up_m
}

#[test]
fn the_roughest_entry_of_the_hours_counts_with_those_on_either_side() {
    let sea = sea_of(vec![state(0, 1.0), state(3, 2.0), state(6, 1.2), state(9, 1.0), state(12, 0.8)]);
    for (from, to, height_m) in [(0, 2, 2.0), (3, 4, 2.0), (6, 8, 1.2), (7, 11, 1.2), (9, 12, 1.0)] {
        let kept = sea.highest(SAND, at(from), at(to));
        assert!((kept.m - run_up_m(height_m)).abs() < 1e-12, "{from} to {to}: {kept:?}");
        assert!(kept.is_covered() && kept.waves.height_m == height_m);
    }
}

#[test]
fn hours_that_no_record_covers_get_a_stated_cautious_sea() {
    // A calm day: too short to tell what its sea is like in a year.
    let short = sea_of((0..8).map(|n| state(3 * n, 0.4)).collect());
    let beyond = short.highest(SAND, at(20), at(30));
    assert_eq!(beyond.from, SeaFrom::Usual, "part of the hours is covered and calm, the rest is not known");
    assert!(beyond.said().contains("common practice, no published source") && beyond.m > run_up_m(0.4));
    // A gap in the record is as little known.
    let torn = sea_of(vec![state(0, 0.4), state(3, 0.4), state(12, 0.4), state(15, 0.4)]);
    assert_eq!(torn.highest(SAND, at(4), at(5)).from, SeaFrom::Usual);
    assert!(torn.highest(SAND, at(12), at(14)).is_covered());
    // Over a year the record knows itself how rough its sea is: 10 in 100 entries are a gale's.
    let year = sea_of((0..2900).map(|n| state(3 * n, if n % 10 == 0 { 3.0 } else { 0.5 })).collect());
    let later = year.highest(SAND, at(3 * 2900), at(3 * 2900 + 6));
    assert_eq!((later.from, later.waves.height_m), (SeaFrom::Past, 3.0));
    assert!(later.said().contains("5 hours of 100"), "{}", later.said());
}

#[test]
fn the_entries_nearest_to_hours_that_no_record_covers_bind_and_calm_nothing() {
    let long = SeaState { tp_s: Some(12.0), surge_m: Some(1.2), ..state(12, 3.0) };
    let sparse = sea_of(vec![SeaState { surge_m: Some(0.2), ..state(0, 4.0) }, long, state(24, 1.0)]);
    let kept = sparse.highest(SAND, at(4), at(7));
    assert_eq!(kept.waves, Waves { height_m: 4.0, period_s: 12.0 }, "the higher and the longer of the two");
    assert!((kept.surge_m - 1.2).abs() < 1e-12, "the greater surge: {kept:?}");
    assert!(!kept.is_covered() && kept.from.word() == "nearest", "{kept:?}");
    assert!(kept.sea_said().contains("from the record's nearest entry, ") && kept.said().contains(" h off"), "{}", kept.said());

    // One line alone, for a day before it and three after it.
    let one = sea_of(vec![state(9, 5.0)]);
    assert!(one.highest(SAND, at(10), at(14)).sea_said().contains("nearest entry, 5 h off"));
    for (from, to, binds) in
        [(-20, -16, false), (-20, -14, true), (0, 3, true), (8, 10, true), (31, 34, true), (33, 36, true), (81, 84, false)]
    {
        let kept = one.highest(SAND, at(from), at(to));
        assert_eq!(
            (["nearest", "ended"].contains(&kept.from.word()), kept.waves.height_m == 5.0),
            (binds, binds),
            "{from} to {to}: {kept:?}"
        );
    }
    // A calm one calms neither what is taken where nothing is known, nor what is expected.
    let calm = sea_of(vec![state(0, 0.3)]);
    assert_eq!(calm.highest(SAND, at(5), at(8)).from, SeaFrom::Usual);
    let asked = Sea { asked: Some(Waves { height_m: 0.8, period_s: 7.0 }), ..calm };
    assert_eq!(asked.highest(SAND, at(5), at(8)).from, SeaFrom::Asked);

    // A storm every twelve hours is kept clear of no less than the same storm every three.
    let storm = |step: i64| sea_of((0..=24 / step).map(|n| SeaState { surge_m: Some(0.9), ..state(n * step, 5.0) }).collect());
    for hour in 0..24 {
        let [dense, rare] = [3, 12].map(|step| storm(step).highest(SAND, at(hour), at(hour + 2)).m);
        assert!(rare >= dense, "{hour}: {rare} {dense}");
    }
    // Beside a forecast that covers the hours a record that has ended says nothing, and a sparse forecast of them does.
    let beach = Uid::fresh();
    let record =
        |name: &str, states: Vec<SeaState>| SeaRecord { uid: SeaRecord::uid_of(beach, name), beach, name: name.into(), states };
    let dense = record("forecast", (0..8).map(|n| state(3 * n, 0.5)).collect());
    let of = |other: SeaRecord| Sea { seas: Seas::from_records([&dense, &other]).into(), ..Sea::default() };
    let ended = of(record("buoy", vec![state(-9, 4.0), state(-6, 4.0)]));
    assert!(ended.highest(SAND, at(1), at(2)).is_covered());
    let other = of(record("other", vec![state(-6, 4.0), state(6, 1.0)]));
    assert_eq!(other.highest(SAND, at(1), at(2)).waves.height_m, 4.0);
}

#[test]
fn an_expected_sea_counts_where_nothing_covers_and_never_calms_a_record() {
    let asked = |height_m| Sea {
        asked: Some(Waves { height_m, period_s: 8.0 }),
        ..sea_of(vec![state(0, 1.0), state(3, 1.0), state(6, 1.0)])
    };
    assert_eq!(asked(0.6).highest(SAND, at(40), at(44)).from, SeaFrom::Asked);
    assert!((asked(0.6).highest(SAND, at(40), at(44)).m - run_up_m(0.6)).abs() < 1e-12);
    assert!((asked(0.6).highest(SAND, at(1), at(4)).m - run_up_m(1.0)).abs() < 1e-12);
    assert!((asked(1.6).highest(SAND, at(1), at(4)).m - run_up_m(1.6)).abs() < 1e-12);
}

#[test]
fn the_surge_of_a_forecast_is_kept_where_the_weather_holds_less() {
    let with = |surge_m: f64, held_m: f64| {
        let states = [0, 3, 6].map(|n| SeaState { surge_m: (n == 3).then_some(surge_m), ..state(n, 1.0) });
        Sea { held_m, ..sea_of(states.to_vec()) }.highest(SAND, at(1), at(2))
    };
    let plain_m = run_up_m(1.0);
    for (surge_m, held_m, kept_m) in [(1.5, 0.0, 1.5), (1.5, 0.4, 1.1), (0.3, 0.4, 0.0), (-0.8, 0.0, 0.0), (1.0, -0.5, 1.0)] {
        let kept = with(surge_m, held_m);
        assert!(
            (kept.m - plain_m - kept_m).abs() < 1e-12 && (kept.surge_m - kept_m).abs() < 1e-12,
            "{surge_m} {held_m}: {kept:?}"
        );
        assert_eq!(kept.said().contains("surge"), kept_m > 0.0, "{}", kept.said());
    }
    // Where waves are expected that run up higher, the surge stands beside those; where nothing covers the hours there is none,
    // but for a day that of the record's last hours.
    let rough = Sea {
        asked: Some(Waves { height_m: 2.0, period_s: 8.0 }),
        ..sea_of(vec![SeaState { surge_m: Some(0.7), ..state(0, 1.0) }, state(3, 1.0)])
    };
    assert!((rough.highest(SAND, at(0), at(3)).m - run_up_m(2.0) - 0.7).abs() < 1e-12);
    assert_eq!(rough.highest(SAND, at(20), at(22)).surge_m, 0.7);
    assert_eq!(rough.highest(SAND, at(30), at(32)).surge_m, 0.0);
}

#[test]
fn a_forecast_that_broke_off_in_a_rising_storm_binds_for_three_days() {
    let rising = |n: i64| SeaState { surge_m: Some(0.1 * n as f64), ..state(3 * n, 0.5 + 0.4 * n as f64) };
    let storm = sea_of((0..9).map(rising).collect());
    // It ends at hour 24 with 3.7 m and a surge of 0.8 m; the low is 31 hours later.
    let kept = storm.highest(SAND, at(53), at(55));
    assert!((kept.waves.height_m - 3.7).abs() < 1e-9 && (kept.surge_m - 0.8).abs() < 1e-9, "{kept:?}");
    assert!((kept.m - run_up_m(kept.waves.height_m) - 0.8).abs() < 1e-9, "{kept:?}");
    assert!(kept.from == SeaFrom::Ended(at(24), 31) && !kept.is_covered(), "{kept:?}");
    assert!(kept.said().contains("breaks off 31 h before") && kept.sea_said().contains("breaks off 31 h before"));
    assert_eq!(storm.highest(SAND, at(97), at(99)).from, SeaFrom::Usual, "three days on");
    // The roughest of its last hours counts, and who has looked at today's sea is believed.
    let falling = sea_of(vec![state(0, 4.0), state(3, 4.0), state(6, 3.0), state(9, 1.0)]);
    assert_eq!(falling.highest(SAND, at(40), at(42)).waves.height_m, 4.0);
    let asked = Sea { asked: Some(Waves { height_m: 0.5, period_s: 5.0 }), ..storm };
    assert_eq!(asked.highest(SAND, at(53), at(55)).from, SeaFrom::Asked);
    // A calm end calms nothing.
    let calm = sea_of((0..9).map(|n| state(3 * n, 0.2)).collect());
    assert_eq!(calm.highest(SAND, at(53), at(55)).from, SeaFrom::Usual);
}

#[test]
fn a_typed_run_up_only_ever_adds() {
    let bare = sea_of(vec![state(0, 1.5), state(3, 1.5)]);
    let typed = |m| Sea { typed_m: Some(m), ..bare.clone() }.highest(SAND, at(0), at(3));
    let computed = bare.highest(SAND, at(0), at(3));
    assert_eq!(typed(0.1).m, computed.m);
    assert!(typed(0.1).said().contains("0.10 m of run-up that were typed are less and lower nothing"), "{}", typed(0.1).said());
    assert_eq!(typed(2.0).m, 2.0);
    assert!(typed(2.0).said().contains("are kept"));
    // Not even on a flat sea.
    let flat = sea_of(vec![state(0, 0.0), state(3, 0.0)]);
    assert_eq!(flat.highest(SAND, at(0), at(3)).m, USUAL_RUN_UP_M);
}

#[test]
fn a_record_without_periods_is_taken_for_long_waves() {
    let bare = |n: i64| SeaState { tp_s: None, ..state(n, 1.0) };
    assert!(sea_of(vec![bare(0), bare(3)]).highest(SAND, at(0), at(3)).m > run_up_m(1.0));
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    /// By looking every minute over three days: dry with the run-up of that very hour, else not in a window.
    #[test]
    fn dry_windows_keep_the_run_up_of_their_own_hours(seed in 0..1000_u32, level in 1.5..4.5_f64, entries in 4..30_usize) {
        let newlyn = Catalogue::shipped().get("ticon/newlyn-new-gbr-bodc").unwrap();
        let water = Water::of_station(newlyn, newlyn.chart_datum.clone()).unwrap();
        let states = (0..entries).map(|n| {
            let wobble = f64::from((seed + 1).wrapping_mul(2_654_435_761).rotate_left(n as u32) % 300) / 100.0;
            state(3 * n as i64 + 6, wobble)
        });
        let sea = sea_of(states.collect());
        let (from, to) = (at(0), at(72));
        let windows = sea.dry_windows(&water, (level, 0.4), SAND, (from, to));
        for pair in windows.windows(2) {
            prop_assert!(pair[0].to < pair[1].from);
        }
        let steadily = dry_windows(&water, level, 0.4 + sea.highest(SAND, from, to).m, from, to);
        prop_assert!(steadily.iter().all(|s| windows.iter().any(|w| w.from.as_second() <= s.from.as_second() + 1 && s.to.as_second() <= w.to.as_second() + 1)), "the roughest hour is the least dry");
        let mut time = from;
        while time < to {
            let needs_m = 0.4 + sea.highest(SAND, time, time + SignedDuration::from_secs(1)).m;
            let clear_m = level - needs_m - water.height_m(time).unwrap();
            let inside = windows.iter().any(|w| w.holds(time));
            let near_end = windows.iter().any(|w| w.from.duration_since(time).abs().as_secs() < 3 || w.to.duration_since(time).abs().as_secs() < 3);
            prop_assert!(!inside || clear_m > -1e-4, "wet inside a window at {time}: {clear_m}");
            prop_assert!(inside || near_end || clear_m < 1e-3, "dry outside at {time}: {clear_m}");
            time += SignedDuration::from_secs(60);
        }
    }
}
