use jiff::Timestamp;

use crate::tide::Water;

/// Between two readings, seconds.
const STEP_S: f64 = 20.0;
/// How long after the end of a route a way out may still take, seconds.
const AFTER_S: f64 = 4.0 * 3600.0;

/// The water over the time of a route: readings in a row, each interval taken as high as its higher end.
pub(super) struct Sea {
    from: Timestamp,
    levels_m: Vec<f64>,
}

impl Sea {
    pub(super) fn around(water: &Water, from: Timestamp, to: Timestamp) -> Self {
        let lasts_s = to.duration_since(from).as_secs_f64().clamp(0.0, 2.0 * 86_400.0) + AFTER_S;
        let levels = water.heights(from, STEP_S, (lasts_s / STEP_S) as usize + 2);
        // Past what the source knows the water may be anywhere.
        Self { from, levels_m: levels.into_iter().map(|l| l.unwrap_or(f64::INFINITY)).collect() }
    }

    fn index(&self, time: Timestamp) -> usize {
        (time.duration_since(self.from).as_secs_f64() / STEP_S).floor().max(0.0) as usize
    }

    fn read(&self, n: usize) -> f64 {
        self.levels_m.get(n).copied().unwrap_or(f64::INFINITY)
    }

    /// Level at a moment, not lower than it is, metres.
    pub(super) fn at(&self, time: Timestamp) -> f64 {
        let n = self.index(time);
        self.read(n).max(self.read(n + 1))
    }

    /// Highest level from a moment on, for each interval after it.
    pub(super) fn highest_from(&self, time: Timestamp) -> Highest {
        let first = self.index(time);
        let mut high = f64::NEG_INFINITY;
        let levels = self.levels_m.get(first..).unwrap_or_default();
        let into_s = time.duration_since(self.from).as_secs_f64() - first as f64 * STEP_S;
        Highest {
            into_s,
            high_m: levels
                .iter()
                .map(|l| {
                    high = high.max(*l);
                    high
                })
                .collect(),
        }
    }
}

/// Highest water met since a moment.
pub(super) struct Highest {
    into_s: f64,
    high_m: Vec<f64>,
}

impl Highest {
    /// Highest water met up to so many seconds later, metres.
    pub(super) fn within(&self, seconds: f64) -> f64 {
        let n = ((self.into_s + seconds) / STEP_S).floor().max(0.0) as usize + 1;
        self.high_m.get(n).copied().unwrap_or(f64::INFINITY)
    }

    /// For how many seconds the water stays below a level.
    pub(super) fn below_s(&self, level_m: f64) -> f64 {
        let n = self.high_m.partition_point(|h| *h < level_m);
        if n == 0 { 0.0 } else { ((n - 1) as f64 * STEP_S - self.into_s).max(0.0) }
    }
}
