//! How long a route takes: the whole plan, the search by the number of blocks, the check.
//! `cargo bench --bench route`
//!
//! Before the benches the search over 400 blocks is let run for 2 s and for `SCOURLINE_ROUTE_LONG_S`
//! seconds (10 unless said) and both values are printed.

#[path = "../rooms/route/common.rs"]
mod route_common;

use std::hint::black_box;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use route_common::{Made, Seawards, beach};
use scourline::Progress;
use scourline::route::search::{Effort, Leg, Legs, Problem, Stop};
use scourline::route::{Params, check};

/// Blocks strewn on a beach whose lower part opens late and closes soon, values after a few rich places.
struct Strewn {
    at: Vec<(f64, f64)>,
    stops: Vec<Stop>,
}

impl Strewn {
    fn new(count: usize) -> Self {
        let mut r = ChaCha8Rng::seed_from_u64(count as u64);
        let rich: Vec<(f64, f64)> = (0..6).map(|_| (r.random_range(0.0..2000.0), r.random_range(20.0..300.0))).collect();
        let mut at: Vec<(f64, f64)> = (0..count).map(|_| (r.random_range(0.0..2000.0), r.random_range(0.0..320.0))).collect();
        let value = |p: &(f64, f64)| {
            let near = rich.iter().map(|q| (-((p.0 - q.0).hypot(p.1 - q.1) / 60.0).powi(2)).exp()).sum::<f64>();
            1.0 + 4.0 * near
        };
        let stops = at
            .iter()
            .map(|p| {
                let low = p.1 / 320.0;
                Stop {
                    value: value(p) * r.random_range(0.7..1.3),
                    takes_s: 900,
                    open_s: (low * 9000.0) as i32,
                    close_s: 25_000 - (low * 9000.0) as i32,
                }
            })
            .collect();
        at.extend([(300.0, 0.0), (1000.0, 0.0), (1700.0, 0.0)]);
        Self { at, stops }
    }
}

impl Legs for Strewn {
    fn legs(&self, from: usize, to: usize) -> [Leg; 2] {
        let (a, b) = (self.at[from], self.at[to]);
        let walk_s = ((a.0 - b.0).hypot(a.1 - b.1) / 1.0).ceil() as i32;
        [Leg { walk_s, from_s: -100_000, to_s: 100_000 }, Leg::NONE]
    }
}

fn solve(strewn: &Strewn, effort: Effort) -> f64 {
    let problem = Problem { stops: &strewn.stops, gates: &[(0, 25_000); 3], legs: strewn, start: None, end: None };
    problem.solve(effort, &Progress::new()).ok().flatten().map_or(0.0, |t| t.value)
}

fn search(c: &mut Criterion) {
    let long_s: f64 = std::env::var("SCOURLINE_ROUTE_LONG_S").ok().and_then(|s| s.parse().ok()).unwrap_or(10.0);
    let strewn = Strewn::new(400);
    let by = |seed, s| solve(&strewn, Effort { seed, rounds: u32::MAX, time_limit_s: Some(s) });
    let long = by(9, long_s);
    for seed in 1..=3 {
        let short = by(seed, 2.0);
        println!(
            "400 blocks, seed {seed}: {short:.3} after 2 s, {long:.3} after {long_s} s: {:.2} % below",
            (1.0 - short / long) * 100.0
        );
    }
    let mut group = c.benchmark_group("route search, 50 rounds");
    group.sample_size(10);
    for count in [100, 400, 1000, 2000, 5000] {
        let strewn = Strewn::new(count);
        let effort = Effort { seed: 1, rounds: 50, time_limit_s: None };
        group.bench_with_input(BenchmarkId::from_parameter(count), &count, |b, _| b.iter(|| solve(black_box(&strewn), effort)));
    }
    group.finish();
}

/// A kilometre of sand with a bar and a runnel, about 400 blocks.
fn kilometre() -> Made {
    let sand = |along: f64, across: f64| {
        let bump = |at: f64, half: f64| (-((across - at) / half).powi(2)).exp();
        6.0 - 0.032 * across + 0.5 * bump(120.0, 12.0) - 0.4 * bump(95.0, 10.0) + 0.1 * (along / 80.0).sin()
    };
    let mut made = beach(1000.0, 160.0, 10.0, sand);
    for (name, along) in [("West", 200.0), ("East", 800.0)] {
        made.access(name, along, 4.0);
    }
    made.groyne("Groyne", &[(500.0, 10.0), (500.0, 80.0)]);
    made
}

fn whole(c: &mut Criterion) {
    let made = kilometre();
    let setting = made.setting();
    let params = Params { rounds: 200, ..Params::default() };
    let route = made.plan(&params, &Seawards).expect("the beach has a route");
    println!(
        "{} blocks to choose from, {} chosen, {} moments checked",
        route.ground.len(),
        route.visits.len(),
        route.checked.moments
    );
    let mut group = c.benchmark_group("route");
    group.sample_size(10);
    group.bench_function("plan, a kilometre, 200 rounds", |b| b.iter(|| made.plan(black_box(&params), &Seawards)));
    group.bench_function("check", |b| b.iter(|| check(&made.book, &setting, &params, black_box(&route.trace))));
    group.finish();
}

criterion_group!(benches, whole, search);
criterion_main!(benches);
