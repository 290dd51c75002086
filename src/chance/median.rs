//! The middle of a sample with an interval that asks nothing of the distribution.

use statrs::function::beta::beta_reg;

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
    fn five_values_have_no_interval_and_six_span_all() {
        assert_eq!(median_interval(&[1.0, 2.0, 3.0, 4.0, 5.0]), None);
        assert_eq!(median_interval(&[6.0, 2.0, 3.0, 4.0, 5.0, 1.0]), Some((3.5, 1.0, 6.0)));
    }
}
