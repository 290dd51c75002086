//! The search for a route against proven optima of OR-Tools CP-SAT: small cases of our own
//! (tests/reference/route/optimum.py) and three published ones (tests/reference/route/solomon.py).

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
    serde_json::from_str(include_str!("../../reference/route/optimum.json")).unwrap()
}

fn solve(case: &Case, effort: Effort) -> (Vec<Stop>, Table, Option<Tour>) {
    let stop = |s: &StopCase| Stop { value: s.value, takes_s: s.takes_s, open_s: s.open_s, close_s: s.close_s };
    let stops: Vec<Stop> = case.stops.iter().map(stop).collect();
    let pair = |ways: &Vec<(i32, i32, i32)>| {
        let leg = |n: usize| ways.get(n).map_or(Leg::NONE, |&(walk_s, from_s, to_s)| Leg { walk_s, from_s, to_s });
        [leg(0), leg(1)]
    };
    let legs = Table(case.legs.iter().map(|row| row.iter().map(pair).collect()).collect());
    let tour = Problem { stops: &stops, gates: &case.gates, legs: &legs, start: None, end: None }
        .solve(effort, &Progress::new())
        .unwrap();
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
    assert!(
        Problem { stops: &stops, gates: &[(0, 1000)], legs: &legs, start: None, end: None }.solve(EFFORT, &progress).is_err()
    );
}

/// A published case: places with scores and windows, one depot.
struct Published {
    stops: Vec<Stop>,
    at: Vec<(f64, f64)>,
    back_by: i32,
}

/// Times and distances in tenths, rounded down as the cases ask.
impl Legs for Published {
    fn legs(&self, from: usize, to: usize) -> [Leg; 2] {
        let (a, b) = (self.at[from], self.at[to]);
        let walk_s = ((a.0 - b.0).hypot(a.1 - b.1) * 10.0 + 1e-9).floor() as i32;
        [Leg { walk_s, from_s: -100_000, to_s: 100_000 }, Leg::NONE]
    }
}

fn published(text: &str) -> Published {
    let rows: Vec<Vec<i32>> = text.lines().skip(1).map(|l| l.split_whitespace().map(|n| n.parse().unwrap()).collect()).collect();
    let stop = |r: &Vec<i32>| {
        let (open_s, takes_s) = (r[3] * 10, r[5] * 10);
        Stop { value: f64::from(r[2]), takes_s, open_s, close_s: r[4] * 10 + takes_s }
    };
    let place = |r: &Vec<i32>| (f64::from(r[0]), f64::from(r[1]));
    // The depot comes last, where the search has its accesses.
    let at = rows[1..].iter().chain(&rows[..1]).map(place).collect();
    Published { stops: rows[1..].iter().map(stop).collect(), at, back_by: rows[0][4] * 10 }
}

/// Solomon (1987) as orienteering cases by Righini & Salani (2009); see tests/reference/route/solomon.py.
#[test]
fn published_cases_with_a_hundred_places_come_within_one_per_cent_of_the_optimum() {
    #[derive(Deserialize)]
    struct Optima {
        made_with: String,
        optimum: std::collections::BTreeMap<String, u32>,
    }
    let optima: Optima = serde_json::from_str(include_str!("../../reference/route/solomon.json")).unwrap();
    let cases = [
        ("c101", include_str!("../../reference/route/solomon/c101.txt")),
        ("r101", include_str!("../../reference/route/solomon/r101.txt")),
        ("rc101", include_str!("../../reference/route/solomon/rc101.txt")),
    ];
    for (name, text) in cases {
        let case = published(text);
        let optimum = f64::from(optima.optimum[name]);
        let problem = Problem { stops: &case.stops, gates: &[(0, case.back_by)], legs: &case, start: None, end: None };
        let tour = problem.solve(EFFORT, &Progress::new()).unwrap().unwrap();
        // Walked afresh.
        let (mut at, mut ready, mut score) = (case.stops.len(), 0, 0.0);
        for &stop in &tour.stops {
            let s = case.stops[stop];
            let begin = (ready + case.legs(at, stop)[0].walk_s).max(s.open_s);
            assert!(begin + s.takes_s <= s.close_s, "{name}: out of its window");
            (at, ready, score) = (stop, begin + s.takes_s, score + s.value);
        }
        assert!(ready + case.legs(at, case.stops.len())[0].walk_s <= case.back_by, "{name}: back too late");
        println!("{name}: {score} of {optimum} ({})", optima.made_with);
        assert!(score <= optimum && score >= 0.99 * optimum, "{name}: {score} of {optimum}");
    }
}

#[test]
fn a_start_and_an_end_that_are_wanted_are_kept_to() {
    for case in reference().cases.iter().filter(|c| c.gates.len() > 1).take(10) {
        let (stops, legs, free) = solve(case, EFFORT);
        let last = case.gates.len() - 1;
        let problem = Problem { stops: &stops, gates: &case.gates, legs: &legs, start: Some(last), end: Some(0) };
        if let Some(tour) = problem.solve(EFFORT, &Progress::new()).unwrap() {
            assert_eq!((tour.start, tour.end), (last, 0));
            let value = if tour.stops.is_empty() { 0.0 } else { walk(case, &stops, &legs, &tour) };
            assert!(value <= free.map_or(0.0, |t| t.value) + 1e-6 || value <= case.optimum + 1e-6);
        }
    }
}

#[test]
fn better_tours_are_told_of_as_they_are_found_and_one_can_be_enough() {
    #[derive(Default)]
    struct Listening {
        values: Vec<f64>,
        most: usize,
    }
    impl scourline::route::search::Watch for Listening {
        fn better(&mut self, tour: &Tour) {
            self.values.push(tour.value);
        }
        fn enough(&mut self) -> bool {
            self.values.len() >= self.most
        }
    }
    let case = published(include_str!("../../reference/route/solomon/r101.txt"));
    let problem = Problem { stops: &case.stops, gates: &[(0, case.back_by)], legs: &case, start: None, end: None };
    let mut all = Listening { most: usize::MAX, ..Listening::default() };
    let end = problem.solve_watched(EFFORT, &Progress::new(), &mut all).unwrap().unwrap();
    assert!(all.values.len() > 1 && all.values.is_sorted(), "{:?}", all.values);
    assert!((all.values.last().unwrap() - end.value).abs() < 1e-9);
    let mut one = Listening { most: 1, ..Listening::default() };
    let first = problem.solve_watched(EFFORT, &Progress::new(), &mut one).unwrap().unwrap();
    assert!(one.values.len() == 1 && first.value <= end.value);
}
