//! A second opinion on hot spots: the Gi* score of each cell's rate among those round it.

use std::collections::BTreeMap;

use crate::chance::{Shrinkage, getis_ord};
use crate::reading::exposure::Field;

/// The Gi* score looks this far round, metres.
const REACH_M: f64 = 12.0;

/// Gi* of the rates drawn towards their mean, for each cell; 0 where nothing was searched.
pub(super) fn gi_star(field: &Field, finds: &[u32], exposure: &[f64]) -> Vec<f64> {
    let cells: Vec<usize> = (0..exposure.len()).filter(|n| exposure[*n] > 0.0).collect();
    let number: BTreeMap<usize, usize> = cells.iter().enumerate().map(|(k, n)| (*n, k)).collect();
    let counts: Vec<f64> = cells.iter().map(|n| f64::from(finds[*n])).collect();
    let exposed: Vec<f64> = cells.iter().map(|n| exposure[*n]).collect();
    let mut scores = vec![0.0; exposure.len()];
    let Some(shrinkage) = Shrinkage::from_counts(&counts, &exposed) else { return scores };
    let rates: Vec<f64> = counts.iter().zip(&exposed).map(|(n, e)| shrinkage.rate(*n, *e)).collect();
    let reach = (REACH_M / field.cell_m).ceil().max(1.0);
    let near = |n: usize| {
        let around = field.around(field.middle(n), reach as i64).into_iter();
        around.filter(|(d, m)| *m != n && *d <= reach * field.cell_m).filter_map(|(_, m)| number.get(&m).copied()).collect()
    };
    let near: Vec<Vec<usize>> = cells.iter().map(|n| near(*n)).collect();
    for (n, z) in cells.iter().zip(getis_ord(&rates, &near)) {
        scores[*n] = z;
    }
    scores
}
