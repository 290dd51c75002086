//! The scan held to its definition, to the profile likelihood, and to its level.

use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::weighted::WeightedAliasIndex;
use rand_distr::{Distribution, Gamma};

use super::asked::Settings;
use super::grid::{ExposureGrid, Padded};
use super::plan::Plan;
use super::statistic::{scan, scan_since};
use super::window::{Shape, ellipses, strips};
use crate::Progress;
use crate::chance::{Group, Parted, Shapes, likeliest_rate, likelihood_ratio};

fn settings() -> Settings {
    Settings { least_finds: 3, replicates: 199, seed: 1, worst_p: 0.05, margin: 1.0, least_outings: 6 }
}

/// 40 by 20 cells searched by outings that each keep to a part of it, and finds as exposure, days and a spot have it.
fn beach(seed: u64, finds: f64, cv: f64, spot: Option<(usize, f64)>) -> ExposureGrid {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    let outings = 14;
    let mut pieces = Vec::new();
    for outing in 0..outings {
        let (from, wide) = (rng.random_range(0..25_u32), rng.random_range(5..15));
        let (low, deep) = (rng.random_range(0..10_u32), rng.random_range(5..10));
        for a in from..from + wide {
            pieces.extend((low..low + deep).map(|b| (outing, a * 20 + b, rng.random_range(1.0..16.0_f32))));
        }
    }
    let days: Vec<f64> = (0..outings)
        .map(|_| if cv > 0.0 { Gamma::new(1.0 / (cv * cv), cv * cv).unwrap().sample(&mut rng) } else { 1.0 })
        .collect();
    let rich = |cell: u32| match spot {
        Some((at, times)) if (cell as i64 / 20 - at as i64 / 20).abs() <= 2 && (cell as i64 % 20 - at as i64 % 20).abs() <= 2 => {
            times
        }
        _ => 1.0,
    };
    let weights: Vec<f64> = pieces.iter().map(|p| f64::from(p.2) * days[p.0 as usize] * rich(p.1)).collect();
    let draw = WeightedAliasIndex::new(weights).unwrap();
    let finds: Vec<(u32, u32)> = (0..finds as usize).map(|_| pieces[draw.sample(&mut rng)]).map(|p| (p.0, p.1)).collect();
    ExposureGrid::new(20, 800, outings as usize, pieces.into_iter(), finds.into_iter())
}

fn round() -> Vec<Shape> {
    vec![ellipses(1.0, &[1.0, 1.5, 2.0, 3.0]), ellipses(3.0, &[1.0, 1.5, 2.0])]
}

/// The largest ratio by Kulldorff's definition, window by window, for one outing; r at most 100, e at least 0.05.
fn by_definition(cells: &ExposureGrid, shapes: &[Shape], least: u32) -> f64 {
    let (counts, effort) = (cells.counts(), cells.weighed(|_| 1.0));
    let (total, ground) = (cells.finds.len() as f64, effort.iter().sum::<f64>());
    let (across, along) = (cells.across_count as i32, (cells.cells / cells.across_count) as i32);
    let mut largest = 0.0_f64;
    for middle in (0..cells.cells).filter(|n| effort[*n] > 0.0) {
        for shape in shapes {
            let (mut c, mut worth) = (0, 0.0);
            for ring in &shape.rings {
                for (a, b) in ring {
                    let (a, b) = (middle as i32 / across + a, middle as i32 % across + b);
                    if (0..along).contains(&a) && (0..across).contains(&b) {
                        c += counts[(a * across + b) as usize];
                        worth += effort[(a * across + b) as usize];
                    }
                }
                let (share, n) = (worth / ground, f64::from(c));
                let e = (total * share).max(0.05);
                if worth <= (0.5 + 1e-9) * ground && c >= least && n > e {
                    let all = e / share;
                    let r = if n < all { (n / e * (all - e) / (all - n)).min(100.0) } else { 100.0 };
                    largest = largest.max(n * r.ln() - all * (1.0 + (r - 1.0) * share).ln());
                }
            }
        }
    }
    largest
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..crate::cases::kept() })]
    #[test]
    fn with_one_outing_the_largest_ratio_is_that_of_the_definition(
        across in 1_usize..9,
        laid in prop::collection::vec((0_u8..4, 0_u32..6, 0_u8..20), 1..120),
    ) {
        let cells = laid.len().div_ceil(across) * across;
        let pieces = laid.iter().zip(0..).map(|(l, n)| (0, n, f32::from(l.0) * 1.75));
        let finds = laid.iter().zip(0..).flat_map(|((_, finds, rich), n)| {
            std::iter::repeat_n((0, n), if *rich == 0 { 40 } else { *finds as usize })
        });
        let cells = ExposureGrid::new(across, cells, 1, pieces, finds);
        prop_assume!(cells.finds.len() >= 3);
        let shapes = [ellipses(1.0, &[0.5, 1.0, 2.0]), ellipses(3.0, &[1.0, 1.6]), strips(2, &[1, 3]), strips(3, &[0, 2])];
        let grid = Padded::new(cells.cells, across, 6, 3);
        let first = Plan::new(&grid, &cells, &shapes, &settings()).all(&grid).first().map_or(0.0, |s| s.ratio);
        let truth = by_definition(&cells, &shapes, 3);
        prop_assert!((first - truth).abs() < 1e-4 * truth.max(1.0), "{first} {truth}");
        // A margin leaves no stronger window than there was.
        let wary = Settings { margin: 1.15, ..settings() };
        let most = Plan::new(&grid, &cells, &shapes, &wary).all(&grid).first().map_or(0.0, |s| s.ratio);
        prop_assert!(most <= truth + 1e-4 * truth.max(1.0));
    }
}

#[test]
fn the_ratio_is_kulldorff_s() {
    // Two cells, exposure 1 and 3, finds 6 and 2: c = 6, e = 2, N = 8.
    let finds = [(0, 0); 6].into_iter().chain([(0, 1); 2]);
    let cells = ExposureGrid::new(1, 2, 1, [(0, 0, 1.0), (0, 1, 3.0)].into_iter(), finds);
    let spot = [Shape { rings: vec![vec![(0, 0)]] }];
    let found = scan(&cells, &spot, &settings(), &Progress::new(), |_| true).unwrap().windows;
    let by_hand = 6.0 * (6.0_f64 / 2.0).ln() + 2.0 * (2.0_f64 / 6.0).ln();
    assert!((found[0].log_ratio - by_hand).abs() < 1e-5 && (found[0].expected - 2.0).abs() < 1e-5, "{found:?}");
    // Twice as rich inside, 8 x 2 / (2 + 3) = 3.2 are expected there.
    let settings = Settings { margin: 2.0, worst_p: 1.0, ..settings() };
    let found = scan(&cells, &spot, &settings, &Progress::new(), |_| true).unwrap().windows;
    let by_hand = 6.0 * (6.0_f64 / 3.2).ln() + 2.0 * (2.0_f64 / 4.8).ln();
    assert!((found[0].log_ratio - by_hand).abs() < 1e-5 && (found[0].expected - 2.0).abs() < 1e-5, "{found:?}");
}

/// The closed form against the likelihood maximised over ratio, rate and shape.
#[test]
fn a_quick_ratio_is_near_the_profile_one() {
    for (seed, cv) in [(1, 0.0), (2, 0.4), (3, 0.8), (4, 0.4)] {
        let cells = beach(seed, 500.0, cv, Some((10 * 20 + 8, 4.0)));
        let grid = Padded::new(cells.cells, 20, 6, 3);
        let plan = Plan::new(&grid, &cells, &round(), &settings());
        let groups = cells.groups();
        let phis = [0.3, 1.0, 3.0, 10.0, 50.0, 10_000.0];
        let ln = |phi: f64| Shapes::ln_posterior(&groups, likeliest_rate(&groups, phi).unwrap(), phi);
        let null = phis.into_iter().map(ln).fold(f64::NEG_INFINITY, f64::max);
        for seen in plan.all(&grid).into_iter().take(2000).step_by(100) {
            let inside = plan.window(&grid, seen, 1.0, 0).cells;
            let mut parted: Vec<Parted> = groups.iter().map(|g| Parted { inside: Group::default(), outside: *g }).collect();
            for (own, parted) in cells.outings.iter().zip(&mut parted) {
                let e: f64 = own.iter().filter(|c| inside.contains(&(c.0 as usize))).map(|c| f64::from(c.1)).sum();
                (parted.inside.exposure, parted.outside.exposure) = (e, parted.outside.exposure - e);
            }
            for (outing, _) in cells.finds.iter().filter(|f| inside.contains(&(f.1 as usize))) {
                parted[*outing as usize].inside.count += 1.0;
                parted[*outing as usize].outside.count -= 1.0;
            }
            let truth = phis.into_iter().map(|phi| ln(phi) - null + likelihood_ratio(&parted, phi, 1.0)).fold(0.0, f64::max);
            assert!((seen.ratio - truth).abs() < 0.25 + 0.12 * truth, "seed {seed}: {} and {truth}", seen.ratio);
        }
    }
}

#[test]
fn a_planted_spot_is_found_whatever_the_days() {
    for (seed, cv) in [(1, 0.0), (2, 0.6)] {
        let cells = beach(seed, 500.0, cv, Some((10 * 20 + 8, 6.0)));
        let found = scan(&cells, &round(), &settings(), &Progress::new(), |_| true).unwrap();
        assert!(found.windows.iter().any(|w| w.cells.contains(&(10 * 20 + 8))), "{seed}: {:?}", found.p);
        let none_shared =
            |n: usize| found.windows[n + 1..].iter().all(|w| w.cells.iter().all(|c| !found.windows[n].cells.contains(c)));
        assert!((0..found.windows.len()).all(none_shared));
        assert_eq!(scan(&cells, &round(), &settings(), &Progress::new(), |_| true).unwrap(), found);
    }
}

#[test]
fn neither_luck_nor_good_days_make_a_spot() {
    for cv in [0.0, 0.7] {
        let beaches = 60_u32;
        let alarmed = |n: &u32| {
            let settings = Settings { replicates: 99, ..settings() };
            let cells = beach(u64::from(*n) + 100, 250.0, cv, None);
            scan(&cells, &round(), &settings, &Progress::new(), |_| true).unwrap().p.is_some_and(|p| p <= 0.05)
        };
        let alarms = (0..beaches).filter(alarmed).count();
        // At 5 % more than 7 of 60 come in one case of a hundred (scipy 1.17.1: binom.sf(7, 60, 0.05) = 0.0098).
        assert!(alarms <= 7, "{alarms} of {beaches} with days that differ by {cv}");
    }
}

#[test]
fn ground_misjudged_within_the_margin_makes_no_spot_and_beyond_it_does() {
    let beaches = 40_u64;
    let alarms = |times: f64, margin: f64| {
        let alarmed = |n: &u64| {
            let cells = beach(n + 300, 1500.0, 0.3, Some((10 * 20 + 8, times)));
            let settings = Settings { margin, replicates: 99, ..settings() };
            scan(&cells, &round(), &settings, &Progress::new(), |_| true).unwrap().p.is_some_and(|p| p <= 0.05)
        };
        (0..beaches).filter(alarmed).count()
    };
    // At 5 % more than 6 of 40 come in less than one case of a hundred (scipy 1.17.1: binom.sf(6, 40, 0.05) = 0.0034).
    assert!(alarms(1.25, 1.25) <= 6, "{}", alarms(1.25, 1.25));
    assert!(alarms(3.0, 1.25) > 20, "{}", alarms(3.0, 1.25));
}

/// The outings from one on.
fn from(outing: usize) -> Vec<bool> {
    (0..14).map(|n| n >= outing).collect()
}

/// Twelve outings search all of 20 by 10 cells alike and find in every other cell; on the last four lie 30 finds more in 3 by 3
/// of them. Worked by hand: 48 where 18 are due make some 48 ln(48/18) - 30 = 17, 84 where 54 are due 84 ln(84/54) - 30 = 7.
#[test]
fn what_begins_late_is_told_by_the_outings_since() {
    let pieces = (0..12).flat_map(|outing| (0..200).map(move |cell| (outing, cell, 1.0)));
    let even = (0..12).flat_map(|outing| (0..200).filter(move |cell| cell % 2 == outing % 2).map(move |cell| (outing, cell)));
    let block: Vec<u32> = (9..12).flat_map(|a| (4..7).map(move |b| a * 10 + b)).collect();
    let late = (0..30).map(|n| (8 + n as u32 % 4, block[n % 9]));
    let cells = ExposureGrid::new(10, 200, 12, pieces, even.chain(late));
    let since: [Vec<bool>; 2] = [2, 8].map(|first| (0..12).map(|n| n >= first).collect());
    let found = scan_since(&cells, &since, &round(), &settings(), &Progress::new(), |_, _| true, |_| true).unwrap().windows;
    assert!(found[0].slice == 2 && block.iter().all(|c| found[0].cells.contains(&(*c as usize))), "{found:?}");
    assert!((f64::from(found[0].finds) - 48.0).abs() < 1e-9 && (found[0].expected - 18.0).abs() < 3.0, "{found:?}");
    let alone = scan(&cells, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows;
    let by_all = alone.first().map_or(0.0, |w| w.log_ratio);
    assert!(found[0].log_ratio > by_all + 5.0, "{by_all} {found:?}");
}

/// Looks at some outings by themselves are paid for: at 5 % more than 7 of 60 come in one case of fifty (scipy 1.17.1:
/// binom.sf(7, 60, 0.05) = 0.0107).
#[test]
fn looks_at_parts_of_the_outings_are_paid_for() {
    let alarms = (200..260_u64).filter(|seed| {
        let cells = beach(*seed, 250.0, 0.5, None);
        let settings = Settings { replicates: 99, ..settings() };
        let since = [from(3), from(7), from(10)];
        let found = scan_since(&cells, &since, &round(), &settings, &Progress::new(), |_, _| true, |_| true).unwrap();
        found.p.is_some_and(|p| p <= 0.05)
    });
    let alarms = alarms.count();
    assert!(alarms <= 7, "{alarms}");
}

#[test]
fn a_preferred_window_stands_in_where_it_tells_nearly_as_much() {
    let (mut same, mut instead) = (0, 0);
    for seed in 80..100 {
        let cells = beach(seed, 400.0, 0.3, Some((10 * 20 + 8, 4.0)));
        let with = |prefer: &dyn Fn(usize, usize) -> bool| {
            scan_since(&cells, &[], &round(), &settings(), &Progress::new(), prefer, |_| true).unwrap().windows
        };
        let (any, none, small) = (with(&|_, _| true), with(&|_, _| false), with(&|_, rings| rings <= 2));
        assert_eq!(any, none, "where none is preferred the strongest stays");
        let Some(strongest) = any.first() else { continue };
        let close = |w: &super::Window| w == strongest || w.rings <= 2 && w.log_ratio >= 0.5 * strongest.log_ratio && w.p <= 0.05;
        assert!(small.iter().any(close), "seed {seed}: {strongest:?}");
        let stays = small.contains(strongest);
        assert!(stays || strongest.rings > 2, "seed {seed}: one that is preferred itself stays");
        (same, instead) = (same + usize::from(stays), instead + usize::from(!stays));
    }
    assert!(same > 0 && instead > 0, "{same} {instead}");
}

/// What a replicate is told to reach is what a look at every window at every shape gives.
#[test]
fn no_window_of_a_replicate_is_passed_over() {
    for (seed, cv, spot) in [(21, 0.0, None), (22, 0.5, None), (23, 0.5, Some((10 * 20 + 8, 3.0))), (24, 1.0, None)] {
        let cells = beach(seed, 400.0, cv, spot);
        let grid = Padded::new(cells.cells, 20, 6, 3);
        let plan = Plan::new(&grid, &cells, &round(), &settings());
        let mut room = plan.room(&grid);
        (room.finds, room.groups) = (grid.lay(&cells.counts()), cells.groups());
        let (found, truth) = (plan.largest(&grid, &mut room, 0.0, None), plan.all(&grid)[0].ratio);
        assert!((found - truth).abs() < 1e-3 * truth, "seed {seed}: {found} and {truth}");
        assert_eq!(plan.largest(&grid, &mut room, truth + 0.1, None), truth + 0.1, "there is none above it");
        for part in [0.2, 0.5, 0.9, 0.998] {
            let needs = plan.needs(part * found);
            let again = plan.largest(&grid, &mut room, part * found, Some(&needs));
            assert_eq!(again, found, "seed {seed}: with what {part} of it takes");
        }
        let (above, needs) = (truth + 0.1, plan.needs(truth + 0.1));
        assert_eq!(plan.largest(&grid, &mut room, above, Some(&needs)), above, "there is none above it");
    }
}

/// Replicates that do not matter end early; whatever is told stays.
#[test]
fn what_is_told_is_held_against_the_whole_of_a_strong_replicate() {
    for seed in 30..34 {
        let cells = beach(seed, 400.0, 0.5, Some((10 * 20 + 8, 1.0 + f64::from(seed as u32 - 30))));
        let told = |worst_p: f64| {
            let settings = Settings { replicates: 399, worst_p, ..settings() };
            let found = scan(&cells, &round(), &settings, &Progress::new(), |_| true).unwrap();
            let windows = found.windows.into_iter().filter(|w| w.p <= 0.02).collect::<Vec<_>>();
            (found.p, found.replicates, windows)
        };
        // With every window told nothing ends early.
        let (early, whole) = (told(0.02), told(0.25));
        assert_eq!((early.0, early.1), (whole.0, whole.1), "seed {seed}");
        assert_eq!(early.2.first(), whole.2.first(), "seed {seed}");
    }
}

#[test]
fn nothing_to_scan() {
    let none = ExposureGrid::new(2, 4, 0, std::iter::empty(), std::iter::empty());
    assert!(scan(&none, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows.is_empty());
    let no_exposure = ExposureGrid::new(2, 4, 1, [(0, 0, 0.0)].into_iter(), [(0, 0); 9].into_iter());
    assert!(no_exposure.finds.is_empty(), "a find where its outing has no exposure is in no scan");
    let one = ExposureGrid::new(1, 1, 1, [(0, 0, 1e-30)].into_iter(), [(0, 0); 9].into_iter());
    assert!(scan(&one, &round(), &settings(), &Progress::new(), |_| true).unwrap().windows.is_empty());
    let p = Progress::new();
    p.cancel();
    assert!(scan(&beach(1, 100.0, 0.0, None), &round(), &settings(), &p, |_| true).is_err());
}
