//! Rates on a grid along and across the shore, and by kind.
//!
//! A small square's own rate is mostly luck, so it is also drawn towards the mean of the beach:
//! Gamma-Poisson empirical Bayes with the moments of Marshall (1991), see [`Shrinkage`]. O(cells + finds).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::cluster::KindCount;
use super::ground::Laid;
use super::outings::Outings;
use super::{Counts, Ground, Params, Rate, Shrinkage};
use crate::book::Kind;
use crate::shore::ShorePoint;

/// What one square of the beach gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct CellReading {
    /// Its middle, metres along.
    pub along_m: f64,
    /// Its middle, metres across.
    pub across_m: f64,
    /// Finds in it, by weight.
    #[serde(flatten)]
    pub counts: Counts,
    /// Signals left undug in it.
    pub signals: usize,
    /// Ground in it swept at least once, m².
    pub swept_m2: f64,
    /// Ground swept by an outing where an earlier one had been, m²; each outing counts.
    pub again_m2: f64,
    /// Finds per 100 m² swept, drawn towards the mean of the beach.
    pub drawn_per_100m2: f64,
    /// Lower end of its 95 % interval.
    pub low: f64,
    /// Upper end of its 95 % interval.
    pub high: f64,
}

/// What one kind gave.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KindReading {
    /// The kind.
    pub kind: Kind,
    /// How many were found.
    pub finds: usize,
    /// Finds of it per 100 m² swept.
    pub rate: Option<Rate>,
}

/// The squares on which ground was swept, and the side they have, metres.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Cells {
    /// Side of a square, metres; coarser than asked for where there would be too many.
    pub cell_m: f64,
    /// Mean rate of all of them, finds per 100 m².
    pub mean_per_100m2: f64,
    /// The squares, by along and then by across.
    pub cells: Vec<CellReading>,
}

/// No more squares than this are told.
const MOST_CELLS: usize = 20_000;

#[derive(Default)]
struct Sum {
    swept_m2: f64,
    again_m2: f64,
    finds: Vec<usize>,
    signals: usize,
}

/// Lays what was found, heard and swept on a grid.
pub(super) fn cells(ground: &Ground, laid: &Laid, params: &Params) -> Cells {
    let Some((shore, covered)) = ground.shore().zip(ground.covered) else { return Cells::default() };
    let mut cell_m = params.rate_cell_m.max(covered.cell_m);
    let sums = loop {
        let key = |s: ShorePoint| ((s.along_m / cell_m).floor() as i64, (s.across_m / cell_m).floor() as i64);
        let mut sums: BTreeMap<(i64, i64), Sum> = BTreeMap::new();
        for c in covered.cells.iter().filter(|c| c.swept_m2 > 0.0) {
            sums.entry(key(ShorePoint::new(c.along_m, c.across_m))).or_default().swept_m2 += c.swept_m2;
        }
        if sums.len() > MOST_CELLS {
            cell_m *= 1.5;
            continue;
        }
        for v in &covered.visits {
            if let Some(c) = covered.cells.get(v.cell)
                && let Some(sum) = sums.get_mut(&key(ShorePoint::new(c.along_m, c.across_m)))
            {
                sum.again_m2 += (v.swept_m2 - v.fresh_m2).max(0.0);
            }
        }
        for (n, find) in laid.finds.iter().enumerate() {
            if let Some(sum) = sums.get_mut(&key(shore.to_shore(find.at))) {
                sum.finds.push(n);
            }
        }
        for signal in &laid.signals {
            if let Some(sum) = sums.get_mut(&key(shore.to_shore(signal.at))) {
                sum.signals += 1;
            }
        }
        break sums;
    };
    let finds: Vec<f64> = sums.values().map(|s| s.finds.len() as f64).collect();
    let swept: Vec<f64> = sums.values().map(|s| s.swept_m2).collect();
    let Some(shrinkage) = Shrinkage::of(&finds, &swept) else { return Cells::default() };
    let cell = |((a, b), s): (&(i64, i64), &Sum)| {
        let n = s.finds.len() as f64;
        let (low, high) = shrinkage.interval(n, s.swept_m2);
        CellReading {
            along_m: (*a as f64 + 0.5) * cell_m,
            across_m: (*b as f64 + 0.5) * cell_m,
            counts: Counts::of(s.finds.iter().map(|n| &laid.finds[*n])),
            signals: s.signals,
            swept_m2: s.swept_m2,
            again_m2: s.again_m2,
            drawn_per_100m2: 100.0 * shrinkage.rate(n, s.swept_m2),
            low: 100.0 * low,
            high: 100.0 * high,
        }
    };
    Cells { cell_m, mean_per_100m2: 100.0 * shrinkage.mean, cells: sums.iter().map(cell).collect() }
}

/// Rates by kind, most frequent first: of finds whose outing's ground is known or, where outings are
/// not told apart, of all.
pub(super) fn kinds(ground: &Ground, laid: &Laid, outings: &Outings) -> Vec<KindReading> {
    let known = outings.all.is_empty();
    let members: Vec<_> = laid.finds.iter().zip(&outings.of_find).filter(|(_, o)| known || o.is_some()).map(|(f, _)| f).collect();
    let swept_m2 = ground.covered.map(|c| c.swept_m2());
    let reading = |KindCount { kind, finds }| {
        let rate = swept_m2.and_then(|m2| Rate::new(finds as f64, m2));
        KindReading { kind, finds, rate }
    };
    super::cluster::kinds_of(&members).into_iter().map(reading).collect()
}
