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

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::book::Uid;
use crate::chance::Shrinkage;
use crate::reading::given::{Covered, CoveredCell, Ground, PlacedFinds, Visits, WeightChoice};
use crate::reading::params::Params;

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
pub(in crate::reading) struct Weighing<'a> {
    covered: &'a Covered,
    visits: &'a Visits<'a>,
    /// In order of cell and then of time.
    stays: Vec<Stay>,
    /// The stay that each visit belongs to, [`NO_STAY`] for none.
    stay_of: Vec<u32>,
    stated: f64,
    pub(in crate::reading) renewal: Option<Renewal>,
}

const NO_STAY: u32 = u32::MAX;

impl<'a> Weighing<'a> {
    /// Finds how ground renews itself. `of_square` tells the cell of each square and `of_find` that of
    /// each find, both of `cell_m` metres: finer than a receiver's error nothing can be told.
    pub(in crate::reading) fn new(
        ground: &Ground<'a>,
        visits: &'a Visits<'a>,
        laid: &PlacedFinds,
        params: &Params,
        cell_m: f64,
        of_square: &[Option<usize>],
        of_find: &[Option<usize>],
    ) -> Option<Self> {
        let covered = ground.covered?;
        let day_of = |outing: &Option<Uid>| {
            let outing = outing.and_then(|o| ground.book.outings().get(&o));
            outing.map_or(f64::NAN, |o| o.start.as_second() as f64 / 86_400.0)
        };
        let day_of: Vec<f64> = visits.outings().iter().map(day_of).collect();
        let mut squares: Vec<(usize, usize)> = of_square.iter().enumerate().filter_map(|(n, cell)| Some(((*cell)?, n))).collect();
        squares.sort_unstable();
        let of_cells: Vec<&[(usize, usize)]> = squares.chunk_by(|a, b| a.0 == b.0).collect();
        let in_cell = |squares: &&[(usize, usize)]| stays_in(squares, visits, &day_of, cell_m * cell_m);
        let in_cells: Vec<StaysOf> = of_cells.par_iter().map(in_cell).collect();
        let mut stays = Vec::with_capacity(in_cells.iter().map(|(own, _)| own.len()).sum());
        let mut stay_of = vec![NO_STAY; covered.visits.len()];
        for (own, of_visits) in in_cells {
            of_visits.into_iter().for_each(|(visit, stay)| stay_of[visit as usize] = stays.len() as u32 + stay);
            stays.extend(own);
        }
        let mut weighing = Self { covered, visits, stays, stay_of, stated: params.detection_per_pass, renewal: None };
        let found =
            laid.finds.iter().zip(of_find).filter_map(|(f, cell)| weighing.stay_at((*cell)?, f.outing)).collect::<Vec<_>>();
        weighing.renewal = weighing.likeliest(&found);
        Some(weighing)
    }

    /// The stay of an outing in a cell.
    fn stay_at(&self, cell: usize, outing: Option<Uid>) -> Option<usize> {
        let outing = self.visits.number_of(outing)?;
        let first = self.stays.partition_point(|s| s.cell < cell);
        let own = self.stays[first..].iter().take_while(|s| s.cell == cell).position(|s| s.outing == outing)?;
        Some(first + own)
    }

    /// Of the stays in which finds were made, the pair that makes their places likeliest.
    fn likeliest(&self, finds: &[usize]) -> Option<Renewal> {
        if finds.len() < LEAST_FINDS {
            return None;
        }
        let pairs: Vec<(f64, Option<f64>)> = FOUND_PER_PASS.iter().flat_map(|d| DAYS.map(|t| (*d, t))).collect();
        let log_likelihood = |(d, days): &(f64, Option<f64>)| {
            let worth = self.worth(*d, *days);
            let mut by_outing = vec![0.0; self.visits.outings().len()];
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
    pub(in crate::reading) fn effort(&self, laid: &PlacedFinds, of: WeightChoice) -> Vec<f64> {
        if self.stays.is_empty() {
            let worth = |c: &CoveredCell| c.swept_m2.max(0.0) * (1.0 - (1.0 - self.stated).powf(c.passes.max(1.0)));
            return self.covered.cells.iter().map(worth).collect();
        }
        let (d, days) = self.renewal.map_or((self.stated, None), |r| (r.found_per_pass, r.days));
        let mut finds = vec![0.0; self.visits.outings().len()];
        for outing in laid.finds.iter().filter(|f| of.takes(f.weight)).filter_map(|f| self.visits.number_of(f.outing)) {
            finds[outing] += 1.0;
        }
        let worth = self.worth(d, days);
        let mut ground = vec![0.0; self.visits.outings().len()];
        self.stays.iter().zip(&worth).for_each(|(s, w)| ground[s.outing] += w);
        let shrinkage = Shrinkage::from_counts(&finds, &ground).filter(|s| s.mean > 0.0);
        let rates: Vec<f64> = finds.iter().zip(&ground).map(|(n, g)| shrinkage.map_or(1.0, |s| s.rate(*n, *g))).collect();
        let mut effort = vec![0.0; self.covered.cells.len()];
        for (visit, n) in self.covered.visits.iter().zip(&self.stay_of) {
            if let Some(stay) = self.stays.get(*n as usize) {
                let share = if stay.swept_m2 > 0.0 { visit.swept_m2 / stay.swept_m2 } else { 0.0 };
                effort[visit.cell] += rates[stay.outing] * worth[*n as usize] * share;
            }
        }
        effort
    }
}

/// Stays, and for each visit the stay it belongs to.
type StaysOf = (Vec<Stay>, Vec<(u32, u32)>);

/// What each outing did in one cell, in order of time, and to which of these each visit belongs.
fn stays_in(squares: &[(usize, usize)], visits: &Visits, day_of: &[f64], cell_m2: f64) -> StaysOf {
    // Each visit with its outing and the ground it passed over.
    let mut order: Vec<(usize, u32, f64)> = Vec::new();
    for (_, square) in squares {
        let passes = visits.passes_each(*square).min(20.0);
        order.extend(visits.numbers(*square).iter().map(|n| {
            let (outing, visit) = visits.get(*n);
            (outing, *n, visit.swept_m2 * passes / cell_m2)
        }));
    }
    order.sort_unstable_by(|a, b| day_of[a.0].total_cmp(&day_of[b.0]).then(a.0.cmp(&b.0)).then(a.1.cmp(&b.1)));
    let mut stays: Vec<Stay> = Vec::new();
    let mut of_visits = Vec::with_capacity(order.len());
    let cell = squares.first().map_or(0, |s| s.0);
    for (outing, n, passed) in order {
        if stays.last().is_none_or(|s| s.outing != outing) {
            stays.push(Stay { cell, outing, day: day_of[outing], swept_m2: 0.0, passed: 0.0 });
        }
        if let Some(stay) = stays.last_mut() {
            stay.swept_m2 += visits.get(n).1.swept_m2;
            stay.passed += passed;
        }
        of_visits.push((n, stays.len() as u32 - 1));
    }
    (stays, of_visits)
}
