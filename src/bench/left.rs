//! What was left, shared out by how it sounded.
//!
//! A person who leaves what sounds like iron digs little iron, so the mix of finds makes too little of it among what was
//! left. What lies in the ground is what was dug and what was left together. Of what was left only the sound is known: it
//! is shared out by what it may be, which changes the mix, and so again until nothing changes any more (EM: Dempster,
//! Laird & Rubin 1977, *Maximum likelihood from incomplete data via the EM algorithm*; for the mix of answers: Saerens,
//! Latinne & Decaestecker 2002, *Adjusting the outputs of a classifier to new a priori probabilities*). It is right as far
//! as people dig and leave by the sound.

use super::may_be::{Heard, Prior};

/// Signals left below which they say too little of the mix.
pub(super) const LEAST: f64 = 20.0;
/// Rounds at most, and the change of a chance below which nothing changes any more.
const ROUNDS: usize = 200;
const STILL: f64 = 1e-7;

impl Prior {
    /// The mix of what was dug with what was left, each sound with how many signals there were of it.
    pub(super) fn with_left(mut self, left: &[(&Heard, f64)]) -> Self {
        let many: f64 = left.iter().map(|l| l.1).sum();
        if many < LEAST {
            return self;
        }
        let densities: Vec<(Vec<f64>, f64)> = left.iter().map(|(heard, many)| (heard.densities(), *many)).collect();
        let dug: Vec<f64> = self.kinds.iter().copied().chain([self.none]).collect();
        let mut mix = dug.clone();
        for _ in 0..ROUNDS {
            let mut next: Vec<f64> = dug.iter().map(|share| share * self.weight).collect();
            for (densities, many) in &densities {
                let all: f64 = densities.iter().zip(&mix).map(|(d, share)| d * share).sum();
                let each = densities.iter().zip(&mix).map(|(d, share)| many * d * share / all);
                next.iter_mut().zip(each).for_each(|(sum, one)| *sum += one);
            }
            next.iter_mut().for_each(|sum| *sum /= self.weight + many);
            let moved = next.iter().zip(&mix).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            mix = next;
            if moved < STILL {
                break;
            }
        }
        self.none = mix.pop().unwrap_or(self.none);
        (self.kinds, self.weight, self.left) = (mix, self.weight + many, many);
        self
    }

    /// Whether what was left entered it.
    pub(super) fn tells_of_left(&self) -> bool {
        self.left > 0.0
    }
}

impl Heard {
    /// Densities of the kinds and of something else, the largest 1.
    fn densities(&self) -> Vec<f64> {
        let top = self.kinds.iter().copied().fold(self.none, f64::max);
        self.kinds.iter().chain([&self.none]).map(|ln| (ln - top).exp()).collect()
    }
}
