//! Rates of many places, each drawn towards their mean by as much as it is little known itself.

use serde::{Deserialize, Serialize};

use super::COVERAGE;
use super::gamma::gamma_quantile;

/// The spread of rates over places, and what each place's own rate is worth against it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shrinkage {
    /// Mean rate, counts per unit of exposure.
    pub mean: f64,
    /// Variance of the true rates between places, beyond what counting gives; 0 when there is none.
    pub variance: f64,
}

impl Shrinkage {
    /// Moments of the rates of many places: Marshall (1991), *Mapping disease and mortality rates
    /// using empirical Bayes estimators*, global. `None` without exposure. A variance that comes out
    /// negative is none at all: every place is then given the mean.
    pub fn from_counts(counts: &[f64], exposures: &[f64]) -> Option<Self> {
        let exposure: f64 = exposures.iter().sum();
        if exposure <= 0.0 || !exposure.is_finite() {
            return None;
        }
        let mean = counts.iter().sum::<f64>() / exposure;
        let places = exposures.iter().filter(|a| **a > 0.0).count() as f64;
        let spread: f64 = counts.iter().zip(exposures).filter(|(_, a)| **a > 0.0).map(|(n, a)| a * (n / a - mean).powi(2)).sum();
        Some(Self { mean, variance: (spread / exposure - mean / (exposure / places)).max(0.0) })
    }

    /// The rate of a place drawn towards the mean, per unit of exposure: the mean of the gamma posterior.
    pub fn rate(self, count: f64, exposure: f64) -> f64 {
        if self.variance <= 0.0 || exposure <= 0.0 {
            return self.mean;
        }
        let weight = self.variance / (self.variance + self.mean / exposure);
        weight * count / exposure + (1.0 - weight) * self.mean
    }

    /// The 95 % interval of that rate, per unit of exposure: gamma quantiles of the posterior.
    pub fn interval(self, count: f64, exposure: f64) -> (f64, f64) {
        if self.variance <= 0.0 || self.mean <= 0.0 {
            return (self.mean, self.mean);
        }
        let (shape, rate) = (self.mean * self.mean / self.variance + count, self.mean / self.variance + exposure);
        let tail = 0.5 * (1.0 - COVERAGE);
        (gamma_quantile(shape, tail) / rate, gamma_quantile(shape, 1.0 - tail) / rate)
    }
}
