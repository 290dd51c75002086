//! Finds per 100 m² swept, with exact intervals.
//!
//! A count over known ground is taken as Poisson. Its interval is that of Garwood (1936), *Fiducial
//! limits for the Poisson distribution*: for n finds from the gamma quantile of shape n at 2.5 % to
//! that of shape n + 1 at 97.5 %. It never covers less than it states.

use serde::{Deserialize, Serialize};
use statrs::function::gamma::{gamma_lr, gamma_ur, ln_gamma};

/// Share of cases in which an interval holds the truth.
pub const COVERAGE: f64 = 0.95;

/// Finds per 100 m² of ground swept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Rate {
    /// Finds counted.
    pub finds: f64,
    /// Ground swept, m².
    pub swept_m2: f64,
    /// Finds per 100 m².
    pub rate_per_100m2: f64,
    /// Lower end of the 95 % interval.
    pub low: f64,
    /// Upper end of the 95 % interval.
    pub high: f64,
    /// Further ground, swept at the same rate, that would halve the interval, m².
    pub to_halve_m2: f64,
}

impl Rate {
    /// The rate of a count on ground swept, m². `None` when no ground was swept.
    pub fn new(finds: f64, swept_m2: f64) -> Option<Self> {
        if !(swept_m2.is_finite() && swept_m2 > 0.0 && finds.is_finite() && finds >= 0.0) {
            return None;
        }
        let (low, high) = poisson_interval(finds, COVERAGE);
        let per_100m2 = 100.0 / swept_m2;
        Some(Self {
            finds,
            swept_m2,
            rate_per_100m2: finds * per_100m2,
            low: low * per_100m2,
            high: high * per_100m2,
            to_halve_m2: (times_to_halve(finds) - 1.0) * swept_m2,
        })
    }
}

/// How many times the ground is needed for an interval half as wide at the same rate.
fn times_to_halve(finds: f64) -> f64 {
    let width = |times: f64| {
        let (low, high) = poisson_interval(finds * times, COVERAGE);
        (high - low) / times
    };
    let wanted = 0.5 * width(1.0);
    let (mut low, mut high) = (1.0, 6.0);
    for _ in 0..30 {
        let mid = 0.5 * (low + high);
        if width(mid) > wanted { low = mid } else { high = mid }
    }
    high
}

/// Garwood's interval for the mean of a Poisson count; a count that was weighted need not be whole.
pub fn poisson_interval(count: f64, coverage: f64) -> (f64, f64) {
    let tail = 0.5 * (1.0 - coverage);
    (if count > 0.0 { gamma_quantile(count, tail) } else { 0.0 }, gamma_quantile(count + 1.0, 1.0 - tail))
}

/// The value below which a gamma variable of this shape and unit scale falls with chance `p`.
///
/// Newton's steps on the distribution function, held in a bracket that only shrinks; the starting
/// value is that of Wilson & Hilferty (1931).
pub fn gamma_quantile(shape: f64, p: f64) -> f64 {
    if p <= 0.0 {
        return 0.0;
    }
    let z = crate::reading::normal_quantile(p);
    let cube = 1.0 - 1.0 / (9.0 * shape) + z / (3.0 * shape.sqrt());
    let rough = shape * cube.powi(3);
    // Far in the lower tail the distribution runs as a power of x.
    let mut x = if cube > 0.3 { rough } else { ((p.ln() + ln_gamma(shape + 1.0)) / shape).exp() };
    let (mut low, mut high) = (0.0, f64::INFINITY);
    for _ in 0..200 {
        let over = if p < 0.5 { gamma_lr(shape, x) - p } else { (1.0 - p) - gamma_ur(shape, x) };
        if over > 0.0 {
            high = x
        } else {
            low = x
        }
        let density = ((shape - 1.0) * x.ln() - x - ln_gamma(shape)).exp();
        let mut next = x - over / density;
        if !(next > low && next < high) {
            next = if high.is_finite() { 0.5 * (low + high) } else { 2.0 * x + 1.0 };
        }
        if (next - x).abs() <= 1e-14 * x {
            return next;
        }
        x = next;
    }
    x
}
