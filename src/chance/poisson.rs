//! The mean of a count.
//!
//! A count is taken as Poisson. Its interval is that of Garwood (1936), *Fiducial limits for the Poisson
//! distribution*: for a count n from the gamma quantile of shape n at 2.5 % to that of shape n + 1 at 97.5 %.
//! It never covers less than it states.

use super::gamma::gamma_quantile;

/// Garwood's interval for the mean of a Poisson count; a count that was weighted need not be whole.
pub fn poisson_interval(count: f64, coverage: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - coverage);
    (if count > 0.0 { gamma_quantile(count, tail) } else { 0.0 }, gamma_quantile(count + 1.0, 1.0 - tail))
}
