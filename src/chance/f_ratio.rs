//! The F distribution: the ratio of two variances of normal samples.

use statrs::distribution::{ContinuousCDF as _, FisherSnedecor};
use statrs::function::beta::ln_beta;

/// The value below which an F variable of `d1` and `d2` degrees of freedom falls with chance `p`. `None` unless
/// both are above zero.
pub fn f_quantile(p: f64, d1: f64, d2: f64) -> Option<f64> {
    Some(FisherSnedecor::new(d1, d2).ok()?.inverse_cdf(p))
}

/// Logarithm of the F density at `x`, reckoned in logarithms: powers of the degrees of freedom overflow.
pub fn f_ln_density(x: f64, d1: f64, d2: f64) -> f64 {
    let (h1, h2) = (0.5 * d1, 0.5 * d2);
    h1 * (d1 / d2).ln() + (h1 - 1.0) * x.ln() - (h1 + h2) * (d1 * x / d2).ln_1p() - ln_beta(h1, h2)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1: `f.ppf(p, d1, d2)` and `f.logpdf(x, d1, d2)`.
    #[test]
    fn quantiles_and_densities_agree_with_scipy() {
        let quantiles =
            [(0.975, 12.0, 20.0, 2.675_830_618_682), (0.025, 12.0, 20.0, 0.325_438_994_372), (0.5, 1.5, 7.0, 0.670_768_555_534)];
        for (p, d1, d2, want) in quantiles {
            assert!((f_quantile(p, d1, d2).unwrap() - want).abs() < 1e-6, "{p} {d1} {d2}");
        }
        let densities =
            [(0.7, 12.0, 20.0, -0.148_886_247_123), (3.0, 2.0, 150.0, -2.980_774_199_649), (1.0, 1.5, 7.0, -1.270_294_468_412)];
        for (x, d1, d2, want) in densities {
            assert!((f_ln_density(x, d1, d2) - want).abs() < 1e-9, "{x} {d1} {d2}");
        }
        assert!(f_quantile(0.5, 0.0, 3.0).is_none());
    }
}
