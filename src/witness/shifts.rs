//! The best of all shifts of the water, and what a shift costs.

use super::params::{Clear, Params};
use super::surface::Grid;

/// What it costs to have the inputs right and people keep so far from the water, and the water so far from its time.
pub(super) fn cost(grid: &Grid, n: usize, clear: Clear, params: &Params) -> f64 {
    0.5 * ((grid.level_m(n) - clear.m) / clear.sd_m).powi(2) + 0.5 * (grid.minute(n) / params.time_sd_min).powi(2)
}

/// What it costs to have inputs wrong by so much: small errors are likelier than large ones.
pub(super) fn wrong(grid: &Grid, n: usize, clear: Clear, params: &Params) -> f64 {
    0.5 * ((grid.level_m(n) - clear.m) / params.wrong_m).powi(2).min(4.0)
        + 0.5 * (grid.minute(n) / params.wrong_min).powi(2).min(4.0)
}

/// The best shift when each has its cost, and how good it is.
pub(super) fn best_of(grid: &Grid, nats: &[f64], cost: impl Fn(usize) -> f64) -> (usize, f64) {
    let worth = |n: usize| nats[n] - cost(n);
    // Of equals the one nearest to no shift at all.
    let far = |n: usize| grid.level_m(n).abs() + grid.minute(n).abs() / 60.0;
    let best = (0..grid.len()).max_by(|a, b| worth(*a).total_cmp(&worth(*b)).then(far(*b).total_cmp(&far(*a)))).unwrap_or(0);
    (best, worth(best))
}
