//! The trial on invented beaches of every sort, the small version of `scourline trial`.

use scourline::Progress;
use scourline::trial::world::{Sort, World};
use scourline::trial::{Alarms, Outcome, Recovery, Trial};

fn small() -> Outcome {
    Trial { beaches: 3, seed: 1, replicates: 19 }.run(&Progress::new()).unwrap()
}

#[test]
fn a_trial_counts_every_beach_and_every_pattern_and_comes_out_the_same_again() {
    let outcome = small();
    let failed = |sort: Sort| outcome.failed.iter().filter(|f| f.sort == sort).count();
    let sorts = [
        (Sort::Plain, &outcome.plain),
        (Sort::OneSided, &outcome.one_sided),
        (Sort::HalfTracked, &outcome.half_tracked),
        (Sort::AfterStorms, &outcome.after_storms),
    ];
    for (sort, Alarms { beaches, alarmed, low, share, high, wrong }) in sorts {
        assert_eq!(beaches + failed(sort), 3, "{sort:?}");
        assert!(alarmed <= beaches && low <= share && share <= high && (*alarmed == 0) == wrong.is_empty(), "{sort:?}");
    }
    let of_them = |seed: u64| outcome.failed.iter().any(|f| f.sort == Sort::Patterned && f.seed == seed);
    let worlds: Vec<World> = (1..=3).filter(|s| !of_them(*s)).map(|s| World::patterned(s).unwrap()).collect();
    let planted = |of: &dyn Fn(&World) -> usize| worlds.iter().map(of).sum::<usize>();
    let whole = |r: &Recovery, planted: usize| {
        assert_eq!(r.planted, planted);
        assert_eq!(r.well.found.of + r.fair.found.of + r.weak.found.of, planted);
        assert_eq!(r.well.found.count + r.fair.found.count + r.weak.found.count, r.found);
        assert_eq!((r.missed.len(), r.wrong.len()), (planted - r.found, r.told - r.right));
        assert!(r.missed.iter().all(|m| m.evidence.is_some() && m.times.is_some()));
    };
    whole(&outcome.scour_lines, planted(&|w| w.truth.lines.len()));
    whole(&outcome.drop_zones, planted(&|w| w.truth.zones.len()));
    assert_eq!(outcome, small());
}

/// The full check, the same as `scourline trial --beaches 200`; long even in a release build:
/// `cargo test --release --test rooms trial:: -- --ignored --nocapture`
#[test]
#[ignore = "reads 1,000 beaches; for the figures, not for every day"]
fn over_two_hundred_beaches_of_each_sort() {
    let outcome = Trial::default().run(&Progress::new()).unwrap();
    println!("{outcome:?}");
    assert_eq!(outcome.failed, []);
    for recovery in [&outcome.scour_lines, &outcome.drop_zones] {
        assert!(recovery.well.found.share >= 0.95, "{:?}", recovery.missed);
        assert!(recovery.precision >= 0.95, "{:?}", recovery.wrong);
    }
    assert!(outcome.told_right.share >= 0.95, "{:?}", outcome.told_right);
    for alarms in [&outcome.plain, &outcome.one_sided, &outcome.half_tracked, &outcome.after_storms] {
        assert!(alarms.share <= 0.02, "{alarms:?}");
    }
}
