//! What effort is worth: how many finds each square would have given on a beach of even rate.
//!
//! Ground swept again gives less than fresh ground, but not nothing, as the sea brings more; and
//! what an outing gives depends on the season and the storms before it as much as on the place. Both
//! are taken from the person's own outings, so that neither coming back often nor coming at a good
//! time makes a place look rich:
//!
//! 1. The worth of ground swept again against fresh ground is the r that makes the outings' counts
//!    likeliest when each is Poisson with a mean in proportion to fresh + r x again.
//! 2. Each outing has its own rate, drawn towards the mean of all (Marshall 1991, see
//!    [`Shrinkage`]); a square is expected to give what the outings that swept it gave elsewhere too.
//!
//! Where outings are not known, ground counts by its passes as 1 - (1 - d)^n, with the stated chance
//! d that one pass finds what lies there.

use std::collections::BTreeMap;

use super::cluster::Of;
use super::ground::{Covered, Laid};
use super::{Params, Shrinkage};
use crate::book::Uid;

/// Fresh and again-swept ground of one outing, m², and its finds.
#[derive(Default, Clone, Copy)]
struct Outing {
    fresh_m2: f64,
    again_m2: f64,
    finds: f64,
}

/// For each square of the ground covered, effort in proportion to the finds it would give by chance.
pub(super) fn weighed(covered: &Covered, laid: &Laid, of: Of, params: &Params) -> Vec<f64> {
    if covered.visits.is_empty() {
        let d = params.detection_per_pass;
        let worth = |c: &super::CoveredCell| c.swept_m2.max(0.0) * (1.0 - (1.0 - d).powf(c.passes.max(1.0)));
        return covered.cells.iter().map(worth).collect();
    }
    let mut outings: BTreeMap<Option<Uid>, Outing> = BTreeMap::new();
    for v in &covered.visits {
        let outing = outings.entry(v.outing).or_default();
        outing.fresh_m2 += v.fresh_m2;
        outing.again_m2 += v.swept_m2 - v.fresh_m2;
    }
    for find in laid.finds.iter().filter(|f| of.takes(f.weight)) {
        if let Some(outing) = outings.get_mut(&find.outing) {
            outing.finds += 1.0;
        }
    }
    let all: Vec<Outing> = outings.values().copied().collect();
    let again = worth_of_again(&all);
    let ground = |o: &Outing| o.fresh_m2 + again * o.again_m2;
    let finds: Vec<f64> = all.iter().map(|o| o.finds).collect();
    let swept: Vec<f64> = all.iter().map(ground).collect();
    let shrinkage = Shrinkage::of(&finds, &swept).filter(|s| s.mean > 0.0);
    let rates: BTreeMap<Option<Uid>, f64> =
        outings.iter().map(|(uid, o)| (*uid, shrinkage.map_or(1.0, |s| s.rate(o.finds, ground(o))))).collect();
    let mut effort = vec![0.0; covered.cells.len()];
    for v in &covered.visits {
        if let (Some(cell), Some(rate)) = (effort.get_mut(v.cell), rates.get(&v.outing)) {
            *cell += rate * (v.fresh_m2 + again * (v.swept_m2 - v.fresh_m2)).max(0.0);
        }
    }
    effort
}

/// The likeliest worth of ground swept again, fresh ground being 1; between 0.05 and 1.5, in steps.
fn worth_of_again(outings: &[Outing]) -> f64 {
    let total: f64 = outings.iter().map(|o| o.finds).sum();
    let log_likelihood = |r: f64| {
        let ground = |o: &Outing| o.fresh_m2 + r * o.again_m2;
        let each = outings.iter().filter(|o| o.finds > 0.0 && ground(o) > 0.0).map(|o| o.finds * ground(o).ln());
        each.sum::<f64>() - total * outings.iter().map(ground).sum::<f64>().max(1e-9).ln()
    };
    (1..=30).map(|n| 0.05 * f64::from(n)).max_by(|a, b| log_likelihood(*a).total_cmp(&log_likelihood(*b))).unwrap_or(1.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_worth_of_ground_swept_again_is_found_from_the_outings() {
        let outing = |fresh_m2: f64, again_m2: f64| Outing { fresh_m2, again_m2, finds: 0.02 * (fresh_m2 + 0.4 * again_m2) };
        let outings = [outing(1000.0, 0.0), outing(700.0, 300.0), outing(200.0, 900.0), outing(50.0, 1500.0)];
        assert!((worth_of_again(&outings) - 0.4).abs() < 1e-9);
    }
}
