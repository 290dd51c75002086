//! The beach's own trend from its upper edge to its lower: what changes smoothly across the shore is told by the
//! bands, and is no spot. (Lines need no such allowance: they are told only where finds are heavier than the ground's.)
//!
//! Within each outing finds fall on cells in proportion to exposure times exp(s u + t u^2), with u the place across, or
//! the level, from -1 to 1. s and t are the likeliest given the outings' totals, so that good and bad days do not matter,
//! with a normal prior of mean 0 ([`PRIOR_SD`]) that keeps few finds from bending it. Newton's steps; O(stays) each.

use super::grid::ExposureGrid;

/// Standard deviation of both coefficients before anything is seen: from one edge of the ground to the other rates may
/// well differ by a factor of three (this project's judgement, no published source).
const PRIOR_SD: f64 = 0.6;

/// Scales the exposure of every cell by the trend across it, so that even ground gives evenly.
pub(super) fn allow_for_trend(grid: &mut ExposureGrid) {
    let across_count = grid.across_count;
    let searched = grid.weighed(|_| 1.0);
    let columns = || searched.iter().enumerate().filter(|(_, e)| **e > 0.0).map(|(n, _)| n % across_count);
    let (Some(low), Some(high)) = (columns().min(), columns().max()) else { return };
    if high - low < 2 {
        return;
    }
    let middle = 0.5 * (low + high) as f64;
    let terms = |cell: u32| {
        let u = ((cell as usize % across_count) as f64 - middle) / (0.5 * (high - low) as f64);
        [u, u * u - 1.0 / 3.0]
    };
    let mut found = vec![0.0; grid.outings.len()];
    let mut sum = [0.0; 2];
    for (outing, cell) in &grid.finds {
        found[*outing as usize] += 1.0;
        let t = terms(*cell);
        (sum[0], sum[1]) = (sum[0] + t[0], sum[1] + t[1]);
    }
    let mut by = [0.0_f64; 2];
    for _ in 0..12 {
        let mut slope = [sum[0] - by[0] / (PRIOR_SD * PRIOR_SD), sum[1] - by[1] / (PRIOR_SD * PRIOR_SD)];
        let mut bend = [1.0 / (PRIOR_SD * PRIOR_SD), 0.0, 1.0 / (PRIOR_SD * PRIOR_SD)];
        for (own, count) in grid.outings.iter().zip(&found).filter(|(own, count)| **count > 0.0 && !own.is_empty()) {
            let mut moments = [0.0; 6];
            for (cell, m2) in own {
                let t = terms(*cell);
                let weight = f64::from(*m2) * (by[0] * t[0] + by[1] * t[1]).exp();
                let of = [1.0, t[0], t[1], t[0] * t[0], t[0] * t[1], t[1] * t[1]];
                moments.iter_mut().zip(of).for_each(|(m, v)| *m += weight * v);
            }
            let [all, a, b, aa, ab, bb] = moments;
            let (a, b) = (a / all, b / all);
            (slope[0], slope[1]) = (slope[0] - count * a, slope[1] - count * b);
            bend[0] += count * (aa / all - a * a);
            bend[1] += count * (ab / all - a * b);
            bend[2] += count * (bb / all - b * b);
        }
        let whole = bend[0] * bend[2] - bend[1] * bend[1];
        let step = [(bend[2] * slope[0] - bend[1] * slope[1]) / whole, (bend[0] * slope[1] - bend[1] * slope[0]) / whole];
        if !step.iter().all(|s| s.is_finite()) {
            return;
        }
        by = [(by[0] + step[0].clamp(-0.5, 0.5)).clamp(-3.0, 3.0), (by[1] + step[1].clamp(-0.5, 0.5)).clamp(-3.0, 3.0)];
        if step.iter().all(|s| s.abs() < 1e-6) {
            break;
        }
    }
    for (cell, m2) in grid.outings.iter_mut().flatten() {
        let t = terms(*cell);
        *m2 *= (by[0] * t[0] + by[1] * t[1]).exp() as f32;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Finds laid exactly in proportion to exposure times a trend: what is left is even to within the prior's pull.
    #[test]
    fn a_trend_is_found_whatever_the_days_and_taken_out() {
        let across = 21;
        let rate = |cell: u32| (0.8 * (f64::from(cell % across) - 10.0) / 10.0).exp();
        let pieces = (0..4).flat_map(|o| (0..10 * across).map(move |c| (o, c, 1.0 + 3.0 * ((c / across) % 2) as f32)));
        let mut grid = ExposureGrid::new(across as usize, 10 * across as usize, 4, pieces, std::iter::empty());
        // Days that differ by a factor of eight.
        for (outing, own) in grid.outings.clone().iter().enumerate() {
            for (cell, m2) in own {
                let count = (f64::from(*m2) * rate(*cell) * f64::from(1 << outing)).round() as usize;
                grid.finds.extend(std::iter::repeat_n((outing as u32, *cell), count));
            }
        }
        let before = grid.weighed(|_| 1.0);
        allow_for_trend(&mut grid);
        let after = grid.weighed(|_| 1.0);
        let times = |cell: u32| after[cell as usize] / before[cell as usize];
        let told = (times(20) / times(0)).ln();
        assert!((told - 1.6).abs() < 0.06, "{told}");
        assert!((times(20 + across) / times(20) - 1.0).abs() < 1e-6, "the same at every place along");
    }

    #[test]
    fn without_finds_or_width_nothing_changes() {
        let pieces = (0..40).map(|c| (0, c, 2.0));
        for across in [40, 2] {
            let mut grid = ExposureGrid::new(across, 40, 1, pieces.clone(), std::iter::empty());
            allow_for_trend(&mut grid);
            assert!(grid.outings[0].iter().all(|c| (c.1 - 2.0).abs() < 1e-6));
        }
    }
}
