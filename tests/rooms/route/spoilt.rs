//! The random beaches again with the planner's inputs spoilt and the checker's left right, and the other way
//! round: what share of the routes is found out, and what share of those planned on spoilt inputs would drown someone.

use jiff::SignedDuration;
use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rayon::prelude::*;
use scourline::book::{Beach, Edit, LevelPoint, RecordKind, TideTable, TideTurn};
use scourline::route::check;

use super::common::{Made, Seawards};
use super::property::{Random, gets_out, random};

/// What is wrong with what is believed.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Fault {
    Nothing,
    /// Tide level = land level + this too much, metres.
    Offset(f64),
    /// The tide is believed to come later by this, minutes.
    Clock(i64),
    /// A runnel held water when the levels were taken, so it has none.
    Runnel,
}

const FAULTS: [Fault; 12] = [
    Fault::Nothing,
    Fault::Offset(0.25),
    Fault::Offset(0.5),
    Fault::Offset(1.0),
    Fault::Offset(2.0),
    Fault::Offset(-0.5),
    Fault::Clock(15),
    Fault::Clock(30),
    Fault::Clock(60),
    Fault::Clock(120),
    Fault::Clock(-60),
    Fault::Runnel,
];

fn place(made: &Made, level: &LevelPoint) -> (f64, f64) {
    let p = made.frame.to_local(level.at).unwrap();
    (p.east_m + 200.0, 100.0 - p.north_m)
}

/// A beach of the truth, and the same as it is believed to be.
fn pair(seed: u64, fault: Fault) -> (Random, Random) {
    let (mut truth, mut believed) = (random(seed), random(seed));
    match fault {
        Fault::Nothing => {}
        Fault::Offset(m) => {
            let beach = Beach { datum_offset_m: Some(m), ..believed.made.beach.clone() };
            believed.made.put(beach);
        }
        Fault::Clock(minutes) => {
            let table = believed.made.book.tide_tables().values().next().unwrap().clone();
            let later = |t: &TideTurn| TideTurn { time: t.time + SignedDuration::from_mins(minutes), ..*t };
            believed.made.put(TideTable { turns: table.turns.iter().map(later).collect(), ..table });
        }
        Fault::Runnel => {
            let mut r = ChaCha8Rng::seed_from_u64(seed ^ 0x0072_4E4C);
            let wide_m = r.random_range(15.0..35.0);
            let at_m = r.random_range(0.15..0.6) * truth.width_m;
            let deep_m = r.random_range(0.5..1.5);
            let bed = move |across: f64| {
                let off = (across - at_m - wide_m / 2.0).abs() / (wide_m / 2.0);
                if off < 1.0 { deep_m * (1.0 - off.powi(4)) } else { 0.0 }
            };
            let levels: Vec<LevelPoint> = truth.made.book.levels_of(truth.made.beach.uid).cloned().collect();
            let (mut dug, mut gone) = (Vec::new(), Vec::new());
            for level in levels {
                let (_, across) = place(&truth.made, &level);
                if bed(across) > 0.0 {
                    gone.push(believed.made.book.removal(RecordKind::Level, level.uid));
                    dug.push(Edit::put(LevelPoint { level_m: level.level_m - bed(across), ..level }));
                }
            }
            truth.made.book.apply(&Edit::Batch(dug)).unwrap();
            believed.made.book.apply(&Edit::Batch(gone)).unwrap();
            let plain = std::mem::replace(&mut truth.sand, Box::new(|_, _| 0.0));
            truth.sand = Box::new(move |along, across| plain(along, across) - bed(across));
        }
    }
    (truth, believed)
}

/// What became of the beaches with one fault.
#[derive(Debug, Default, Clone, Copy)]
struct Shares {
    beaches: u32,
    /// Routes planned on what is believed; of those the ones the check finds out by the truth, and the ones on which
    /// someone would not get off dry.
    planned: u32,
    found_out: u32,
    drowned: u32,
    /// Routes planned on the truth; of those the ones that a check with the fault refuses.
    right: u32,
    refused: u32,
}

fn one(seed: u64, fault: Fault) -> Shares {
    let (truth, believed) = pair(seed, fault);
    let mut s = Shares { beaches: 1, ..Shares::default() };
    let (true_setting, believed_setting) = (truth.made.setting(), believed.made.setting());
    if let Ok(route) = believed.made.plan_after(believed.after, &believed.params, &Seawards) {
        s.planned = 1;
        s.found_out = u32::from(check(&truth.made.book, &true_setting, &truth.params, &route.trace).is_err());
        let every = (route.trace.len() / 12).max(1);
        let mut steps = route.trace.iter().step_by(every);
        s.drowned = u32::from(!steps.all(|step| gets_out(&truth, &true_setting, step.at, step.time)));
    }
    if let Ok(route) = truth.made.plan_after(truth.after, &truth.params, &Seawards) {
        s.right = 1;
        s.refused = u32::from(check(&believed.made.book, &believed_setting, &believed.params, &route.trace).is_err());
    }
    s
}

fn shares(seeds: std::ops::Range<u64>, fault: Fault) -> Shares {
    let all: Vec<Shares> = seeds.into_par_iter().map(|seed| one(seed, fault)).collect();
    let sum = |of: fn(&Shares) -> u32| all.iter().map(of).sum();
    let s = Shares {
        beaches: sum(|s| s.beaches),
        planned: sum(|s| s.planned),
        found_out: sum(|s| s.found_out),
        drowned: sum(|s| s.drowned),
        right: sum(|s| s.right),
        refused: sum(|s| s.refused),
    };
    let part = |n: u32, of: u32| 100.0 * f64::from(n) / f64::from(of.max(1));
    println!(
        "{fault:?}: planner spoilt: {} of {} beaches planned, {:.1} % found out by a right check, {:.1} % drown someone; check spoilt: {:.1} % of {} right routes refused",
        s.planned,
        s.beaches,
        part(s.found_out, s.planned),
        part(s.drowned, s.planned),
        part(s.refused, s.right),
        s.right
    );
    s
}

/// Every day a few of some; all of them with [`spoilt_inputs`].
#[test]
fn what_is_spoilt_on_one_side_alone_is_found_out_by_the_other() {
    let nothing = shares(0..20, Fault::Nothing);
    assert!(nothing.planned > 5 && (nothing.found_out, nothing.drowned, nothing.refused) == (0, 0, 0), "{nothing:?}");
    let offset = shares(0..20, Fault::Offset(1.0));
    assert!(offset.found_out * 10 > offset.planned * 8, "{offset:?}");
    let clock = shares(0..20, Fault::Clock(60));
    // 77.5 % of 120 beaches were found out (seeds from 0); why the rest were not was not looked into.
    assert!(clock.found_out * 10 > clock.planned * 6, "{clock:?}");
    // A runnel that was left out is no fault of the planner's any more: it does not go there.
    let runnel = shares(0..40, Fault::Runnel);
    assert!(runnel.planned > 8 && runnel.drowned == 0, "{runnel:?}");
    assert!(runnel.refused > 0, "{runnel:?}");
}

/// `cargo test --release --test rooms spoilt_inputs -- --ignored --nocapture`, with as many beaches a fault as
/// `SCOURLINE_SPOILT` says (10,000 unless said), from the seed that `SCOURLINE_SPOILT_FROM` says (0 unless said).
#[test]
#[ignore = "takes minutes a fault; its command stands above"]
fn spoilt_inputs() {
    let asked = |name: &str, usual: u64| std::env::var(name).map_or(usual, |n| n.parse().unwrap());
    let (beaches, from) = (asked("SCOURLINE_SPOILT", 10_000), asked("SCOURLINE_SPOILT_FROM", 0));
    for fault in FAULTS {
        shares(from..from + beaches, fault);
    }
}
