//! The rate of finds cell by cell, drawn towards the beach's own mean.
//!
//! A cell with one find on 5 m² is not four times as rich as the beach; it is hardly known. Each
//! cell's rate is the mean of its gamma posterior, the prior taken from all cells (Marshall 1991, see
//! [`Shrinkage`]), and its interval the posterior's; where the cells do not differ by more than
//! counting explains, each has the exact interval of its own count. O(squares + finds).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{COVERAGE, Covered, Shrinkage, poisson_interval};
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
    pub fn of(covered: &Covered, finds: impl IntoIterator<Item = ShorePoint>, cell_m: f64) -> Option<Self> {
        let index = |v: f64| (v / cell_m).floor() as i64;
        let mut cells: BTreeMap<(i64, i64), (f64, u32)> = BTreeMap::new();
        for c in covered.cells.iter().filter(|c| c.swept_m2 > 0.0 && c.along_m.is_finite() && c.across_m.is_finite()) {
            cells.entry((index(c.across_m), index(c.along_m))).or_default().0 += c.swept_m2;
        }
        let mut off_ground = 0;
        for s in finds {
            match cells.get_mut(&(index(s.across_m), index(s.along_m))) {
                Some(cell) => cell.1 += 1,
                None => off_ground += 1,
            }
        }
        let (swept, counts): (Vec<f64>, Vec<f64>) = cells.values().map(|(m2, n)| (*m2, f64::from(*n))).unzip();
        let shrinkage = Shrinkage::of(&counts, &swept)?;
        // Many cells share a count and nearly the same ground; the quantiles are what takes time.
        let mut known: BTreeMap<(u32, i64), (f64, f64)> = BTreeMap::new();
        let cells = cells.into_iter().map(|((row, column), (swept_m2, finds))| {
            let interval = |swept_m2: f64| {
                if shrinkage.variance > 0.0 && shrinkage.mean > 0.0 {
                    return shrinkage.interval(f64::from(finds), swept_m2);
                }
                // Nothing tells the cells apart: each is known by its own count alone.
                let (low, high) = poisson_interval(f64::from(finds), COVERAGE);
                ((low / swept_m2).min(shrinkage.mean), (high / swept_m2).max(shrinkage.mean))
            };
            // Ground to the nearest hundredth of a cell decides the interval's ends to well under 1 %.
            let step = cell_m * cell_m / 100.0;
            let key = (finds, (swept_m2 / step).ceil() as i64);
            let (low, high) = *known.entry(key).or_insert_with(|| interval(key.1 as f64 * step));
            let rate = shrinkage.rate(f64::from(finds), swept_m2);
            CellRate { column, row, swept_m2, finds, rate_per_100m2: 100.0 * rate, low: 100.0 * low, high: 100.0 * high }
        });
        Some(Self { cell_m, cells: cells.collect(), mean_per_100m2: 100.0 * shrinkage.mean, off_ground })
    }

    /// The cell at a place, if it was swept.
    pub fn at(&self, s: ShorePoint) -> Option<&CellRate> {
        let index = |v: f64| (v / self.cell_m).floor() as i64;
        let place = (index(s.across_m), index(s.along_m));
        self.cells.binary_search_by_key(&place, |c| (c.row, c.column)).ok().and_then(|n| self.cells.get(n))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::CoveredCell;

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
        let rates = CellRates::of(&ground, finds, 10.0).unwrap();
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
        let rates = CellRates::of(&ground, [ShorePoint::new(1.0, 1.0)], 10.0).unwrap();
        let sums: Vec<_> = rates.cells.iter().map(|c| (c.column, c.row, c.swept_m2, c.finds)).collect();
        assert_eq!(sums, [(-1, 0, 0.25, 0), (0, 0, 1.5, 1)]);
        assert!(CellRates::of(&covered(&[]), [], 10.0).is_none());
        // No find on 100 m²: up to 3.69 per 100 m² by Garwood's interval (scipy 1.17.1: chi2.ppf(0.975, 2) / 2 = 3.6889).
        let bare = CellRates::of(&covered(&[(5.0, 5.0, 100.0)]), [], 10.0).unwrap();
        assert!((bare.cells[0].width() - 3.6889).abs() < 1e-3, "{:?}", bare.cells[0]);
    }
}
