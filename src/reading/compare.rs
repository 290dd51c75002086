//! Comparing counts: two rates, two shares, and many comparisons at once.

use serde::{Deserialize, Serialize};
use statrs::function::beta::beta_reg;
use statrs::function::gamma::ln_gamma;

/// One rate over another, with its exact interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RateRatio {
    /// The first rate over the second; `None` when the second has no finds.
    pub ratio: Option<f64>,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval; `None` when it is not bounded.
    pub high: Option<f64>,
    /// Two-sided chance of a difference as large as this with equal rates.
    pub p: f64,
}

/// The ratio of two rates of finds: `finds` over `swept_m2` of one and the other.
///
/// Given the sum of the counts, the first is binomial (Przyborowski & Wilenski 1940); the interval
/// is that of Clopper & Pearson (1934) turned into a ratio, the p-value sums every outcome no
/// likelier than the one seen. `None` without ground or without any find.
pub fn rate_ratio(finds: [u64; 2], swept_m2: [f64; 2]) -> Option<RateRatio> {
    let total = finds[0] + finds[1];
    if total == 0 || !swept_m2.iter().all(|a| a.is_finite() && *a > 0.0) {
        return None;
    }
    let odds = |p: f64| p / (1.0 - p) * swept_m2[1] / swept_m2[0];
    let (low, high) = binomial_interval(finds[0], total, super::COVERAGE);
    let even = swept_m2[0] / (swept_m2[0] + swept_m2[1]);
    Some(RateRatio {
        ratio: (finds[1] > 0).then(|| odds(finds[0] as f64 / total as f64)),
        low: odds(low),
        high: (high < 1.0).then(|| odds(high)),
        p: binomial_test(finds[0], total, even),
    })
}

/// The interval of Clopper & Pearson (1934) for a share of `hits` in `total`.
pub fn binomial_interval(hits: u64, total: u64, coverage: f64) -> (f64, f64) {
    share_interval(hits as f64, total as f64, coverage)
}

/// The same for counts that were weighted and need not be whole.
pub(super) fn share_interval(hits: f64, total: f64, coverage: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - coverage);
    let low = if hits <= 0.0 { 0.0 } else { beta_quantile(hits, total - hits + 1.0, tail) };
    let high = if hits >= total { 1.0 } else { beta_quantile(hits + 1.0, total - hits, 1.0 - tail) };
    (low, high)
}

/// By bisection on the distribution function, which is monotone: 60 halvings leave no doubt.
fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if beta_reg(a, b, mid) > p { high = mid } else { low = mid }
    }
    0.5 * (low + high)
}

/// Outcomes whose chance differs by rounding alone count as equally likely.
pub(super) const AS_LIKELY: f64 = 1.0 + 1e-7;

fn binomial_test(hits: u64, total: u64, p: f64) -> f64 {
    let n = total as f64;
    let ln_chance = |k: u64| {
        let k = k as f64;
        ln_gamma(n + 1.0) - ln_gamma(k + 1.0) - ln_gamma(n - k + 1.0) + k * p.ln() + (n - k) * (1.0 - p).ln()
    };
    let seen = ln_chance(hits).exp() * AS_LIKELY;
    (0..=total).map(|k| ln_chance(k).exp()).filter(|c| *c <= seen).sum::<f64>().min(1.0)
}

/// Fisher's exact test of a table of two by two counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Fisher {
    /// Chance of a table as unlikely as this, in either direction.
    pub two_sided: f64,
    /// Chance of so large a first count.
    pub greater: f64,
}

/// Fisher's exact test (1922) of `[[a, b], [c, d]]`, margins held.
///
/// The chance of each table is hypergeometric. O(smallest margin).
pub fn fisher_exact([[a, b], [c, d]]: [[u64; 2]; 2]) -> Fisher {
    let (row, col, rest) = (a + b, a + c, b + d);
    let ln_choose = |n: u64, k: u64| ln_gamma(n as f64 + 1.0) - ln_gamma(k as f64 + 1.0) - ln_gamma((n - k) as f64 + 1.0);
    let chance = |k: u64| (ln_choose(col, k) + ln_choose(rest, row - k) - ln_choose(col + rest, row)).exp();
    let (least, most) = (row.saturating_sub(rest), row.min(col));
    let seen = chance(a) * AS_LIKELY;
    let (mut two_sided, mut greater) = (0.0, 0.0);
    for k in least..=most {
        let chance = chance(k);
        two_sided += if chance <= seen { chance } else { 0.0 };
        greater += if k >= a { chance } else { 0.0 };
    }
    Fisher { two_sided: f64::min(two_sided, 1.0), greater: f64::min(greater, 1.0) }
}

/// Benjamini & Hochberg (1995): the share of false discoveries among all p-values as small as each.
/// In the order of the input.
pub fn false_discovery(p: &[f64]) -> Vec<f64> {
    let mut order: Vec<usize> = (0..p.len()).collect();
    order.sort_by(|a, b| p[*b].total_cmp(&p[*a]));
    let mut q = vec![1.0; p.len()];
    let mut least = 1.0_f64;
    for (n, place) in order.into_iter().enumerate() {
        least = least.min(p[place] * p.len() as f64 / (p.len() - n) as f64);
        q[place] = least;
    }
    q
}

/// The spread of rates over places, and what each place's own rate is worth against it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Shrinkage {
    /// Mean rate, finds per m².
    pub mean: f64,
    /// Variance of the true rates between places, beyond what counting gives; 0 when there is none.
    pub variance: f64,
}

impl Shrinkage {
    /// Moments of the rates of many places: Marshall (1991), *Mapping disease and mortality rates
    /// using empirical Bayes estimators*, global. `None` without ground. A variance that comes out
    /// negative is none at all: every place is then given the mean.
    pub fn of(finds: &[f64], swept_m2: &[f64]) -> Option<Self> {
        let ground: f64 = swept_m2.iter().sum();
        if ground <= 0.0 || !ground.is_finite() {
            return None;
        }
        let mean = finds.iter().sum::<f64>() / ground;
        let places = swept_m2.iter().filter(|a| **a > 0.0).count() as f64;
        let spread: f64 = finds.iter().zip(swept_m2).filter(|(_, a)| **a > 0.0).map(|(n, a)| a * (n / a - mean).powi(2)).sum();
        Some(Self { mean, variance: (spread / ground - mean / (ground / places)).max(0.0) })
    }

    /// The rate of a place drawn towards the mean, finds per m²: the mean of the gamma posterior.
    pub fn rate(self, finds: f64, swept_m2: f64) -> f64 {
        if self.variance <= 0.0 || swept_m2 <= 0.0 {
            return self.mean;
        }
        let weight = self.variance / (self.variance + self.mean / swept_m2);
        weight * finds / swept_m2 + (1.0 - weight) * self.mean
    }

    /// The 95 % interval of that rate, finds per m²: gamma quantiles of the posterior.
    pub fn interval(self, finds: f64, swept_m2: f64) -> (f64, f64) {
        if self.variance <= 0.0 || self.mean <= 0.0 {
            return (self.mean, self.mean);
        }
        let (shape, ground) = (self.mean * self.mean / self.variance + finds, self.mean / self.variance + swept_m2);
        let tail = 0.5 * (1.0 - super::COVERAGE);
        (super::gamma_quantile(shape, tail) / ground, super::gamma_quantile(shape, 1.0 - tail) / ground)
    }
}
