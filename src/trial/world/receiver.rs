//! What a receiver makes of a place: an error that drifts and one that does not.

use super::draw::{Rng, log_uniform, normal, uniform};

/// How well a world's receivers do.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Receiver {
    /// Root mean square of the horizontal error, metres.
    pub error_m: f64,
    /// Share of the variance that is new at each fix; the rest drifts.
    pub white: f64,
    /// Time over which the drift forgets itself, seconds.
    pub drift_s: f64,
    /// Seconds from fix to fix.
    pub every_s: u32,
}

impl Receiver {
    pub(super) fn draw(rng: &mut Rng) -> Self {
        Self {
            error_m: uniform(rng, 1.0, 6.0),
            white: uniform(rng, 0.0, 0.4),
            drift_s: log_uniform(rng, 60.0, 900.0),
            every_s: log_uniform(rng, 1.0, 10.99).floor() as u32,
        }
    }

    /// Standard deviation along each of two axes, metres.
    pub fn sigma_m(&self) -> f64 {
        self.error_m * std::f64::consts::FRAC_1_SQRT_2
    }

    /// The drift through so many seconds, metres along two axes: an Ornstein-Uhlenbeck process.
    pub(super) fn drift(&self, seconds: usize, rng: &mut Rng) -> Vec<(f64, f64)> {
        let sigma_m = self.sigma_m() * (1.0 - self.white).sqrt();
        let keep = (-1.0 / self.drift_s).exp();
        let new_m = sigma_m * (1.0 - keep * keep).sqrt();
        let mut at = (normal(rng, sigma_m), normal(rng, sigma_m));
        (0..=seconds)
            .map(|_| {
                at = (keep * at.0 + normal(rng, new_m), keep * at.1 + normal(rng, new_m));
                at
            })
            .collect()
    }

    /// The part of an error that is new at each fix, metres along two axes.
    pub(super) fn shiver(&self, rng: &mut Rng) -> (f64, f64) {
        let sigma_m = self.sigma_m() * self.white.sqrt();
        (normal(rng, sigma_m), normal(rng, sigma_m))
    }
}
