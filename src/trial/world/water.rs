//! The tide of an invented beach: the moon's and the sun's main waves, printed as a tide table.

use jiff::Timestamp;

use super::draw::{Rng, uniform};
use crate::book::{TideTable, TideTurn, Uid};

/// Half a lunar day, seconds: the period of M2 is 12.4206 h.
const PERIOD_S: f64 = 12.4206 * 3600.0;
/// From springs to springs, seconds: 14.765 days.
const SPRINGS_S: f64 = 14.765 * 86_400.0;
/// Amplitude of S2 over that of M2: an ordinary ratio (from memory).
const SUN: f64 = 0.33;

/// The tide, its levels above the land datum.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Water {
    mean_m: f64,
    amplitude_m: f64,
    high_s: f64,
    springs_s: f64,
    /// Tide level = land level + this, metres; the table's zero lies just below the lowest water.
    pub(super) offset_m: f64,
}

impl Water {
    pub(super) fn draw(mean_m: f64, range_m: f64, rng: &mut Rng) -> Self {
        let amplitude_m = 0.5 * range_m / (1.0 + SUN);
        Self {
            mean_m,
            amplitude_m,
            high_s: uniform(rng, 0.0, PERIOD_S),
            springs_s: uniform(rng, 0.0, SPRINGS_S),
            offset_m: 0.5 * range_m + 0.1 - mean_m,
        }
    }

    fn envelope_m(&self, time_s: f64) -> f64 {
        self.amplitude_m * (1.0 + SUN * (std::f64::consts::TAU * (time_s - self.springs_s) / SPRINGS_S).cos())
    }

    /// Level of the water at an instant, metres above the land datum.
    pub(super) fn level_m(&self, time_s: f64) -> f64 {
        self.mean_m + self.envelope_m(time_s) * (std::f64::consts::TAU * (time_s - self.high_s) / PERIOD_S).cos()
    }

    /// The low water next to an instant, seconds since 1970.
    pub(super) fn low_near_s(&self, time_s: f64) -> f64 {
        let first = self.high_s + 0.5 * PERIOD_S;
        first + ((time_s - first) / PERIOD_S).round() * PERIOD_S
    }

    /// The turns from one instant to another, to the minute and the centimetre.
    pub(super) fn table(&self, beach: Uid, from_s: i64, to_s: i64) -> TideTable {
        let half_s = 0.5 * PERIOD_S;
        let first = ((from_s as f64 - self.high_s) / half_s).ceil() as i64;
        let last = ((to_s as f64 - self.high_s) / half_s).floor() as i64;
        let turns = (first..=last).filter_map(|n| {
            let time_s = self.high_s + n as f64 * half_s;
            let time = Timestamp::from_second((time_s / 60.0).round() as i64 * 60).ok()?;
            let level_m = ((self.level_m(time_s) + self.offset_m) * 100.0).round() / 100.0;
            Some(TideTurn { time, level_m, high: n % 2 == 0 })
        });
        TideTable {
            uid: Uid::of_content("trial tide table", [beach.to_string().as_bytes()]),
            beach,
            name: "invented tide table".to_owned(),
            turns: turns.collect(),
        }
    }
}
