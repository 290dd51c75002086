//! Random draws of the shapes that the worlds need; each part of a world draws from a stream of its own.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Exp, Gamma, Normal, Poisson};

pub(super) type Rng = ChaCha8Rng;

/// The stream of one part, so that more of one part does not change another.
pub(super) fn stream(seed: u64, sort: u64, part: u64) -> Rng {
    let mut rng = ChaCha8Rng::seed_from_u64(seed);
    rng.set_stream((sort << 32) | part);
    rng
}

pub(super) fn uniform(rng: &mut Rng, low: f64, high: f64) -> f64 {
    if high > low { rng.random_range(low..high) } else { low }
}

/// Even in the logarithm: as often between 1 and 2 as between 2 and 4.
pub(super) fn log_uniform(rng: &mut Rng, low: f64, high: f64) -> f64 {
    uniform(rng, low.ln(), high.ln()).exp()
}

pub(super) fn normal(rng: &mut Rng, sigma: f64) -> f64 {
    Normal::new(0.0, sigma).map_or(0.0, |n| n.sample(rng))
}

pub(super) fn poisson(rng: &mut Rng, mean: f64) -> usize {
    Poisson::new(mean).map_or(0, |p| p.sample(rng) as usize)
}

pub(super) fn exponential(rng: &mut Rng, mean: f64) -> f64 {
    Exp::new(1.0 / mean).map_or(mean, |e| e.sample(rng))
}

/// A gamma variable of mean 1 and this coefficient of variation.
pub(super) fn about_one(rng: &mut Rng, cv: f64) -> f64 {
    let scale = cv * cv;
    if scale < 1e-6 { 1.0 } else { Gamma::new(1.0 / scale, scale).map_or(1.0, |g| g.sample(rng)) }
}

pub(super) fn chance(rng: &mut Rng, p: f64) -> bool {
    rng.random_bool(p.clamp(0.0, 1.0))
}

/// One of `count`, each as likely.
pub(super) fn pick(rng: &mut Rng, count: usize) -> usize {
    rng.random_range(0..count.max(1))
}
