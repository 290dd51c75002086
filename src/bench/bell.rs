//! One bell curve: targets lie about a kind's centre, and passes about their target, the more widely the deeper.
//!
//! The mean of a series is Student's t about the centre, its variance that of the targets, of the passes at its
//! depth over their count, and of the centre itself; how the numbers scatter about their mean is a multivariate t
//! of its own (Gelman et al., *Bayesian data analysis*, on the normal model with conjugate prior).

use std::f64::consts::PI;

use statrs::function::gamma::ln_gamma;

use super::series::Series;
use crate::chance::{Variance, student_ln_density};

/// A bell curve for one kind.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bell {
    pub(super) centre: f64,
    pub(super) centre_variance: f64,
    /// Of targets about the centre.
    pub(super) targets: Variance,
    /// Of passes about their target, at the set-up's usual depth.
    pub(super) passes: Variance,
    /// The passes' spread goes as exp(growth × depth).
    pub(super) growth_per_m: f64,
}

impl Bell {
    /// Logarithm of the density of a series read `beyond_m` below the usual depth.
    pub(super) fn ln_density(&self, series: &Series, beyond_m: f64) -> f64 {
        let pass2 = self.passes.value * (2.0 * self.growth_per_m * beyond_m).clamp(-8.0, 8.0).exp();
        let variance = self.targets.value + pass2 / series.count + self.centre_variance;
        student_ln_density(series.mean, self.centre, variance, self.targets.df) - 0.5 * series.count.ln()
            + scatter_ln_density(series, pass2, self.passes.df)
    }
}

/// Logarithm of the density with which a series scatters about its own mean, when one pass has the variance `pass2`
/// with `df` degrees of freedom.
pub(super) fn scatter_ln_density(series: &Series, pass2: f64, df: f64) -> f64 {
    let free = series.count - 1.0;
    if free < 1.0 {
        return 0.0;
    }
    let half = 0.5 * (df + free);
    ln_gamma(half) - ln_gamma(0.5 * df) - 0.5 * free * (df * PI * pass2).ln() - half * (series.squares / (df * pass2)).ln_1p()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1: `multivariate_t.logpdf(x, shape=2.5 * I, df=7)` of as many coordinates as there are passes but one.
    #[test]
    fn the_scatter_is_a_multivariate_t() {
        let two = Series::from_numbers(vec![10.0, 13.0]);
        assert!((scatter_ln_density(&two, 2.5, 7.0) - -2.328_045_806_2).abs() < 1e-6, "{}", scatter_ln_density(&two, 2.5, 7.0));
        assert_eq!(scatter_ln_density(&Series::from_numbers(vec![10.0]), 2.5, 7.0), 0.0);
    }
}
