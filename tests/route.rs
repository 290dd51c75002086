//! Routes on invented beaches: planted dangers, refusals, and ten thousand random beaches.

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

mod route_common;

use jiff::{SignedDuration, Timestamp};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use route_common::{Even, LOW, Made, Seawards, at, beach, quick, spot};
use scourline::Progress;
use scourline::book::{TideChoice, ZoneUse};
use scourline::earth::Local;
use scourline::route::{Asked, BlockId, Doing, Params, Route, RouteError, Step, check, plan};
use scourline::shore::{Setting, ShoreError};

/// An even slope that all but the highest tides leave dry at the back.
fn plain(along: f64, across: f64) -> f64 {
    let _ = along;
    6.2 - 0.045 * across
}

fn open_beach() -> Made {
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
        assert!(v.begin <= v.leave && v.leave <= v.leave_by, "{v:?}");
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
    fn expected(&self, at: Local) -> scourline::route::Expected {
        let across_m = 100.0 - at.north_m;
        let per_100m2 = if (125.0..155.0).contains(&across_m) { 5.0 } else { 0.0 };
        scourline::route::Expected { per_100m2, sd_per_100m2: 0.0 }
    }
    fn fresh(&self, _at: Local) -> f64 {
        1.0
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
        assert!(v.leave + margin < runnel && v.leave_by + margin < runnel, "{} {runnel}", v.leave_by);
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
    let near_gap = route.visits.iter().filter(|v| v.along_m > 300.0).map(|v| v.leave_by).max();
    let far = route.visits.iter().filter(|v| v.along_m < 200.0).map(|v| v.leave_by).max();
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
fn what_is_missing_is_refused_in_one_sentence() {
    let refusal = |made: &Made, params: &Params| {
        let error = made.plan(params, &Even(1.0)).unwrap_err();
        assert!(!error.to_string().contains('\n') && error.to_string().len() > 30, "{error}");
        error
    };
    let no_access = beach(200.0, 100.0, 10.0, plain);
    assert!(matches!(refusal(&no_access, &quick()), RouteError::NoAccess { .. }));

    let mut no_tide = open_beach();
    let bare = scourline::book::Beach { tide: TideChoice::None, ..no_tide.beach.clone() };
    no_tide.put(bare);
    assert!(matches!(refusal(&no_tide, &quick()), RouteError::NoTide { .. }));

    let mut no_offset = open_beach();
    let bare = scourline::book::Beach { datum_offset_m: None, ..no_offset.beach.clone() };
    no_offset.put(bare);
    assert!(matches!(refusal(&no_offset, &quick()), RouteError::Shore(ShoreError::NoDatumOffset(_))));

    let mut drowned = beach(200.0, 100.0, 10.0, |_, across| 0.9 - 0.01 * across);
    drowned.access("Jetty", 100.0, 20.0);
    assert!(matches!(refusal(&drowned, &quick()), RouteError::AccessUnderWater { .. }));

    let mut apart = open_beach();
    let (uid, at_sea) = (apart.book.accesses().values().next().unwrap().clone(), apart.place(60.0, -300.0));
    apart.put(scourline::book::Access { at: at_sea, ..uid });
    assert!(matches!(refusal(&apart, &quick()), RouteError::AccessApart { .. }));

    let mut over = open_beach();
    let ended =
        scourline::book::Permission { to: Some("2026-06-20".parse().unwrap()), ..over.permission((0.0, 400.0), (0.0, 140.0)) };
    over.put(ended);
    assert!(matches!(refusal(&over, &quick()), RouteError::OutsidePermission { .. }));

    let mut night = open_beach();
    night.tide(at("2026-06-21T01:30:00Z"), [5.8, 0.6, 5.6]);
    let after = at("2026-06-20T22:00:00Z");
    assert!(matches!(night.plan_after(after, &quick(), &Even(1.0)).unwrap_err(), RouteError::Dark { .. }));

    let past = at("2027-01-01T00:00:00Z");
    assert!(matches!(night.plan_after(past, &quick(), &Even(1.0)).unwrap_err(), RouteError::TideEnds { .. }));

    let odd = Params { overlap: 1.5, ..quick() };
    assert!(matches!(refusal(&open_beach(), &odd), RouteError::Parameter { what: "overlap", .. }));

    let no_levels = {
        let mut made = open_beach();
        let uids: Vec<_> = made.book.levels_of(made.beach.uid).map(|l| l.uid).collect();
        for uid in uids {
            let edit = made.book.removal(scourline::book::RecordKind::Level, uid);
            made.book.apply(&edit).unwrap();
        }
        made
    };
    assert!(matches!(refusal(&no_levels, &quick()), RouteError::Shore(ShoreError::NoLevels(_))));
}

#[test]
fn a_night_route_crosses_midnight_and_the_change_of_clocks_within_the_hours_allowed() {
    // On 25 October 2026 British clocks go back at 02:00 summer time, 01:00 UTC.
    let mut made = open_beach();
    let low = at("2026-10-25T00:40:00Z");
    made.tide(low, [5.8, 0.6, 5.6]);
    let local = scourline::book::Beach { time_zone: "Europe/London".to_owned(), ..made.beach.clone() };
    made.put(local);
    let hours = Some(("22:00".parse().unwrap(), "03:00".parse().unwrap()));
    let permission = scourline::book::Permission { hours, ..made.permission((0.0, 400.0), (0.0, 140.0)) };
    made.put(permission);
    let params = Params { head_torch: true, ..quick() };
    let route = made.plan_after(at("2026-10-24T18:00:00Z"), &params, &Even(1.0)).unwrap();
    // 22:00 summer time is 21:00 UTC; 03:00 winter time is 03:00 UTC.
    let (from, to) = (at("2026-10-24T21:00:00Z"), at("2026-10-25T03:00:00Z"));
    assert!(route.visits.iter().all(|v| v.begin >= from && v.leave <= to));
    assert!(route.visits.first().unwrap().begin < at("2026-10-24T23:00:00Z"));
    assert!(route.visits.last().unwrap().leave > at("2026-10-25T01:00:00Z"));
}

#[test]
fn planning_can_be_called_off() {
    let made = open_beach();
    let setting = made.setting();
    let params = quick();
    let progress = Progress::new();
    progress.cancel();
    let asked =
        Asked { book: &made.book, setting: &setting, worth: &Even(1.0), after: at(LOW), hours: None, low: None, params: &params };
    assert!(matches!(plan(&asked, &progress), Err(RouteError::Cancelled(_))));
}

#[test]
fn files_of_a_route_are_read_back_and_the_card_stands_by_itself() {
    let made = open_beach();
    let setting = made.setting();
    let route = made.plan(&quick(), &Seawards).unwrap();
    let gpx = String::from_utf8(route.gpx(&setting).unwrap()).unwrap();
    assert_eq!(gpx.matches("<rtept").count(), route.visits.len() + 2);
    assert_eq!(gpx.matches("<trkpt").count(), route.trace.len());
    let json: serde_json::Value = serde_json::from_slice(&route.geojson(&setting).unwrap()).unwrap();
    let roles = |role: &str| json["features"].as_array().unwrap().iter().filter(|f| f["properties"]["role"] == role).count();
    assert_eq!((roles("route"), roles("block"), roles("lanes")), (1, route.visits.len(), route.visits.len()));
    let document = route.document(&setting).unwrap();
    assert_eq!(document["blocks"].as_array().unwrap().len(), route.visits.len());
    let card = route.card(&made.book, &setting);
    assert!(card.contains("<svg") && !card.contains("http"), "nothing is fetched");
    let turn_back = route.turn_back.to_string();
    assert!(card.contains(&turn_back[11..16]), "{turn_back}");
}

// --- ten thousand beaches -------------------------------------------------------------------------

struct Random {
    made: Made,
    params: Params,
    after: Timestamp,
    sand: Box<dyn Fn(f64, f64) -> f64 + Sync>,
}

fn random(seed: u64) -> Random {
    let mut r = ChaCha8Rng::seed_from_u64(seed);
    let (length, width) = (r.random_range(80.0..420.0), r.random_range(60.0..240.0));
    let (top, foot): (f64, f64) = (r.random_range(3.0..8.0), r.random_range(-2.0..1.5));
    let bars: Vec<(f64, f64, f64, f64)> = (0..r.random_range(0..3))
        .map(|_| {
            (r.random_range(0.3..0.9) * width, r.random_range(6.0..18.0), r.random_range(-1.2..1.2), r.random_range(0.0..length))
        })
        .collect();
    let (wave, turn) = (r.random_range(0.0..0.6), r.random_range(60.0..300.0));
    let sand = move |along: f64, across: f64| {
        let slope = top + (foot - top) * (across / width);
        // Bars fade away from a gap, runnels are open at it.
        let bumps: f64 = bars
            .iter()
            .map(|(at, half, height, gap)| {
                height * (-((across - at) / half).powi(2)).exp() * (1.0 - (-((along - gap) / 25.0).powi(2)).exp())
            })
            .sum();
        slope + bumps + wave * (along / turn).sin()
    };
    let step = [5.0, 8.0, 12.0][r.random_range(0..3)];
    let mut made = beach(length, width, step, sand.clone());
    let low = at("2026-06-21T00:00:00Z") + SignedDuration::from_mins(r.random_range(0..1440));
    let low_m = r.random_range(-1.0..2.0);
    made.tide(low, [low_m + r.random_range(1.0..6.0), low_m, low_m + r.random_range(1.0..6.0)]);
    for n in 0..r.random_range(1..4) {
        made.access(&format!("Access {n}"), r.random_range(0.0..length), r.random_range(-8.0..0.3 * width));
    }
    for n in 0..r.random_range(0..3) {
        let along = r.random_range(0.0..length);
        let lean = r.random_range(-30.0..30.0);
        made.groyne(
            &format!("Groyne {n}"),
            &[(along, r.random_range(-20.0..0.4 * width)), (along + lean, r.random_range(0.2..1.0) * width)],
        );
    }
    if r.random_bool(0.4) {
        let (a, x) = (r.random_range(0.0..length), r.random_range(0.0..width));
        made.rocks("Rocks", (a, a + r.random_range(5.0..80.0)), (x, x + r.random_range(5.0..60.0)));
    }
    if r.random_bool(0.3) {
        made.zone("Mud", ZoneUse::Mud, (0.2 * length, 0.5 * length), (0.6 * width, width));
    }
    if r.random_bool(0.5) {
        let hours = r.random_bool(0.4).then(|| {
            let hour = |h: i8| jiff::civil::time(h, 0, 0, 0);
            (hour(r.random_range(0..24)), hour(r.random_range(0..24)))
        });
        let permission = made.permission((r.random_range(-20.0..0.3) * length, length * 1.2), (-50.0, width * 1.5));
        made.put(scourline::book::Permission { hours, ..permission });
    }
    let params = Params {
        cell_m: [4.0, 6.0, 10.0][r.random_range(0..3)],
        block_along_m: r.random_range(8.0..30.0),
        block_across_m: r.random_range(5.0..15.0),
        run_up_m: r.random_range(0.0..0.8),
        surge: scourline::tide::Surge { residual_m: r.random_range(-0.3..0.5), sd_m: r.random_range(0.0..0.3) },
        time_margin_min: r.random_range(5.0..40.0),
        walk_out_m_s: r.random_range(0.4..1.3),
        head_torch: r.random_bool(0.5),
        coil_width_m: r.random_range(0.2..0.6),
        seed,
        rounds: 6,
        ..Params::default()
    };
    Random { made, params, after: low - SignedDuration::from_mins(r.random_range(0..300)), sand: Box::new(sand) }
}

/// Flood fill over the true sand in four-metre steps, knowing nothing of surveys or margins: whether someone
/// here and now comes to an access with dry feet.
fn gets_out(case: &Random, setting: &Setting, from: Local, time: Timestamp) -> bool {
    let water = setting.water.as_ref().unwrap();
    let frame = setting.shore.as_ref().unwrap().frame();
    let accesses: Vec<Local> = case.made.book.accesses().values().map(|a| frame.to_local(a.at).unwrap()).collect();
    let level = |p: Local| (case.sand)(p.east_m + 200.0, 100.0 - p.north_m);
    let after = |metres: f64| time + SignedDuration::from_secs((metres / case.params.walk_out_m_s) as i64);
    let place = |(x, y): (i32, i32)| Local::new(from.east_m + f64::from(x) * 4.0, from.north_m + f64::from(y) * 4.0);
    let mut heap = std::collections::BinaryHeap::from([std::cmp::Reverse((0_u64, (0, 0)))]);
    let mut seen = std::collections::BTreeSet::new();
    while let Some(std::cmp::Reverse((mm, at))) = heap.pop() {
        if !seen.insert(at) {
            continue;
        }
        let metres = mm as f64 / 1000.0;
        let p = place(at);
        let high = [time, after(metres)].into_iter().map(|t| water.height_m(t).unwrap_or(f64::INFINITY)).fold(f64::MIN, f64::max);
        if level(p) <= high || metres > 3000.0 {
            continue;
        }
        if accesses.iter().any(|a| a.distance_m(p) <= 40.0) {
            return true;
        }
        for step in [(1, 0), (0, 1), (-1, 0), (0, -1), (1, 1), (1, -1), (-1, 1), (-1, -1)] {
            let length = 4000.0 * f64::from(step.0 * step.0 + step.1 * step.1).sqrt();
            heap.push(std::cmp::Reverse((mm + length as u64, (at.0 + step.0, at.1 + step.1))));
        }
    }
    false
}

enum Outcome {
    Route(Box<Route>),
    Refused(RouteError),
}

fn one(seed: u64) -> Outcome {
    let case = random(seed);
    let route = match case.made.plan_after(case.after, &case.params, &Seawards) {
        Ok(route) => route,
        Err(error) => return Outcome::Refused(error),
    };
    let setting = case.made.setting();
    if let Err(breach) = check(&case.made.book, &setting, &case.params, &route.trace) {
        panic!("seed {seed}: {breach}");
    }
    for v in &route.visits {
        assert!(v.leave <= v.leave_by, "seed {seed}: {v:?}");
    }
    let every = (route.trace.len() / 8).max(1);
    for step in route.trace.iter().step_by(every) {
        assert!(gets_out(&case, &setting, step.at, step.time), "seed {seed}: drowned at {} {:?}", step.time, step.at);
    }
    Outcome::Route(Box::new(route))
}

/// `SCOURLINE_ROUTE_CASES=10000 cargo test --release --test route` for the full count.
#[test]
fn no_route_on_any_random_beach_breaks_the_rule() {
    let cases: u64 = std::env::var("SCOURLINE_ROUTE_CASES").ok().and_then(|n| n.parse().ok()).unwrap_or(250);
    let outcomes: Vec<Outcome> = (0..cases).into_par_iter().map(one).collect();
    let routes: Vec<&Route> = outcomes.iter().filter_map(|o| if let Outcome::Route(r) = o { Some(&**r) } else { None }).collect();
    let unsafe_ones = outcomes.iter().filter(|o| matches!(o, Outcome::Refused(RouteError::NotSafe { .. }))).count();
    println!("{} of {cases} beaches gave a route, {unsafe_ones} were refused by the check", routes.len());
    let mut why = std::collections::BTreeMap::<String, usize>::new();
    for o in &outcomes {
        if let Outcome::Refused(e) = o {
            let text = format!("{e:?}");
            *why.entry(text.split([' ', '(', '{']).next().unwrap().to_owned()).or_default() += 1;
        }
    }
    println!("{why:?}");
    assert!(routes.len() as u64 * 4 > cases, "the test must not be empty");
    assert!(unsafe_ones as u64 * 20 < cases, "the planner itself keeps the rule nearly always");
}

/// The check is no rubber stamp: a route walked later, or through the water, is found out.
#[test]
fn a_route_walked_too_late_is_found_out() {
    let made = open_beach();
    let setting = made.setting();
    let params = quick();
    let route = made.plan(&params, &Seawards).unwrap();
    let shifted = |minutes: i64| -> Vec<Step> {
        route.trace.iter().map(|s| Step { time: s.time + SignedDuration::from_mins(minutes), ..*s }).collect()
    };
    assert!(check(&made.book, &setting, &params, &shifted(0)).is_ok());
    assert!(check(&made.book, &setting, &params, &shifted(180)).is_err());
    assert!(check(&made.book, &setting, &params, &shifted(-180)).is_err());
    let mut swum = route.trace.clone();
    let middle = swum.len() / 2;
    swum[middle].at = spot(200.0, 400.0);
    assert!(check(&made.book, &setting, &params, &swum).is_err());
    let mut torn = route.trace.clone();
    torn.remove(0);
    assert!(check(&made.book, &setting, &params, &torn).is_err(), "it must begin at an access");
    assert!(route.trace.iter().any(|s| matches!(s.doing, Doing::Searching(_))));
}
