//! What the worlds promise, held to over many seeds.

use rayon::prelude::*;

use super::*;

fn over(sort: Sort, seeds: std::ops::Range<u64>) -> Vec<World> {
    seeds.into_par_iter().map(|seed| World::draw(sort, seed).unwrap()).collect()
}

/// Least and greatest of a figure.
fn spread(worlds: &[World], figure: impl Fn(&World) -> f64) -> (f64, f64) {
    worlds.iter().map(figure).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
}

#[test]
fn a_seed_always_gives_the_same_world() {
    for sort in Sort::ALL {
        let (a, b) = (World::draw(sort, 7).unwrap(), World::draw(sort, 7).unwrap());
        assert!(a.book == b.book && a.truth.finds == b.truth.finds && a.truth.visits == b.truth.visits, "{sort:?}");
        assert!(a.book != World::draw(sort, 8).unwrap().book, "{sort:?}");
    }
}

#[test]
fn the_ranges_are_wide() {
    let worlds = over(Sort::Patterned, 0..50);
    let wide = |what: &str, (low, high): (f64, f64), least: f64, most: f64, times: f64| {
        assert!(low >= least && high <= most, "{what}: {low} to {high}");
        assert!(high > times * low, "{what}: {low} to {high}");
    };
    wide("length", spread(&worlds, |w| w.truth.land.length_m), 150.0, 1500.0, 5.0);
    wide("width", spread(&worlds, |w| w.truth.land.width_m), 25.0, 150.0, 3.0);
    wide("slope", spread(&worlds, |w| w.truth.land.slope), 1.0 / 80.0, 1.0 / 8.0, 4.0);
    wide("range of the tide", spread(&worlds, |w| w.truth.land.range_m), 0.5, 9.0, 6.0);
    wide("outings", spread(&worlds, |w| w.truth.visits.len() as f64), 5.0, 60.0, 5.0);
    wide("minutes", spread(&worlds, |w| f64::from(w.truth.visits[0].seconds) / 60.0), 20.0, 240.0, 4.0);
    wide("things per 100 m2", spread(&worlds, |w| w.truth.richness.per_100m2), 0.2, 6.0, 10.0);
    wide("share of heavy", spread(&worlds, |w| w.truth.richness.heavy_share), 0.1, 0.7, 3.0);
    wide("share of iron", spread(&worlds, |w| w.truth.richness.iron_share), 0.0, 0.4, 5.0);
    wide("chance per pass", spread(&worlds, |w| w.truth.chance), 0.3, 0.95, 2.0);
    wide("days", spread(&worlds, |w| w.truth.days_cv), 0.0, 0.8, 5.0);
    wide("receiver", spread(&worlds, |w| w.truth.receiver.error_m), 1.0, 6.0, 3.0);
    wide("fixes", spread(&worlds, |w| f64::from(w.truth.receiver.every_s)), 1.0, 10.0, 5.0);
    let count = |of: &dyn Fn(&World) -> bool| worlds.iter().filter(|w| of(w)).count();
    for survey in [Survey::Dense, Survey::Sparse] {
        assert!(count(&|w| w.truth.survey == survey) >= 5, "{survey:?}");
    }
    assert!(count(&|w| !matches!(w.truth.survey, Survey::Dense | Survey::Sparse)) >= 2);
    assert!((5..=45).contains(&count(&|w| w.truth.land.is_straight())));
    assert!(count(&|w| w.truth.visits.iter().all(|v| v.tracked)) >= 10);
    assert!(count(&|w| w.truth.visits.iter().any(|v| !v.tracked)) >= 10);
    assert!(count(&|w| w.truth.richness.renewal_days.is_none()) >= 5);
    assert!(count(&|w| w.book.finds().values().any(|f| f.time.is_none())) >= 5);
}

#[test]
fn patterns_are_planted_where_the_sort_says_and_come_in_all_shapes() {
    let worlds = over(Sort::Patterned, 0..50);
    for w in &worlds {
        let (t, land) = (&w.truth, &w.truth.land);
        assert!(t.lines.len() + t.zones.len() > 0 && t.lines.len() <= 3 && t.zones.len() <= 3);
        for l in &t.lines {
            let length_m = l.along_m.1 - l.along_m.0;
            assert!((40.0..=400.0).contains(&length_m) && l.along_m.0 >= 0.0 && l.along_m.1 <= land.length_m + 1e-9);
            assert!((2.0..=8.0).contains(&l.width_m) && (1.5..=10.0).contains(&l.times));
            assert!(l.level_m >= land.mean_water_m - 0.5 * land.range_m - 0.3, "above low water: {l:?}");
        }
        for z in &t.zones {
            assert!((4.0..=20.0).contains(&z.half_long_m) && (1.5..=10.0).contains(&z.times));
            assert!((1.0..=2.5 + 1e-9).contains(&(z.half_long_m / z.half_short_m)));
        }
    }
    let lines: Vec<&ScourLine> = worlds.iter().flat_map(|w| &w.truth.lines).collect();
    let zones: Vec<&DropZone> = worlds.iter().flat_map(|w| &w.truth.zones).collect();
    assert!(lines.len() > 40 && zones.len() > 40);
    assert!(lines.iter().any(|l| l.from_s.is_some()) && lines.iter().any(|l| l.from_s.is_none() && l.slant != 0.0));
    assert!(zones.iter().any(|z| z.from_s.is_some()) && zones.iter().any(|z| z.half_long_m > 15.0));
    for sort in [Sort::Plain, Sort::OneSided, Sort::HalfTracked, Sort::AfterStorms] {
        assert!(over(sort, 0..5).iter().all(|w| w.truth.lines.is_empty() && w.truth.zones.is_empty()), "{sort:?}");
    }
}

#[test]
fn each_sort_keeps_its_promise() {
    for w in over(Sort::OneSided, 0..50) {
        let land = &w.truth.land;
        let along = || w.truth.visits.iter().flat_map(|v| v.sweeps()).map(|(_, _, to)| land.shore(to).0);
        let (from, to) = along().fold((f64::INFINITY, f64::NEG_INFINITY), |(l, h), a| (l.min(a), h.max(a)));
        assert!(to - from <= 0.42 * land.length_m + 1.0, "seed {}: {from} to {to} of {}", w.seed, land.length_m);
    }
    for w in over(Sort::HalfTracked, 0..50) {
        let kept = w.truth.visits.iter().filter(|v| v.tracked).count();
        assert!(kept.abs_diff(w.truth.visits.len() - kept) <= 1, "seed {}", w.seed);
        assert_eq!(w.book.tracks().len(), kept);
    }
    let soon = |w: &World| {
        let days = |v: &Visit| {
            w.truth.storms_s.iter().map(|s| (v.start_s - s) as f64 / 86_400.0).filter(|d| *d > 0.0).fold(f64::INFINITY, f64::min)
        };
        w.truth.visits.iter().filter(|v| days(v) < 11.0).count() as f64 / w.truth.visits.len() as f64
    };
    let after = over(Sort::AfterStorms, 0..50);
    assert!(after.iter().all(|w| w.truth.storms_s.len() >= 3 && w.truth.richness.storm_gain >= 0.5));
    let mean = |worlds: &[World]| worlds.iter().map(soon).sum::<f64>() / worlds.len() as f64;
    assert!(mean(&after) > 0.6 && mean(&after) > mean(&over(Sort::Plain, 0..50)) + 0.2, "{}", mean(&after));
}

#[test]
fn a_place_has_one_pair_of_metres_along_and_across_and_leads_back() {
    for w in over(Sort::Plain, 0..20) {
        let land = &w.truth.land;
        for n in 0..=30 {
            let (along, across) = (land.length_m * f64::from(n) / 30.0, land.width_m * f64::from(n * 7 % 31) / 30.0);
            let (a, c) = land.shore_of(land.lonlat(land.place(along, across)).unwrap()).unwrap();
            assert!((a - along).abs() < 0.1 && (c - across).abs() < 0.1, "seed {}: {along} {across} and {a} {c}", w.seed);
        }
    }
}

/// Where nothing is planted, the finds made are as many as the passes over the true sand lead one to expect. Given the
/// sand's rate they are nearly a Poisson count; over all seeds the sum has a standard error of about its root.
#[test]
fn finds_are_as_many_as_expected_where_nothing_is_planted() {
    for sort in [Sort::Plain, Sort::OneSided, Sort::AfterStorms] {
        let worlds = over(sort, 100..130);
        let each: Vec<(f64, f64)> =
            worlds.par_iter().map(|w| (w.truth.finds.len() as f64, w.truth.expected(&[]).by_visit.iter().sum())).collect();
        let (made, expected) = each.iter().fold((0.0, 0.0), |(m, e), v| (m + v.0, e + v.1));
        println!("{sort:?}: {made} finds, {expected} expected");
        assert!(expected > 1000.0 && (made - expected).abs() < 4.0 * expected.sqrt(), "{sort:?}: {made} and {expected}");
        // No world by itself is off by more than chance allows, either.
        let square = each.iter().map(|(m, e)| (m - e).powi(2) / e.max(1.0)).sum::<f64>() / each.len() as f64;
        assert!((0.3..2.0).contains(&square), "{sort:?}: {square}");
    }
}

/// And so in a part of the beach, over days, by outings with tracks alone.
#[test]
fn finds_in_a_window_are_as_many_as_expected() {
    let worlds = over(Sort::HalfTracked, 200..240);
    let each: Vec<(f64, f64)> = worlds
        .par_iter()
        .map(|w| {
            let (land, from_s) = (&w.truth.land, (w.truth.span_s.0 + w.truth.span_s.1) / 2);
            let holds = |along: f64, across: f64| along < 0.5 * land.length_m && across > 0.3 * land.width_m;
            let expected = w.truth.expected(&[Window { holds: Box::new(holds), from_s: Some(from_s) }]).in_windows[0];
            let inside = |f: &&Found| w.truth.visits[f.visit].tracked && f.time_s >= from_s && holds(f.lay.0, f.lay.1);
            (w.truth.finds.iter().filter(inside).count() as f64, expected)
        })
        .collect();
    let (made, expected) = each.iter().fold((0.0, 0.0), |(m, e), v| (m + v.0, e + v.1));
    assert!(expected > 300.0 && (made - expected).abs() < 4.0 * expected.sqrt(), "{made} and {expected}");
}

/// Worked by hand: one straight lane of 100 m with a swath of 1.6 m over a thing a square metre, found with a chance of
/// a half, expects 80 and a half-disc at each end; a second one at once 40; with a renewal of ten days the same ground
/// expects 80 (1 - exp(-1) / 2) ten days after the first.
#[test]
fn expected_finds_are_those_worked_by_hand() {
    let land = Land::even(200.0, 60.0);
    let lane = |day: i64| Visit {
        start_s: day * 86_400,
        seconds: 100,
        radius_m: 0.8,
        chance: 0.5,
        tracked: true,
        habit: Habit { way: Way::LanesAlong, haunt: Haunt::Anywhere, after_storms: false },
        steps: (0..=100).map(|s| Step { second: s, at: land.place(50.0 + f64::from(s), 30.0), searching: true }).collect(),
    };
    let truth = |days: [i64; 2], renewal_days| {
        let bare = Truth::bare(land.clone());
        Truth { richness: Richness { renewal_days, ..bare.richness }, visits: days.map(lane).to_vec(), ..bare }
    };
    let near = |a: f64, b: f64| (a - b).abs() < 0.03 * b;
    let first = 0.5 * (160.0 + std::f64::consts::PI * 0.64);
    let once = truth([0, 0], None).expected(&[]).by_visit;
    assert!(near(once[0], first) && near(once[1], 0.5 * first), "{once:?}");
    let renewed = truth([0, 10], Some(10.0)).expected(&[]).by_visit;
    assert!(near(renewed[1], first * (1.0 - 0.5 * (-1.0_f64).exp())), "{renewed:?}");
}

/// What stands in the book is what a reading needs: a shape, water, and bands where the sand was surveyed.
#[test]
fn a_world_lays_itself_out_as_anyone_s_beach() {
    for w in over(Sort::Patterned, 0..10) {
        let setting = crate::shore::Setting::from_book(&w.book, w.beach).unwrap();
        let shore = setting.shore.as_ref().expect("a shape");
        assert!(setting.water.is_some());
        assert_eq!(setting.bands.is_empty(), w.truth.survey == Survey::Missing, "seed {}: {:?}", w.seed, setting.warnings);
        if matches!(w.truth.survey, Survey::Dense) {
            let (along, across) = (0.5 * w.truth.land.length_m, 0.5 * w.truth.land.width_m);
            let level = shore
                .sand_level(shore.frame().to_local(w.truth.land.lonlat(w.truth.land.place(along, across)).unwrap()).unwrap());
            assert!((level.unwrap().land_m - w.truth.land.level_m(along, across)).abs() < 0.7, "seed {}", w.seed);
        }
    }
}
