//! A limit of searching: what is likely of the lowest places reached, if nobody went below a wall.
//!
//! Most spells reach the wall, as nearly as receiver and sand let it be seen; the others stay above it, the fewer the
//! further; a few lie anywhere (a step into the water, a jump of the receiver, sand that has gone).

use std::f64::consts::{PI, SQRT_2};
use std::sync::OnceLock;

use statrs::function::erf::erfc;

/// Share of spells that reach the wall, and of those that lie anywhere.
const AT_WALL: f64 = 0.55;
const ANYWHERE: f64 = 0.03;
/// Those that stay above it do so by this much on average, metres.
const ABOVE_M: f64 = 0.6;
/// What lies anywhere lies within so many metres.
const ANYWHERE_M: f64 = 6.0;
/// A note "in the wash" is right about the edge this often, to this standard deviation, metres.
const NOTED_RIGHT: f64 = 0.9;
const NOTED_M: f64 = 0.2;

/// Share of outings that stood in deep water all the same.
const NOT_ON_FOOT: f64 = 0.003;

/// From where to where the table of logarithms runs, metres above the wall, and how finely.
const FROM_M: f64 = -4.0;
const TO_M: f64 = 8.0;
const FINE_M: f64 = 0.02;
/// Standard deviations that the table has, each a fifth larger than the one before, from this on.
const LEAST_SD_M: f64 = 0.04;
const SDS: usize = 18;
const RATIO: f64 = 1.2;

fn phi(x: f64) -> f64 {
    0.5 * erfc(-x / SQRT_2)
}

fn normal(x: f64, sd: f64) -> f64 {
    (-0.5 * (x / sd).powi(2)).exp() / (sd * (2.0 * PI).sqrt())
}

/// Density so far above the wall, per metre.
fn density(above_m: f64, sd_m: f64) -> f64 {
    // An exponential seen with a normal error.
    let rate = 1.0 / ABOVE_M;
    let tail = rate * (0.5 * (rate * sd_m).powi(2) - rate * above_m).min(300.0).exp() * phi(above_m / sd_m - rate * sd_m);
    AT_WALL * normal(above_m, sd_m) + (1.0 - AT_WALL - ANYWHERE) * tail + ANYWHERE / ANYWHERE_M
}

fn tables() -> &'static [Vec<f32>] {
    static TABLES: OnceLock<Vec<Vec<f32>>> = OnceLock::new();
    TABLES.get_or_init(|| {
        let n = ((TO_M - FROM_M) / FINE_M) as usize + 1;
        let sd = |k: usize| LEAST_SD_M * RATIO.powi(k as i32);
        (0..SDS).map(|k| (0..n).map(|i| density(FROM_M + i as f64 * FINE_M, sd(k)).ln() as f32).collect()).collect()
    })
}

/// The logarithm of the density at one standard deviation, by metres above the wall.
#[derive(Debug, Clone, Copy)]
pub(super) struct Wall(&'static [f32]);

impl Wall {
    /// Of places known to this standard deviation, metres.
    pub(super) fn with_sd(sd_m: f64) -> Self {
        let k = ((sd_m / LEAST_SD_M).ln() / RATIO.ln()).round().clamp(0.0, SDS as f64 - 1.0) as usize;
        Self(&tables()[k])
    }

    /// Log density of a place so many metres above the wall.
    pub(super) fn nats(self, above_m: f64) -> f64 {
        let i = ((above_m - FROM_M) / FINE_M).round().clamp(0.0, (self.0.len() - 1) as f64) as usize;
        f64::from(self.0[i])
    }
}

/// Log density of a place noted at the water's edge, so many metres above it.
pub(super) fn noted_nats(above_m: f64) -> f64 {
    (NOTED_RIGHT * normal(above_m, NOTED_M) + (1.0 - NOTED_RIGHT) / ANYWHERE_M).ln()
}

/// The same where the water has nothing to do with it.
pub(super) fn noted_anywhere_nats() -> f64 {
    -ANYWHERE_M.ln()
}

/// Log of the chance that somebody stands where it is so many metres above the lowest place where one can, known to a
/// standard deviation. However deep, some are there all the same: not on foot, or on sand that nobody knows of.
pub(super) fn dry_nats(above_m: f64, sd_m: f64) -> f64 {
    (phi(above_m / sd_m) * (1.0 - NOT_ON_FOOT) + NOT_ON_FOOT).ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_density_of_a_limit_is_one_in_all_and_falls_faster_below_it_than_above() {
        for sd_m in [0.08, 0.2, 0.5] {
            let step = 0.005;
            // What lies anywhere is spread over six metres.
            let sum: f64 =
                (0..2400).map(|i| density(-4.0 + f64::from(i) * step, sd_m) - ANYWHERE / ANYWHERE_M).sum::<f64>() * step;
            assert!((sum + ANYWHERE - 1.0).abs() < 1e-3, "{sd_m}: {sum}");
            assert!(density(-4.0 * sd_m, sd_m) < 0.5 * density(4.0 * sd_m, sd_m));
            let wall = Wall::with_sd(sd_m);
            assert!((wall.nats(0.3) - density(0.3, sd_m).ln()).abs() < 0.1);
        }
    }

    #[test]
    fn who_stands_deep_under_the_water_is_unlikely_and_who_stands_above_it_is_not() {
        assert!(dry_nats(1.0, 0.1) > -1e-6 && dry_nats(-1.0, 0.1) < -3.0);
        assert!(noted_nats(0.0) > noted_anywhere_nats() + 2.0 && noted_nats(2.0) < noted_anywhere_nats());
    }
}
