//! Ten thousand random beaches, tides and settings: no route shown breaks the hard rule, by the independent
//! check and by a flood fill over the true sand.

use jiff::{SignedDuration, Timestamp};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use scourline::book::ZoneUse;
use scourline::earth::Local;
use scourline::route::{Params, Route, RouteError, check};
use scourline::shore::Setting;

use super::common::{Made, Seawards, at, beach};

pub(crate) struct Random {
    pub(crate) made: Made,
    pub(crate) params: Params,
    pub(crate) after: Timestamp,
    /// The sand as it is, by along and across.
    pub(crate) sand: Box<dyn Fn(f64, f64) -> f64 + Sync>,
    pub(crate) width_m: f64,
}

pub(crate) fn random(seed: u64) -> Random {
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
        // Less than the least that is kept would be spoilt by the planner's own margin.
        run_up_m: r.random_range(0.0..0.8_f64).max(scourline::sea::USUAL_RUN_UP_M),
        sea: Some(super::common::CALM),
        surge: scourline::tide::Surge { residual_m: r.random_range(-0.3..0.5), sd_m: r.random_range(0.0..0.3) },
        time_margin_min: r.random_range(5.0..40.0),
        walk_out_m_s: r.random_range(0.4..1.3),
        head_torch: r.random_bool(0.5),
        coil_width_m: r.random_range(0.2..0.6),
        seed,
        rounds: 6,
        ..Params::default()
    };
    Random { made, params, after: low - SignedDuration::from_mins(r.random_range(0..300)), sand: Box::new(sand), width_m: width }
}

/// Flood fill over the true sand in four-metre steps, knowing nothing of surveys or margins: whether someone
/// here and now comes to an access with dry feet.
pub(crate) fn gets_out(case: &Random, setting: &Setting, from: Local, time: Timestamp) -> bool {
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
        assert!(v.leave <= v.leave_by && v.leave_by <= v.dry_by, "seed {seed}: {v:?}");
        // Whoever obeys the block keeps to what somebody was told, the straight walk off at the quickest pace counted.
        let pace = case.params.walk_dry_m_s.max(case.params.walk_wet_m_s);
        let walk_s = (v.corners.iter().map(|c| c.distance_m(route.to.at)).fold(f64::INFINITY, f64::min) / pace) as i64;
        let by = v.leave_by + jiff::SignedDuration::from_secs((walk_s - 60).max(0));
        assert!(by <= route.off_sand_by(), "seed {seed}: {} and {walk_s} s of walk, off by {}", v.leave_by, route.off_sand_by());
    }
    let every = (route.trace.len() / 8).max(1);
    for step in route.trace.iter().step_by(every) {
        assert!(gets_out(&case, &setting, step.at, step.time), "seed {seed}: drowned at {} {:?}", step.time, step.at);
    }
    Outcome::Route(Box::new(route))
}

/// Every day a few; all of them with [`ten_thousand_random_beaches`].
#[test]
fn no_route_on_any_random_beach_breaks_the_rule() {
    hold(60);
}

/// `cargo test --release --test rooms ten_thousand -- --ignored --nocapture`
#[test]
#[ignore = "takes minutes; its command stands above"]
fn ten_thousand_random_beaches() {
    hold(10_000);
}

fn hold(cases: u64) {
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
