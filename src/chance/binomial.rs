//! A share of a count and its exact interval.

use statrs::function::beta::beta_reg;

/// The interval of Clopper & Pearson (1934) for a share of `hits` in `total`.
pub fn binomial_interval(hits: u64, total: u64, coverage: f64) -> (f64, f64) {
    weighted_share_interval(hits as f64, total as f64, coverage)
}

/// The same for counts that were weighted and need not be whole.
pub fn weighted_share_interval(hits: f64, total: f64, coverage: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - coverage);
    let low = if hits <= 0.0 { 0.0 } else { beta_quantile(hits, total - hits + 1.0, tail) };
    let high = if hits >= total { 1.0 } else { beta_quantile(hits + 1.0, total - hits, 1.0 - tail) };
    (low, high)
}

/// The value below which a beta variable falls with chance `p`, by bisection on the distribution function, which is monotone: 60 halvings leave no doubt.
pub(super) fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if beta_reg(a, b, mid) > p { high = mid } else { low = mid }
    }
    0.5 * (low + high)
}
