//! The search for a route against proven optima of OR-Tools CP-SAT (tests/reference/route/optimum.py).

#![allow(clippy::unwrap_used, reason = "a test that cannot go on ends in a panic")]

use scourline::Progress;
use scourline::route::search::{Effort, Leg, Legs, Problem, Stop, Tour};
use serde::Deserialize;

#[derive(Deserialize)]
struct Reference {
    made_with: String,
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    seed: u64,
    stops: Vec<StopCase>,
    gates: Vec<(i32, i32)>,
    legs: Vec<Vec<Vec<(i32, i32, i32)>>>,
    optimum: f64,
}

#[derive(Deserialize)]
struct StopCase {
    value: f64,
    takes_s: i32,
    open_s: i32,
    close_s: i32,
}

struct Table(Vec<Vec<[Leg; 2]>>);

impl Legs for Table {
    fn legs(&self, from: usize, to: usize) -> [Leg; 2] {
        self.0[from][to]
    }
}

fn reference() -> Reference {
    serde_json::from_str(include_str!("reference/route/optimum.json")).unwrap()
}

fn solve(case: &Case, effort: Effort) -> (Vec<Stop>, Table, Option<Tour>) {
    let stop = |s: &StopCase| Stop { value: s.value, takes_s: s.takes_s, open_s: s.open_s, close_s: s.close_s };
    let stops: Vec<Stop> = case.stops.iter().map(stop).collect();
    let pair = |ways: &Vec<(i32, i32, i32)>| {
        let leg = |n: usize| ways.get(n).map_or(Leg::NONE, |&(walk_s, from_s, to_s)| Leg { walk_s, from_s, to_s });
        [leg(0), leg(1)]
    };
    let legs = Table(case.legs.iter().map(|row| row.iter().map(pair).collect()).collect());
    let tour = Problem { stops: &stops, gates: &case.gates, legs: &legs }.solve(effort, &Progress::new()).unwrap();
    (stops, legs, tour)
}

const EFFORT: Effort = Effort { seed: 1, rounds: 3000, time_limit_s: None };

/// A tour walked afresh: each leg left when it is open, each stop done in its span.
fn walk(case: &Case, stops: &[Stop], legs: &Table, tour: &Tour) -> f64 {
    let gate = |g: usize| stops.len() + g;
    let (mut at, mut ready) = (gate(tour.start), case.gates[tour.start].0);
    for (n, &stop) in tour.stops.iter().enumerate() {
        let begin = tour.begin_s[n];
        let open = legs.0[at][stop].iter().any(|l| ready.max(l.from_s) <= l.to_s && ready.max(l.from_s) + l.walk_s <= begin);
        assert!(open, "case {}: no way to stop {n} in time", case.seed);
        let s = stops[stop];
        assert!(begin >= s.open_s && begin + s.takes_s <= s.close_s, "case {}: stop {n} out of its span", case.seed);
        (at, ready) = (stop, begin + s.takes_s);
    }
    let last = legs.0[at][gate(tour.end)].iter().filter(|l| ready.max(l.from_s) <= l.to_s);
    let back = last.map(|l| ready.max(l.from_s) + l.walk_s).min().unwrap();
    assert!(back <= case.gates[tour.end].1, "case {}: back too late", case.seed);
    tour.stops.iter().map(|s| stops[*s].value).sum()
}

#[test]
fn within_one_per_cent_of_the_optimum_on_average_and_never_above_it() {
    let reference = reference();
    assert!(reference.cases.len() >= 50, "{}", reference.made_with);
    let mut gaps = Vec::new();
    for case in &reference.cases {
        let (stops, legs, tour) = solve(case, EFFORT);
        let value = tour.as_ref().map_or(0.0, |t| walk(case, &stops, &legs, t));
        assert!(value <= case.optimum + 1e-6, "case {}: {value} is above the proven optimum {}", case.seed, case.optimum);
        gaps.push((case.optimum - value) / case.optimum.max(1e-9));
    }
    let mean = gaps.iter().sum::<f64>() / gaps.len() as f64;
    let worst = gaps.iter().copied().fold(0.0, f64::max);
    println!("{} cases: mean gap {:.3} %, worst {:.3} %", gaps.len(), mean * 100.0, worst * 100.0);
    assert!(mean <= 0.01, "mean gap {mean}");
}

#[test]
fn the_same_seed_gives_the_same_tour() {
    let case = &reference().cases[4];
    let effort = Effort { rounds: 200, ..EFFORT };
    assert_eq!(solve(case, effort).2, solve(case, effort).2);
}

#[test]
fn the_search_can_be_called_off() {
    let stops = [Stop { value: 1.0, takes_s: 10, open_s: 0, close_s: 1000 }];
    let free = Leg { walk_s: 1, from_s: i32::MIN / 2, to_s: i32::MAX / 2 };
    let legs = Table(vec![vec![[free, Leg::NONE]; 2]; 2]);
    let progress = Progress::new();
    progress.cancel();
    assert!(Problem { stops: &stops, gates: &[(0, 1000)], legs: &legs }.solve(EFFORT, &progress).is_err());
}
