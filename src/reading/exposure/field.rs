//! The ground covered, laid out on cells by the shore.

use crate::reading::given::{Covered, CoveredCell};
use crate::shore::ShorePoint;

/// Coarser cells are taken when there would be more than this many.
const MOST_CELLS: usize = 6000;

/// Ground swept on a grid by the shore.
pub(in crate::reading) struct Field {
    pub(in crate::reading) cell_m: f64,
    corner: ShorePoint,
    along_count: usize,
    pub(in crate::reading) across_count: usize,
    pub(in crate::reading) swept_m2: Vec<f64>,
    /// The cell each square of the ground covered lies in.
    pub(in crate::reading) of_square: Vec<Option<usize>>,
}

impl Field {
    pub(in crate::reading) fn new(covered: &Covered, scan_cell_m: f64) -> Option<Self> {
        let usable = || covered.cells.iter().filter(|c| c.swept_m2 > 0.0 && c.along_m.is_finite() && c.across_m.is_finite());
        let range = |of: fn(&CoveredCell) -> f64| {
            usable().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((from, to), (back, front)) = (range(|c| c.along_m), range(|c| c.across_m));
        if from > to {
            return None;
        }
        let mut cell_m = scan_cell_m.max(covered.cell_m);
        loop {
            let index = |v: f64, low: f64| ((v - low) / cell_m) as usize;
            let (along_count, across_count) = (index(to, from) + 1, index(front, back) + 1);
            let count = along_count.saturating_mul(across_count);
            // A stray cell far off would make the grid huge though few cells hold effort.
            if count <= 40 * MOST_CELLS {
                let mut swept_m2 = vec![0.0; count];
                let cell = |c: &CoveredCell| index(c.along_m, from) * across_count + index(c.across_m, back);
                let is_usable = |c: &CoveredCell| c.swept_m2 > 0.0 && c.along_m.is_finite() && c.across_m.is_finite();
                let of_square: Vec<_> = covered.cells.iter().map(|c| is_usable(c).then(|| cell(c))).collect();
                for (c, n) in covered.cells.iter().zip(&of_square) {
                    if let Some(n) = n {
                        swept_m2[*n] += c.swept_m2;
                    }
                }
                if swept_m2.iter().filter(|e| **e > 0.0).count() <= MOST_CELLS {
                    let corner = ShorePoint::new(from, back);
                    return Some(Self { cell_m, corner, along_count, across_count, swept_m2, of_square });
                }
            }
            cell_m *= 1.25;
        }
    }

    pub(in crate::reading) fn middle(&self, n: usize) -> ShorePoint {
        let (a, b) = (n / self.across_count, n % self.across_count);
        ShorePoint::new(
            self.corner.along_m + (a as f64 + 0.5) * self.cell_m,
            self.corner.across_m + (b as f64 + 0.5) * self.cell_m,
        )
    }

    /// The cell that a place lies in or, as receivers err by some metres, the nearest next to it; `None` where no ground
    /// was swept.
    pub(in crate::reading) fn cell_at(&self, s: ShorePoint) -> Option<usize> {
        let near = self.around(s, 1);
        let half = 0.5 * self.cell_m + 1e-9;
        let own = near.iter().find(|(_, n)| {
            let m = self.middle(*n);
            (m.along_m - s.along_m).abs() <= half && (m.across_m - s.across_m).abs() <= half
        });
        own.or(near.first()).map(|(_, n)| *n)
    }

    /// Cells with effort in the square of cells round a place, nearest first.
    pub(in crate::reading) fn around(&self, s: ShorePoint, reach: i64) -> Vec<(f64, usize)> {
        let index = |v: f64, low: f64| ((v - low) / self.cell_m).floor() as i64;
        let (a, b) = (index(s.along_m, self.corner.along_m), index(s.across_m, self.corner.across_m));
        let mut near = Vec::new();
        for i in (a - reach).max(0)..(a + reach + 1).min(self.along_count as i64) {
            for j in (b - reach).max(0)..(b + reach + 1).min(self.across_count as i64) {
                let n = i as usize * self.across_count + j as usize;
                if self.swept_m2[n] > 0.0 {
                    let m = self.middle(n);
                    near.push(((m.along_m - s.along_m).hypot(m.across_m - s.across_m), n));
                }
            }
        }
        near.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        near
    }
}

/// The numbers of the finds in each cell.
pub(in crate::reading) fn by_cell(cell_of: &[Option<usize>], cells: usize) -> Vec<Vec<usize>> {
    let mut by_cell = vec![Vec::new(); cells];
    for (n, cell) in cell_of.iter().enumerate() {
        if let Some(finds) = cell.and_then(|c| by_cell.get_mut(c)) {
            finds.push(n);
        }
    }
    by_cell
}

/// The finds in some cells, in their own order.
pub(in crate::reading) fn finds_in(cells: &[usize], by_cell: &[Vec<usize>]) -> impl Iterator<Item = usize> {
    let mut finds: Vec<usize> = cells.iter().flat_map(|c| &by_cell[*c]).copied().collect();
    finds.sort_unstable();
    finds.into_iter()
}
