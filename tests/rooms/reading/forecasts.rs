//! Forecasts held to account: on invented beaches whose outings differ by a known amount, the range in which 9 in 10
//! should fall holds about 9 in 10; and what is told of it is what there is.

use jiff::{SignedDuration, Timestamp};
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution, Gamma, Poisson};
use scourline::Progress;
use scourline::book::{Beach, Book, Find, Kind, Outing, Record, TideChoice, Uid};
use scourline::earth::{Frame, Local, LonLat};
use scourline::reading::{Covered, CoveredCell, Ground, KnownGround, Params, Reading, Visit, count};
use scourline::shore::Setting;
use scourline::tide::Catalogue;

const ALONG: usize = 60;
const ACROSS: usize = 16;
const SQUARE_M: f64 = 5.0;
/// Of the 25 m² of a square.
const SWEPT_M2: f64 = 15.0;

/// How a beach and the days on it are.
#[derive(Clone, Copy)]
struct World {
    outings: usize,
    days_cv: f64,
    cells_cv: f64,
    per_100m2: f64,
    /// Days in which two thirds of what was taken come back.
    back_days: f64,
    /// Whether a strip along the shore, 10 m wide and 150 m long, is five times as rich.
    strip: bool,
}

/// Mean 1, of this coefficient of variation.
fn effect(cv: f64, rng: &mut ChaCha8Rng) -> f64 {
    if cv > 0.0 { Gamma::new(1.0 / (cv * cv), cv * cv).unwrap().sample(rng) } else { 1.0 }
}

fn beach() -> (Beach, Frame) {
    let origin = LonLat::new(-12.0, 48.9).unwrap();
    let frame = Frame::centred_on(origin).unwrap();
    let at = |e: f64| frame.to_lonlat(Local::new(e, 0.0)).unwrap();
    let mut beach = Beach::new("Invented Bay", origin);
    beach.baseline = vec![at(0.0), at(300.0)];
    (beach.slope, beach.back_level_m, beach.datum_offset_m) = (Some(0.03), Some(4.0), Some(3.0));
    beach.tide = TideChoice::Station(Catalogue::shipped().nearest(origin, 1)[0].0.id.clone());
    (beach, frame)
}

fn read_world(world: World, seed: u64) -> Reading {
    read_known_world(world, seed).0
}

/// Goes out on a beach as often as it says, each time over a stretch of it, and reads counts and rates. With the reading
/// comes what one visit to rested ground gives, finds per 100 m², by squares of 10 m: along, and across within that.
fn read_known_world(world: World, seed: u64) -> (Reading, Vec<f64>) {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let (beach, frame) = beach();
    let middle = |n: usize| (n as f64 + 0.5) * SQUARE_M;
    let per_m2 = world.per_100m2 / 100.0;
    let rates: Vec<f64> = (0..ALONG * ACROSS / 4)
        .map(|n| {
            let in_strip = world.strip && n % (ACROSS / 2) == 3 && (5..20).contains(&(n / (ACROSS / 2)));
            per_m2 * if in_strip { 5.0 } else { effect(world.cells_cv, &mut rng) }
        })
        .collect();
    let mut cells = Vec::new();
    for i in 0..ALONG {
        for j in 0..ACROSS {
            cells.push(CoveredCell { along_m: middle(i), across_m: middle(j), swept_m2: 0.0, passes: 1.0 });
        }
    }
    let (mut visits, mut records) = (Vec::new(), vec![Record::from(beach.clone())]);
    let mut stock = vec![1.0_f64; cells.len()];
    let mut start: Timestamp = "2025-01-05T10:00:00Z".parse().unwrap();
    for n in 0..world.outings {
        let outing = Outing {
            uid: Uid::of_content("outing", [&n.to_le_bytes()[..]]),
            ..Outing::new(beach.uid, start, start + SignedDuration::from_hours(3))
        };
        let (long, wide) = (rng.random_range(12..30), rng.random_range(4..9));
        let (from, back) = (rng.random_range(0..ALONG - long), rng.random_range(0..ACROSS - wide));
        let day = effect(world.days_cv, &mut rng);
        for (i, j) in (from..from + long).flat_map(|i| (back..back + wide).map(move |j| (i, j))) {
            let cell = i * ACROSS + j;
            let mean = day * rates[(i / 2) * (ACROSS / 2) + j / 2] * SWEPT_M2 * stock[cell];
            let found = if mean > 0.0 { Poisson::new(mean).unwrap().sample(&mut rng) as usize } else { 0 };
            for _ in 0..found {
                let at = |n: usize, rng: &mut ChaCha8Rng| middle(n) + rng.random_range(-2.4..2.4);
                let place = Local::new(at(i, &mut rng), -at(j, &mut rng));
                let find = Find::new(beach.uid, frame.to_lonlat(place).unwrap(), "coin", Kind::keyed("coin"));
                records.push(
                    Find { uid: Uid::of_content("find", [&records.len().to_le_bytes()[..]]), outing: Some(outing.uid), ..find }
                        .into(),
                );
            }
            let fresh_m2 = if cells[cell].swept_m2 > 0.0 { 0.0 } else { SWEPT_M2 };
            cells[cell].swept_m2 = SWEPT_M2;
            visits.push(Visit { cell, outing: Some(outing.uid), swept_m2: SWEPT_M2, fresh_m2 });
            stock[cell] *= 1.0 - 0.5 * SWEPT_M2 / (SQUARE_M * SQUARE_M);
        }
        records.push(outing.into());
        let gap_days = rng.random_range(2..20);
        start += SignedDuration::from_hours(24 * gap_days);
        stock.iter_mut().for_each(|s| *s = 1.0 - (1.0 - *s) * (-gap_days as f64 / world.back_days).exp());
    }
    let number: Vec<Option<usize>> = cells
        .iter()
        .scan(0, |next, c| {
            Some((c.swept_m2 > 0.0).then(|| {
                *next += 1;
                *next - 1
            }))
        })
        .collect();
    cells.retain(|c| c.swept_m2 > 0.0);
    visits.iter_mut().for_each(|v| v.cell = number[v.cell].unwrap());
    let covered = Covered { cell_m: SQUARE_M, cells, visits, searched: Vec::new() };
    let book = Book::gather(records).unwrap();
    let setting = Setting::from_book(&book, beach.uid).unwrap();
    let ground = Ground { book: &(&book).into(), setting: &setting, covered: Some(&covered), now: Some(start) };
    // Counts and rates alone are wanted.
    let (params, progress) = (Params::default(), Progress::new());
    let known = KnownGround::new(&setting, &ground.book.into(), &covered, params.scan_cell_m);
    let counted = count(&ground, Some(&known), &params, &progress).unwrap();
    (counted.reading, rates.iter().map(|r| 100.0 * r).collect())
}

/// Worlds of 12 to 30 outings, poor to rich, on ground that fills up again quickly or slowly.
fn worlds(days_cv: f64, rng: &mut ChaCha8Rng) -> World {
    World {
        outings: rng.random_range(12..=30),
        days_cv,
        cells_cv: [0.0, 0.4, 0.8][rng.random_range(0..3)],
        per_100m2: rng.random_range(0.3..2.5),
        back_days: [5.0, 30.0, 200.0][rng.random_range(0..3)],
        strip: false,
    }
}

#[test]
fn the_range_of_each_outing_forecast_from_the_others_holds_about_nine_in_ten() {
    let mut rng = ChaCha8Rng::seed_from_u64(20);
    let (mut held_in_all, mut of_all) = (0, 0);
    for days_cv in [0.0, 0.3, 0.6] {
        let (mut held, mut of) = (0, 0);
        for seed in 0..16 {
            let reading = read_world(worlds(days_cv, &mut rng), seed);
            let forecasts = reading.forecasts.unwrap();
            for f in &forecasts.outings {
                held += usize::from((f.low..=f.high).contains(&(f.found as f64)));
            }
            of += forecasts.outings.len();
        }
        let share = held as f64 / of as f64;
        assert!((0.86..=0.97).contains(&share), "days differ by {days_cv}: {held} of {of}");
        (held_in_all, of_all) = (held_in_all + held, of_all + of);
    }
    let share = held_in_all as f64 / of_all as f64;
    assert!((0.86..=0.97).contains(&share), "{held_in_all} of {of_all}");
}

#[test]
fn few_outings_are_told_of_and_forecast_nothing() {
    let world = |outings| World { outings, days_cv: 0.3, cells_cv: 0.4, per_100m2: 1.0, back_days: 10.0, strip: false };
    let few = read_world(world(5), 3);
    assert_eq!(few.forecasts, None);
    assert!(
        few.notes.iter().any(|n| n.contains("takes 6 outings with tracks") && n.ends_with("there are 5.")),
        "{:?}",
        few.notes
    );
    let enough = read_world(world(6), 3);
    let forecasts = enough.forecasts.unwrap();
    assert_eq!((forecasts.outings.len(), forecasts.last, forecasts.within.of), (6, 6, 6));
    assert!(enough.notes.iter().all(|n| !n.contains("forecast")), "{:?}", enough.notes);
    assert!(forecasts.said().starts_with("your last 6 outings gave "), "{}", forecasts.said());
    let many = read_world(world(26), 3).forecasts.unwrap();
    assert_eq!((many.outings.len(), many.last, many.within.of), (26, 20, 20));
    assert!(many.outings.is_sorted_by_key(|f| f.start));
    let r = many.ratio;
    assert!(r.low < r.ratio && r.ratio < r.high && r.low < 1.0 && r.high > 1.0, "{r:?}");
}

/// Whoever goes where most was found meets the luck of those finds no second time: what is promised there is what is
/// there, whether cells differ as the model has it (gamma) or a strip is rich in ground that is even.
#[test]
fn the_richest_cells_promise_no_more_than_they_hold() {
    let mut rng = ChaCha8Rng::seed_from_u64(7);
    for (cells_cv, strip) in [(0.6, false), (0.0, true), (0.0, false)] {
        let (mut promised, mut there) = (0.0, 0.0);
        for seed in 0..16 {
            let days_cv = [0.0, 0.3, 0.6][seed as usize % 3];
            let (reading, rates) = read_known_world(World { cells_cv, strip, ..worlds(days_cv, &mut rng) }, 100 + seed);
            let mut cells = reading.cells.cells;
            cells.sort_by(|a, b| b.drawn_per_100m2.total_cmp(&a.drawn_per_100m2));
            for c in &cells[..12] {
                let index = |m: f64| (m / 10.0) as usize;
                promised += c.drawn_per_100m2;
                there += rates[index(c.along_m) * (ACROSS / 2) + index(c.across_m)];
            }
        }
        assert!((0.85..=1.15).contains(&(there / promised)), "cells {cells_cv}, strip {strip}: {there} of {promised}");
    }
}
