//! A share of a count with its exact interval.

use serde::Serialize;
use statrs::function::beta::beta_reg;

/// So many out of so many.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Share {
    /// How many.
    pub count: usize,
    /// Out of how many.
    pub of: usize,
    /// The share, 0 to 1; `None` out of nothing.
    pub share: Option<f64>,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
}

impl Share {
    /// `count` out of `of`, with the interval of Clopper & Pearson (1934), *The use of confidence or
    /// fiducial limits illustrated in the case of the binomial*. It never covers less than it states.
    pub fn new(count: usize, of: usize) -> Self {
        let count = count.min(of);
        let (k, n) = (count as f64, of as f64);
        let low = if count == 0 { 0.0 } else { beta_quantile(k, n - k + 1.0, 0.025) };
        let high = if count == of { 1.0 } else { beta_quantile(k + 1.0, n - k, 0.975) };
        Self { count, of, share: (of > 0).then(|| k / n), low, high }
    }
}

/// The value below which a beta variable falls with chance `p`, by halving: fifty steps are exact to 1e-15.
fn beta_quantile(a: f64, b: f64, p: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1.0);
    for _ in 0..60 {
        let mid = 0.5 * (low + high);
        if beta_reg(a, b, mid) < p { low = mid } else { high = mid }
    }
    0.5 * (low + high)
}

/// The middle of a sample with the interval of order statistics that holds the true median in at least
/// 95 % of cases, whatever the distribution (Conover, *Practical nonparametric statistics*).
/// `None` for fewer than six values, where no such interval exists.
pub fn median_interval(values: &[f64]) -> Option<(f64, f64, f64)> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    // The greatest k with P(fewer than k of n fair tosses) at most 2.5 %.
    let below = |k: usize| if k == 0 { 0.0 } else { beta_reg((n - k + 1) as f64, k as f64, 0.5) };
    let k = (0..=n / 2).take_while(|k| below(*k) <= 0.025).last()?;
    let (low, high) = (sorted.get(k.checked_sub(1)?)?, sorted.get(n - k)?);
    let middle = 0.5 * (sorted.get((n - 1) / 2)? + sorted.get(n / 2)?);
    Some((middle, *low, *high))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_out_of_nothing_says_nothing() {
        let none = Share::new(0, 0);
        assert_eq!((none.share, none.low, none.high), (None, 0.0, 1.0));
    }

    #[test]
    fn none_of_ten_may_still_be_three_in_ten() {
        // The exact upper limit for 0 of 10 is 1 - 0.025^(1/10).
        let share = Share::new(0, 10);
        assert!((share.high - (1.0 - 0.025f64.powf(0.1))).abs() < 1e-12);
        assert_eq!(share.low, 0.0);
    }

    #[test]
    fn five_values_have_no_interval_and_six_span_all() {
        assert_eq!(median_interval(&[1.0, 2.0, 3.0, 4.0, 5.0]), None);
        assert_eq!(median_interval(&[6.0, 2.0, 3.0, 4.0, 5.0, 1.0]), Some((3.5, 1.0, 6.0)));
    }
}
