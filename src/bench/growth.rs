//! How the spread of the numbers grows with depth.
//!
//! Over a target at depth d the passes' standard deviation is taken as sigma exp(b (d - d0)), with sigma
//! the kind's own. For normal numbers the variance of a reading with f degrees of freedom is then
//! sigma² g² chi²/f, and with sigma profiled out the log-likelihood of b is concave, so Newton's steps
//! find it. First one b for all kinds, with a weak normal prior about no growth; then each kind's own,
//! drawn towards it by as much as the kinds' b differ beyond their errors ([`variance_between`]).

use crate::chance::{Estimate, variance_between};

/// The scatter of one reading.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scatter {
    /// Depth, metres.
    pub depth_m: f64,
    /// Variance of the passes; above zero.
    pub variance: f64,
    /// Its degrees of freedom: passes less one.
    pub df: f64,
}

/// Growth of spread with depth, per metre: the spread goes as exp(b d).
#[derive(Debug, Clone, PartialEq)]
pub struct Growth {
    /// b of all kinds together.
    pub common_per_m: f64,
    /// b of each kind, in the order given.
    pub per_kind_per_m: Vec<f64>,
    /// Standard deviation of b between kinds.
    pub between_per_m: f64,
}

/// Standard deviation of the prior on b about no growth, per metre: a spread 2.7 times as wide or as narrow
/// at 20 cm is one standard deviation.
const PRIOR_SD_PER_M: f64 = 5.0;

/// Learns the growth from the readings of each kind.
pub fn growth(kinds: &[Vec<Scatter>]) -> Growth {
    let weak = (0.0, PRIOR_SD_PER_M.powi(-2));
    let common = maximum(kinds, weak).0;
    // A kind can speak for itself when it was read at two depths with something to spare.
    let own: Vec<Option<Estimate>> = kinds
        .iter()
        .map(|readings| {
            let one = std::slice::from_ref(readings);
            let (b, information) = maximum(one, weak);
            let told = readings.iter().map(|r| r.df).sum::<f64>() >= 4.0 && information - weak.1 > 1e-6;
            told.then_some(Estimate { value: b, information: information - weak.1 })
        })
        .collect();
    let told: Vec<Estimate> = own.iter().flatten().copied().collect();
    let between2 = variance_between(&told);
    let per_kind = kinds.iter().map(|readings| match between2 {
        v if v > 0.0 => maximum(std::slice::from_ref(readings), (common, 1.0 / v)).0,
        _ => common,
    });
    Growth { common_per_m: common, per_kind_per_m: per_kind.collect(), between_per_m: between2.sqrt() }
}

/// The b that maximises the profile likelihood of these kinds with a normal prior (mean, precision), and
/// the information there.
fn maximum(kinds: &[Vec<Scatter>], (mean, precision): (f64, f64)) -> (f64, f64) {
    let mut b = mean;
    let mut information = precision;
    for _ in 0..100 {
        let mut slope = -precision * (b - mean);
        information = precision;
        for readings in kinds {
            let df: f64 = readings.iter().map(|r| r.df).sum();
            let weight = |r: &Scatter| r.df * r.variance * (-2.0 * b * r.depth_m).exp();
            let all: f64 = readings.iter().map(weight).sum();
            if all <= 0.0 {
                continue;
            }
            let centre = readings.iter().map(|r| weight(r) * r.depth_m).sum::<f64>() / all;
            let spread = readings.iter().map(|r| weight(r) * (r.depth_m - centre).powi(2)).sum::<f64>() / all;
            slope += df * centre - readings.iter().map(|r| r.df * r.depth_m).sum::<f64>();
            information += 2.0 * df * spread;
        }
        // The step is held short: far from the top the curve is not yet a parabola.
        let step = (slope / information).clamp(-5.0, 5.0);
        b += step;
        if step.abs() < 1e-10 {
            break;
        }
    }
    (b, information)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(depth_m: f64, sd: f64) -> Scatter {
        Scatter { depth_m, variance: sd * sd, df: 500.0 }
    }

    #[test]
    fn finds_the_growth_that_was_put_in() {
        let kind = |sigma: f64, b: f64| [0.05, 0.15, 0.25].map(|d| at(d, sigma * (b * d).exp())).to_vec();
        let g = growth(&[kind(1.0, 4.0), kind(3.0, 4.0)]);
        assert!((g.common_per_m - 4.0).abs() < 0.02 && g.between_per_m == 0.0, "{g:?}");
        let g = growth(&[kind(1.0, 1.0), kind(1.0, 9.0), kind(1.0, 5.0)]);
        assert!(g.per_kind_per_m[0] < 1.5 && g.per_kind_per_m[1] > 8.5, "{g:?}");
    }

    #[test]
    fn one_depth_or_nothing_shows_no_growth() {
        assert_eq!(growth(&[]).common_per_m, 0.0);
        assert_eq!(growth(&[vec![], vec![at(0.1, 2.0)]]).per_kind_per_m, [0.0, 0.0]);
    }
}
