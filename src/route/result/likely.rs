//! The finds of a route or a block as a range: that which 9 days in 10 should keep to.

use crate::chance::negative_binomial_quantile;
use crate::route::ground::block::Candidate;

/// Standard deviation of the finds of some blocks together, searched on one day.
///
/// Luck is each block's own. What is not known of one place is shared by the blocks on it and by no others, so it
/// averages out over places. What is not known of all ground goes together and adds up, as does the day: on a bad one
/// every block gives little. `day_variance` is the square of how outings differ.
pub(in crate::route) fn spread(chosen: &[&Candidate], day_variance: f64) -> f64 {
    let finds: f64 = chosen.iter().map(|b| b.finds).sum();
    let luck_and_day = finds + finds * finds * day_variance;
    (luck_and_day + Candidate::unsure(chosen).powi(2)).sqrt()
}

/// The counts from which and up to which 9 days in 10 go, of finds expected and their standard deviation.
pub fn on_nine_days_in_ten(finds: f64, finds_sd: f64) -> (f64, f64) {
    let at = |p| negative_binomial_quantile(finds, finds_sd * finds_sd, p);
    (at(0.05), at(0.95))
}

/// "3 to 16".
pub(in crate::route) fn range(finds: f64, finds_sd: f64) -> String {
    let (low, high) = on_nine_days_in_ten(finds, finds_sd);
    format!("{low:.0} to {high:.0}")
}

/// "3 to 16 on 9 days in 10".
pub(in crate::route) fn range_said(finds: f64, finds_sd: f64) -> String {
    format!("{} on 9 days in 10", range(finds, finds_sd))
}
