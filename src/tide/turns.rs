//! High and low waters: every zero of the tide's slope.
//!
//! The span is cut every hour and a half. A piece is passed over only when bounds on the third and fourth
//! derivatives prove that the slope cannot vanish in it, taken to hold one turning point only when they
//! prove the slope monotone, and halved otherwise, down to a minute. Close pairs (double waters, stands
//! that just turn) are thereby found. Each zero is refined by Newton's method kept inside its bracket.

use std::fmt;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::astro::timestamp;
use super::envelope::{Envelope, Motion};

/// High or low water.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TurnKind {
    /// High water.
    High,
    /// Low water.
    Low,
}

impl fmt::Display for TurnKind {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::High => "high",
            Self::Low => "low",
        })
    }
}

/// A turning point of the tide.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Turn {
    /// When.
    pub time: Timestamp,
    /// High or low water.
    pub kind: TurnKind,
    /// Level, metres above the source's datum.
    pub level_m: f64,
}

/// Turns without the pairs that differ by less than `below_m`, the smallest pair first: for a list to read,
/// where a second high water of a few millimetres only confuses. The rest still alternates.
///
/// # Units
/// Metres.
pub fn without_small(turns: &[Turn], below_m: f64) -> Vec<Turn> {
    let mut kept = turns.to_vec();
    loop {
        let smallest = kept
            .windows(2)
            .enumerate()
            .map(|(i, pair)| (i, (pair[1].level_m - pair[0].level_m).abs()))
            .filter(|(_, step)| *step < below_m)
            .min_by(|a, b| a.1.total_cmp(&b.1));
        let Some((i, _)) = smallest else { return kept };
        // At an end of the list the inner one of the pair belongs to the next pair; only the end goes.
        if i == 0 {
            kept.remove(0);
        } else if i + 2 == kept.len() {
            kept.pop();
        } else {
            kept.drain(i..i + 2);
        }
    }
}

/// First cut of the span, seconds: half the envelope's node spacing, so that no piece lies across a node.
const CUT_S: f64 = 5400.0;
/// Pieces as short as this are not halved any more, seconds.
const SHORTEST_S: f64 = 60.0;
/// Cuts to one envelope, about three months: enough to share the work, little enough to stay in cache.
const CUTS_PER_PART: i64 = 1366;

#[derive(Clone, Copy)]
struct Sample {
    at: f64,
    motion: Motion,
}

/// A zero of the slope.
#[derive(Clone, Copy)]
struct Zero {
    at: f64,
    kind: TurnKind,
    level_m: f64,
}

/// Every turn in `from_s..to_s` (seconds since J2000), in order; `prepare` gives the envelope of a span.
pub(super) fn find_turns(prepare: impl Fn(f64, f64) -> Envelope, from_s: f64, to_s: f64) -> Vec<Turn> {
    let (mut cut, last) = ((from_s / CUT_S).floor() as i64, (to_s / CUT_S).ceil() as i64);
    let mut turns = Vec::new();
    while cut < last {
        let end = last.min(cut + CUTS_PER_PART);
        let envelope = prepare(cut as f64 * CUT_S, end as f64 * CUT_S);
        if envelope.third_bound > 0.0 {
            let zeros = zeros(&envelope, cut, end).into_iter().filter(|zero| zero.at >= from_s && zero.at < to_s);
            turns.extend(zeros.map(|zero| Turn { time: timestamp(zero.at), kind: zero.kind, level_m: zero.level_m }));
        }
        cut = end;
    }
    turns
}

/// Zeros of the slope between two cuts. A zero belongs to the piece that brackets it, so that neighbouring
/// parts neither share nor lose one.
fn zeros(envelope: &Envelope, first: i64, last: i64) -> Vec<Zero> {
    let sample = |cut: i64| Sample { at: cut as f64 * CUT_S, motion: envelope.motion(cut as f64 * CUT_S) };
    let mut zeros = Vec::new();
    let mut before = sample(first);
    for cut in first + 1..=last {
        let here = sample(cut);
        search(envelope, before, here, &mut zeros);
        before = here;
    }
    zeros
}

/// Appends the zeros of the slope in `a.at..b.at`.
///
/// A function whose second derivative is bounded by B stays within B Δ²/8 of the chord between its ends.
/// Applied to the slope: it cannot vanish where both ends are further from zero than that. Applied to the
/// bend: the slope is then monotone.
fn search(envelope: &Envelope, a: Sample, b: Sample, zeros: &mut Vec<Zero>) {
    let length = b.at - a.at;
    let sag = length * length / 8.0;
    let crosses = (a.motion.slope > 0.0) != (b.motion.slope > 0.0);
    let bends_alike = (a.motion.bend > 0.0) == (b.motion.bend > 0.0);
    let monotone = bends_alike && a.motion.bend.abs().min(b.motion.bend.abs()) > envelope.fourth_bound * sag;
    if crosses {
        if monotone || length <= SHORTEST_S {
            zeros.push(zero_of_slope(envelope, a, b));
            return;
        }
    } else {
        if monotone || a.motion.slope.abs().min(b.motion.slope.abs()) > envelope.third_bound * sag {
            return;
        }
        if length <= SHORTEST_S {
            // The slope may dip through zero and back: look where it is least.
            if !bends_alike {
                let at = zero_of_bend(envelope, a, b);
                let middle = Sample { at, motion: envelope.motion(at) };
                if (middle.motion.slope > 0.0) != (a.motion.slope > 0.0) {
                    zeros.push(zero_of_slope(envelope, a, middle));
                    zeros.push(zero_of_slope(envelope, middle, b));
                }
            }
            return;
        }
    }
    let at = 0.5 * (a.at + b.at);
    let middle = Sample { at, motion: envelope.motion(at) };
    search(envelope, a, middle, zeros);
    search(envelope, middle, b, zeros);
}

/// How far a zero may be off when the search for it ends, seconds.
const OFF_S: f64 = 2e-3;

/// Newton's method on the slope, kept within a bracket. Slope and bend at its ends give a cubic whose zero is
/// mostly within seconds of the true one, so that a step or two are enough.
fn zero_of_slope(envelope: &Envelope, a: Sample, b: Sample) -> Zero {
    let (mut lo, mut hi) = (a.at, b.at);
    let rising = a.motion.slope > 0.0;
    let kind = if rising { TurnKind::High } else { TurnKind::Low };
    let mut at = zero_of_cubic(a, b);
    for _ in 0..60 {
        let motion = envelope.motion(at);
        if (motion.slope > 0.0) == rising {
            lo = at;
        } else {
            hi = at;
        }
        let step = -motion.slope / motion.bend;
        let newton = at + step;
        let within = newton > lo && newton < hi;
        // Newton's method errs by half the square of its step, times the third derivative over the second.
        let off_s = 0.5 * step * step * envelope.third_bound / motion.bend.abs();
        if within && (off_s < OFF_S || step.abs() < OFF_S) || hi - lo < 1e-4 {
            let (step, at) = if within { (step, newton) } else { (0.0, at) };
            return Zero { at, kind, level_m: motion.height_m + step * (motion.slope + 0.5 * step * motion.bend) };
        }
        at = if within { newton } else { 0.5 * (lo + hi) };
    }
    Zero { at, kind, level_m: envelope.height_m(at) }
}

/// Where the cubic through slope and bend at both ends vanishes, by a few steps of Newton's method within them.
fn zero_of_cubic(a: Sample, b: Sample) -> f64 {
    let length = b.at - a.at;
    let (p0, p1, m0, m1) = (a.motion.slope, b.motion.slope, a.motion.bend * length, b.motion.bend * length);
    // p0 + m0 x + c2 x² + c3 x³ on 0..1.
    let (c2, c3) = (3.0 * (p1 - p0) - 2.0 * m0 - m1, 2.0 * (p0 - p1) + m0 + m1);
    let (mut lo, mut hi) = (0.0, 1.0);
    let mut x = (p0 / (p0 - p1)).clamp(0.0, 1.0);
    for _ in 0..4 {
        let value = p0 + x * (m0 + x * (c2 + x * c3));
        if (value > 0.0) == (p0 > 0.0) {
            lo = x
        } else {
            hi = x
        }
        let next = x - value / (m0 + x * (2.0 * c2 + 3.0 * x * c3));
        x = if next > lo && next < hi { next } else { 0.5 * (lo + hi) };
    }
    a.at + x * length
}

/// Where the bend changes sign between two samples, by halving to a tenth of a second.
fn zero_of_bend(envelope: &Envelope, a: Sample, b: Sample) -> f64 {
    let (mut lo, mut hi) = (a.at, b.at);
    while hi - lo > 0.1 {
        let at = 0.5 * (lo + hi);
        if (envelope.motion(at).bend > 0.0) == (a.motion.bend > 0.0) {
            lo = at;
        } else {
            hi = at;
        }
    }
    0.5 * (lo + hi)
}
