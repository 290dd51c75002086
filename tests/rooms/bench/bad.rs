//! What the bench says to thin, odd or mixed-up input; and the whole job from the command line.

use std::path::Path;
use std::process::{Command, Output};

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use scourline::bench::{self, BenchError, HeardChance, Learned, Mix, Sounded, compare, dug};
use scourline::book::{Beach, BenchReading, Book, Edit, Kind, Outing, RecordKind, Setup, Signal, Uid};
use scourline::earth::LonLat;
use serde_json::Value;

fn place() -> LonLat {
    LonLat::new(-20.0, 45.0).unwrap()
}

fn reading(setup: Uid, kind: Option<&str>, depth_m: f64, ids: &[i32], step: Option<i32>) -> BenchReading {
    BenchReading {
        uid: Uid::fresh(),
        setup,
        kind: kind.map(Kind::keyed),
        target: kind.map_or_else(String::new, |k| format!("my {k}")),
        depth_m,
        scraped_m: None,
        ground: None,
        lie: None,
        target_ids: ids.to_vec(),
        steadiness: None,
        tone: String::new(),
        gauge_step: step,
        dig: None,
        time: None,
        notes: String::new(),
    }
}

fn book_with(setups: &[&Setup], readings: Vec<BenchReading>) -> Book {
    let mut book = Book::new();
    let setups = setups.iter().map(|s| Edit::put((*s).clone()));
    book.apply(&Edit::Batch(setups.chain(readings.into_iter().map(Edit::put)).collect())).unwrap();
    book
}

#[test]
fn one_reading_teaches_with_care_and_none_teaches_nothing() {
    let setup = Setup::new("Only");
    let book = book_with(&[&setup], vec![reading(setup.uid, Some("coin"), 0.0, &[-7], None)]);
    let learned = Learned::from_book(&book, setup.uid).unwrap();
    let signature = &learned.signatures[0];
    assert!((signature.centre - -7.0).abs() < 1e-9, "negative IDs and a depth of nothing are fine");
    assert!(signature.care.is_some() && learned.notes.len() == 2, "{learned:?}");
    assert!(matches!(learned.gauge, Err(BenchError::NoSteps)));
    let heard = Sounded { target_ids: &[-7], gauge_step: Some(3), ..Sounded::default() };
    let told = learned.may_be(&heard, &Mix::default()).unwrap();
    assert!(told.depth.is_none() && told.notes.iter().any(|n| n.starts_with("Depth not used")), "{told:?}");
    assert!(told.answers.iter().all(|a| a.chance.is_finite()));

    let empty = book_with(&[&setup], Vec::new());
    assert!(matches!(Learned::from_book(&empty, setup.uid), Err(BenchError::NothingRead { .. })));
    assert!(matches!(Learned::from_book(&empty, Uid::fresh()), Err(BenchError::NoSetup { .. })));
}

#[test]
fn an_empty_series_is_unheard_and_a_bare_hole_is_no_kind() {
    let setup = Setup::new("Only");
    let readings = vec![
        reading(setup.uid, Some("coin"), 0.3, &[], Some(6)),
        reading(setup.uid, Some("coin"), 0.1, &[60, 60, 60], Some(2)),
        reading(setup.uid, None, 0.15, &[3], None),
        reading(setup.uid, None, 0.15, &[], None),
    ];
    let learned = Learned::from_book(&book_with(&[&setup], readings), setup.uid).unwrap();
    assert_eq!(learned.signatures.len(), 1);
    assert_eq!((learned.signatures[0].unheard, learned.signatures[0].passes), (1, 3));
    assert_eq!((learned.evidence.controls, learned.evidence.controls_heard), (2, 1));
    assert!(learned.notes.iter().any(|n| n.contains("ground itself")));
    let none = learned.may_be(&Sounded::default(), &Mix::default());
    assert_eq!(none, Err(BenchError::NoIds));
}

#[test]
fn what_scraping_the_top_off_brings_is_told_of_the_same_targets() {
    let setup = Setup::new("Only");
    let after = |ids: &[i32]| BenchReading { scraped_m: Some(0.05), ..reading(setup.uid, Some("coin"), 0.15, ids, None) };
    let readings = vec![
        reading(setup.uid, Some("coin"), 0.20, &[], None),
        reading(setup.uid, Some("coin"), 0.20, &[61], None),
        after(&[60, 61]),
        after(&[60]),
        // Never scraped, so it is no part of the comparison.
        reading(setup.uid, Some("nail"), 0.10, &[3, 4], None),
    ];
    let learned = Learned::from_book(&book_with(&[&setup], readings), setup.uid).unwrap();
    assert_eq!((learned.evidence.scraped.before, learned.evidence.scraped.after), ((1, 2), (2, 2)));
    assert!(learned.notes.iter().any(|n| n.contains("2 of 2 readings were heard; of the same targets before, 1 of 2")));
    let none = Learned::from_book(&book_with(&[&setup], vec![after(&[60])]), setup.uid).unwrap();
    assert_eq!(none.evidence.scraped.after, (0, 0), "nothing to compare with");
    let deep = BenchReading { scraped_m: Some(9.0), ..after(&[60]) };
    assert!(Book::new().apply(&Edit::Batch(vec![Edit::put(setup.clone()), Edit::put(deep)])).is_err());
}

/// Numbers of another set-up never enter, not even when the two share a name.
#[test]
fn set_ups_are_never_mixed() {
    let (a, b) = (Setup::new("Beach"), Setup { uid: Uid::fresh(), ..Setup::new("beach") });
    let readings = vec![
        reading(a.uid, Some("coin"), 0.1, &[60, 61], Some(2)),
        reading(b.uid, Some("coin"), 0.1, &[20, 21], Some(9)),
        reading(b.uid, Some("nail"), 0.1, &[1], Some(9)),
    ];
    let book = book_with(&[&a, &b], readings);
    let learned = Learned::from_book(&book, a.uid).unwrap();
    assert_eq!(learned.signatures.len(), 1);
    assert!((learned.signatures[0].centre - 60.5).abs() < 1e-9);
    assert_ne!(learned.name, Learned::from_book(&book, b.uid).unwrap().name);
}

#[test]
fn the_gauge_that_reads_full_for_a_shallow_target_is_told() {
    let setup = Setup::new("Only");
    let mut readings: Vec<_> = (1..=6).map(|s| reading(setup.uid, Some("coin"), 0.05 * f64::from(s), &[60], Some(s))).collect();
    readings.push(reading(setup.uid, Some("coin"), 0.31, &[60], Some(6)));
    readings.push(reading(setup.uid, Some("earring"), 0.05, &[15], Some(6)));
    let learned = Learned::from_book(&book_with(&[&setup], readings), setup.uid).unwrap();
    let full = learned.gauge.as_ref().unwrap().full_when_shallow();
    assert_eq!(full.len(), 1);
    assert_eq!((full[0].kind.key(), full[0].depth_m), ("earring", 0.05));
}

#[test]
fn a_signal_needs_the_set_up_of_its_outing_and_becomes_the_find_it_was() {
    let setup = Setup::new("Only");
    let named = |n: usize, kind, ids: &[i32]| BenchReading {
        target: format!("number {n}"),
        ..reading(setup.uid, Some(kind), 0.1, ids, None)
    };
    let coins = (0..4).map(|n| named(n, "coin", &[60, 62, 61]));
    let others = (0..4).flat_map(|n| [named(n, "nail", &[3, 5, 4]), named(n, "ring_pull", &[30, 31, 30])]);
    let mut book = book_with(&[&setup], coins.chain(others).collect());
    let beach = Beach::new("Invented Bay", place());
    let start = "2026-03-01T09:00:00Z".parse().unwrap();
    let outing = Outing::new(beach.uid, start, "2026-03-01T12:00:00Z".parse().unwrap());
    let signal = Signal { outing: Some(outing.uid), target_ids: vec![60, 61, 62], ..Signal::new(beach.uid, place()) };
    let puts = vec![Edit::put(beach.clone()), Edit::put(outing.clone()), Edit::put(signal.clone())];
    book.apply(&Edit::Batch(puts)).unwrap();
    assert_eq!(bench::may_be(&book, beach.uid, &signal), Err(BenchError::NoOutingSetup));
    book.apply(&Edit::put(Outing { setup: Some(setup.uid), ..outing })).unwrap();
    assert_eq!(bench::may_be(&book, beach.uid, &signal).unwrap().answers[0].kind, Some(Kind::keyed("coin")));

    let undo = book.apply(&dug(&signal, "silver band", Kind::keyed("silver_ring"), Some(0.12))).unwrap();
    assert_eq!((book.signals().len(), book.finds().len()), (0, 1));
    let learned = Learned::from_book(&book, setup.uid).unwrap();
    let ring = learned.signatures.iter().find(|s| s.kind.key() == "silver_ring").unwrap();
    assert_eq!(ring.finds, 1, "digging improves the model");
    book.apply(&undo).unwrap();
    assert!(book.holds(RecordKind::Signal, signal.uid));
}

/// One machine hears to 30 cm and the other to 15; both are read on the same six targets.
fn two_machines(second_reach_m: f64) -> (Book, Uid, Uid) {
    let (a, b) = (Setup::new("Deep"), Setup::new("Other"));
    let mut readings = Vec::new();
    for (n, kind) in ["coin", "gold_ring", "lead", "nail", "silver_ring", "bullet"].into_iter().enumerate() {
        for cm in [5, 10, 15, 20, 25, 30, 35] {
            for (setup, reach_m, scale) in [(a.uid, 0.30, 1), (b.uid, second_reach_m, 2)] {
                // Targets differ a little in how deep they are heard, as they do.
                let depth_m = f64::from(cm) / 100.0;
                let heard = depth_m <= reach_m + 0.02 * (n as f64 - 2.5);
                let at = scale * (10 + 15 * n as i32);
                let ids = [at, at + scale * (cm / 10), at - scale, at + scale];
                readings.push(reading(setup, Some(kind), depth_m, if heard { &ids } else { &[] }, None));
            }
        }
    }
    (book_with(&[&a, &b], readings), a.uid, b.uid)
}

#[test]
fn a_real_difference_is_told_from_chance() {
    let (book, a, b) = two_machines(0.15);
    let told = compare(&book, a, b).unwrap();
    assert_eq!(told.targets, 6);
    let (first, second) = (told.first_reach.unwrap(), told.second_reach.unwrap());
    // The drawn chance passes one half where half are heard, and its interval holds it.
    for (reach, of) in [(first, 0), (second, 1)] {
        let chance = |c: &HeardChance| if of == 0 { c.first } else { c.second };
        let n = told.curve.iter().position(|c| chance(c)[0] < 0.5).unwrap();
        assert!(told.curve[n - 1].depth_m <= reach.half_m && reach.half_m <= told.curve[n].depth_m, "{reach:?} {:?}", told.curve);
        assert!(told.curve.iter().map(chance).all(|[at, low, high]| 0.0 <= low && low < at && at < high && high <= 1.0));
    }
    assert!((0.28..0.34).contains(&first.half_m) && (0.13..0.19).contains(&second.half_m), "{first:?} {second:?}");
    assert!(first.low_m < first.half_m && first.half_m < first.high_m);
    let difference = told.difference.unwrap();
    assert!(!difference.within_chance && difference.high < 1.0, "{difference:?}");
    // The second scale is twice as wide, and so are its numbers: as shares of the scale they are alike.
    assert!(told.spread.unwrap().within_chance, "{:?}", told.spread);

    let (book, a, b) = two_machines(0.29);
    assert!(compare(&book, a, b).unwrap().difference.unwrap().within_chance);
}

/// The slope is that of both set-ups: where the deeper one was heard at every reading, how deep it hears half is not known.
#[test]
fn no_depth_is_told_that_was_not_read_with_a_set_up() {
    let (book, a, b) = two_machines(0.15);
    let setups: Vec<&Setup> = book.setups().values().collect();
    let down_to = |deepest_m: f64| {
        let kept = book.bench().values().filter(|r| r.setup == b || r.depth_m <= deepest_m).cloned().collect();
        compare(&book_with(&setups, kept), a, b).unwrap()
    };
    // The shallowest target is lost from 25 cm on.
    let told = down_to(0.201);
    assert!(told.first_reach.is_none() && told.second_reach.is_some(), "{told:?}");
    assert!(told.notes.iter().any(|n| n.contains("24 of 24 readings were heard, down to 20 cm")), "{:?}", told.notes);
    assert!(told.curve.iter().all(|c| c.depth_m <= 0.2 + 1e-9) && !told.curve.is_empty(), "{:?}", told.curve);
    assert!(down_to(0.36).first_reach.is_some());
}

/// Passes over one target hang together: noted one by one they must not make a comparison surer.
#[test]
fn passes_that_are_noted_one_by_one_count_as_one_reading() {
    let (book, a, b) = two_machines(0.15);
    let one_by_one = |r: &BenchReading| -> Vec<BenchReading> {
        let one = |id: &i32| BenchReading { uid: Uid::fresh(), target_ids: vec![*id], ..r.clone() };
        if r.target_ids.is_empty() { vec![r.clone(); 3] } else { r.target_ids.iter().map(one).collect() }
    };
    let readings = book.bench().values().flat_map(one_by_one).map(|r| BenchReading { uid: Uid::fresh(), ..r }).collect();
    let setups: Vec<&Setup> = book.setups().values().collect();
    let (told, singly) = (compare(&book, a, b).unwrap(), compare(&book_with(&setups, readings), a, b).unwrap());
    assert_eq!(told.heard, singly.heard);
    let (all, each) = (told.difference.unwrap(), singly.difference.unwrap());
    assert!((all.odds_ratio / each.odds_ratio - 1.0).abs() < 1e-9 && (all.low / each.low - 1.0).abs() < 1e-9, "{all:?} {each:?}");
    let (one, each) = (told.spread.unwrap(), singly.spread.unwrap());
    assert!((one.ratio - each.ratio).abs() < 1e-9, "{one:?} {each:?}");
}

/// Each reading of several numbers, or of none as nothing was heard, stands for itself however often a target was read.
#[test]
fn readings_that_are_not_heard_are_no_passes_of_one() {
    let (a, b) = (Setup::new("First"), Setup::new("Second"));
    let mut readings = Vec::new();
    for cm in [10, 20, 30] {
        for n in 0..20 {
            let ids: &[i32] = if n % 4 == 0 { &[] } else { &[60, 61] };
            readings.extend([a.uid, b.uid].map(|setup| reading(setup, Some("coin"), f64::from(cm) / 100.0, ids, None)));
        }
    }
    let heard = compare(&book_with(&[&a, &b], readings), a.uid, b.uid).unwrap().heard;
    assert_eq!(heard.len(), 3);
    assert!(heard.iter().all(|h| h.first == (15, 20) && h.second == (15, 20)), "{heard:?}");
}

/// One target a depth and set-up, heard with a chance that falls with depth; drawn.
fn drawn_machines(advantage: f64, rng: &mut ChaCha8Rng) -> (Book, Uid, Uid) {
    let (a, b) = (Setup::new("First"), Setup::new("Second"));
    let mut readings = Vec::new();
    for kind in ["coin", "gold_ring", "lead", "nail", "silver_ring", "bullet"] {
        for cm in [5, 10, 15, 20, 25, 30, 35, 40] {
            for (setup, better) in [(a.uid, 0.0), (b.uid, advantage)] {
                let depth_m = f64::from(cm) / 100.0;
                let chance = 1.0 / (1.0 + (-(SLOPE_PER_M * (MIDDLE_M - depth_m) + better)).exp());
                let ids: &[i32] = if rng.random::<f64>() < chance { &[60, 61, 60] } else { &[] };
                readings.push(reading(setup, Some(kind), depth_m, ids, None));
            }
        }
    }
    (book_with(&[&a, &b], readings), a.uid, b.uid)
}

/// Logits per metre, and where half are heard.
const SLOPE_PER_M: f64 = 15.0;
const MIDDLE_M: f64 = 0.22;

/// The chance that Wald's test at 5 % sees a difference of `advantage` logits in that design, by the expected
/// information at the truth (Agresti, *Categorical data analysis*, on power in logistic regression).
fn power(advantage: f64) -> f64 {
    let mut info = [[0.0; 3]; 3];
    for cm in [5, 10, 15, 20, 25, 30, 35, 40] {
        for second in [0.0, 1.0] {
            let depth_m = f64::from(cm) / 100.0;
            let p = 1.0 / (1.0 + (-(SLOPE_PER_M * (MIDDLE_M - depth_m) + second * advantage)).exp());
            let row = [1.0, depth_m, second];
            for (line, a) in info.iter_mut().zip(row) {
                for (cell, b) in line.iter_mut().zip(row) {
                    *cell += 6.0 * p * (1.0 - p) * a * b;
                }
            }
        }
    }
    // The variance of the third coefficient, by Cramer's rule.
    let minor = info[0][0] * info[1][1] - info[0][1] * info[1][0];
    let [a, b, c] = info;
    let det = a[0] * (b[1] * c[2] - b[2] * c[1]) - a[1] * (b[0] * c[2] - b[2] * c[0]) + a[2] * (b[0] * c[1] - b[1] * c[0]);
    let z = advantage / (minor / det).sqrt();
    let below = |x: f64| 0.5 * (1.0 + statrs::function::erf::erf(x / std::f64::consts::SQRT_2));
    1.0 - below(1.96 - z) + below(-1.96 - z)
}

/// Where there is no difference one is seen in about 5 % of comparisons; where there is one, in about as many
/// as the design's power says, and the odds ratio's interval holds the truth in about 95 %.
#[test]
fn comparisons_see_what_their_power_says() {
    let mut rng = ChaCha8Rng::seed_from_u64(95);
    for advantage in [0.0, 1.0, 2.0] {
        const RUNS: usize = 300;
        let (mut seen, mut held) = (0, 0);
        for _ in 0..RUNS {
            let (book, a, b) = drawn_machines(advantage, &mut rng);
            let told = compare(&book, a, b).unwrap().difference.unwrap();
            seen += usize::from(!told.within_chance);
            held += usize::from((told.low..=told.high).contains(&advantage.exp()));
        }
        let (seen, held) = (seen as f64 / RUNS as f64, held as f64 / RUNS as f64);
        println!("advantage {advantage}: seen {seen:.3} of power {:.3}, held {held:.3}", power(advantage));
        // Three standard errors of a share of 300, and a little for the prior's pull and the normal limit.
        let want = power(advantage);
        assert!((seen - want).abs() < 0.04 + 3.0 * (want * (1.0 - want) / RUNS as f64).sqrt(), "{seen} instead of {want}");
        assert!(held > 0.90, "{held}");
    }
}

#[test]
fn what_cannot_be_compared_says_why() {
    let (book, a, b) = two_machines(1.0);
    assert_eq!(compare(&book, a, a), Err(BenchError::SameSetup));
    assert!(matches!(compare(&book, a, Uid::fresh()), Err(BenchError::NoSetup { .. })));
    let setups: Vec<&Setup> = book.setups().values().collect();
    let few = vec![reading(a, Some("coin"), 0.1, &[60], None), reading(b, Some("coin"), 0.1, &[61], None)];
    let told = compare(&book_with(&setups, few), a, b).unwrap();
    assert!(told.difference.is_none() && told.spread.is_none() && told.notes.len() == 2, "{told:?}");
    let apart = vec![reading(a, Some("coin"), 0.1, &[60], None), reading(b, Some("nail"), 0.1, &[6], None)];
    assert_eq!(compare(&book_with(&setups, apart), a, b), Err(BenchError::NothingInCommon));
}

fn scourline(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_scourline")).args(args).output().expect("the program was built for this test")
}

#[test]
fn the_command_line_tells_the_bench() {
    let dir = tempfile::tempdir().unwrap();
    let file = dir.path().join("bench.gpkg");
    let book: &str = file.to_str().unwrap();
    let data = Path::new(env!("CARGO_MANIFEST_DIR")).join("data/demo");
    let files = ["setups.csv", "outings.csv", "bench.csv", "finds-2026.geojson"].map(|f| data.join(f));
    let mut args = vec!["import", "--book", book, "--beach", "Invented"];
    args.extend(files.iter().map(|f| f.to_str().unwrap()));
    assert!(scourline(&args).status.success());

    let all = scourline(&["bench", "--book", book, "--json"]);
    let all: Value = serde_json::from_slice(&all.stdout).unwrap();
    assert_eq!(all["setups"].as_array().unwrap().len(), 3);
    let asked =
        ["bench", "--book", book, "--setup", "wet sand, BIG coil", "--signal", "79,80,78", "--step", "3", "--under", "50"];
    let told: Value = serde_json::from_slice(&scourline(&[&asked[..], &["--json"]].concat()).stdout).unwrap();
    let answers = told["signal"]["answers"].as_array().unwrap();
    let silver = answers.iter().find(|a| a["kind"] == "silver_coin").unwrap();
    // Rare in the ground, so it stays behind the coins; but heard, it is many times likelier than before.
    assert!(silver["chance"].as_f64().unwrap() > 10.0 * silver["before"].as_f64().unwrap(), "{}", told["signal"]);
    let sum: f64 = answers.iter().map(|a| a["chance"].as_f64().unwrap()).sum();
    assert!((sum - 1.0).abs() < 0.01);
    assert!(told["cut_off"]["holes"]["count"].as_u64().unwrap() > 0);
    let short = [
        "bench",
        "--book",
        book,
        "--setup",
        "wet sand, BIG coil",
        "--signal",
        "60 61",
        "--steady",
        "jumpy",
        "--gauge",
        "2",
        "--json",
    ];
    let short: Value = serde_json::from_slice(&scourline(&short).stdout).unwrap();
    assert_eq!(short["signal"]["depth"]["step"], 2);
    let svg = dir.path().join("said-and-so.svg");
    let left_out = [
        "bench",
        "--book",
        book,
        "--setup",
        "Second machine",
        "--calibration",
        "--svg",
        svg.to_str().unwrap(),
        "--undug",
        "--json",
    ];
    let left_out: Value = serde_json::from_slice(&scourline(&left_out).stdout).unwrap();
    assert!(left_out["calibration"]["finds"]["signals"].as_u64().unwrap() > 50, "{}", left_out["calibration"]);
    assert!(left_out["calibration"]["bench"]["brier"].as_f64().unwrap() > 0.0);
    assert_eq!(left_out["undug"]["expected"], serde_json::json!([]), "no signal was imported");
    assert!(std::fs::read_to_string(&svg).unwrap().contains("<circle"));
    let words = String::from_utf8(scourline(&asked).stdout).unwrap();
    assert!(words.contains("silver coin (") && words.contains("something not on the bench") && words.contains("cm"), "{words}");

    for (code, extra) in [
        (2, vec!["--signal", "60"]),
        (2, vec!["--setup", "Second machine", "--signal", "60cm"]),
        (2, vec!["--setup", "Second machine", "--signal", "60", "--steadiness", "wobbly"]),
        (2, vec!["--steadiness", "jumpy"]),
        (3, vec!["--setup", "nowhere"]),
        (3, vec!["--setup", "Second machine", "--step", "44"]),
        (3, vec!["--setup", "Second machine", "--signal", ","]),
        (3, vec!["--setup", "Second machine", "--against", "second machine"]),
    ] {
        let out = scourline(&[&["bench", "--book", book][..], &extra].concat());
        assert_eq!(out.status.code(), Some(code), "{extra:?}: {}", String::from_utf8_lossy(&out.stderr));
        assert!(out.stdout.is_empty() && !out.stderr.is_empty(), "{extra:?}");
    }
}

/// A bench needs no beach: a book of nothing else is asked, and what is asked comes first.
#[test]
fn a_book_without_a_beach_is_asked_of_its_bench() {
    let dir = tempfile::tempdir().unwrap();
    let at = |name: &str| dir.path().join(name).to_str().unwrap().to_owned();
    let (book, table) = (at("bench.gpkg"), at("template.csv"));
    assert!(scourline(&["bench", "--template", &table]).status.success());
    let over = scourline(&["bench", "--template", &table]);
    assert_ne!(over.status.code(), Some(0), "a file is not written over unasked");
    let import = scourline(&["import", "--book", &book, "--beach", "Anywhere", &table]);
    assert!(import.status.success(), "{}", String::from_utf8_lossy(&import.stderr));
    assert!(String::from_utf8_lossy(&import.stdout).contains("lies on no beach"), "{import:?}");
    let said = |more: &[&str]| {
        let out = scourline(&[&["bench", "--book", &book][..], more].concat());
        assert!(out.status.success(), "{}", String::from_utf8_lossy(&out.stderr));
        String::from_utf8(out.stdout).unwrap()
    };
    let asked = said(&["--signal", "43 44", "--step", "2"]);
    let first = asked.lines().next().unwrap();
    for class in ["gold", "silver", "coins", "rubbish", "something not on the bench"] {
        assert!(first.contains(class), "{first}");
    }
    assert!(asked.lines().nth(1).unwrap().starts_with("the gauge says"), "{asked}");
    assert!(asked.lines().nth(2).unwrap().starts_with("leaving 10 that sound like this leaves"), "{asked}");
    assert!(asked.contains("Not enough known targets: 3 targets of 3 kinds with 14 numbers"), "{asked}");
    assert!(!asked.contains("9 of 10 passes") && !said(&[]).contains("9 of 10 passes"));
    assert!(said(&["--table"]).contains("nail: 9 of 10 passes"));
    let left: Value = serde_json::from_str(&said(&["--signal", "43", "--json"])).unwrap();
    assert_eq!(
        (&left["signal"]["leaving"]["of"], &left["signal"]["too_little"]),
        (&serde_json::json!(10), &serde_json::json!(true))
    );
}

/// Eight holes of 90 seconds on a walked line with a fix every 5 seconds: the hole's time is told to within
/// a fix, and a cut-off that leaves three of them saves three times that.
#[test]
fn a_cut_off_costs_what_the_person_s_own_figures_say() {
    use scourline::book::{Find, Material, Track, TrackPoint};
    let setup = Setup::new("Only");
    let mut book = book_with(&[&setup], Vec::new());
    let beach = Beach::new("Invented Bay", place());
    let start: jiff::Timestamp = "2026-03-01T09:00:00Z".parse().unwrap();
    let time = |s: i64| jiff::Timestamp::from_second(start.as_second() + s).unwrap();
    let outing = Outing { setup: Some(setup.uid), ..Outing::new(beach.uid, start, time(7200)) };
    let (mut points, mut finds, mut s) = (Vec::new(), Vec::new(), 0);
    for hole in 0..8_i64 {
        // 30 m of walking at 1 m/s, then 90 s at the hole; a ten-thousandth of a degree of latitude is 11 m.
        for second in (0..120).step_by(5) {
            let north_m = 30.0 * hole as f64 + f64::from(second.min(30));
            let at = LonLat::new(-20.0, 45.0 + north_m / 111_130.0).unwrap();
            points.push(TrackPoint::new(at).with_time(Some(time(s + i64::from(second)))));
            if second == 75 {
                let mut find = Find::new(beach.uid, at, "invented", Kind::keyed(if hole < 6 { "ring_pull" } else { "ring" }));
                find.material = (hole == 7).then_some(Material::Gold);
                find.outing = Some(outing.uid);
                find.time = Some(time(s + 75));
                find.target_id = Some([10.0, 10.0, 30.0, 30.0, 30.0, 30.0, 60.0, 20.0][hole as usize]);
                finds.push(Edit::put(find));
            }
        }
        s += 120;
    }
    let segments = vec![std::sync::Arc::from(points)];
    let uid = Track::content_uid(beach.uid, &segments);
    let track = Track { uid, beach: beach.uid, outing: Some(outing.uid), name: String::new(), segments };
    let puts = vec![Edit::put(beach.clone()), Edit::put(outing), Edit::put(track)];
    book.apply(&Edit::Batch(puts.into_iter().chain(finds).collect())).unwrap();

    let told = bench::cut_off(&book, beach.uid, setup.uid, 25.0);
    assert_eq!((told.holes.count, told.holes.of), (3, 8));
    let class = |name: &str| told.classes.iter().find(|c| c.class == name).unwrap().lost;
    assert_eq!((class("gold").count, class("gold").of), (1, 1));
    assert_eq!((class("rubbish").count, class("rubbish").of), (2, 6));
    assert_eq!(class("silver").share, None, "none found is not none lost");
    assert!(told.too_little, "eight finds are not enough to go by");
    // Four metres either way are walked in about eight seconds more.
    let pace = told.pace.unwrap();
    assert_eq!(pace.holes, 7, "the last stay has no end");
    assert!(pace.interval.0 <= 1.5 && pace.interval.1 >= 1.5 && (1.4..1.8).contains(&pace.minutes_per_hole), "{pace:?}");
    assert!((told.minutes_saved.unwrap().0 - 3.0 * pace.minutes_per_hole).abs() < 1e-12);
}
