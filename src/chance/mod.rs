//! Chance: exact intervals and tests, quantiles, and estimates that lend each other strength. Statistics
//! that several rooms share and that know nothing of beaches; counts and exposures may be of anything.
//!
//! Each file holds one method with its source. Values of other libraries that they are held against stand in
//! `tests/reference` or beside the test. Exact intervals never cover less than they state; where an interval
//! has no stated coverage of its own it is that of [`COVERAGE`].

mod binomial;
mod discovery;
mod f_ratio;
mod fisher;
mod gamma;
mod getis_ord;
mod group_effects;
mod isotonic;
mod logistic;
mod median;
mod moderate;
mod negative_binomial;
mod normal;
mod poisson;
mod random_effects;
mod rate_ratio;
mod share;
mod shrinkage;
mod student;

pub use binomial::{binomial_interval, weighted_share_interval};
pub use discovery::false_discovery;
pub use f_ratio::{f_ln_density, f_quantile};
pub use fisher::{Fisher, fisher_exact};
pub use gamma::gamma_quantile;
pub use getis_ord::getis_ord;
pub use group_effects::{Group, GroupRate, Parted, Shapes, group_rate, group_ratio, likeliest_rate, likelihood_ratio};
pub use isotonic::Isotonic;
pub use logistic::Logistic;
pub use median::median_interval;
pub use moderate::{Common, Variance, trigamma};
pub use negative_binomial::negative_binomial_quantile;
pub use normal::normal_quantile;
pub use poisson::poisson_interval;
pub use random_effects::{Estimate, variance_between};
pub use rate_ratio::RateRatio;
pub use share::Share;
pub use shrinkage::Shrinkage;
pub use student::{Mean, student_ln_density, student_quantile};

/// Share of cases in which an interval holds the truth.
pub const COVERAGE: f64 = 0.95;
