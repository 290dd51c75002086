//! The check itself: routes that keep the rule pass it, and the same routes spoilt in ways that break the
//! rule are found out, on random beaches.

use std::sync::OnceLock;

use jiff::{SignedDuration, Timestamp};
use rayon::prelude::*;
use scourline::book::{RecordKind, TideTable};
use scourline::route::{Doing, Params, Route, Step, check};
use scourline::shore::Setting;

use super::common::{Seawards, quick, spot};
use super::open_beach;
use super::property::{Random, random};

/// Sand above the water that counts at a step, all margins taken off, metres; `None` where it is not known.
fn clearance_m(setting: &Setting, params: &Params, step: &Step) -> Option<f64> {
    let sand = setting.shore.as_ref().ok()?.sand_level(step.at)?;
    let level = sand.land_m - params.sand_sigmas * sand.sigma_m - params.water_margin_m();
    Some(level - setting.water.as_ref()?.height_m(step.time)?)
}

/// Random beaches that are tried.
const TRIED: u64 = 24;

/// Those of them that have a route, planned once for all tests here.
fn with_routes() -> impl Iterator<Item = (u64, Random, Route)> {
    static ROUTES: OnceLock<Vec<(u64, Route)>> = OnceLock::new();
    let routes = ROUTES.get_or_init(|| {
        let plan = |seed| {
            let case = random(seed);
            Some((seed, case.made.plan_after(case.after, &case.params, &Seawards).ok()?))
        };
        (0..TRIED).into_par_iter().filter_map(plan).collect()
    });
    assert!(routes.len() > 10, "{} routes", routes.len());
    routes.iter().map(|(seed, route)| (*seed, random(*seed), route.clone()))
}

fn delayed(route: &Route, after: Timestamp, by: SignedDuration) -> Vec<Step> {
    route.trace.iter().map(|s| if s.time > after { Step { time: s.time + by, ..*s } } else { *s }).collect()
}

#[test]
fn turning_back_later_than_the_water_allows_is_found_out() {
    for (seed, case, route) in with_routes() {
        let (setting, last) = (case.made.setting(), route.visits.last().unwrap());
        // The last block is worked on until the water with its margin is at the feet.
        let at = route.trace.iter().rfind(|s| matches!(s.doing, Doing::Searching(_))).unwrap();
        let minutes = (0..900).find(|m| {
            let later = Step { time: at.time + SignedDuration::from_mins(*m), ..*at };
            clearance_m(&setting, &case.params, &later).is_none_or(|c| c < 0.0)
        });
        let late = delayed(&route, last.begin, SignedDuration::from_mins(minutes.unwrap() + 1));
        assert!(check(&case.made.book, &setting, &case.params, &late).is_err(), "seed {seed}");
    }
}

#[test]
fn higher_water_than_planned_for_is_found_out() {
    for (seed, mut case, route) in with_routes() {
        let setting = case.made.setting();
        let clear = |s: &Step| clearance_m(&setting, &case.params, s);
        let least = route.trace.iter().filter_map(clear).fold(f64::INFINITY, f64::min);
        assert!(least > 0.0, "seed {seed}: the way itself is wet");
        let table = case.made.book.tide_tables().values().next().unwrap().clone();
        let raise = |m: f64| {
            let turns = table.turns.iter().map(|t| scourline::book::TideTurn { level_m: t.level_m + m, ..*t }).collect();
            TideTable { turns, ..table.clone() }
        };
        case.made.put(raise(least + 0.02));
        let flooded = case.made.setting();
        let breach = check(&case.made.book, &flooded, &case.params, &route.trace).unwrap_err();
        // It need not be the wet step itself that is found first: the way out is gone before that.
        assert!(breach.what.contains("water") || breach.what.contains("access"), "seed {seed}: {breach}");
        // Lower water breaks nothing that was dry before.
        case.made.put(raise(-0.05));
        let ebbed = case.made.setting();
        assert!(check(&case.made.book, &ebbed, &case.params, &route.trace).is_ok(), "seed {seed}");
    }
}

#[test]
fn an_access_that_is_no_longer_there_is_found_out() {
    for (seed, mut case, route) in with_routes() {
        let uids: Vec<_> = case.made.book.accesses().values().filter(|a| a.name == route.to.name).map(|a| a.uid).collect();
        for uid in uids {
            let edit = case.made.book.removal(RecordKind::Access, uid);
            case.made.book.apply(&edit).unwrap();
        }
        let breach = check(&case.made.book, &case.made.setting(), &case.params, &route.trace).unwrap_err();
        assert!(breach.what.contains("access"), "seed {seed}: {breach}");
    }
}

#[test]
fn a_groyne_across_the_way_is_found_out() {
    for (seed, mut case, route) in with_routes() {
        // Between the access and the first lane, right across the beach.
        let first = route.visits[0].lanes[0][0];
        let along = |p: scourline::earth::Local| p.east_m + 200.0;
        let across = |p: scourline::earth::Local| 100.0 - p.north_m;
        let (a, b) = ((along(route.from.at), across(route.from.at)), (along(first), across(first)));
        let (middle, away) = (((a.0 + b.0) / 2.0, (a.1 + b.1) / 2.0), ((b.0 - a.0), (b.1 - a.1)));
        let length = away.0.hypot(away.1);
        let reach = 900.0 / length;
        let end = |side: f64| (middle.0 - side * away.1 * reach, middle.1 + side * away.0 * reach);
        case.made.groyne("New groyne", &[end(-1.0), end(1.0)]);
        let breach = check(&case.made.book, &case.made.setting(), &case.params, &route.trace).unwrap_err();
        assert!(breach.what.contains("barrier") || breach.what.contains("access"), "seed {seed}: {breach}");
    }
}

/// The way out of the far side of a groyne goes round its end, which the flood shuts long before the sand itself
/// is wet.
#[test]
fn a_groyne_that_the_water_shuts_is_found_out() {
    let mut made = open_beach();
    made.groyne("Groyne", &[(200.0, -30.0), (200.0, 90.0)]);
    let params = Params { pinned: [scourline::route::BlockId { along: 12, across: 3 }].into(), ..quick() };
    let route = made.plan(&params, &Seawards).unwrap();
    let far: Vec<_> = route.visits.iter().filter(|v| v.along_m > 205.0).collect();
    assert!(!far.is_empty());
    // Beyond the groyne every block must be left by the time its end is reached by the water: sand at 90 m
    // across stands at 2.15 m, however high the block itself lies.
    let setting = made.setting();
    let water = setting.water.as_ref().unwrap();
    let passings = water.passings(2.15 - params.water_margin_m(), route.low.time, route.low.time + SignedDuration::from_hours(6));
    let shut = passings.iter().find(|p| p.rising).unwrap().time;
    for v in &far {
        assert!(v.dry_by + SignedDuration::from_mins(params.time_margin_min as i64) <= shut, "{} {shut}", v.dry_by);
    }
    // On the near side higher sand may be worked for longer than that.
    let highest = route.visits.iter().filter(|v| v.along_m < 195.0).map(|v| v.dry_by).max();
    assert!(highest.is_none_or(|t| t > shut - SignedDuration::from_mins(20)));
    let last = far.iter().max_by_key(|v| v.leave).unwrap();
    let linger = shut.duration_since(last.leave) - SignedDuration::from_mins(5);
    let here = Step { at: last.lanes[0][0], time: last.leave, doing: Doing::Walking };
    let lingered = Step { time: last.leave + linger, ..here };
    assert!(clearance_m(&setting, &params, &lingered).unwrap() > 0.1, "the block itself is still dry");
    let breach = check(&made.book, &setting, &params, &delayed(&route, last.leave, linger)).unwrap_err();
    assert!(breach.what.contains("access"), "{breach}");
}

#[test]
fn a_route_walked_too_late_too_fast_or_through_the_sea_is_found_out() {
    let made = open_beach();
    let setting = made.setting();
    let params = quick();
    let route = made.plan(&params, &Seawards).unwrap();
    let shifted = |minutes: i64| -> Vec<Step> {
        route.trace.iter().map(|s| Step { time: s.time + SignedDuration::from_mins(minutes), ..*s }).collect()
    };
    let fails = |trace: &[Step]| check(&made.book, &setting, &params, trace).is_err();
    assert!(!fails(&shifted(0)));
    assert!(fails(&shifted(180)) && fails(&shifted(-180)));
    let mut swum = route.trace.clone();
    let middle = swum.len() / 2;
    swum[middle].at = spot(200.0, 400.0);
    assert!(fails(&swum));
    let mut torn = route.trace.clone();
    torn.remove(0);
    assert!(fails(&torn), "it must begin at an access");
    let mut hasty = route.trace.clone();
    let back = hasty.last().unwrap().time;
    for step in &mut hasty {
        step.time = back - (back.duration_since(step.time)) / 20;
    }
    assert!(fails(&hasty), "nobody walks so fast");
    assert!(fails(&[]));
}
