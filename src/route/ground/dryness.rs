//! When ground of a level is dry around one low water.
//!
//! The water is read every half minute outward from the low, keeping the highest level met on each
//! side. Ground is dry between the last moment before the low and the first after it at which the water
//! reached it, both rounded inwards; the spells of different levels are nested, so that higher ground is
//! dry whenever lower ground is. A second dip of the water (a double low) is not counted on. Building is
//! O(n) in the samples, a question O(log n).

use jiff::{SignedDuration, Timestamp};

use crate::tide::Water;

/// Between two readings of the water, seconds.
const STEP_S: i32 = 30;
/// How far to both sides of the low the water is read, seconds.
const REACH_S: i32 = 9 * 3600;

/// A span of seconds from the low water; both ends belong to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::route) struct Span {
    pub(in crate::route) from_s: i32,
    pub(in crate::route) to_s: i32,
}

impl Span {
    pub(in crate::route) fn shared(self, other: Self) -> Option<Self> {
        let both = Self { from_s: self.from_s.max(other.from_s), to_s: self.to_s.min(other.to_s) };
        (both.from_s <= both.to_s).then_some(both)
    }
}

/// The water around one low, ready to say when a level is dry.
#[derive(Clone)]
pub(in crate::route) struct Dryness {
    low: Timestamp,
    /// Highest water met from the low up to `i` steps before it, and after it.
    before_m: Vec<f64>,
    after_m: Vec<f64>,
}

impl Dryness {
    /// Reads the water around a low. Beyond the source's own knowledge everything is flooded.
    pub(in crate::route) fn around(water: &Water, low: Timestamp) -> Self {
        let steps = (REACH_S / STEP_S) as usize;
        let start = low - SignedDuration::from_secs(i64::from(REACH_S));
        let heights = water.heights(start, f64::from(STEP_S), 2 * steps + 1);
        let read = |i: usize| heights.get(i).copied().flatten().unwrap_or(f64::INFINITY);
        let running = |at: &dyn Fn(usize) -> usize| {
            (0..=steps)
                .scan(f64::NEG_INFINITY, |high, i| {
                    *high = high.max(read(at(i)));
                    Some(*high)
                })
                .collect()
        };
        Self { low, before_m: running(&|i| steps - i), after_m: running(&|i| steps + i) }
    }

    /// When ground is dry whose level, all margins taken off, is `limit_m` above the tide's datum.
    pub(in crate::route) fn span(&self, limit_m: f64) -> Option<Span> {
        let dry = |side: &[f64]| side.partition_point(|&water| water < limit_m);
        let (before, after) = (dry(&self.before_m), dry(&self.after_m));
        (before > 0 && after > 0).then(|| Span { from_s: -(before as i32 - 1) * STEP_S, to_s: (after as i32 - 1) * STEP_S })
    }

    /// Seconds from the low to an instant, held within a day.
    pub(in crate::route) fn seconds(&self, time: Timestamp) -> i32 {
        time.duration_since(self.low).as_secs().clamp(-86_400, 86_400) as i32
    }

    /// The instant so many seconds from the low.
    pub(in crate::route) fn time(&self, seconds: i32) -> Timestamp {
        self.low + SignedDuration::from_secs(i64::from(seconds))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tide::{Datum, TableEntry, TideTable, TurnKind, dry_windows};

    fn water() -> Water {
        let at = |h: i64| Timestamp::from_second(h * 3600).unwrap();
        let turn = |h, level_m, kind| TableEntry { time: at(h), level_m, kind: Some(kind) };
        let table = [
            turn(0, 5.0, TurnKind::High),
            turn(6, 1.0, TurnKind::Low),
            turn(9, 2.0, TurnKind::High),
            turn(12, 0.5, TurnKind::Low),
            turn(18, 5.0, TurnKind::High),
        ];
        Water::of_table(TideTable::new("invented", Datum::ChartDatum, &table).unwrap())
    }

    #[test]
    fn agrees_with_the_dry_windows_and_stays_inside_them() {
        let (water, low) = (water(), Timestamp::from_second(6 * 3600).unwrap());
        let dryness = Dryness::around(&water, low);
        for limit in [1.2, 1.5, 1.9, 2.1, 3.0, 4.7] {
            let span = dryness.span(limit).unwrap();
            let end = Timestamp::from_second(18 * 3600).unwrap();
            let windows = dry_windows(&water, limit, 0.0, Timestamp::UNIX_EPOCH, end);
            let window = windows.iter().find(|w| w.holds(low)).unwrap();
            let gap = |a: Timestamp, b: i32| (dryness.seconds(a) - b).abs();
            assert!(dryness.time(span.from_s) >= window.from && gap(window.from, span.from_s) <= STEP_S + 1, "{limit}");
            let to_s = dryness.seconds(window.to).min(REACH_S);
            assert!(span.to_s <= to_s && to_s - span.to_s <= STEP_S + 1, "{limit}: {} {to_s}", span.to_s);
        }
        assert_eq!(dryness.span(0.9), None);
    }

    #[test]
    fn where_the_table_ends_nothing_is_dry() {
        let (water, low) = (water(), Timestamp::from_second(12 * 3600).unwrap());
        let span = Dryness::around(&water, low).span(9.0).unwrap();
        assert!(span.to_s <= 6 * 3600, "{span:?}");
    }
}
