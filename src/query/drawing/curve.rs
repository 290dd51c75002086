use jiff::Timestamp;

use crate::Progress;
use crate::earth::LonLat;
use crate::sun;
use crate::tide::{Turn, Water};

/// A span of time, seconds since 1970 UTC.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Span {
    /// Its first instant.
    pub(crate) from_s: f64,
    /// Its last instant.
    pub(crate) to_s: f64,
}

/// The shortest and longest span Time shows, seconds: six hours and twenty months.
const LENGTHS_S: std::ops::RangeInclusive<f64> = 6.0 * 3600.0..=610.0 * 86_400.0;

impl Span {
    /// The span of a length around an instant.
    pub(crate) fn around(middle: Timestamp, length_s: f64) -> Self {
        let m = middle.as_millisecond() as f64 / 1000.0;
        let half = length_s.clamp(*LENGTHS_S.start(), *LENGTHS_S.end()) / 2.0;
        Self { from_s: m - half, to_s: m + half }
    }

    /// Its length, seconds.
    pub(crate) fn length_s(&self) -> f64 {
        self.to_s - self.from_s
    }

    /// Moved later by seconds.
    #[must_use]
    pub(crate) fn moved(self, by_s: f64) -> Self {
        Self { from_s: self.from_s + by_s, to_s: self.to_s + by_s }
    }

    /// Made `factor` times as long, the instant `fixed_s` staying in place.
    #[must_use]
    pub(crate) fn zoomed(self, factor: f64, fixed_s: f64) -> Self {
        let length = (self.length_s() * factor).clamp(*LENGTHS_S.start(), *LENGTHS_S.end());
        let share = (fixed_s - self.from_s) / self.length_s();
        let from_s = fixed_s - share * length;
        Self { from_s, to_s: from_s + length }
    }

    /// Moved as little as needed to hold an instant with some room around it.
    #[must_use]
    pub(crate) fn holding(self, at_s: f64) -> Self {
        let room = self.length_s() * 0.04;
        if at_s < self.from_s + room {
            self.moved(at_s - self.from_s - room)
        } else if at_s > self.to_s - room {
            self.moved(at_s - self.to_s + room)
        } else {
            self
        }
    }

    /// A wider span with round ends, so that small moves ask no new question.
    #[must_use]
    pub(crate) fn rounded_out(self) -> Self {
        let step = 2f64.powf((self.length_s() / 2.0).log2().ceil());
        let from_s = ((self.from_s - step / 2.0) / step).floor() * step;
        Self { from_s, to_s: ((self.to_s + step / 2.0) / step).ceil() * step }
    }
}

/// The water and the daylight over a span.
pub(crate) struct Curve {
    pub(crate) span: Span,
    pub(crate) step_s: f64,
    /// Levels `step_s` apart; empty for a span too long to draw each tide.
    pub(crate) heights: Vec<Option<f64>>,
    pub(crate) turns: Vec<Turn>,
    /// When the sun is up; empty for a long span.
    pub(crate) lit: Vec<(Timestamp, Timestamp)>,
}

/// Longer spans are drawn by their high and low waters alone, seconds.
pub(crate) const LONG_S: f64 = 45.0 * 86_400.0;

impl Curve {
    /// The curve over a span at a place.
    ///
    /// # Errors
    /// A sentence when the span leaves the calendar or the work was called off.
    pub(crate) fn between(water: Option<&Water>, at: LonLat, span: Span, progress: &Progress) -> Result<Self, String> {
        let (from, to) = (instant(span.from_s)?, instant(span.to_s)?);
        let long = span.length_s() > LONG_S;
        let step_s = (span.length_s() / 1200.0).clamp(60.0, 900.0);
        let mut heights = Vec::new();
        if let (Some(water), false) = (water, long) {
            heights = water.heights(from, step_s, (span.length_s() / step_s) as usize + 2);
        }
        // Month by month, so that a span of years can be called off.
        let mut turns = Vec::new();
        let mut start = span.from_s;
        while let (Some(water), true) = (water, start < span.to_s) {
            progress.check().map_err(|e| e.to_string())?;
            let end = (start + 30.0 * 86_400.0).min(span.to_s);
            turns.extend(water.turns(instant(start)?, instant(end)?));
            start = end;
            progress.set((start - span.from_s) / span.length_s());
        }
        let lit = if long { Vec::new() } else { sun::lit(at, from, to, sun::RISE_DEG) };
        Ok(Self { span, step_s, heights, turns, lit })
    }
}

/// The instant so many seconds after 1970.
pub(crate) fn instant(s: f64) -> Result<Timestamp, String> {
    Timestamp::from_millisecond((s * 1000.0) as i64).map_err(|_| "this is beyond the calendar".to_owned())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn zooming_keeps_the_instant_and_stays_within_reason() {
        let s = Span { from_s: 0.0, to_s: 86_400.0 };
        let z = s.zoomed(0.5, 21_600.0);
        assert!(((21_600.0 - z.from_s) / z.length_s() - 0.25).abs() < 1e-9);
        assert!(s.zoomed(1e9, 0.0).length_s() <= 610.0 * 86_400.0);
        assert!(s.zoomed(1e-9, 0.0).length_s() >= 6.0 * 3600.0);
    }

    #[test]
    fn the_rounded_span_holds_the_asked_one_and_small_moves_change_nothing() {
        let s = Span { from_s: 1_000_000.0, to_s: 1_259_200.0 };
        let r = s.rounded_out();
        assert!(r.from_s <= s.from_s && r.to_s >= s.to_s && r.length_s() < 6.0 * s.length_s());
        assert!((1..=20).any(|n| s.moved(f64::from(n) * 600.0).rounded_out() == r));
    }

    #[test]
    fn a_curve_without_a_tide_still_has_daylight() {
        let at = LonLat::new(-20.0, 45.0).unwrap();
        let c = Curve::between(None, at, Span { from_s: 0.0, to_s: 86_400.0 }, &Progress::new()).unwrap();
        assert!(c.heights.is_empty() && c.turns.is_empty() && !c.lit.is_empty());
    }
}
