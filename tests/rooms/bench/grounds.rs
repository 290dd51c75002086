//! Target IDs that the ground moves. Everything is invented; that wet salt sand moves target IDs is common practice, no
//! published source.

use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Normal};
use scourline::bench::{DepthGauge, Evidence, Learned, MayBe, Mix, Sounded, may_be};
use scourline::book::{Beach, BenchReading, Book, Edit, Ground, Kind, Outing, Setup, Signal, Uid};
use scourline::earth::LonLat;

const KINDS: [&str; 6] = ["ring_pull", "gold_ring", "lead", "coin", "silver_coin", "plated_coin"];

fn reading(setup: Uid, kind: usize, target: usize, depth_m: f64, ground: Option<Ground>, ids: Vec<i32>) -> BenchReading {
    BenchReading {
        uid: Uid::fresh(),
        setup,
        kind: Some(Kind::keyed(KINDS[kind])),
        target: format!("{} {target}", KINDS[kind]),
        depth_m,
        scraped_m: None,
        ground,
        lie: None,
        target_ids: ids,
        steadiness: None,
        tone: String::new(),
        gauge_step: None,
        dig: None,
        time: None,
        notes: String::new(),
    }
}

/// A bench of six kinds nine numbers apart, each of four targets read on dry sand, and the first `on_both` of them on wet
/// sand too, where all read `wet_by` higher.
struct Drawn {
    wet_by: f64,
    rng: ChaCha8Rng,
}

impl Drawn {
    fn normal(&mut self, mean: f64, sd: f64) -> f64 {
        Normal::new(mean, sd).unwrap().sample(&mut self.rng)
    }

    fn target(&mut self, kind: usize) -> f64 {
        self.normal(10.0 + 9.0 * kind as f64, 1.2)
    }

    fn ids(&mut self, at: f64, ground: Ground, count: usize) -> Vec<i32> {
        let at = if ground == Ground::WetSalt { at + self.wet_by } else { at };
        (0..count).map(|_| self.normal(at, 1.0).round() as i32).collect()
    }

    fn readings(&mut self, on_both: usize) -> Vec<BenchReading> {
        let setup = Uid::of_content("setup", []);
        let mut readings = Vec::new();
        for kind in 0..KINDS.len() {
            for n in 0..4 {
                let at = self.target(kind);
                for depth_m in [0.1, 0.2] {
                    readings.push(reading(setup, kind, n, depth_m, Some(Ground::Dry), self.ids(at, Ground::Dry, 4)));
                }
                if n < on_both {
                    readings.push(reading(setup, kind, n, 0.1, Some(Ground::WetSalt), self.ids(at, Ground::WetSalt, 4)));
                }
            }
        }
        readings
    }
}

fn learned(readings: &[BenchReading]) -> Learned {
    Learned::from_evidence(Evidence::from_records(readings, []), "invented".into(), DepthGauge::learn(readings)).unwrap()
}

fn ask(learned: &Learned, ids: &[i32], ground: Option<Ground>) -> MayBe {
    learned.may_be(&Sounded { target_ids: ids, ground, ..Sounded::default() }, &Mix::default()).unwrap()
}

/// Mean logarithms of the chance given to what targets were that the bench never read, all heard on this ground: by the
/// ground, and without it.
fn scores(wet_by: f64, heard_on: Ground, seed: u64) -> (f64, f64) {
    let mut drawn = Drawn { wet_by, rng: ChaCha8Rng::seed_from_u64(seed) };
    let (mut by_ground, mut without, mut many) = (0.0, 0.0, 0.0);
    for _ in 0..5 {
        let bench = learned(&drawn.readings(2));
        for kind in (0..KINDS.len()).chain(0..KINDS.len()) {
            let at = drawn.target(kind);
            let ids = drawn.ids(at, heard_on, 3);
            let score = |told: &MayBe| {
                let truth = Kind::keyed(KINDS[kind]);
                told.answers.iter().find(|a| a.kind.as_ref() == Some(&truth)).unwrap().chance.max(1e-12).ln()
            };
            by_ground += score(&ask(&bench, &ids, Some(heard_on)));
            without += score(&ask(&bench, &ids, None));
            many += 1.0;
        }
    }
    println!("moved by {wet_by}, heard on {heard_on}: {:.3} by the ground, {:.3} without", by_ground / many, without / many);
    (by_ground / many, without / many)
}

#[test]
fn where_wet_sand_moves_the_numbers_new_targets_are_told_better_by_the_ground() {
    let (wet, wet_without) = scores(6.0, Ground::WetSalt, 61);
    assert!(wet > wet_without + 0.2, "{wet} by the ground, {wet_without} without");
    let (dry, dry_without) = scores(6.0, Ground::Dry, 62);
    assert!(dry > dry_without - 0.02, "{dry} by the ground, {dry_without} without");
}

#[test]
fn where_the_ground_moves_nothing_it_costs_nothing() {
    for (ground, seed) in [(Ground::WetSalt, 63), (Ground::Dry, 64)] {
        let (by_ground, without) = scores(0.0, ground, seed);
        assert!(by_ground > without - 0.03, "{ground}: {by_ground} by the ground, {without} without");
    }
}

#[test]
fn with_one_ground_or_none_known_the_answers_are_the_same() {
    let mut drawn = Drawn { wet_by: 6.0, rng: ChaCha8Rng::seed_from_u64(65) };
    let mixed = drawn.readings(2);
    let on = |ground: Option<Ground>| mixed.iter().map(|r| BenchReading { ground, ..r.clone() }).collect::<Vec<_>>();
    let plain = ask(&learned(&on(None)), &[40, 41], None);
    assert_eq!((&plain, plain.ground.is_none()), (&ask(&learned(&mixed), &[40, 41], None), true), "no ground was given");
    for readings in [on(None), on(Some(Ground::WetSalt))] {
        let told = ask(&learned(&readings), &[40, 41], Some(Ground::WetSalt));
        assert_eq!(told.answers, plain.answers);
        assert!(told.ground.is_some_and(|g| g.others.is_empty()));
    }
    let told = ask(&learned(&on(Some(Ground::WetSalt))), &[40], Some(Ground::WetSalt));
    let said = "Taken on wet salt sand: 60 of 60 readings heard were on it.";
    assert!(told.notes.iter().any(|n| n == said), "{:?}", told.notes);
}

/// Five readings on wet sand are too few to tell, and that is said.
#[test]
fn too_few_readings_on_both_move_nothing() {
    let mut drawn = Drawn { wet_by: 6.0, rng: ChaCha8Rng::seed_from_u64(66) };
    let mut readings = drawn.readings(0);
    for kind in 0..5 {
        readings.push(reading(readings[0].setup, kind, 0, 0.1, Some(Ground::WetSalt), vec![10 + 9 * kind as i32; 3]));
    }
    let bench = learned(&readings);
    let told = ask(&bench, &[40, 41], Some(Ground::WetSalt));
    assert_eq!(told.answers, ask(&bench, &[40, 41], None).answers);
    let said = "Taken on wet salt sand: 5 of 53 readings heard were on it. The 48 on dry sand are not moved: it takes 6 readings";
    assert!(told.notes.iter().any(|n| n.starts_with(said)), "{:?}", told.notes);
}

/// A signal of the book is heard on the ground that the set-up of its outing notes, and readings that note none were read
/// there too.
#[test]
fn a_signal_is_heard_on_the_ground_of_its_set_up() {
    let mut drawn = Drawn { wet_by: 6.0, rng: ChaCha8Rng::seed_from_u64(67) };
    let setup = Setup { ground: Some(Ground::WetSalt), ..Setup::new("on wet sand") };
    let beach = Beach::new("Invented Bay", LonLat::new(-20.0, 45.0).unwrap());
    let start = "2026-03-01T09:00:00Z".parse().unwrap();
    let outing = Outing { setup: Some(setup.uid), ..Outing::new(beach.uid, start, start) };
    let signal = Signal { outing: Some(outing.uid), target_ids: vec![43, 44], ..Signal::new(beach.uid, beach.origin) };
    let mut edits = vec![Edit::put(setup.clone()), Edit::put(beach.clone()), Edit::put(outing), Edit::put(signal.clone())];
    let as_noted = |r: BenchReading| BenchReading { setup: setup.uid, ground: r.ground.filter(|g| *g == Ground::Dry), ..r };
    edits.extend(drawn.readings(2).into_iter().map(as_noted).map(Edit::put));
    let mut book = Book::new();
    book.apply(&Edit::Batch(edits)).unwrap();
    let told = may_be(&book, beach.uid, &signal).unwrap();
    let on = told.ground.clone().unwrap();
    assert_eq!((on.ground, on.readings, on.of, on.unnoted), (Ground::WetSalt, 12, 60, 0));
    let by = on.others[0].moved_by.unwrap();
    assert!((by - 6.0).abs() < 1.5, "{on:?}");
    let bench = Learned::from_book(&book, setup.uid).unwrap();
    let heard = Sounded { ground: Some(Ground::WetSalt), ..Sounded::from(&signal) };
    assert_eq!(told, bench.may_be(&heard, &Mix::on(&book, beach.uid)).unwrap());
    // Coins read about 37 on dry sand and 43 on wet.
    assert_eq!(told.answers[0].kind, Some(Kind::keyed("coin")), "{told:?}");
}
