//! The rate of finds cell by cell, drawn towards the beach's own mean: the figures behind [`super::Cells`], behind
//! the pictures of the ground and behind forecasts.
//!
//! A cell with one find on 5 m² is not four times as rich as the beach; it is hardly known. And ground that was
//! searched on good days looks rich. So finds of outing j in cell k are taken as Poisson of mean a_j r_k E_jk, with
//! both the day's effect a_j and the cell's rate r_k gamma (see [`Shapes`] and [`Shrinkage`]; Marshall 1991); each is
//! drawn in turn towards its mean given the other until they agree. O((stays + cells) x rounds).

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::Progress;
use crate::chance::{COVERAGE, Group, Shapes, Shrinkage, poisson_interval};
use crate::reading::error::ReadingError;
use crate::reading::exposure::{Exposed, Exposure, KnownGround};
use crate::reading::given::{Covered, CoveredCell, Ground, PlacedFinds, WeightChoice};
use crate::reading::params::Params;
use crate::shore::ShorePoint;

/// One cell of ground that was swept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CellRate {
    /// Its place along the shore: its middle lies at `(column + 0.5) * cell_m`.
    pub column: i64,
    /// Its place across the shore.
    pub row: i64,
    /// Ground swept in it at least once, m².
    pub swept_m2: f64,
    /// Exposure of all outings, each by what its day gave elsewhere, m² of rested ground.
    pub exposure_m2: f64,
    /// Finds counted in it; those set apart are not.
    pub finds: u32,
    /// Finds per 100 m² of a visit to rested ground, drawn towards the mean of all cells.
    pub per_100m2: f64,
    /// Lower end of that rate's 95 % interval.
    pub low: f64,
    /// Upper end of that rate's 95 % interval.
    pub high: f64,
}

impl CellRate {
    /// Width of the interval, finds per 100 m².
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}

/// The rates of every cell that was swept.
#[derive(Debug, Clone, PartialEq)]
pub struct CellRates {
    /// Side of a cell, metres.
    pub cell_m: f64,
    /// The cells, by row and column.
    pub cells: Vec<CellRate>,
    /// The mean rate that they are drawn towards, finds per 100 m².
    pub mean_per_100m2: f64,
    /// How the rates of cells differ, finds per m².
    pub(in crate::reading) shrinkage: Shrinkage,
    /// How much outings differ beyond what the cells they searched explain.
    pub(in crate::reading) shapes: Shapes,
    /// What each outing did: cell, exposure, finds.
    pub(in crate::reading) stays: Vec<Vec<InCell>>,
    /// The effect of each outing.
    pub(in crate::reading) effects: Vec<f64>,
}

/// What one outing did in one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::reading) struct InCell {
    pub(in crate::reading) cell: u32,
    pub(in crate::reading) exposure_m2: f64,
    pub(in crate::reading) finds: f64,
}

/// Rounds after which the effects of outings and the rates of cells agree to well below what is shown.
const ROUNDS: usize = 12;

impl CellRates {
    /// The rates of some finds of a beach on cells of `cell_m`; `known` is what stands on its ground covered. `None`
    /// where no ground was swept.
    ///
    /// # Errors
    /// As [`read`](crate::reading::read).
    pub fn read(
        ground: &Ground,
        known: &KnownGround,
        of: WeightChoice,
        cell_m: f64,
        params: &Params,
        progress: &Progress,
    ) -> Result<Option<Self>, ReadingError> {
        params.check()?;
        let ground = &known.told_apart(ground);
        let Some(covered) = ground.covered else { return Ok(None) };
        let laid = ground.lay()?;
        progress.check()?;
        let visits = known.visits(covered);
        let Some(exposed) = Exposed::new(ground, &laid, &visits, known, params) else { return Ok(None) };
        progress.check()?;
        Ok(Self::fitted(&exposed.beside(&visits), &laid, of, cell_m))
    }

    /// The rates of some finds on cells of `cell_m`. `None` where no ground was swept.
    pub(in crate::reading) fn fitted(exposure: &Exposure, laid: &PlacedFinds, of: WeightChoice, cell_m: f64) -> Option<Self> {
        let visits = exposure.visits;
        let mut swept: BTreeMap<(i64, i64), f64> = BTreeMap::new();
        let places: Vec<Option<(i64, i64)>> = (0..visits.squares())
            .map(|n| {
                let place = place(visits.middle(n), cell_m).filter(|_| visits.swept_m2(n) > 0.0)?;
                *swept.entry(place).or_default() += visits.swept_m2(n);
                Some(place)
            })
            .collect();
        let number: BTreeMap<(i64, i64), u32> = swept.keys().zip(0..).map(|(p, n)| (*p, n)).collect();
        let of_square: Vec<Option<u32>> = places.into_par_iter().map(|p| number.get(&p?).copied()).collect();
        let stays = stays(exposure, laid, of, &of_square);
        let groups: Vec<Group> = stays.iter().map(|own| group(own, |_| 1.0)).collect();
        let mut fit = Fit::even(&groups, swept.len());
        for _ in 0..ROUNDS {
            fit.improve(&stays, swept.len());
        }
        let Fit { shrinkage, shapes, effects, counts, exposures, .. } = fit;
        // Many cells share a count and are swept all over; the quantiles are what takes time.
        let key = |n: usize| (counts[n].to_bits(), (exposures[n] as f32).to_bits());
        let alike: BTreeSet<(u64, u32)> = (0..counts.len()).map(key).collect();
        let interval = |key: (u64, u32)| (key, interval(shrinkage, f64::from_bits(key.0), f64::from(f32::from_bits(key.1))));
        let known: BTreeMap<(u64, u32), (f64, f64)> = alike.into_par_iter().map(interval).collect();
        let cells = swept.into_iter().enumerate().map(|(n, ((row, column), swept_m2))| {
            let rate = shrinkage.rate(counts[n], exposures[n]);
            let (low, high) = known.get(&key(n)).copied().unwrap_or((rate, rate));
            CellRate {
                column,
                row,
                swept_m2,
                exposure_m2: exposures[n],
                finds: counts[n] as u32,
                per_100m2: 100.0 * rate,
                low: 100.0 * low.min(rate),
                high: 100.0 * high.max(rate),
            }
        });
        let mean_per_100m2 = 100.0 * shrinkage.mean;
        Some(Self { cell_m, cells: cells.collect(), mean_per_100m2, shrinkage, shapes, stays, effects })
            .filter(|r| !r.cells.is_empty())
    }

    /// The cell at a place, if it was swept.
    pub fn at(&self, s: ShorePoint) -> Option<&CellRate> {
        self.number_at(s).and_then(|n| self.cells.get(n))
    }

    /// Where the cell at a place stands among [`CellRates::cells`], if it was swept.
    pub(in crate::reading) fn number_at(&self, s: ShorePoint) -> Option<usize> {
        let place = place(s, self.cell_m)?;
        self.cells.binary_search_by_key(&place, |c| (c.row, c.column)).ok()
    }
}

/// What each outing did in each cell, cells in order.
fn stays(exposure: &Exposure, laid: &PlacedFinds, of: WeightChoice, of_square: &[Option<u32>]) -> Vec<Vec<InCell>> {
    let mut pieces: Vec<Vec<InCell>> = vec![Vec::new(); exposure.outings()];
    for (square, cell) in of_square.iter().enumerate().filter_map(|(n, c)| Some((n, (*c)?))) {
        let exposures = &exposure.of_visit[exposure.visits.numbers(square)];
        for (visit, m2) in exposure.visits.to(square).iter().zip(exposures) {
            let (own, exposure_m2) = (&mut pieces[visit.outing as usize], f64::from(*m2));
            // Squares side by side mostly lie in one cell.
            match own.last_mut().filter(|last| last.cell == cell) {
                Some(last) => last.exposure_m2 += exposure_m2,
                None => own.push(InCell { cell, exposure_m2, finds: 0.0 }),
            }
        }
    }
    for (find, at) in laid.finds.iter().zip(&exposure.of_find) {
        if let Some((cell, at)) = at.and_then(|at| Some((of_square[at.square as usize]?, at)))
            && of.takes(find.weight)
        {
            pieces[at.outing as usize].push(InCell { cell, exposure_m2: 0.0, finds: 1.0 });
        }
    }
    pieces.into_par_iter().map(added_up).collect()
}

/// What an outing did, in order of cell and each cell once; without those in which it has no exposure.
fn added_up(mut own: Vec<InCell>) -> Vec<InCell> {
    // In the order in which they came, so that the same pieces give the same sums to the last digit.
    own.sort_by_key(|s| s.cell);
    own.dedup_by(|next, kept| {
        let same = next.cell == kept.cell;
        if same {
            kept.exposure_m2 += next.exposure_m2;
            kept.finds += next.finds;
        }
        same
    });
    own.retain(|s| s.exposure_m2 > 0.0);
    own
}

/// An outing's finds against what `rate` of each cell would give.
pub(in crate::reading) fn group(stays: &[InCell], rate: impl Fn(u32) -> f64) -> Group {
    stays.iter().fold(Group::default(), |g, s| Group::new(g.count + s.finds, g.exposure + rate(s.cell) * s.exposure_m2))
}

/// Effects of outings and rates of cells on their way to agreeing.
struct Fit {
    shrinkage: Shrinkage,
    shapes: Shapes,
    effects: Vec<f64>,
    counts: Vec<f64>,
    exposures: Vec<f64>,
}

impl Fit {
    /// All cells alike and all days alike.
    fn even(groups: &[Group], cells: usize) -> Self {
        let (n, e) = groups.iter().fold((0.0, 0.0), |(n, e), g| (n + g.count, e + g.exposure));
        let shrinkage = Shrinkage { mean: if e > 0.0 { n / e } else { 0.0 }, variance: 0.0 };
        let effects = vec![1.0; groups.len()];
        Self { shrinkage, shapes: Shapes::default(), effects, counts: vec![0.0; cells], exposures: vec![0.0; cells] }
    }

    fn improve(&mut self, stays: &[Vec<InCell>], cells: usize) {
        self.counts = vec![0.0; cells];
        self.exposures = vec![0.0; cells];
        for (own, effect) in stays.iter().zip(&self.effects) {
            for s in own {
                self.counts[s.cell as usize] += s.finds;
                self.exposures[s.cell as usize] += effect * s.exposure_m2;
            }
        }
        let Some(shrinkage) = Shrinkage::from_counts(&self.counts, &self.exposures) else { return };
        self.shrinkage = shrinkage;
        let rates: Vec<f64> = self.counts.iter().zip(&self.exposures).map(|(n, e)| shrinkage.rate(*n, *e)).collect();
        let groups: Vec<Group> = stays.iter().map(|own| group(own, |cell| rates[cell as usize])).collect();
        self.shapes = Shapes::from_groups(&groups);
        let phi = self.shapes.phi();
        self.effects = groups.iter().map(|g| (g.count + phi) / (g.exposure + phi)).collect();
    }
}

/// The interval of a cell's rate, finds per m²: that of its posterior or, where nothing tells the cells apart
/// and there is no prior, of its own count, widened to hold the mean.
fn interval(shrinkage: Shrinkage, finds: f64, exposure_m2: f64) -> (f64, f64) {
    if shrinkage.variance > 0.0 && shrinkage.mean > 0.0 {
        return shrinkage.interval(finds, exposure_m2);
    }
    let (low, high) = poisson_interval(finds, COVERAGE);
    let exposure_m2 = exposure_m2.max(1e-9);
    ((low / exposure_m2).min(shrinkage.mean), (high / exposure_m2).max(shrinkage.mean))
}

/// Row and column of a place.
fn place(s: ShorePoint, cell_m: f64) -> Option<(i64, i64)> {
    let index = |v: f64| v.is_finite().then(|| (v / cell_m).floor() as i64);
    index(s.across_m).zip(index(s.along_m))
}

/// The side of cells no more than `most` of which were swept: `cell_m`, or half as long again until they fit.
pub(in crate::reading) fn side_for(covered: &Covered, mut cell_m: f64, most: usize) -> f64 {
    let swept = || covered.cells.iter().filter(|c| c.swept_m2 > 0.0);
    let place_of = |c: &CoveredCell, cell_m: f64| place(ShorePoint::new(c.along_m, c.across_m), cell_m);
    while swept().filter_map(|c| place_of(c, cell_m)).collect::<BTreeSet<_>>().len() > most {
        cell_m *= 1.5;
    }
    cell_m
}
