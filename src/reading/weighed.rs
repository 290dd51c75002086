//! What effort is worth: how many finds each square would have given on a beach of even rate.
//!
//! Ground swept again gives less than fresh ground, but not nothing, as the sea and people bring
//! more; and what an outing gives depends on the season and the storms before it as much as on the
//! place. Both are taken from the person's own outings, so that neither coming back often nor coming
//! at a good time makes a place look rich:
//!
//! 1. Each cell of the scan holds a stock, 1 before it was first swept. A receiver errs by more than a
//!    swath is wide, so which lanes lay on which cannot be known, and a cell of area A over which the
//!    coil passed P counts as searched at random: 1 - exp(-d P / A) of what is left in it is found
//!    (Koopman 1946, *Search and Screening*; from memory). Afterwards the stock fills up again
//!    towards 1 with a time constant. The chance
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

/// What one outing did in one cell of the scan.
struct Stay {
    cell: usize,
    outing: usize,
    day: f64,
    swept_m2: f64,
    /// Ground passed over in areas of the cell, every pass counted.
    passed: f64,
}

/// The ground covered, ready to be weighed for any choice of finds.
pub(super) struct Weighing<'a> {
    covered: &'a Covered,
    /// In order of cell and then of time.
    stays: Vec<Stay>,
    /// The stay that each visit belongs to.
    stay_of: Vec<Option<usize>>,
    outings: BTreeMap<Option<crate::book::Uid>, usize>,
    stated: f64,
    pub(super) renewal: Option<Renewal>,
}

impl<'a> Weighing<'a> {
    /// Finds how ground renews itself. `of_square` tells the cell of each square and `of_find` that of
    /// each find, both of `cell_m` metres: finer than a receiver's error nothing can be told.
    pub(super) fn new(
        ground: &Ground,
        covered: &'a Covered,
        laid: &Laid,
        params: &Params,
        cell_m: f64,
        of_square: &[Option<usize>],
        of_find: &[Option<usize>],
    ) -> Self {
        let mut outings = BTreeMap::new();
        for v in &covered.visits {
            let next = outings.len();
            outings.entry(v.outing).or_insert(next);
        }
        let mut day_of = vec![f64::NAN; outings.len()];
        for (outing, n) in &outings {
            if let Some(outing) = outing.and_then(|o| ground.book.outings().get(&o)) {
                day_of[*n] = outing.start.as_second() as f64 / 86_400.0;
            }
        }
        let mut visited = vec![0.0; covered.cells.len()];
        for v in &covered.visits {
            if let Some(m2) = visited.get_mut(v.cell) {
                *m2 += v.swept_m2;
            }
        }
        // Each visit with its cell and outing, those of one stay together and in order of time.
        let key = |v: &super::Visit| Some((of_square.get(v.cell).copied().flatten()?, *outings.get(&v.outing)?));
        let mut order: Vec<(usize, usize, usize)> =
            covered.visits.iter().enumerate().filter_map(|(n, v)| key(v).map(|(cell, outing)| (cell, outing, n))).collect();
        order.sort_unstable_by(|a, b| {
            a.0.cmp(&b.0).then(day_of[a.1].total_cmp(&day_of[b.1])).then(a.1.cmp(&b.1)).then(a.2.cmp(&b.2))
        });
        let mut stays: Vec<Stay> = Vec::new();
        let mut stay_of = vec![None; covered.visits.len()];
        for (cell, outing, n) in order {
            let v = &covered.visits[n];
            // The passes over a square are known in all; each visit is given its share.
            let square = &covered.cells[v.cell];
            let all_m2 = visited[v.cell];
            let passes = if all_m2 > 0.0 { (square.passes * square.swept_m2 / all_m2).clamp(1.0, 20.0) } else { 1.0 };
            if stays.last().is_none_or(|s| (s.cell, s.outing) != (cell, outing)) {
                stays.push(Stay { cell, outing, day: day_of[outing], swept_m2: 0.0, passed: 0.0 });
            }
            if let Some(stay) = stays.last_mut() {
                stay.swept_m2 += v.swept_m2;
                stay.passed += v.swept_m2 * passes / (cell_m * cell_m);
            }
            stay_of[n] = Some(stays.len() - 1);
        }
        let mut weighing = Self { covered, stays, stay_of, outings, stated: params.detection_per_pass, renewal: None };
        let place_of: BTreeMap<(usize, usize), usize> =
            weighing.stays.iter().enumerate().map(|(n, s)| ((s.outing, s.cell), n)).collect();
        let stay = |(f, cell): (&super::ground::Placed, &Option<usize>)| {
            let outing = *weighing.outings.get(&f.outing)?;
            place_of.get(&(outing, (*cell)?)).copied()
        };
        let found: Vec<usize> = laid.finds.iter().zip(of_find).filter_map(stay).collect();
        weighing.renewal = weighing.likeliest(&found);
        weighing
    }

    /// Of the stays in which finds were made, the pair that makes their places likeliest.
    fn likeliest(&self, finds: &[usize]) -> Option<Renewal> {
        if finds.len() < LEAST_FINDS {
            return None;
        }
        let pairs: Vec<(f64, Option<f64>)> = FOUND_PER_PASS.iter().flat_map(|d| DAYS.map(|t| (*d, t))).collect();
        let log_likelihood = |(d, days): &(f64, Option<f64>)| {
            let worth = self.worth(*d, *days);
            let mut by_outing = vec![0.0; self.outings.len()];
            self.stays.iter().zip(&worth).for_each(|(s, w)| by_outing[s.outing] += w);
            let ln_share = |n: &usize| (worth[*n].max(1e-12) / by_outing[self.stays[*n].outing].max(1e-12)).ln();
            finds.iter().map(ln_share).sum::<f64>()
        };
        let scores: Vec<f64> = pairs.par_iter().map(log_likelihood).collect();
        let best = (0..pairs.len()).max_by(|a, b| scores[*a].total_cmp(&scores[*b]))?;
        let (found_per_pass, days) = pairs[best];
        Some(Renewal { found_per_pass, days, finds: finds.len() })
    }

    /// For every stay what it is worth, in areas of a cell: what was left of the stock x the share of it that was found.
    fn worth(&self, d: f64, days: Option<f64>) -> Vec<f64> {
        let (mut cell, mut stock, mut day) = (usize::MAX, 1.0_f64, 0.0);
        let worth = |stay: &Stay| {
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
            let left = (-d * stay.passed).exp();
            let worth = stock * (1.0 - left);
            stock *= left;
            if stay.day.is_finite() {
                day = stay.day;
            }
            worth
        };
        self.stays.iter().map(worth).collect()
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
        let worth = self.worth(d, days);
        let mut ground = vec![0.0; self.outings.len()];
        self.stays.iter().zip(&worth).for_each(|(s, w)| ground[s.outing] += w);
        let shrinkage = Shrinkage::of(&finds, &ground).filter(|s| s.mean > 0.0);
        let rates: Vec<f64> = finds.iter().zip(&ground).map(|(n, g)| shrinkage.map_or(1.0, |s| s.rate(*n, *g))).collect();
        let mut effort = vec![0.0; self.covered.cells.len()];
        for (visit, stay) in self.covered.visits.iter().zip(&self.stay_of) {
            if let Some(n) = *stay {
                let stay = &self.stays[n];
                let share = if stay.swept_m2 > 0.0 { visit.swept_m2 / stay.swept_m2 } else { 0.0 };
                effort[visit.cell] += rates[stay.outing] * worth[n] * share;
            }
        }
        effort
    }
}
