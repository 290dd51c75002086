//! The believed water through one visit, fast to read at many shifts of time.

use jiff::Timestamp;

use super::visit::Visit;
use crate::tide::Water;

/// Seconds from sample to sample: between them a straight line errs by less than a millimetre of any tide.
const STEP_S: f64 = 300.0;

/// The furthest that the water's time is shifted, minutes.
pub(super) const MOST_MIN: f64 = 150.0;

/// A water about a visit, as far as it may be shifted.
pub(super) fn curve_of(visit: &Visit, water: &Water) -> Curve {
    let (from_s, to_s) = visit.span_s();
    Curve::new(water, from_s - 60.0 * MOST_MIN, to_s + 60.0 * MOST_MIN)
}

/// The water's level from a moment on.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Curve {
    from_s: f64,
    levels_m: Vec<Option<f64>>,
}

impl Curve {
    /// The water from one moment to another, seconds since 1970.
    pub(super) fn new(water: &Water, from_s: f64, to_s: f64) -> Self {
        let from_s = (from_s / STEP_S).floor() * STEP_S;
        let n = ((to_s - from_s) / STEP_S).ceil().max(0.0) as usize + 2;
        let levels_m = Timestamp::from_second(from_s as i64).map(|from| water.heights(from, STEP_S, n)).unwrap_or_default();
        Self { from_s, levels_m }
    }

    /// The same with every level changed.
    #[must_use]
    pub(super) fn mapped(mut self, change: impl Fn(f64) -> f64) -> Self {
        self.levels_m.iter_mut().flatten().for_each(|m| *m = change(*m));
        self
    }

    /// Level at a moment, metres above the water's datum.
    pub(super) fn at(&self, time_s: f64) -> Option<f64> {
        let x = (time_s - self.from_s) / STEP_S;
        if x < 0.0 {
            return None;
        }
        let n = x.floor() as usize;
        let (a, b) = ((*self.levels_m.get(n)?)?, (*self.levels_m.get(n + 1)?)?);
        Some(a + (b - a) * x.fract())
    }
}
