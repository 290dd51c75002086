//! Searching told from walking, and both from gaps.
//!
//! Speed is measured straight over a window of time centred on each fix: at one fix a second the
//! receiver's error alone makes a standing person run, and who turns to and fro gets nowhere fast.

use serde::{Deserialize, Serialize};

use super::walk::Fix;
use super::{Params, Walk};
use crate::book::Uid;

/// What a stretch of a track was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum StretchKind {
    /// The coil was in use.
    Searched,
    /// Too fast and straight for that.
    Walked,
    /// The receiver had lost its fix, or jumped.
    Gap,
    /// Without times, and taken as searched.
    Timeless,
}

/// A part of a track of one kind.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Stretch {
    /// The track.
    pub track: Uid,
    /// Its outing, if known.
    pub outing: Option<Uid>,
    /// What it was.
    pub kind: StretchKind,
    /// When it began, seconds since 1970-01-01 UTC, if known.
    pub from_s: Option<f64>,
    /// When it ended.
    pub to_s: Option<f64>,
    /// Its length, metres; of a gap, from end to end.
    pub length_m: f64,
    /// Width of the swath, metres.
    pub swath_m: f64,
}

/// The kind of each step of a run, from one fix to the next.
pub(super) fn kinds(run: &[Fix], params: &Params) -> Vec<StretchKind> {
    let mut kinds: Vec<StretchKind> = run.windows(2).map(|w| step_kind(w[0], w[1], params)).collect();
    // Within each part without gap and with times, walking is told from searching.
    let mut from = 0;
    while from < kinds.len() {
        let kind = kinds[from];
        let length = kinds[from..].iter().take_while(|k| **k == kind).count();
        if kind == StretchKind::Searched {
            let walking = walking(&run[from..=from + length], params);
            for (kind, pair) in kinds[from..from + length].iter_mut().zip(walking.windows(2)) {
                if pair[0] && pair[1] {
                    *kind = StretchKind::Walked;
                }
            }
        }
        from += length;
    }
    kinds
}

fn step_kind(a: Fix, b: Fix, params: &Params) -> StretchKind {
    let (step_m, step_s) = (a.at.distance_m(b.at), b.time_s - a.time_s);
    if step_s.is_nan() {
        return if step_m > params.gap_m || !params.timeless_is_searched { StretchKind::Gap } else { StretchKind::Timeless };
    }
    // Two fixes at one instant, or out of order, are one place told twice or a jump.
    let jumped = step_m > params.jump_m_per_s * step_s.max(1.0);
    if step_s < 0.0 || step_s > params.gap_s || jumped { StretchKind::Gap } else { StretchKind::Searched }
}

/// For each fix of a run without gaps, whether it was passed at a walk.
fn walking(run: &[Fix], params: &Params) -> Vec<bool> {
    let half_s = params.window_s / 2.0;
    let (mut first, mut last) = (0, 0);
    let mut walking = Vec::with_capacity(run.len());
    for (n, fix) in run.iter().enumerate() {
        while first < n && run[first].time_s < fix.time_s - half_s {
            first += 1;
        }
        while last + 1 < run.len() && run[last + 1].time_s <= fix.time_s + half_s {
            last += 1;
        }
        last = last.max(n);
        let (a, b) = (run[first], run[last]);
        let seconds = b.time_s - a.time_s;
        let fast = seconds > 0.0 && a.at.distance_m(b.at) / seconds > params.walk_m_per_s;
        walking.push(fast && turn_deg(a, *fix, b) <= params.turn_deg);
    }
    walking
}

/// Change of direction at `b` on the way from `a` to `c`, degrees; 0 at either end.
fn turn_deg(a: Fix, b: Fix, c: Fix) -> f64 {
    let (x1, y1) = (b.at.east_m - a.at.east_m, b.at.north_m - a.at.north_m);
    let (x2, y2) = (c.at.east_m - b.at.east_m, c.at.north_m - b.at.north_m);
    (x1 * y2 - y1 * x2).atan2(x1 * x2 + y1 * y2).to_degrees().abs()
}

/// A step over which the coil was in use, on the grid.
#[derive(Debug, Clone, Copy)]
pub(super) struct Sweep {
    pub(super) from: (f64, f64),
    pub(super) to: (f64, f64),
    pub(super) radius_m: f64,
    /// When it began and ended: for a track without times, as if at an easy searching pace.
    pub(super) from_s: f64,
    pub(super) to_s: f64,
    /// Which outing, by its place in time.
    pub(super) group: u32,
}

/// Pace at which a track without times is taken to have been searched, metres per second; it only
/// decides when the coil counts as back over the same ground.
const EASY_M_PER_S: f64 = 0.5;

/// The sweeps of a walk, and its stretches.
pub(super) fn follow(walk: &Walk, group: u32, params: &Params) -> (Vec<Sweep>, Vec<Stretch>) {
    let swath_m = params.swath_m(walk.coil_width_m);
    let (mut sweeps, mut stretches): (Vec<Sweep>, Vec<Stretch>) = (Vec::new(), Vec::new());
    let known = |s: f64| (!s.is_nan()).then_some(s);
    let mut easy_s = 0.0;
    let mut before: Option<Fix> = None;
    for run in &walk.runs {
        // Between two runs the receiver was lost.
        if let (Some(a), Some(b)) = (before, run.first()) {
            let length_m = a.at.distance_m(b.at);
            let (from_s, to_s) = (known(a.time_s), known(b.time_s));
            let (track, outing) = (walk.track, walk.outing);
            stretches.push(Stretch { track, outing, kind: StretchKind::Gap, from_s, to_s, length_m, swath_m });
        }
        before = run.last().copied().or(before);
        let mut last_kind = None;
        for (pair, kind) in run.windows(2).zip(kinds(run, params)) {
            let (a, b) = (pair[0], pair[1]);
            let length_m = a.at.distance_m(b.at);
            match stretches.last_mut() {
                Some(s) if last_kind == Some(kind) => {
                    s.length_m += length_m;
                    s.to_s = known(b.time_s);
                }
                _ => stretches.push(Stretch {
                    track: walk.track,
                    outing: walk.outing,
                    kind,
                    from_s: known(a.time_s),
                    to_s: known(b.time_s),
                    length_m,
                    swath_m,
                }),
            }
            last_kind = Some(kind);
            let (from_s, to_s) = match kind {
                StretchKind::Searched => (a.time_s, b.time_s),
                StretchKind::Timeless => (easy_s, easy_s + length_m / EASY_M_PER_S),
                StretchKind::Walked | StretchKind::Gap => continue,
            };
            easy_s += length_m / EASY_M_PER_S;
            let point = |f: Fix| (f.on_grid.east_m, f.on_grid.north_m);
            sweeps.push(Sweep { from: point(a), to: point(b), radius_m: swath_m / 2.0, from_s, to_s, group });
        }
    }
    (sweeps, stretches)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::earth::Local;

    fn run(points: impl IntoIterator<Item = (f64, f64, f64)>) -> Vec<Fix> {
        let fix = |(t, x, y)| Fix { at: Local::new(x, y), on_grid: Local::new(x, y), time_s: t };
        points.into_iter().map(fix).collect()
    }

    fn share(kinds: &[StretchKind], kind: StretchKind) -> f64 {
        kinds.iter().filter(|k| **k == kind).count() as f64 / kinds.len() as f64
    }

    #[test]
    fn slow_is_searched_and_fast_is_walked() {
        let p = Params::default();
        let slow = kinds(&run((0..200).map(|n| (f64::from(n), f64::from(n) * 0.45, 0.0))), &p);
        assert_eq!(share(&slow, StretchKind::Searched), 1.0);
        let fast = kinds(&run((0..200).map(|n| (f64::from(n), f64::from(n) * 1.3, 0.0))), &p);
        assert_eq!(share(&fast, StretchKind::Walked), 1.0);
        // The threshold is the person's to set.
        let eager = kinds(&run((0..200).map(|n| (f64::from(n), f64::from(n) * 1.3, 0.0))), &Params { walk_m_per_s: 1.5, ..p });
        assert_eq!(share(&eager, StretchKind::Searched), 1.0);
    }

    #[test]
    fn fast_but_turning_to_and_fro_is_searched() {
        // 1.3 m/s, turning about every 8 s.
        let zigzag = |n: i32| {
            let phase = f64::from(n % 16);
            (f64::from(n), 1.3 * if phase < 8.0 { phase } else { 16.0 - phase }, f64::from(n) * 0.05)
        };
        assert_eq!(share(&kinds(&run((0..200).map(zigzag)), &Params::default()), StretchKind::Walked), 0.0);
    }

    #[test]
    fn the_receivers_error_is_not_taken_for_speed() {
        // Standing still with a scatter of 3 m at each second.
        let still =
            run((0..300).map(|n| (f64::from(n), 3.0 * (f64::from(n) * 12.9898).sin(), 3.0 * (f64::from(n) * 78.233).sin())));
        assert!(share(&kinds(&still, &Params::default()), StretchKind::Searched) > 0.97);
    }

    #[test]
    fn pauses_and_jumps_are_gaps() {
        let p = Params::default();
        let pause = kinds(&run([(0.0, 0.0, 0.0), (1.0, 0.5, 0.0), (90.0, 3.0, 0.0), (91.0, 3.5, 0.0)]), &p);
        assert_eq!(pause, [StretchKind::Searched, StretchKind::Gap, StretchKind::Searched]);
        let jump = kinds(&run([(0.0, 0.0, 0.0), (1.0, 40.0, 0.0), (2.0, 0.5, 0.0), (3.0, 1.0, 0.0)]), &p);
        assert_eq!(jump, [StretchKind::Gap, StretchKind::Gap, StretchKind::Searched]);
        let back = kinds(&run([(5.0, 0.0, 0.0), (4.0, 0.5, 0.0)]), &p);
        assert_eq!(back, [StretchKind::Gap]);
    }

    #[test]
    fn without_times_all_is_searched_but_long_steps_unless_told_otherwise() {
        let line = run([(f64::NAN, 0.0, 0.0), (f64::NAN, 10.0, 0.0), (f64::NAN, 60.0, 0.0)]);
        assert_eq!(kinds(&line, &Params::default()), [StretchKind::Timeless, StretchKind::Gap]);
        let strict = Params { timeless_is_searched: false, ..Params::default() };
        assert_eq!(kinds(&line, &strict), [StretchKind::Gap, StretchKind::Gap]);
    }
}
