mod by_band;
mod undug;

pub use by_band::ByBand;
pub use undug::WithUndug;

use jiff::Timestamp;

use crate::earth::Local;

/// Finds to be expected of one pass over 100 m².
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Expected {
    /// The mean.
    pub per_100m2: f64,
    /// Standard deviation of what is not known and is the same for all ground: it adds up over blocks.
    pub sd_per_100m2: f64,
    /// Standard deviation of what is not known of this place alone (see [`Worth::place`]): it averages out over places.
    pub own_sd_per_100m2: f64,
}

impl Expected {
    /// What is expected, and what is not known of all ground alike.
    pub fn new(per_100m2: f64, sd_per_100m2: f64) -> Self {
        Self { per_100m2, sd_per_100m2, own_sd_per_100m2: 0.0 }
    }

    /// The same of a share of the ground.
    #[must_use]
    pub fn times(self, share: f64) -> Self {
        Self {
            per_100m2: self.per_100m2 * share,
            sd_per_100m2: self.sd_per_100m2 * share,
            own_sd_per_100m2: self.own_sd_per_100m2 * share,
        }
    }
}

/// A square of ground that is known or not known as one.
pub type Place = (i64, i64);

/// What ground is worth: the reading answers, or anything else that knows.
pub trait Worth: Sync {
    /// Finds to be expected at a place of the beach's plane and a time, with what earlier visits had left by then.
    fn expected(&self, at: Local, when: Timestamp) -> Expected;
    /// Which square of ground a place lies in, that has an error of its own.
    fn place(&self, _at: Local) -> Place {
        (0, 0)
    }
    /// How much days differ in what they give for the same ground: the variance of an effect of mean 1.
    fn day_variance(&self) -> f64 {
        0.0
    }
    /// Where the figures come from, as a sentence.
    fn said(&self) -> String;
}
