//! Random draws of the trial's beaches.

use rand::{RngExt as _, SeedableRng as _};
use rand_chacha::ChaCha8Rng;
use rand_distr::{Distribution as _, Normal};

pub(super) struct Draw(ChaCha8Rng);

impl Draw {
    pub(super) fn new(seed: u64, part: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(part);
        Self(rng)
    }

    pub(super) fn uniform(&mut self, low: f64, high: f64) -> f64 {
        self.0.random_range(low..high)
    }

    /// As often between 1 and 2 as between 2 and 4.
    pub(super) fn log_uniform(&mut self, low: f64, high: f64) -> f64 {
        self.uniform(low.ln(), high.ln()).exp()
    }

    pub(super) fn normal(&mut self, sd: f64) -> f64 {
        Normal::new(0.0, sd).unwrap().sample(&mut self.0)
    }

    pub(super) fn chance(&mut self, p: f64) -> bool {
        self.0.random_bool(p)
    }

    pub(super) fn pick(&mut self, n: usize) -> usize {
        self.0.random_range(0..n)
    }
}
