//! Two set-ups, or two machines, on the same targets.
//!
//! Whether a target was heard is fitted as a [logistic](Logistic) function of depth and of which
//! set-up it was, with one slope for both; the difference is within chance when its 95 % interval holds
//! zero. Spread of the numbers is compared as a share of each scale, since scales differ by machine, with
//! the F interval of the ratio of two variances.

use std::collections::{BTreeMap, BTreeSet};

use serde::Serialize;

use super::BenchError;
use super::evidence::{Evidence, HowRead, readings_of};
use super::tables::BenchTables;
use super::typed::setup_label;
use crate::book::{BenchReading, Kind, Uid};
use crate::chance::{Logistic, f_quantile};

/// Readings a side below which nothing is fitted.
const LEAST: usize = 6;
/// Standard deviation of the prior on slopes, on inputs of unit spread.
const PRIOR_SD: f64 = 2.5;
/// Standard deviation of the prior on the level: wide, so that it only tames the endless.
const LEVEL_SD: f64 = 10.0;
const Z: f64 = 1.959_963_984_540_054;

/// What one set-up heard at one depth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Heard {
    /// Depth, metres.
    pub depth_m: f64,
    /// Readings heard and readings made with the first set-up.
    pub first: (usize, usize),
    /// The same with the second.
    pub second: (usize, usize),
}

/// The fitted chance of hearing a target at one depth.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct HeardChance {
    /// Depth, metres.
    pub depth_m: f64,
    /// With the first set-up, and the ends of its 95 % interval, 0 to 1.
    pub first: [f64; 3],
    /// The same with the second.
    pub second: [f64; 3],
}

/// The depth at which half the targets are heard.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Reach {
    /// That depth, metres.
    pub half_m: f64,
    /// Ends of its 95 % interval, metres.
    pub low_m: f64,
    /// Upper end.
    pub high_m: f64,
}

/// The second set-up against the first.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Difference {
    /// Odds of hearing a target at one depth: second over first.
    pub odds_ratio: f64,
    /// Ends of its 95 % interval.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Whether so much may well be chance.
    pub within_chance: bool,
}

/// Spread of the passes as a share of the scale between the lowest and the highest kind.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SpreadCompared {
    /// Of the first, 0 to 1.
    pub first: f64,
    /// Of the second, 0 to 1.
    pub second: f64,
    /// Second over first.
    pub ratio: f64,
    /// Ends of the 95 % interval of the ratio, the scales taken as known.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Whether so much may well be chance.
    pub within_chance: bool,
}

/// Two set-ups side by side.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Comparison {
    /// Names of the two.
    pub setups: (String, String),
    /// Targets that both have read.
    pub targets: usize,
    /// What was heard, depth by depth.
    pub heard: Vec<Heard>,
    /// The fitted chance from the shallowest to the deepest that was read with both, if the readings show it.
    pub curve: Vec<HeardChance>,
    /// Where the first hears half the targets, if the readings show it.
    pub first_reach: Option<Reach>,
    /// Where the second does.
    pub second_reach: Option<Reach>,
    /// Who hears more, if the readings show it.
    pub difference: Option<Difference>,
    /// Whose numbers are steadier, if the readings show it.
    pub spread: Option<SpreadCompared>,
    /// What to bear in mind.
    pub notes: Vec<String>,
}

/// Compares two set-ups on the targets both have read. A reading counts as heard when a number came.
///
/// # Errors
/// [`BenchError::SameSetup`], [`BenchError::NoSetup`] or [`BenchError::NothingInCommon`].
pub fn compare(book: impl Into<BenchTables>, first: Uid, second: Uid) -> Result<Comparison, BenchError> {
    let book = &book.into();
    if first == second {
        return Err(BenchError::SameSetup);
    }
    let name = |uid: Uid| {
        let missing = || BenchError::NoSetup { name: uid.to_string(), known: format!("{} set-ups", book.setups().len()) };
        book.setups().get(&uid).map(|s| setup_label(book.setups(), s)).ok_or_else(missing)
    };
    let setups = (name(first)?, name(second)?);
    let targets = |uid| readings_of(book, uid).filter_map(target).collect::<BTreeSet<_>>();
    let common: BTreeSet<_> = targets(first).intersection(&targets(second)).cloned().collect();
    if common.is_empty() {
        return Err(BenchError::NothingInCommon);
    }
    let of = |uid| readings_of(book, uid).filter(|r| target(r).is_some_and(|t| common.contains(&t))).collect::<Vec<_>>();
    let sides = [of(first), of(second)];
    let mut notes = Vec::new();
    let made = sides.each_ref().map(|side| made_of(side));
    let fit = detection(&made, &mut notes);
    let mut reach = |n: usize, name: &str| fit.as_ref().and_then(|f| reach_read(f.reach(n as f64)?, &made[n], name, &mut notes));
    let (first_reach, second_reach) = (reach(0, &setups.0), reach(1, &setups.1));
    Ok(Comparison {
        setups,
        targets: common.len(),
        curve: fit.as_ref().map_or_else(Vec::new, |f| f.curve(&made)),
        heard: by_depth(&made),
        first_reach,
        second_reach,
        difference: fit.as_ref().map(Fit::difference),
        spread: spread(&sides, &mut notes),
        notes,
    })
}

type Target = (Kind, String);

fn target(reading: &BenchReading) -> Option<Target> {
    Some((reading.kind.clone()?, reading.target.trim().to_lowercase()))
}

/// The readings that were made: of passes over a target on a day that were noted one by one, one that was heard if any was, as
/// they hang together. Who writes several numbers to a reading anywhere notes whole readings: then one without a number is one
/// that was not heard, and not a pass.
fn made_of<'b>(side: &[&'b BenchReading]) -> Vec<&'b BenchReading> {
    if side.iter().any(|r| r.target_ids.len() > 1) {
        return side.to_vec();
    }
    let mut made: Vec<&BenchReading> = Vec::new();
    let mut passes: BTreeMap<_, usize> = BTreeMap::new();
    for reading in side.iter().copied() {
        let day = reading.time.map(|t| t.as_second().div_euclid(86_400));
        let key = (target(reading), day, (reading.depth_m * 1000.0).round() as i64, HowRead::of(reading));
        match passes.get(&key).and_then(|n| made.get_mut(*n)) {
            Some(there) if there.target_ids.is_empty() => *there = reading,
            Some(_) => {}
            None => {
                passes.insert(key, made.len());
                made.push(reading);
            }
        }
    }
    made
}

fn by_depth(sides: &[Vec<&BenchReading>; 2]) -> Vec<Heard> {
    let mut depths: BTreeMap<i64, [(usize, usize); 2]> = BTreeMap::new();
    for (n, readings) in sides.iter().enumerate() {
        for r in readings {
            let (heard, all) = &mut depths.entry((r.depth_m * 1000.0).round() as i64).or_default()[n];
            *heard += usize::from(!r.target_ids.is_empty());
            *all += 1;
        }
    }
    depths.into_iter().map(|(mm, [first, second])| Heard { depth_m: mm as f64 / 1000.0, first, second }).collect()
}

/// A depth that was fitted, where the set-up's own readings come to it: the slope is that of both, so what one was heard at where
/// the other no longer was would be told of depths that nobody read with it.
fn reach_read(reach: Reach, side: &[&BenchReading], name: &str, notes: &mut Vec<String>) -> Option<Reach> {
    let deepest_m = side.iter().map(|r| r.depth_m).fold(0.0, f64::max);
    let heard = side.iter().filter(|r| !r.target_ids.is_empty()).count();
    let known = heard > 0 && heard < side.len() && reach.half_m <= deepest_m;
    if !known {
        let cm = 100.0 * deepest_m;
        notes.push(if heard == 0 {
            format!("With \"{name}\" nothing was heard, so how deep it hears half is not known: go shallower with it.")
        } else {
            format!(
                "With \"{name}\" {heard} of {} readings were heard, down to {cm:.0} cm: how deep it hears half is not known, go deeper with it.",
                side.len()
            )
        });
    }
    known.then_some(reach)
}

/// The fitted chance of hearing: level, depth on its own scale, and the second set-up's advantage.
struct Fit {
    fitted: Logistic,
    mean_m: f64,
    spread_m: f64,
}

fn detection(sides: &[Vec<&BenchReading>; 2], notes: &mut Vec<String>) -> Option<Fit> {
    let all = || sides.iter().enumerate().flat_map(|(n, side)| side.iter().map(move |r| (n, *r)));
    if sides.iter().any(|s| s.len() < LEAST) {
        notes.push(format!("Not enough data to say who hears deeper: {LEAST} readings or more with each are needed."));
        return None;
    }
    let heard = all().filter(|(_, r)| !r.target_ids.is_empty()).count();
    if heard == 0 || heard == all().count() {
        let what = if heard == 0 {
            "No reading was heard with either; go shallower"
        } else {
            "Every reading was heard with both; go deeper"
        };
        notes.push(format!("{what} to see who hears deeper."));
        return None;
    }
    let depths: Vec<f64> = all().map(|(_, r)| r.depth_m).collect();
    let mean_m = depths.iter().sum::<f64>() / depths.len() as f64;
    let variance = depths.iter().map(|d| (d - mean_m).powi(2)).sum::<f64>() / depths.len() as f64;
    if variance <= 0.0 {
        notes.push("All targets lay at one depth, so hearing by depth cannot be fitted.".to_owned());
        return None;
    }
    let spread_m = variance.sqrt();
    let rows: Vec<Vec<f64>> = all().map(|(n, r)| vec![1.0, (r.depth_m - mean_m) / spread_m, n as f64]).collect();
    let yes: Vec<bool> = all().map(|(_, r)| !r.target_ids.is_empty()).collect();
    let fitted = Logistic::fit(&rows, &yes, &[LEVEL_SD, PRIOR_SD, PRIOR_SD])?;
    Some(Fit { fitted, mean_m, spread_m })
}

impl Fit {
    fn difference(&self) -> Difference {
        let (beta, sd) = (self.fitted.beta[2], self.fitted.covariance[2][2].sqrt());
        let (low, high) = ((beta - Z * sd).exp(), (beta + Z * sd).exp());
        Difference { odds_ratio: beta.exp(), low, high, within_chance: low <= 1.0 && high >= 1.0 }
    }

    /// The chance at a depth and its interval, which is even on the scale of the logarithm of the odds.
    fn chance(&self, depth_m: f64, second: f64) -> [f64; 3] {
        let (b, v) = (&self.fitted.beta, &self.fitted.covariance);
        let x = [1.0, (depth_m - self.mean_m) / self.spread_m, second];
        let ln_odds: f64 = (0..3).map(|i| x[i] * b[i]).sum();
        let variance: f64 = (0..3).map(|i| (0..3).map(|j| x[i] * x[j] * v[i][j]).sum::<f64>()).sum();
        let reach = Z * variance.max(0.0).sqrt();
        [ln_odds, ln_odds - reach, ln_odds + reach].map(|l| 1.0 / (1.0 + (-l).exp()))
    }

    fn curve(&self, sides: &[Vec<&BenchReading>; 2]) -> Vec<HeardChance> {
        let ends = sides.each_ref().map(|side| {
            let depths = || side.iter().map(|r| r.depth_m);
            (depths().fold(f64::INFINITY, f64::min), depths().fold(f64::NEG_INFINITY, f64::max))
        });
        let (from, to) = (ends[0].0.max(ends[1].0), ends[0].1.min(ends[1].1));
        if from >= to {
            return Vec::new();
        }
        let steps = 24;
        let at = |n: u32| from + (to - from) * f64::from(n) / f64::from(steps);
        let chance = |depth_m| HeardChance { depth_m, first: self.chance(depth_m, 0.0), second: self.chance(depth_m, 1.0) };
        (0..=steps).map(at).map(chance).collect()
    }

    /// The depth of even odds, by the delta method; `None` where hearing does not fade with depth.
    fn reach(&self, second: f64) -> Option<Reach> {
        let (b, v) = (&self.fitted.beta, &self.fitted.covariance);
        let slope = b[1];
        if slope + Z * v[1][1].sqrt() >= 0.0 {
            return None;
        }
        let level = b[0] + second * b[2];
        let half = -level / slope;
        let gradient = [-1.0 / slope, level / (slope * slope), -second / slope];
        let variance: f64 = (0..3).map(|i| (0..3).map(|j| gradient[i] * gradient[j] * v[i][j]).sum::<f64>()).sum();
        let metres = |x: f64| (self.mean_m + self.spread_m * x).max(0.0);
        let reach = Z * variance.max(0.0).sqrt();
        Some(Reach { half_m: metres(half), low_m: metres(half - reach), high_m: metres(half + reach) })
    }
}

/// Only what both heard at one depth is compared: who hears deeper would otherwise look the less steady.
fn spread(sides: &[Vec<&BenchReading>; 2], notes: &mut Vec<String>) -> Option<SpreadCompared> {
    let place = |r: &BenchReading| (target(r), (r.depth_m * 1000.0).round() as i64);
    let heard_at =
        |side: &[&BenchReading]| side.iter().filter(|r| !r.target_ids.is_empty()).map(|r| place(r)).collect::<BTreeSet<_>>();
    let places = sides.each_ref().map(|side| heard_at(side));
    let both = |r: &&&BenchReading| places.iter().all(|p| p.contains(&place(r)));
    let [first, second] = sides.each_ref().map(|side| {
        let evidence = Evidence::from_records(side.iter().filter(both).copied(), []);
        let passes = || evidence.kinds.iter().flat_map(|k| k.specimens.iter().flat_map(|s| &s.passes));
        let df: f64 = passes().map(|p| (p.count - 1) as f64).sum();
        let variance = passes().map(|p| p.squares).sum::<f64>() / df;
        let centres = evidence.kinds.iter().filter(|k| !k.raw.is_empty());
        let centres: Vec<f64> = centres.map(|k| k.raw.iter().map(|r| r.1).sum::<f64>() / k.raw.len() as f64).collect();
        let scale =
            centres.iter().copied().fold(f64::NEG_INFINITY, f64::max) - centres.iter().copied().fold(f64::INFINITY, f64::min);
        (variance.sqrt() / scale, df)
    });
    let usable = |side: (f64, f64)| side.0.is_finite() && side.0 > 0.0 && side.1 >= 10.0;
    if !usable(first) || !usable(second) {
        notes.push("Not enough repeated passes over two kinds or more to compare how the numbers spread.".to_owned());
        return None;
    }
    let ratio = second.0 / first.0;
    let sd_ratio = |p: f64| Some(f_quantile(p, second.1, first.1)?.sqrt());
    let (low, high) = (ratio / sd_ratio(0.975)?, ratio / sd_ratio(0.025)?);
    Some(SpreadCompared { first: first.0, second: second.0, ratio, low, high, within_chance: low <= 1.0 && high >= 1.0 })
}
