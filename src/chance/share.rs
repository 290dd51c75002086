//! A share of a count with its exact interval.

use serde::{Deserialize, Serialize};

use super::COVERAGE;
use super::binomial::binomial_interval;

/// So many out of so many.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
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
        let (low, high) = binomial_interval(count as u64, of as u64, COVERAGE);
        Self { count, of, share: (of > 0).then(|| count as f64 / of as f64), low, high }
    }
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
}
