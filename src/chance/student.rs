//! Student's t: what a mean of few values is worth, and how far a value may lie from it.
//!
//! Means have the interval of Student (1908), *The probable error of a mean*; the difference of two that of Welch
//! (1947), *The generalization of "Student's" problem when several different population variances are involved*.

use serde::{Deserialize, Serialize};
use statrs::distribution::{Continuous as _, ContinuousCDF as _, StudentsT};

use super::COVERAGE;
use super::normal::normal_quantile;

/// From so many degrees of freedom on the quantile is taken from the normal's: the library's loses digits there.
const MANY_DF: f64 = 1000.0;

/// The value below which Student's t falls with chance `p`; NaN without degrees of freedom.
///
/// Where they abound, the expansion about the normal's quantile of Abramowitz & Stegun, *Handbook of mathematical
/// functions*, 26.7.5, whose error goes with their inverse fourth power.
pub fn student_quantile(p: f64, df: f64) -> f64 {
    if df <= MANY_DF {
        return StudentsT::new(0.0, 1.0, df).map_or(f64::NAN, |t| t.inverse_cdf(p));
    }
    let z = normal_quantile(p);
    let g1 = (z.powi(3) + z) / 4.0;
    let g2 = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
    let g3 = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
    z + g1 / df + g2 / df.powi(2) + g3 / df.powi(3)
}

/// From so many degrees of freedom on the density is the normal's.
const NORMAL_DF: f64 = 1e6;

/// Logarithm of the density of Student's t at `x`, about `centre` and scaled by the root of `variance`; the normal's
/// where degrees of freedom abound.
pub fn student_ln_density(x: f64, centre: f64, variance: f64, df: f64) -> f64 {
    let z2 = (x - centre).powi(2) / variance;
    match StudentsT::new(0.0, 1.0, df) {
        Ok(t) if df < NORMAL_DF => t.ln_pdf(z2.sqrt()) - 0.5 * variance.ln(),
        _ => -0.5 * (z2 + (2.0 * std::f64::consts::PI * variance).ln()),
    }
}

/// A mean with its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Mean {
    /// The mean.
    pub mean: f64,
    /// Lower end of the interval.
    pub low: f64,
    /// Upper end of the interval.
    pub high: f64,
}

impl Mean {
    /// The mean of some values; `None` of fewer than two.
    pub fn from_values(values: &[f64]) -> Option<Self> {
        let (mean, error2) = moments(values)?;
        Self::with_error(mean, error2, values.len() as f64 - 1.0)
    }

    /// How much greater the mean of `now` is than that of `before`, with Welch's interval; `None` where either has
    /// fewer than two values.
    pub fn difference(before: &[f64], now: &[f64]) -> Option<Self> {
        let ((a, ea), (b, eb)) = (moments(before)?, moments(now)?);
        let (na, nb) = (before.len() as f64 - 1.0, now.len() as f64 - 1.0);
        let freedom = if ea + eb > 0.0 { (ea + eb).powi(2) / (ea * ea / na + eb * eb / nb) } else { na + nb };
        Self::with_error(b - a, ea + eb, freedom)
    }

    /// A mean whose squared error is known from so many degrees of freedom.
    fn with_error(mean: f64, error2: f64, freedom: f64) -> Option<Self> {
        if error2 <= 0.0 {
            return Some(Self { mean, low: mean, high: mean });
        }
        let half = student_quantile(0.5 + 0.5 * COVERAGE, freedom) * error2.sqrt();
        half.is_finite().then_some(Self { mean, low: mean - half, high: mean + half })
    }
}

/// Mean and squared error of the mean.
fn moments(values: &[f64]) -> Option<(f64, f64)> {
    if values.len() < 2 {
        return None;
    }
    let n = values.len() as f64;
    let mean = values.iter().sum::<f64>() / n;
    let spread = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1.0);
    Some((mean, spread / n))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17.1: `t.ppf(p, df)`, `t.logpdf(x, df, loc=centre, scale=sqrt(variance))`.
    #[test]
    fn quantiles_and_densities_agree_with_scipy() {
        let quantiles = [
            (0.975, 8.0, 2.306_004_135_204),
            (0.975, 10.0, 2.228_138_851_986),
            (0.975, 28.0, 2.048_407_141_795),
            (0.975, 100.0, 1.983_971_518_524),
            (0.95, 1.0, 6.313_751_514_675),
            (0.975, 2.5, 3.574_654_842_004),
            (0.3, 4.0, -0.568_649_063_050),
            (0.95, 500.0, 1.647_906_853_930),
            (0.975, 1000.0, 1.962_339_080_826),
            (0.975, 1001.0, 1.962_336_705_281),
            (0.999, 2000.0, 3.094_312_298_329),
            (0.975, 1e5, 1.959_987_707_535),
            // `norm.ppf`.
            (0.975, f64::INFINITY, 1.959_963_984_540),
        ];
        for (p, df, want) in quantiles {
            assert!((student_quantile(p, df) - want).abs() < 1e-9 * want.abs().max(1.0), "{p} {df} {}", student_quantile(p, df));
        }
        assert!(student_quantile(0.975, 0.0).is_nan() && student_quantile(0.975, f64::NAN).is_nan());
        let densities = [
            (1.3, 0.2, 2.5, 4.5, -1.713_133_363_177),
            (-3.0, 1.0, 0.5, 30.0, -11.832_720_287_534),
            (0.0, 0.0, 1.0, 1.0, -1.144_729_885_849),
        ];
        for (x, centre, variance, df, want) in densities {
            assert!((student_ln_density(x, centre, variance, df) - want).abs() < 1e-9, "{x} {df}");
        }
    }

    /// Values by scipy 1.17.1: `ttest_1samp(x, 0).confidence_interval()`,
    /// `ttest_ind(y, x, equal_var=False).confidence_interval()`.
    #[test]
    fn intervals_agree_with_scipy() {
        let x = [0.12, 0.31, -0.05, 0.22, 0.18, 0.09];
        let y = [0.41, 0.28, 0.55, 0.37];
        let close = |got: f64, want: f64| assert!((got - want).abs() < 1e-9, "{got} instead of {want}");
        let m = Mean::from_values(&x).unwrap();
        close(m.low, 0.01582986138971207);
        close(m.high, 0.27417013861028794);
        let d = Mean::difference(&x, &y).unwrap();
        close(d.mean, 0.257_5);
        close(d.low, 0.07938753270756216);
        close(d.high, 0.43561246729243774);
        assert!(Mean::from_values(&[1.0]).is_none() && Mean::difference(&[1.0], &y).is_none());
        assert_eq!(Mean::from_values(&[2.0, 2.0]).unwrap().high, 2.0);
    }
}
