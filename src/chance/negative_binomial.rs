//! Quantiles of a count that varies by more than luck: the negative binomial.
//!
//! A Poisson count whose mean is gamma, told by the mean and the variance of the count. With r = mean² / (variance -
//! mean) its chances follow p(0) = (r / (r + mean))^r and p(k + 1) / p(k) = (k + r) / (k + 1) x mean / (r + mean).
//! Johnson, Kemp & Kotz (2005), *Univariate Discrete Distributions*, chapter 5 (from memory).

/// The least count whose chance, or that of a lower one, is at least `p`. A variance no more than the mean is that of
/// Poisson. The chances are summed up one by one: O(quantile).
pub fn negative_binomial_quantile(mean: f64, variance: f64, p: f64) -> f64 {
    if !(mean.is_finite() && mean > 0.0 && variance.is_finite()) {
        return 0.0;
    }
    // Poisson is the limit; from here on the two are the same to what is added up.
    let r = (mean * mean / (variance - mean).max(1e-9 * mean)).min(1e9 * mean.max(1.0));
    let ln_more = (mean / (r + mean)).ln();
    let mut ln_chance = -r * (mean / r).ln_1p();
    let (mut count, mut below) = (0.0, ln_chance.exp());
    let most = mean + 60.0 * variance.max(mean).sqrt() + 60.0;
    while below < p.min(1.0 - 1e-12) && count < most {
        ln_chance += ((count + r) / (count + 1.0)).ln() + ln_more;
        count += 1.0;
        below += ln_chance.exp();
    }
    count
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_are_those_of_scipy() {
        // scipy 1.17.1: nbinom.ppf(q, mean * mean / (variance - mean), mean / variance), q = 0.05, 0.5, 0.95.
        for (mean, variance, held) in [
            (5.0, 8.0, [1.0, 5.0, 10.0]),
            (0.4, 0.5, [0.0, 0.0, 2.0]),
            (40.0, 440.0, [12.0, 37.0, 79.0]),
            (2000.0, 42_000.0, [1675.0, 1993.0, 2348.0]),
            (3.0, 30.0, [0.0, 1.0, 14.0]),
        ] {
            assert_eq!([0.05, 0.5, 0.95].map(|p| negative_binomial_quantile(mean, variance, p)), held, "{mean} {variance}");
        }
        // scipy 1.17.1: poisson.ppf(q, 7.5).
        assert_eq!([0.05, 0.5, 0.95].map(|p| negative_binomial_quantile(7.5, 7.5, p)), [3.0, 7.0, 12.0]);
    }

    #[test]
    fn what_cannot_be_gives_none() {
        for (mean, variance) in [(0.0, 1.0), (-1.0, 1.0), (f64::NAN, 1.0), (1.0, f64::NAN), (f64::INFINITY, 1.0)] {
            assert_eq!(negative_binomial_quantile(mean, variance, 0.95), 0.0);
        }
        assert!(negative_binomial_quantile(1e-3, 1e3, 1.0).is_finite());
    }
}
