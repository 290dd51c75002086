//! When a place is dry: from the falling water uncovering it, with a margin, to the rising water's return.

use jiff::{SignedDuration, Timestamp};

use super::astro::{seconds_j2000, timestamp};
use super::water::Water;
use super::window::Window;

/// The moment at which the water passes a level, and whether it rises.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Passing {
    /// When.
    pub time: Timestamp,
    /// Upwards or downwards.
    pub rising: bool,
}

impl Water {
    /// Every moment in `from..to` at which the water passes `level_m`, within half a second.
    ///
    /// Between neighbouring turning points the water is monotone, so that each pair is passed at most once.
    ///
    /// # Units
    /// Metres above the source's datum.
    pub fn passings(&self, level_m: f64, from: Timestamp, to: Timestamp) -> Vec<Passing> {
        self.spans(from, to).iter().flat_map(|span| self.passings_in(level_m, *span)).collect()
    }

    /// Passings within one span that the source covers.
    fn passings_in(&self, level_m: f64, span: Window) -> Vec<Passing> {
        let curve = self.curve(span.from, span.to);
        let turns = self.turns(span.from, span.to);
        let knots = std::iter::once(span.from).chain(turns.iter().map(|turn| turn.time)).chain([span.to]);
        let knots: Vec<(f64, Option<f64>)> = knots.map(seconds_j2000).map(|seconds| (seconds, curve.height_m(seconds))).collect();
        let mut out = Vec::new();
        for pair in knots.windows(2) {
            let &[(a, Some(ha)), (b, Some(hb))] = pair else { continue };
            let below = ha < level_m;
            if below == (hb < level_m) {
                continue;
            }
            let (mut lo, mut hi) = (a, b);
            while hi - lo > 0.25 {
                let mid = 0.5 * (lo + hi);
                if curve.height_m(mid).is_none_or(|h| (h < level_m) == below) { lo = mid } else { hi = mid }
            }
            out.push(Passing { time: timestamp(0.5 * (lo + hi)), rising: below });
        }
        out
    }
}

/// When a place is dry: the water stands more than `margin_m` below `level_m`.
///
/// Windows are whole seconds, rounded inwards, in order, within `from..to` and within what the source
/// covers: where a tide table ends nothing is dry. The margin has to hold everything that the source does
/// not know: run-up, surge, error of the place's level ([`super::Surge`] adds its own).
///
/// # Units
/// `level_m` in metres above the water's datum; `margin_m` in metres.
pub fn dry_windows(water: &Water, level_m: f64, margin_m: f64, from: Timestamp, to: Timestamp) -> Vec<Window> {
    let limit = level_m - margin_m;
    let mut out = Vec::new();
    for span in water.spans(from, to) {
        let mut open = water.height_m(span.from).is_some_and(|h| h < limit).then_some(span.from);
        for passing in water.passings_in(limit, span) {
            if passing.rising {
                out.extend(open.take().and_then(|start| whole_seconds(start, passing.time)));
            } else {
                open = Some(passing.time);
            }
        }
        out.extend(open.and_then(|start| whole_seconds(start, span.to)));
    }
    out
}

/// A window rounded inwards to whole seconds, with half a second more for the error of its ends.
fn whole_seconds(from: Timestamp, to: Timestamp) -> Option<Window> {
    let half = SignedDuration::from_millis(500);
    let up = from + half;
    let from = Timestamp::from_second(up.as_second() + i64::from(up.subsec_nanosecond() > 0)).ok()?;
    let to = Timestamp::from_second((to - half).as_second()).ok()?;
    (from < to).then_some(Window { from, to })
}
