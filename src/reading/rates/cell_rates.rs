//! The rate of finds cell by cell, drawn towards the beach's own mean: the figures behind
//! [`super::Cells`] and behind the pictures of the ground.
//!
//! A cell with one find on 5 m² is not four times as rich as the beach; it is hardly known. Each
//! cell's rate is the mean of its gamma posterior, the prior taken from all cells (Marshall 1991, see
//! [`Shrinkage`]), and its interval the posterior's; where the cells do not differ by more than
//! counting explains, each has the exact interval of its own count. O(squares + finds).

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::chance::{COVERAGE, Shrinkage, poisson_interval};
use crate::reading::given::{Covered, CoveredCell};
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
    /// Finds made in it.
    pub finds: u32,
    /// Finds per 100 m² swept, drawn towards the mean of all cells.
    pub rate_per_100m2: f64,
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
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellRates {
    /// Side of a cell, metres.
    pub cell_m: f64,
    /// The cells, by row and column.
    pub cells: Vec<CellRate>,
    /// The mean rate that they are drawn towards, finds per 100 m².
    pub mean_per_100m2: f64,
    /// Finds where no ground was swept; they are in no cell.
    pub off_ground: usize,
}

impl CellRates {
    /// The rates of finds at these places on cells of `cell_m`. `None` where no ground was swept.
    pub fn from_finds(covered: &Covered, finds: impl IntoIterator<Item = ShorePoint>, cell_m: f64) -> Option<Self> {
        let mut cells: BTreeMap<(i64, i64), (f64, u32)> = BTreeMap::new();
        for c in covered.cells.iter().filter(|c| c.swept_m2 > 0.0) {
            if let Some(place) = place_of(c, cell_m) {
                cells.entry(place).or_default().0 += c.swept_m2;
            }
        }
        let mut off_ground = 0;
        for s in finds {
            match place(s, cell_m).and_then(|p| cells.get_mut(&p)) {
                Some(cell) => cell.1 += 1,
                None => off_ground += 1,
            }
        }
        let (swept, counts): (Vec<f64>, Vec<f64>) = cells.values().map(|(m2, n)| (*m2, f64::from(*n))).unzip();
        let shrinkage = Shrinkage::from_counts(&counts, &swept)?;
        // Many cells share a count and are swept all over; the quantiles are what takes time.
        let alike: BTreeSet<(u32, u64)> = cells.values().map(|(m2, n)| (*n, m2.to_bits())).collect();
        let interval = |key: (u32, u64)| (key, interval(shrinkage, f64::from(key.0), f64::from_bits(key.1)));
        let known: BTreeMap<(u32, u64), (f64, f64)> = alike.into_par_iter().map(interval).collect();
        let cells = cells.into_iter().map(|((row, column), (swept_m2, finds))| {
            let rate = shrinkage.rate(f64::from(finds), swept_m2);
            let (low, high) = known.get(&(finds, swept_m2.to_bits())).copied().unwrap_or((rate, rate));
            CellRate { column, row, swept_m2, finds, rate_per_100m2: 100.0 * rate, low: 100.0 * low, high: 100.0 * high }
        });
        Some(Self { cell_m, cells: cells.collect(), mean_per_100m2: 100.0 * shrinkage.mean, off_ground })
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

/// The interval of a cell's rate, finds per m²: that of its posterior or, where nothing tells the cells apart
/// and there is no prior, of its own count, widened to hold the mean.
fn interval(shrinkage: Shrinkage, finds: f64, swept_m2: f64) -> (f64, f64) {
    if shrinkage.variance > 0.0 && shrinkage.mean > 0.0 {
        return shrinkage.interval(finds, swept_m2);
    }
    let (low, high) = poisson_interval(finds, COVERAGE);
    ((low / swept_m2).min(shrinkage.mean), (high / swept_m2).max(shrinkage.mean))
}

/// Row and column of a place.
fn place(s: ShorePoint, cell_m: f64) -> Option<(i64, i64)> {
    let index = |v: f64| v.is_finite().then(|| (v / cell_m).floor() as i64);
    index(s.across_m).zip(index(s.along_m))
}

fn place_of(c: &CoveredCell, cell_m: f64) -> Option<(i64, i64)> {
    place(ShorePoint::new(c.along_m, c.across_m), cell_m)
}

/// The side of cells no more than `most` of which were swept: `cell_m`, or half as long again until they fit.
pub(in crate::reading) fn side_for(covered: &Covered, mut cell_m: f64, most: usize) -> f64 {
    let swept = || covered.cells.iter().filter(|c| c.swept_m2 > 0.0);
    while swept().filter_map(|c| place_of(c, cell_m)).collect::<BTreeSet<_>>().len() > most {
        cell_m *= 1.5;
    }
    cell_m
}

#[cfg(test)]
mod tests {
    use super::*;

    fn covered(cells: &[(f64, f64, f64)]) -> Covered {
        let cell = |(along_m, across_m, swept_m2): &(f64, f64, f64)| CoveredCell {
            along_m: *along_m,
            across_m: *across_m,
            swept_m2: *swept_m2,
            passes: 1.0,
        };
        Covered { cell_m: 10.0, cells: cells.iter().map(cell).collect(), visits: Vec::new(), searched: Vec::new() }
    }

    #[test]
    fn ground_hardly_swept_stays_near_the_mean_and_ground_well_swept_near_its_own() {
        let ground = covered(&[(5.0, 5.0, 100.0), (15.0, 5.0, 100.0), (25.0, 5.0, 100.0), (35.0, 5.0, 1.0)]);
        let places = |n: usize, along: f64| std::iter::repeat_n(ShorePoint::new(along, 5.0), n);
        let finds = places(30, 5.0).chain(places(2, 15.0)).chain(places(3, 25.0)).chain(places(1, 35.0)).chain(places(4, 95.0));
        let rates = CellRates::from_finds(&ground, finds, 10.0).unwrap();
        assert_eq!((rates.cells.len(), rates.off_ground), (4, 4));
        let at = |along: f64| *rates.at(ShorePoint::new(along, 1.0)).unwrap();
        assert!((at(5.0).rate_per_100m2 - 30.0).abs() < 3.0, "{:?}", at(5.0));
        let thin = at(35.0);
        assert!(thin.rate_per_100m2 < 35.0, "one find on 1 m² is a hundred per 100 m² by itself: {thin:?}");
        assert!(thin.width() > 2.0 * at(15.0).width());
        assert!(rates.cells.iter().all(|c| c.low <= c.rate_per_100m2 && c.rate_per_100m2 <= c.high));
        assert!(rates.at(ShorePoint::new(95.0, 5.0)).is_none(), "never swept");
    }

    #[test]
    fn squares_add_up_within_a_cell_and_no_ground_is_no_rate() {
        let ground = covered(&[(1.0, 1.0, 1.0), (2.0, 2.0, 0.5), (-1.0, 1.0, 0.25)]);
        let rates = CellRates::from_finds(&ground, [ShorePoint::new(1.0, 1.0)], 10.0).unwrap();
        let sums: Vec<_> = rates.cells.iter().map(|c| (c.column, c.row, c.swept_m2, c.finds)).collect();
        assert_eq!(sums, [(-1, 0, 0.25, 0), (0, 0, 1.5, 1)]);
        assert!(CellRates::from_finds(&covered(&[]), [], 10.0).is_none());
        // No find on 100 m²: up to 3.69 per 100 m² by Garwood's interval (scipy 1.17.1: chi2.ppf(0.975, 2) / 2 = 3.6889).
        let bare = CellRates::from_finds(&covered(&[(5.0, 5.0, 100.0)]), [], 10.0).unwrap();
        assert!((bare.cells[0].width() - 3.6889).abs() < 1e-3, "{:?}", bare.cells[0]);
    }
    #[test]
    fn cells_grow_until_there_are_few_enough() {
        let strip: Vec<(f64, f64, f64)> = (0..100).map(|n| (10.0 * f64::from(n) + 5.0, 5.0, 50.0)).collect();
        let ground = covered(&strip);
        assert_eq!(side_for(&ground, 10.0, 100), 10.0);
        let side = side_for(&ground, 10.0, 40);
        assert_eq!(side, 33.75);
        assert!(CellRates::from_finds(&ground, [], side).unwrap().cells.len() <= 40);
    }
}
