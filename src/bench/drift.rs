//! How target IDs drift with depth: many read lower the deeper they lie, some higher.
//!
//! A target that was read at several depths tells how its numbers move from one to the other; the slope between its
//! readings, each by its middle number, is that of Theil & Sen (Sen 1968, *Estimates of the regression coefficient based on
//! Kendall's tau*), so that numbers which jump now and then do not count. First one slope for all kinds, believed by as much
//! as it stands out of its error (a positive-part shrinkage like that of James & Stein 1961); then each kind's own, drawn
//! towards it by as much as the kinds differ beyond their errors ([`variance_between`]).

use super::evidence::{KindEvidence, Passes, Specimen};
use crate::chance::{Estimate, variance_between};

/// Depths nearer to each other than this tell no slope, metres.
const APART_M: f64 = 0.03;
/// Slopes between readings of one kind below which it tells nothing of its own.
const LEAST: usize = 4;
/// A common slope counts for nothing until it is so many times its error.
const STANDS_OUT: f64 = 2.0;
/// How much a median's error is larger than a mean's, and a median distance smaller than a standard deviation.
pub(super) const OF_MEDIAN: f64 = 1.2533;
pub(super) const OF_DISTANCE: f64 = 1.4826;

/// Drift of each kind, IDs per metre of depth, in the order given.
pub(super) fn drifts(kinds: &[&KindEvidence]) -> Vec<f64> {
    drawn_together(&kinds.iter().map(|k| slope_of(k)).collect::<Vec<_>>())
}

/// What each kind is taken to do by what each tells of itself, if it does: all as one, believed by as much as that stands
/// out of its error, and each drawn towards it by as much as they differ beyond theirs. Nothing, unless something shows.
pub(super) fn drawn_together(own: &[Option<Estimate>]) -> Vec<f64> {
    let told: Vec<Estimate> = own.iter().flatten().copied().collect();
    let between = variance_between(&told);
    let weight = |e: &Estimate| 1.0 / (between + 1.0 / e.information);
    let all: f64 = told.iter().map(weight).sum();
    if all <= 0.0 {
        return vec![0.0; own.len()];
    }
    let common = told.iter().map(|e| weight(e) * e.value).sum::<f64>() / all;
    let believed = (1.0 - STANDS_OUT.powi(2) / (common * common * all)).max(0.0);
    let common = common * believed;
    let drawn = |e: &Option<Estimate>| match e {
        // Kinds differ in their drift only where drift there is.
        Some(e) => common + believed * between * (e.value - common) / (between + 1.0 / e.information),
        None => common,
    };
    own.iter().map(drawn).collect()
}

/// The slope of one kind's numbers with depth and what it is known by; `None` where too few targets were read at two
/// depths.
fn slope_of(kind: &KindEvidence) -> Option<Estimate> {
    let (mut slopes, mut free) = (Vec::new(), 0.0);
    for specimen in &kind.specimens {
        let at: Vec<(f64, f64)> =
            specimen.passes.iter().filter_map(|p| Some((p.depth_m?, middle(&mut p.numbers.clone())?))).collect();
        let before = slopes.len();
        for (n, a) in at.iter().enumerate() {
            let apart = at.iter().take(n).filter(|b| (a.0 - b.0).abs() >= APART_M);
            slopes.extend(apart.map(|b| (a.1 - b.1) / (a.0 - b.0)));
        }
        // Slopes between the readings of one target hang together: it is worth as many as it has readings but one.
        free += if slopes.len() > before { at.len() as f64 - 1.0 } else { 0.0 };
    }
    if slopes.len() < LEAST || free < 2.0 {
        return None;
    }
    let value = middle(&mut slopes)?;
    let mut off: Vec<f64> = slopes.iter().map(|s| (s - value).abs()).collect();
    // Numbers are whole, so that nothing is known better than to half of one over the depths that were read.
    let spread = (OF_DISTANCE * middle(&mut off)?).max(0.5 / 0.2);
    Some(Estimate { value, information: free / (OF_MEDIAN * spread).powi(2) })
}

pub(super) fn middle(values: &mut [f64]) -> Option<f64> {
    values.sort_by(f64::total_cmp);
    let n = values.len();
    Some(0.5 * (values.get(n.checked_sub(1)? / 2)? + values.get(n / 2)?))
}

impl KindEvidence {
    /// The same as if everything had been read at the usual depth.
    pub(super) fn levelled(&self, drift_per_m: f64, usual_m: f64) -> Self {
        let off = |depth_m: Option<f64>| depth_m.map_or(0.0, |d| drift_per_m * (d - usual_m));
        let passes = |p: &Passes| {
            let off = off(p.depth_m);
            Passes { numbers: p.numbers.iter().map(|n| n - off).collect(), mean: p.mean - off, ..p.clone() }
        };
        let specimen = |s: &Specimen| Specimen { name: s.name.clone(), passes: s.passes.iter().map(passes).collect() };
        Self { specimens: self.specimens.iter().map(specimen).collect(), ..self.clone() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Kind;

    /// Four targets of a kind at four depths, their numbers falling by `drift` a metre, with some jumps.
    fn kind(key: &str, drift: f64, jumps: bool) -> KindEvidence {
        let target = |n: usize| {
            let read = |step: usize| {
                let depth_m = 0.05 * step as f64;
                let at = (50.0 + n as f64 + drift * (depth_m - 0.125)).round();
                let ids = [at, at + ((n + step) % 2) as f64, if jumps && (n + step).is_multiple_of(3) { 95.0 } else { at }];
                Passes::from_ids(Some(depth_m), &ids)
            };
            Specimen { name: format!("number {n}"), passes: (1..5).filter_map(read).collect() }
        };
        let specimens: Vec<Specimen> = (0..4).map(target).collect();
        let words = [0; 3];
        KindEvidence { kind: Kind::keyed(key), specimens, readings: 16, unheard: 0, finds: 0, words, raw: Vec::new() }
    }

    #[test]
    fn the_drift_that_was_put_in_is_found_and_none_is_none() {
        let of = |kinds: &[KindEvidence]| drifts(&kinds.iter().collect::<Vec<_>>());
        let found = of(&[kind("coin", -60.0, false), kind("lead", -60.0, true), kind("nail", -60.0, false)]);
        assert!(found.iter().all(|d| (d + 60.0).abs() < 12.0), "{found:?}");
        let none = of(&[kind("coin", 0.0, false), kind("lead", 0.0, true)]);
        assert_eq!(none, [0.0, 0.0]);
        assert!(of(&[]).is_empty());
    }

    #[test]
    fn levelled_numbers_stand_where_they_would_at_the_usual_depth() {
        let level = kind("coin", -60.0, false).levelled(-60.0, 0.125);
        let means: Vec<f64> = level.specimens[0].passes.iter().map(|p| p.mean).collect();
        assert!(means.iter().all(|m| (m - means[0]).abs() < 1.2), "{means:?}");
    }
}
