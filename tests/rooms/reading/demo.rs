//! Readings of beaches made by the generator, held against what it planted: the small version of
//! `scourline trial`, with the same code.

use scourline::Progress;
use scourline::trial::{Outcome, Trial};

#[test]
fn planted_patterns_come_back_and_chance_alone_raises_no_alarm() {
    let Outcome { scour_lines, drop_zones, plain, biased, .. } =
        Trial { beaches: 10, seed: 1, replicates: 99 }.run(&Progress::new()).unwrap();
    println!("{scour_lines:?}\n{drop_zones:?}\n{plain:?}\n{biased:?}");
    assert!(scour_lines.recall >= 0.8 && scour_lines.precision >= 0.8, "{scour_lines:?}");
    assert!(drop_zones.recall >= 0.9 && drop_zones.precision >= 0.9, "{drop_zones:?}");
    // At 5 % more than 2 of 10 come in about one case of a hundred (scipy 1.17.1: binom.sf(2, 10, 0.05) = 0.0115).
    assert!(plain.alarmed <= 2 && biased.alarmed <= 2, "{plain:?} {biased:?}");
}

/// The full check, the same as `scourline trial --beaches 200`; some minutes in a release build:
/// `cargo test --release --test rooms reading::demo -- --ignored --nocapture`
#[test]
#[ignore = "reads 600 beaches; for the figures, not for every day"]
fn over_two_hundred_beaches() {
    let Outcome { scour_lines, drop_zones, plain, biased, .. } = Trial::default().run(&Progress::new()).unwrap();
    println!("{scour_lines:?}\n{drop_zones:?}\n{plain:?}\n{biased:?}");
    for recovery in [&scour_lines, &drop_zones] {
        assert!(recovery.recall >= 0.9 && recovery.precision >= 0.9, "{recovery:?}");
        assert!(recovery.place_error_m.p90 < 5.0, "{recovery:?}");
    }
    // 5 % of 200 and twice the spread of counting.
    assert!(plain.alarmed <= 16 && biased.alarmed <= 16, "{plain:?} {biased:?}");
}
