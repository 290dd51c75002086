//! Target IDs that drift with depth. Everything is invented; that many targets read lower the deeper they lie is common
//! practice, no published source.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use scourline::bench::{DepthGauge, Evidence, Learned, Mix, Sounded, signature_words};
use scourline::book::{BenchReading, Kind, Uid};

/// A reading of a target at a depth in steps of 5 cm.
fn reading(kind: &str, target: usize, step: i32, ids: Vec<i32>) -> BenchReading {
    BenchReading {
        uid: Uid::fresh(),
        setup: Uid::of_content("setup", []),
        kind: Some(Kind::keyed(kind)),
        target: format!("number {target}"),
        depth_m: 0.05 * f64::from(step),
        scraped_m: None,
        ground: None,
        lie: None,
        target_ids: ids,
        steadiness: None,
        tone: String::new(),
        gauge_step: Some(step),
        dig: None,
        time: None,
        notes: String::new(),
    }
}

/// Two kinds eight numbers apart that fall by `falls` a step, read on five targets each.
fn learned(falls: f64, seed: u64) -> Learned {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let mut readings = Vec::new();
    for (kind, at) in [("coin", 60.0), ("lead", 52.0)] {
        for target in 0..5 {
            let own: f64 = rng.random_range(-1.0..1.0);
            for step in 1..=5 {
                let ids = (0..4).map(|_| (at + own - falls * f64::from(step - 1) + rng.random_range(-0.8..0.8)).round() as i32);
                readings.push(reading(kind, target, step, ids.collect()));
            }
        }
    }
    Learned::from_evidence(Evidence::from_records(&readings, []), "invented".into(), DepthGauge::learn(&readings)).unwrap()
}

fn chance(learned: &Learned, kind: &str, id: i32, step: i32) -> f64 {
    let heard = Sounded { target_ids: &[id, id], steadiness: None, gauge_step: Some(step), ground: None };
    let told = learned.may_be(&heard, &Mix::default()).unwrap();
    told.answers.iter().find(|a| a.kind == Some(Kind::keyed(kind))).unwrap().chance
}

#[test]
fn a_number_is_told_by_the_depth_at_which_it_came() {
    let drifting = learned(3.0, 11);
    let signature = drifting.signatures.iter().find(|s| s.kind.key() == "coin").unwrap();
    assert!((signature.drift_per_10cm + 6.0).abs() < 1.0, "{}", signature.drift_per_10cm);
    assert!(signature_words(signature).contains("lower each 10 cm deeper"), "{}", signature_words(signature));
    // 60 near the top is the one, and so is 48 at 25 cm; 48 near the top would be the other.
    assert!(chance(&drifting, "coin", 60, 1) > 0.9 && chance(&drifting, "coin", 48, 5) > 0.9);
    assert!(chance(&drifting, "lead", 52, 1) > 0.9 && chance(&drifting, "lead", 40, 5) > 0.9);
    let steady = learned(0.0, 12);
    assert!(steady.signatures.iter().all(|s| s.drift_per_10cm == 0.0), "{:?}", steady.signatures);
    assert!(!signature_words(&steady.signatures[0]).contains("each 10 cm deeper, "), "nothing is said of a drift that is none");
}
