//! One rate over another: two counts, each over an exposure of its own.

use serde::{Deserialize, Serialize};

use super::COVERAGE;
use super::binomial::{binomial_interval, binomial_test};

/// One rate over another, with its exact interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct RateRatio {
    /// The first rate over the second; `None` when the second counts nothing.
    pub ratio: Option<f64>,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval; `None` when it is not bounded.
    pub high: Option<f64>,
    /// Two-sided chance of a difference as large as this with equal rates.
    pub p: f64,
}

/// The ratio of two rates: `counts` over `exposures` of one and the other, these in any one unit.
///
/// Given the sum of the counts, the first is binomial (Przyborowski & Wilenski 1940); the interval
/// is that of Clopper & Pearson (1934) turned into a ratio, the p-value sums every outcome no
/// likelier than the one seen. `None` without exposure or without any count.
pub fn rate_ratio(counts: [u64; 2], exposures: [f64; 2]) -> Option<RateRatio> {
    let total = counts[0] + counts[1];
    if total == 0 || !exposures.iter().all(|a| a.is_finite() && *a > 0.0) {
        return None;
    }
    let odds = |p: f64| p / (1.0 - p) * exposures[1] / exposures[0];
    let (low, high) = binomial_interval(counts[0], total, COVERAGE);
    let even = exposures[0] / (exposures[0] + exposures[1]);
    Some(RateRatio {
        ratio: (counts[1] > 0).then(|| odds(counts[0] as f64 / total as f64)),
        low: odds(low),
        high: (high < 1.0).then(|| odds(high)),
        p: binomial_test(counts[0], total, even),
    })
}
