//! Least-squares fit of a line that never falls, by pooling adjacent violators.
//!
//! Ayer, Brunk, Ewing, Reid & Silverman (1955), *An empirical distribution function for sampling with
//! incomplete information*; Barlow, Bartholomew, Bremner & Brunk (1972), *Statistical inference under
//! order restrictions*. Points at one x are first merged into their weighted mean. Between the x of the
//! points the line is straight. O(n log n) for the sorting, linear after that.

/// A line that never falls.
#[derive(Debug, Clone, PartialEq)]
pub struct Isotonic {
    /// The distinct x, rising, each with its fitted y.
    knots: Vec<(f64, f64)>,
}

/// Points at one x or pooled, with their weight.
struct Block {
    mean: f64,
    weight: f64,
    knots: usize,
}

impl Isotonic {
    /// Fits points `(x, y, weight)`. Those with a weight that is not above zero, or with a figure that is
    /// not finite, are left out; `None` when none is left.
    pub fn fit(points: &[(f64, f64, f64)]) -> Option<Self> {
        let mut points: Vec<_> =
            points.iter().copied().filter(|(x, y, w)| x.is_finite() && y.is_finite() && w.is_finite() && *w > 0.0).collect();
        points.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut xs = Vec::new();
        let mut blocks: Vec<Block> = Vec::new();
        for same in points.chunk_by(|a, b| a.0 == b.0) {
            let weight: f64 = same.iter().map(|p| p.2).sum();
            let mean = same.iter().map(|p| p.1 * p.2).sum::<f64>() / weight;
            xs.extend(same.first().map(|p| p.0));
            blocks.push(Block { mean, weight, knots: 1 });
            while let [.., before, last] = blocks.as_mut_slice()
                && before.mean >= last.mean
            {
                let weight = before.weight + last.weight;
                before.mean = (before.mean * before.weight + last.mean * last.weight) / weight;
                before.weight = weight;
                before.knots += last.knots;
                blocks.pop();
            }
        }
        let ys = blocks.iter().flat_map(|b| std::iter::repeat_n(b.mean, b.knots));
        let knots: Vec<_> = xs.into_iter().zip(ys).collect();
        (!knots.is_empty()).then_some(Self { knots })
    }

    /// The distinct x of the points, rising, each with its fitted y.
    pub fn knots(&self) -> &[(f64, f64)] {
        &self.knots
    }

    /// The y of the line at x; before the first point and after the last the line runs level.
    pub fn at(&self, x: f64) -> f64 {
        let after = self.knots.partition_point(|k| k.0 < x);
        let (before, after) = (after.checked_sub(1).and_then(|n| self.knots.get(n)), self.knots.get(after));
        match (before, after) {
            (Some(a), Some(b)) => a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0),
            (Some(only), None) | (None, Some(only)) => only.1,
            (None, None) => f64::NAN,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fitted(points: &[(f64, f64)]) -> Vec<f64> {
        let weighed: Vec<_> = points.iter().map(|p| (p.0, p.1, 1.0)).collect();
        Isotonic::fit(&weighed).unwrap().knots().iter().map(|k| k.1).collect()
    }

    #[test]
    fn pools_what_falls_and_keeps_what_rises() {
        assert_eq!(fitted(&[(1.0, 1.0), (2.0, 3.0), (3.0, 2.0), (4.0, 4.0)]), [1.0, 2.5, 2.5, 4.0]);
        assert_eq!(fitted(&[(1.0, 3.0), (2.0, 2.0), (3.0, 1.0)]), [2.0, 2.0, 2.0]);
        assert_eq!(fitted(&[(2.0, 5.0), (2.0, 7.0)]), [6.0]);
    }

    #[test]
    fn runs_straight_between_points_and_level_beyond() {
        let line = Isotonic::fit(&[(0.0, 0.0, 1.0), (2.0, 4.0, 1.0)]).unwrap();
        assert_eq!([line.at(-1.0), line.at(0.5), line.at(2.0), line.at(9.0)], [0.0, 1.0, 4.0, 4.0]);
    }

    #[test]
    fn nothing_to_fit_is_no_line() {
        assert_eq!(Isotonic::fit(&[]), None);
        assert_eq!(Isotonic::fit(&[(1.0, f64::NAN, 1.0), (1.0, 2.0, 0.0)]), None);
    }
}
