//! Routes on invented beaches: planted dangers, refusals, the check itself, ten thousand random beaches, and
//! the search against proven optima.

mod checker;
mod common;
mod handed_out;
mod otherwise;
mod promised;
mod property;
mod refusals;
mod search;
mod seas;
mod sound_surveys;
mod spoilt;
mod start;
mod surveys;
mod unsurveyed;

use common::{Even, LOW, Made, Seawards, at, beach, quick};
use jiff::SignedDuration;
use scourline::Progress;
use scourline::book::{Zone, ZoneUse};
use scourline::earth::Local;
use scourline::route::{Asked, BlockId, Params, RouteError, Step, check, plan};
use scourline::share::{HandedOut, route_card, route_document, route_geojson, route_gpx};

/// Planned at an invented hour of an invented book.
pub(crate) fn handed() -> HandedOut {
    HandedOut { made_at: at("2026-06-20T18:05:00Z"), book: "my bays.gpkg".to_owned(), beside_usual: None }
}

/// An even slope that all but the highest tides leave dry at the back.
pub(crate) fn plain(along: f64, across: f64) -> f64 {
    let _ = along;
    6.2 - 0.045 * across
}

pub(crate) fn open_beach() -> Made {
    let mut made = beach(400.0, 140.0, 10.0, plain);
    made.access("Steps", 60.0, 4.0);
    made
}

#[test]
fn a_plain_beach_gets_a_route_that_follows_the_ebb_down_and_comes_back_before_the_flood() {
    let made = open_beach();
    let route = made.plan(&quick(), &Seawards).unwrap();
    assert!(route.visits.len() > 5, "{} visits", route.visits.len());
    assert!(route.finds > 0.0 && route.turn_back > at(LOW));
    for pair in route.visits.windows(2) {
        assert!(pair[0].leave <= pair[1].begin);
    }
    for v in &route.visits {
        assert!(v.begin <= v.leave && v.leave <= v.leave_by && v.leave_by <= v.dry_by, "{v:?}");
    }
    assert_eq!(route.trace.first().map(|s| s.at.distance_m(route.from.at) < 0.1), Some(true));
    assert!(route.checked.moments > 100 && route.checked.least_spare_s > 19.0 * 60.0, "{:?}", route.checked);
    // Lanes of a block worked on the ebb run from the back to the sea, on the flood the other way.
    let across = |v: &scourline::route::Visit| -> Vec<f64> { v.lanes.iter().map(|l| 100.0 - l[0].north_m).collect() };
    for v in &route.visits {
        let middle = v.begin + v.leave.duration_since(v.begin) / 2;
        let lanes = across(v);
        let down = lanes.is_sorted_by(|a, b| a <= b);
        assert_eq!(down, middle < at(LOW), "{lanes:?}");
    }
}

#[test]
fn the_same_question_has_the_same_answer() {
    let made = open_beach();
    assert_eq!(made.plan(&quick(), &Seawards).unwrap(), made.plan(&quick(), &Seawards).unwrap());
}

/// A bar worth everything, and before it a runnel along the whole beach that the flood fills first.
fn bar_and_runnel(_along: f64, across: f64) -> f64 {
    let profile = [(-10.0, 5.5), (0.0, 5.0), (60.0, 2.4), (90.0, 1.3), (105.0, 1.3), (130.0, 2.5), (150.0, 2.5), (200.0, -1.0)];
    let after = profile.partition_point(|p| p.0 <= across).clamp(1, profile.len() - 1);
    let ((a, ha), (b, hb)) = (profile[after - 1], profile[after]);
    ha + (hb - ha) * (across - a) / (b - a)
}

/// Only the bar is worth anything.
struct BarOnly;

impl scourline::route::Worth for BarOnly {
    fn expected(&self, at: Local, _when: jiff::Timestamp) -> scourline::route::Expected {
        let across_m = 100.0 - at.north_m;
        let per_100m2 = if (125.0..155.0).contains(&across_m) { 5.0 } else { 0.0 };
        scourline::route::Expected::new(common::PASS * per_100m2, 0.0)
    }
    fn said(&self) -> String {
        "Invented: only the bar.".to_owned()
    }
}

#[test]
fn a_bar_is_left_before_the_runnel_behind_it_fills() {
    let mut made = beach(400.0, 190.0, 5.0, bar_and_runnel);
    made.tide(at(LOW), [5.4, -0.6, 5.4]);
    made.access("Slip", 200.0, 4.0);
    let params = quick();
    let route = made.plan(&params, &BarOnly).unwrap();
    assert!(route.visits.iter().all(|v| v.across_m > 120.0) && route.visits.len() >= 3, "{:?}", route.visits.len());
    let setting = made.setting();
    let water = setting.water.as_ref().unwrap();
    let floods = |sand_m: f64| {
        let passings = water.passings(sand_m - params.water_margin_m(), at(LOW), at(LOW) + SignedDuration::from_hours(6));
        passings.iter().find(|p| p.rising).unwrap().time
    };
    // A planner that looks at the bar alone would stay nearly an hour too long.
    let (runnel, bar) = (floods(1.3), floods(2.5));
    assert!(bar.duration_since(runnel) > SignedDuration::from_mins(45), "{runnel} {bar}");
    let margin = SignedDuration::from_mins(params.time_margin_min as i64);
    for v in &route.visits {
        assert!(v.leave + margin < runnel && v.dry_by + margin < runnel, "{} {runnel}", v.dry_by);
    }
    // One who lingers on the bar for as long as the bar itself is dry is found out.
    let last = route.visits.last().unwrap();
    let linger = bar.duration_since(last.leave) - SignedDuration::from_mins(25);
    let late: Vec<Step> =
        route.trace.iter().map(|s| if s.time > last.leave { Step { time: s.time + linger, ..*s } } else { *s }).collect();
    let breach = check(&made.book, &setting, &params, &late).unwrap_err();
    assert!(breach.time > last.leave && breach.what.contains("access"), "{breach}");
}

#[test]
fn a_gap_in_the_bar_s_runnel_is_the_way_out_and_its_walk_counts() {
    // The runnel is filled with sand only at the far end of the beach.
    let sand = |along: f64, across: f64| {
        if along > 340.0 {
            bar_and_runnel(along, across).max(2.2 - (across - 130.0).abs() * 0.01)
        } else {
            bar_and_runnel(along, across)
        }
    };
    let mut made = beach(400.0, 190.0, 5.0, sand);
    made.tide(at(LOW), [5.4, -0.6, 5.4]);
    made.access("Slip", 40.0, 4.0);
    let route = made.plan(&quick(), &BarOnly).unwrap();
    let near_gap = route.visits.iter().filter(|v| v.along_m > 300.0).map(|v| v.dry_by).max();
    let far = route.visits.iter().filter(|v| v.along_m < 200.0).map(|v| v.dry_by).max();
    if let (Some(near), Some(far)) = (near_gap, far) {
        assert!(near > far, "{near} {far}");
    }
    assert!(!route.visits.is_empty());
}

#[test]
fn barriers_are_walked_round_and_closed_ground_is_left_alone() {
    let mut made = open_beach();
    made.groyne("Groyne", &[(150.0, -20.0), (150.0, 70.0)]);
    made.rocks("Rocks", (250.0, 300.0), (20.0, 90.0));
    made.zone("Terns", ZoneUse::NoSearch, (310.0, 340.0), (0.0, 60.0));
    let permission = made.permission((0.0, 400.0), (30.0, 130.0));
    made.put(permission);
    let route = made.plan(&quick(), &Even(1.0)).unwrap();
    for pair in route.trace.windows(2) {
        let along = |s: &Step| s.at.east_m + 200.0;
        let across = |s: &Step| 100.0 - s.at.north_m;
        if (along(&pair[0]) < 150.0) != (along(&pair[1]) < 150.0) {
            assert!(across(&pair[0]).max(across(&pair[1])) > 70.0, "{pair:?}");
        }
    }
    for v in &route.visits {
        assert!(v.across_m > 30.0 && v.across_m < 130.0, "outside the permission");
        assert!(!((240.0..310.0).contains(&v.along_m) && (15.0..95.0).contains(&v.across_m)), "on the rocks");
    }
}

/// The low is on 21 June.
#[test]
fn birds_close_their_ground_in_their_season_and_in_no_other() {
    for (season, closed) in [("bird_closure 03-01/08-31", true), ("bird_closure 09-01/02-28", false)] {
        let mut made = open_beach();
        made.zone("Terns", ZoneUse::NoSearch, (120.0, 400.0), (-40.0, 140.0));
        let terns = made.book.zones().values().next().unwrap().clone();
        made.put(Zone { closure: Some(season.parse().unwrap()), ..terns });
        let route = made.plan(&quick(), &Seawards).unwrap();
        let there = |along_m: f64| along_m > 120.0;
        assert_eq!(route.trace.iter().any(|s| there(s.at.east_m + 200.0)), !closed, "{season}");
        assert_eq!(route.visits.iter().any(|v| there(v.along_m)), !closed, "{season}");
    }
}

#[test]
fn a_pinned_block_is_visited_and_an_excluded_one_is_not() {
    let made = open_beach();
    let free = made.plan(&quick(), &Seawards).unwrap();
    let first = free.visits[0].block;
    let pin = BlockId { along: 17, across: 2 };
    assert!(free.visits.iter().all(|v| v.block != pin));
    let params = Params { pinned: [pin].into(), excluded: [first].into(), ..quick() };
    let route = made.plan(&params, &Seawards).unwrap();
    assert!(route.visits.iter().any(|v| v.block == pin) && route.visits.iter().all(|v| v.block != first));
}

#[test]
fn higher_water_lower_sand_and_lateness_only_ever_take_away() {
    let route = open_beach().plan(&quick(), &Seawards).unwrap();
    let [late, water, sand] = &route.what_if[..] else { panic!("three questions") };
    assert_eq!(late.turn_back, Some(route.turn_back));
    assert!(water.turn_back.unwrap() < sand.turn_back.unwrap() && sand.turn_back.unwrap() < route.turn_back);
    let margin = Params { run_up_m: 0.6, ..quick() };
    let wary = open_beach().plan(&margin, &Seawards).unwrap();
    assert!(wary.finds <= route.finds + 1e-9);
}

#[test]
fn planning_can_be_called_off() {
    let made = open_beach();
    let setting = made.setting();
    let params = quick();
    let progress = Progress::new();
    progress.cancel();
    let asked = Asked {
        book: &(&made.book).into(),
        setting: &setting,
        worth: &Even(1.0),
        after: at(LOW),
        hours: None,
        low: None,
        doubts: &[],
        params: &params,
    };
    assert!(matches!(plan(&asked, &progress), Err(RouteError::Cancelled(_))));
}

#[test]
fn files_of_a_route_are_read_back_and_the_card_stands_by_itself() {
    let made = open_beach();
    let setting = made.setting();
    let route = made.plan(&quick(), &Seawards).unwrap();
    let handed = handed();
    let gpx = String::from_utf8(route_gpx(&route, &setting, &handed).unwrap()).unwrap();
    assert_eq!(gpx.matches("<rtept").count(), route.visits.len() + 2);
    assert_eq!(gpx.matches("<trkpt").count(), route.trace.len());
    let json: serde_json::Value = serde_json::from_slice(&route_geojson(&route, &setting, &handed).unwrap()).unwrap();
    let roles = |role: &str| json["features"].as_array().unwrap().iter().filter(|f| f["properties"]["role"] == role).count();
    assert_eq!((roles("route"), roles("block"), roles("lanes")), (1, route.visits.len(), route.visits.len()));
    let document = route_document(&route, &setting, &handed).unwrap();
    assert_eq!(document["blocks"].as_array().unwrap().len(), route.visits.len());
    let card = route_card(&route, &made.book, &setting, &handed);
    assert!(card.contains("<svg") && !card.contains("http"), "nothing is fetched");
    let turn_back = route.turn_back.to_string();
    assert!(card.contains(&turn_back[11..16]), "{turn_back}");
}
