//! What effort is worth: how many finds each square would have given on a beach of even rate.
//!
//! Ground swept again gives less than fresh ground, but not nothing, as the sea and people bring
//! more; and what an outing gives depends on the season and the storms before it as much as on the
//! place. Both are taken from the person's own outings, so that neither coming back often nor coming
//! at a good time makes a place look rich:
//!
//! 1. Each square holds a stock, 1 before it was first swept. n passes take the share 1 - (1 - d)^n
//!    of what is left of it; afterwards it fills up again towards 1 with a time constant. The chance
//!    per pass d and that time are the pair, out of a grid of pairs, that makes the places of the
//!    finds likeliest *within* their outings (conditional likelihood, so that good and bad days do
//!    not matter).
//! 2. Each outing has its own rate, drawn towards the mean of all (Marshall 1991, see
//!    [`Shrinkage`]); a square is expected to give what the outings that swept it gave elsewhere too.
//!
//! Where outings are not known, ground counts by its passes as 1 - (1 - d)^n, with the stated chance
//! d that one pass finds what lies there. O(visits x pairs).

use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::cluster::Of;
use super::ground::{Covered, Laid};
use super::{Ground, Params, Shrinkage};

/// How ground that was swept fills up again, as the finds themselves show it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Renewal {
    /// Chance that one pass of the coil finds what lies under it, 0 to 1.
    pub found_per_pass: f64,
    /// Days after which about two thirds of what was taken has been made good; `None` when nothing
    /// comes back.
    pub days: Option<f64>,
    /// How many finds this rests on.
    pub finds: usize,
}

/// The pairs that are tried.
const FOUND_PER_PASS: [f64; 5] = [0.15, 0.3, 0.5, 0.7, 0.9];
const DAYS: [Option<f64>; 8] = [Some(5.0), Some(12.0), Some(25.0), Some(50.0), Some(100.0), Some(200.0), Some(400.0), None];
/// With fewer finds than this the stated chance per pass is taken, and nothing comes back.
const LEAST_FINDS: usize = 60;

/// One visit made ready: where, when, how much, how often.
struct Stay {
    cell: usize,
    outing: usize,
    /// Which sum of effort within the outing it goes to.
    sum: Option<usize>,
    day: f64,
    swept_m2: f64,
    passes: f64,
    /// Share of the square that it swept.
    share: f64,
}

/// The ground covered, ready to be weighed for any choice of finds.
pub(super) struct Weighing<'a> {
    covered: &'a Covered,
    stays: Vec<Stay>,
    outings: BTreeMap<Option<crate::book::Uid>, usize>,
    stated: f64,
    pub(super) renewal: Option<Renewal>,
}

impl<'a> Weighing<'a> {
    /// Finds how ground renews itself. `of_square` tells the coarse cell of each square, `of_find`
    /// that of each find: finer than a receiver's error nothing can be told.
    pub(super) fn new(
        ground: &Ground,
        covered: &'a Covered,
        laid: &Laid,
        params: &Params,
        of_square: &[Option<usize>],
        of_find: &[Option<usize>],
    ) -> Self {
        let mut outings = BTreeMap::new();
        for v in &covered.visits {
            let next = outings.len();
            outings.entry(v.outing).or_insert(next);
        }
        let mut sums: BTreeMap<(usize, usize), usize> = BTreeMap::new();
        let mut visited = vec![0.0; covered.cells.len()];
        for v in &covered.visits {
            if let Some(m2) = visited.get_mut(v.cell) {
                *m2 += v.swept_m2;
            }
        }
        let square_m2 = covered.cell_m * covered.cell_m;
        let stay = |v: &super::Visit| {
            let cell = covered.cells.get(v.cell)?;
            let outing = *outings.get(&v.outing)?;
            let sum = of_square.get(v.cell).copied().flatten().map(|c| {
                let next = sums.len();
                *sums.entry((outing, c)).or_insert(next)
            });
            let start = v.outing.and_then(|o| ground.book.outings().get(&o)).map(|o| o.start.as_second() as f64 / 86_400.0);
            Some(Stay {
                cell: v.cell,
                outing,
                sum,
                day: start.unwrap_or(f64::NAN),
                swept_m2: v.swept_m2,
                // The passes over a square are known in all; each visit is given its share.
                passes: (cell.passes * cell.swept_m2 / visited[v.cell]).clamp(1.0, 20.0),
                share: (v.swept_m2 / square_m2).clamp(0.0, 1.0),
            })
        };
        let stays = covered.visits.iter().filter_map(stay).collect();
        let mut weighing = Self { covered, stays, outings, stated: params.detection_per_pass, renewal: None };
        let places: Vec<(usize, usize)> = laid
            .finds
            .iter()
            .zip(of_find)
            .filter_map(|(f, c)| {
                let outing = *weighing.outings.get(&f.outing)?;
                Some((*sums.get(&(outing, (*c)?))?, outing))
            })
            .collect();
        weighing.renewal = weighing.likeliest(sums.len(), &places);
        weighing
    }

    fn likeliest(&self, sums: usize, finds: &[(usize, usize)]) -> Option<Renewal> {
        if finds.len() < LEAST_FINDS {
            return None;
        }
        let pairs: Vec<(f64, Option<f64>)> = FOUND_PER_PASS.iter().flat_map(|d| DAYS.map(|t| (*d, t))).collect();
        let log_likelihood = |(d, days): &(f64, Option<f64>)| {
            let (mut by_cell, mut by_outing) = (vec![0.0; sums], vec![0.0; self.outings.len()]);
            self.each(*d, *days, |stay, effort| {
                if let Some(sum) = stay.sum {
                    by_cell[sum] += effort;
                    by_outing[stay.outing] += effort;
                }
            });
            finds.iter().map(|(sum, outing)| (by_cell[*sum].max(1e-12) / by_outing[*outing].max(1e-12)).ln()).sum::<f64>()
        };
        let scores: Vec<f64> = pairs.par_iter().map(log_likelihood).collect();
        let best = (0..pairs.len()).max_by(|a, b| scores[*a].total_cmp(&scores[*b]))?;
        let (found_per_pass, days) = pairs[best];
        Some(Renewal { found_per_pass, days, finds: finds.len() })
    }

    /// Every visit with its effort: ground x what was left of the stock x the share its passes find.
    fn each(&self, d: f64, days: Option<f64>, mut take: impl FnMut(&Stay, f64)) {
        let (mut cell, mut stock, mut day) = (usize::MAX, 1.0, 0.0);
        for stay in &self.stays {
            if stay.cell != cell {
                (cell, stock, day) = (stay.cell, 1.0, stay.day);
            }
            let since = (stay.day - day).max(0.0);
            // An outing without a date leaves the stock as it is (a comparison with NaN is false).
            if since > 0.0
                && let Some(days) = days
            {
                stock = 1.0 - (1.0 - stock) * (-since / days).exp();
            }
            let found = 1.0 - (1.0 - d).powf(stay.passes);
            take(stay, stay.swept_m2 * stock * found);
            stock *= 1.0 - stay.share * found;
            if stay.day.is_finite() {
                day = stay.day;
            }
        }
    }

    /// For each square of the ground covered, effort in proportion to the finds it would give by
    /// chance.
    pub(super) fn effort(&self, laid: &Laid, of: Of) -> Vec<f64> {
        if self.stays.is_empty() {
            let worth = |c: &super::CoveredCell| c.swept_m2.max(0.0) * (1.0 - (1.0 - self.stated).powf(c.passes.max(1.0)));
            return self.covered.cells.iter().map(worth).collect();
        }
        let (d, days) = self.renewal.map_or((self.stated, None), |r| (r.found_per_pass, r.days));
        let mut finds = vec![0.0; self.outings.len()];
        for outing in laid.finds.iter().filter(|f| of.takes(f.weight)).filter_map(|f| self.outings.get(&f.outing)) {
            finds[*outing] += 1.0;
        }
        let mut ground = vec![0.0; self.outings.len()];
        self.each(d, days, |stay, effort| ground[stay.outing] += effort);
        let shrinkage = Shrinkage::of(&finds, &ground).filter(|s| s.mean > 0.0);
        let rates: Vec<f64> = finds.iter().zip(&ground).map(|(n, g)| shrinkage.map_or(1.0, |s| s.rate(*n, *g))).collect();
        let mut effort = vec![0.0; self.covered.cells.len()];
        self.each(d, days, |stay, worth| effort[stay.cell] += rates[stay.outing] * worth);
        effort
    }
}
