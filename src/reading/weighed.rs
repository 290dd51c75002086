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
use crate::book::Uid;

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
/// As many times are tried side by side: half of [`DAYS`].
const SIDE_BY_SIDE: usize = 4;
/// With fewer finds than this the stated chance per pass is taken, and nothing comes back.
const LEAST_FINDS: usize = 60;

/// One visit made ready.
#[derive(Clone, Copy)]
struct Stay {
    /// Which outing; [`NOWHERE`] for a visit to no square.
    outing: u32,
    /// Which place with finds; [`NO_FINDS`], or [`NOWHERE`] outside the field.
    place: u32,
}

const NOWHERE: u32 = u32::MAX;
const NO_FINDS: u32 = u32::MAX - 1;

/// The ground covered, ready to be weighed for any choice of finds.
pub(super) struct Weighing<'a> {
    covered: &'a Covered,
    /// One for each visit, in their order.
    stays: Vec<Stay>,
    outings: BTreeMap<Option<Uid>, u32>,
    /// When each outing began, days; NaN where unknown.
    days: Vec<f64>,
    /// Passes of each visit to a square: those over a square are known in all, each visit is given its share.
    passes: Vec<f64>,
    stated: f64,
    pub(super) renewal: Option<Renewal>,
    /// What each visit is worth: finds it would have given at the rate of its outing, in m² of fresh ground.
    worth: Vec<f64>,
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
        let mut outings: BTreeMap<Option<Uid>, u32> = BTreeMap::new();
        let mut days = Vec::new();
        let mut visited = vec![0.0; covered.cells.len()];
        let mut last = None;
        let numbers: Vec<u32> = covered
            .visits
            .iter()
            .map(|v| {
                let Some(m2) = visited.get_mut(v.cell) else { return NOWHERE };
                *m2 += v.swept_m2;
                // Neighbours were mostly swept on the same outing.
                if let Some((outing, number)) = last
                    && outing == v.outing
                {
                    return number;
                }
                let next = outings.len() as u32;
                let number = *outings.entry(v.outing).or_insert(next);
                if number == next {
                    let start = v.outing.and_then(|o| ground.book.outings().get(&o)).map(|o| o.start.as_second() as f64);
                    days.push(start.map_or(f64::NAN, |s| s / 86_400.0));
                }
                last = Some((v.outing, number));
                number
            })
            .collect();
        // A place is an outing and a coarse cell; only those where something was found are told apart.
        let place = |(f, cell): (&super::ground::Placed, &Option<usize>)| Some((*outings.get(&f.outing)?, (*cell)?));
        let of_finds: Vec<(u32, usize)> = laid.finds.iter().zip(of_find).filter_map(place).collect();
        let mut places = of_finds.clone();
        places.par_sort_unstable();
        places.dedup();
        let stay = |(v, outing): (&super::Visit, &u32)| {
            let cell = of_square.get(v.cell).copied().flatten();
            let found = |c| places.binary_search(&(*outing, c)).map_or(NO_FINDS, |n| n as u32);
            Stay { outing: *outing, place: cell.map_or(NOWHERE, found) }
        };
        let stays: Vec<Stay> = covered.visits.par_iter().zip(&numbers).with_min_len(4096).map(stay).collect();
        let mut swept = vec![false; places.len()];
        for stay in &stays {
            if let Some(swept) = swept.get_mut(stay.place as usize) {
                *swept = true;
            }
        }
        let of_finds: Vec<(u32, u32)> = of_finds
            .iter()
            .filter_map(|place| Some((places.binary_search(place).ok()? as u32, place.0)))
            .filter(|(n, _)| swept[*n as usize])
            .collect();
        let passes = covered.cells.iter().zip(&visited).map(|(c, m2)| (c.passes * c.swept_m2 / m2).clamp(1.0, 20.0)).collect();
        let stated = params.detection_per_pass;
        let mut weighing = Self { covered, stays, outings, days, passes, stated, renewal: None, worth: Vec::new() };
        weighing.renewal = weighing.likeliest(places.len(), &of_finds);
        let (d, days) = weighing.renewal.map_or((stated, None), |r| (r.found_per_pass, r.days));
        let mut worth = vec![0.0; weighing.stays.len()];
        weighing.each(d, &[days], |n, _, [m2]| worth[n] = m2);
        weighing.worth = worth;
        weighing
    }

    /// The likeliest pair for finds, each given by its place and outing.
    fn likeliest(&self, places: usize, finds: &[(u32, u32)]) -> Option<Renewal> {
        if finds.len() < LEAST_FINDS {
            return None;
        }
        let (some, others) = DAYS.split_at(SIDE_BY_SIDE);
        let (some, others) = (some.first_chunk::<SIDE_BY_SIDE>()?, others.first_chunk::<SIDE_BY_SIDE>()?);
        let sets: Vec<(f64, &[Option<f64>; SIDE_BY_SIDE])> =
            FOUND_PER_PASS.iter().flat_map(|d| [some, others].map(|days| (*d, days))).collect();
        let log_likelihood = |(d, days): &(f64, &[Option<f64>; SIDE_BY_SIDE])| {
            let (mut by_place, mut by_outing) =
                (vec![[0.0; SIDE_BY_SIDE]; places], vec![[0.0; SIDE_BY_SIDE]; self.outings.len()]);
            self.each(*d, days, |_, stay, efforts| {
                if stay.place == NOWHERE {
                    return;
                }
                let add = |sums: &mut [f64; SIDE_BY_SIDE]| sums.iter_mut().zip(efforts).for_each(|(sum, e)| *sum += e);
                add(&mut by_outing[stay.outing as usize]);
                by_place.get_mut(stay.place as usize).into_iter().for_each(add);
            });
            let of_finds = |k: usize| {
                let chance = |(place, outing): &(u32, u32)| {
                    (by_place[*place as usize][k].max(1e-12) / by_outing[*outing as usize][k].max(1e-12)).ln()
                };
                finds.iter().map(chance).sum::<f64>()
            };
            std::array::from_fn::<f64, SIDE_BY_SIDE, _>(of_finds)
        };
        let scores: Vec<f64> = sets.par_iter().flat_map_iter(log_likelihood).collect();
        let best = (0..scores.len()).max_by(|a, b| scores[*a].total_cmp(&scores[*b]))?;
        let (found_per_pass, days) = sets[best / SIDE_BY_SIDE];
        Some(Renewal { found_per_pass, days: days[best % SIDE_BY_SIDE], finds: finds.len() })
    }

    /// Every visit to a square with its effort for each of some times: ground x what was left of the
    /// stock x the share its passes find.
    fn each<const N: usize>(&self, d: f64, days: &[Option<f64>; N], mut take: impl FnMut(usize, &Stay, [f64; N])) {
        let square_m2 = self.covered.cell_m * self.covered.cell_m;
        let (mut cell, mut stock, mut day, mut found) = (usize::MAX, [1.0; N], 0.0, 0.0);
        for (n, (v, stay)) in self.covered.visits.iter().zip(&self.stays).enumerate().filter(|(_, (_, s))| s.outing != NOWHERE) {
            let now = self.days[stay.outing as usize];
            if v.cell != cell {
                (cell, stock, day) = (v.cell, [1.0; N], now);
                found = 1.0 - (1.0 - d).powf(self.passes[cell]);
            }
            let since = (now - day).max(0.0);
            let share = (v.swept_m2 / square_m2).clamp(0.0, 1.0) * found;
            let mut efforts = [0.0; N];
            for ((stock, effort), days) in stock.iter_mut().zip(&mut efforts).zip(days) {
                // An outing without a date leaves the stock as it is (a comparison with NaN is false).
                if since > 0.0
                    && let Some(days) = days
                {
                    *stock = 1.0 - (1.0 - *stock) * (-since / days).exp();
                }
                *effort = v.swept_m2 * *stock * found;
                *stock *= 1.0 - share;
            }
            take(n, stay, efforts);
            if now.is_finite() {
                day = now;
            }
        }
    }

    /// For each square of the ground covered, effort in proportion to the finds it would give by
    /// chance.
    pub(super) fn effort(&self, laid: &Laid, of: Of) -> Vec<f64> {
        let known = || self.covered.visits.iter().zip(&self.stays).zip(&self.worth).filter(|((_, s), _)| s.outing != NOWHERE);
        if known().next().is_none() {
            let worth = |c: &super::CoveredCell| c.swept_m2.max(0.0) * (1.0 - (1.0 - self.stated).powf(c.passes.max(1.0)));
            return self.covered.cells.iter().map(worth).collect();
        }
        let mut finds = vec![0.0; self.outings.len()];
        for outing in laid.finds.iter().filter(|f| of.takes(f.weight)).filter_map(|f| self.outings.get(&f.outing)) {
            finds[*outing as usize] += 1.0;
        }
        let mut ground = vec![0.0; self.outings.len()];
        known().for_each(|((_, stay), worth)| ground[stay.outing as usize] += worth);
        let shrinkage = Shrinkage::of(&finds, &ground).filter(|s| s.mean > 0.0);
        let rates: Vec<f64> = finds.iter().zip(&ground).map(|(n, g)| shrinkage.map_or(1.0, |s| s.rate(*n, *g))).collect();
        let mut effort = vec![0.0; self.covered.cells.len()];
        known().for_each(|((v, stay), worth)| effort[v.cell] += rates[stay.outing as usize] * worth);
        effort
    }
}
