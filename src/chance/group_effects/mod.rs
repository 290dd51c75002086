//! Counts in groups whose level varies by more than counting: a gamma effect for each group.
//!
//! The count of group j is Poisson of mean a_j b E_j, with E_j its exposure, b the rate and a_j an effect of its
//! own, drawn from a gamma distribution of mean 1 and shape phi (coefficient of variation 1 / sqrt(phi)). With
//! the effects integrated out the counts are negative binomial: Lawless (1987), *Negative binomial and mixed
//! Poisson regression*. phi large is plain Poisson; as phi falls, ever less is learned from differences between
//! groups, until at phi = 0 only what lies *within* groups is left, given the total of each.
//!
//! How much groups differ is itself known from few of them, so intervals average over [`Shapes`], the
//! posterior of the coefficient of variation.

mod rate;
mod ratio;
mod shape;

pub use rate::{GroupRate, group_rate};
pub use ratio::{Parted, group_ratio, likelihood_ratio};
pub use shape::{Shapes, likeliest_rate};

/// The count of one group and what it was counted over, in any one unit.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Group {
    /// How many; a count that was weighted need not be whole.
    pub count: f64,
    /// The exposure, at least 0.
    pub exposure: f64,
}

impl Group {
    /// A count over an exposure.
    pub fn new(count: f64, exposure: f64) -> Self {
        Self { count, exposure }
    }

    /// Whether it says anything: without exposure it says nothing.
    fn is_usable(&self) -> bool {
        self.exposure.is_finite() && self.exposure > 0.0 && self.count.is_finite() && self.count >= 0.0
    }
}
