//! The middle of a sample with an interval that asks nothing of the distribution.

use statrs::function::beta::beta_reg;

/// The middle of a sample with the interval of order statistics that holds the true median in at least
/// 95 % of cases, whatever the distribution (Conover, *Practical nonparametric statistics*).
/// `None` for fewer than six values, where no such interval exists.
pub fn median_interval(values: &[f64]) -> Option<(f64, f64, f64)> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| v.is_finite()).collect();
    sorted.sort_by(f64::total_cmp);
    let n = sorted.len();
    // The greatest k with P(fewer than k of n fair tosses) at most 2.5 %; that rises with k, so halving finds it.
    let below = |k: usize| if k == 0 { 0.0 } else { beta_reg((n - k + 1) as f64, k as f64, 0.5) };
    let (mut k, mut too_many) = (0, n / 2 + 1);
    while too_many - k > 1 {
        let middle = k + (too_many - k) / 2;
        if below(middle) <= 0.025 { k = middle } else { too_many = middle }
    }
    let (low, high) = (sorted.get(k.checked_sub(1)?)?, sorted.get(n - k)?);
    let middle = 0.5 * (sorted.get((n - 1) / 2)? + sorted.get(n / 2)?);
    Some((middle, *low, *high))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The halving finds what going through all of them finds.
    #[test]
    fn the_interval_is_that_of_every_count_tried_in_turn() {
        for n in [6_usize, 7, 20, 99, 1000] {
            let values: Vec<f64> = (1..=n).map(|v| v as f64).collect();
            let below = |k: usize| if k == 0 { 0.0 } else { beta_reg((n - k + 1) as f64, k as f64, 0.5) };
            let k = (0..=n / 2).take_while(|k| below(*k) <= 0.025).last().unwrap();
            let (_, low, high) = median_interval(&values).unwrap();
            assert_eq!((low, high), (k as f64, (n - k + 1) as f64));
        }
    }

    #[test]
    fn five_values_have_no_interval_and_six_span_all() {
        assert_eq!(median_interval(&[1.0, 2.0, 3.0, 4.0, 5.0]), None);
        assert_eq!(median_interval(&[6.0, 2.0, 3.0, 4.0, 5.0, 1.0]), Some((3.5, 1.0, 6.0)));
    }
}
