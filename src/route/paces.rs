//! Paces learnt from the person's own outings: walking, ground searched, digging.
//!
//! The time that tracks show of searching holds both sweeping and digging. Over many outings the two are told
//! apart by least squares through the origin, `time = a * ground + b * finds`: 1/a is ground a second, b the
//! time of one find (Draper & Smith, *Applied regression analysis*, from memory). Rests spent on the sand are part of either. The walking speed is the mean of the
//! outings' own; of who walks no faster than others search, that of the straight ways to the ground and back
//! (`effort::going`). O(stretches).

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use crate::book::{FindTables, Uid};
use crate::effort::{Effort, StretchKind};

/// Fewer outings say nothing.
const LEAST_OUTINGS: usize = 10;
/// An outing counts with at least so much searching, and so much walking, seconds.
const LEAST_SEARCH_S: f64 = 600.0;
const LEAST_WALK_S: f64 = 60.0;
/// A 95 % interval wider than this share of the value to each side is "not known".
const WIDEST: f64 = 0.5;

/// A figure learnt, with the ends of its 95 % interval.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Learnt {
    /// The figure.
    pub value: f64,
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// Outings it was learnt from.
    pub outings: usize,
}

/// The paces of one person; `None` where the outings do not say.
#[derive(Debug, Clone, Copy, Default, PartialEq, Serialize, Deserialize)]
pub struct Paces {
    /// Walking, metres a second.
    pub walk_m_s: Option<Learnt>,
    /// Ground searched while not digging, m² a second.
    pub ground_m2_s: Option<Learnt>,
    /// Time of one find, seconds.
    pub dig_s: Option<Learnt>,
    /// Outings with enough searching to count.
    pub outings: usize,
}

/// What one outing shows.
#[derive(Default)]
struct Seen {
    search_s: f64,
    walk_s: f64,
    walk_m: f64,
    ground_m2: f64,
    finds: f64,
}

impl Paces {
    /// Learns from the outings of the beach whose effort this is.
    pub fn learned_from(book: impl Into<FindTables>, effort: &Effort) -> Self {
        let book = book.into();
        let mut seen: BTreeMap<Uid, Seen> = BTreeMap::new();
        for s in &effort.stretches {
            let (Some(outing), Some(from_s), Some(to_s)) = (s.outing, s.from_s, s.to_s) else { continue };
            let one = seen.entry(outing).or_default();
            match s.kind {
                StretchKind::Searched => one.search_s += to_s - from_s,
                StretchKind::Walked => {
                    one.walk_s += to_s - from_s;
                    one.walk_m += s.length_m;
                }
                StretchKind::Gap | StretchKind::Timeless => {}
            }
        }
        for ground in &effort.outings {
            if let Some(one) = ground.outing.and_then(|o| seen.get_mut(&o)) {
                one.ground_m2 = ground.swept_m2;
            }
        }
        for find in book.finds().values() {
            if let Some(one) = find.outing.and_then(|o| seen.get_mut(&o)) {
                one.finds += 1.0;
            }
        }
        // Whoever walks no faster than others search leaves no stretch that counts as walked.
        for (outing, m_s) in &effort.slow_going {
            if let Some(one) = seen.get_mut(outing).filter(|one| one.walk_s < LEAST_WALK_S) {
                (one.walk_s, one.walk_m) = (LEAST_WALK_S, LEAST_WALK_S * m_s);
            }
        }
        let searched: Vec<&Seen> = seen.values().filter(|s| s.search_s >= LEAST_SEARCH_S && s.ground_m2 > 0.0).collect();
        let speeds: Vec<f64> = seen.values().filter(|s| s.walk_s >= LEAST_WALK_S).map(|s| s.walk_m / s.walk_s).collect();
        let points: Vec<[f64; 3]> = searched.iter().map(|s| [s.ground_m2, s.finds, s.search_s]).collect();
        let (per_m2, per_find) = two_slopes(&points);
        let ground_m2_s = per_m2.map(|l| Learnt { value: 1.0 / l.value, low: 1.0 / l.high, high: 1.0 / l.low, ..l });
        Self { walk_m_s: mean(&speeds), ground_m2_s, dig_s: per_find, outings: searched.len() }
    }

    /// What was learnt, as a sentence with its figures.
    pub fn said(&self) -> String {
        let mut parts = Vec::new();
        let mut say = |learnt: Option<Learnt>, what: &str, unit: &str, times: f64, decimals: usize| {
            if let Some(l) = learnt {
                let (value, low, high) = (l.value * times, l.low * times, l.high * times);
                parts.push(format!(
                    "{what} {value:.decimals$} {unit} ({low:.decimals$} to {high:.decimals$}, {} outings)",
                    l.outings
                ));
            }
        };
        say(self.walk_m_s, "walking", "m/s", 1.0, 2);
        say(self.ground_m2_s, "searching", "m² an hour", 3600.0, 0);
        say(self.dig_s, "one find", "min", 1.0 / 60.0, 1);
        if parts.is_empty() {
            return format!(
                "Your own paces are not known yet: {} outings with times show enough searching, {LEAST_OUTINGS} that agree are needed.",
                self.outings
            );
        }
        format!("Learnt from your outings, with 95 % intervals: {}.", parts.join("; "))
    }

    /// Whether anything was learnt.
    pub fn is_known(&self) -> bool {
        self.walk_m_s.is_some() || self.ground_m2_s.is_some() || self.dig_s.is_some()
    }
}

/// The mean of figures with its interval.
fn mean(values: &[f64]) -> Option<Learnt> {
    let n = values.len();
    if n < LEAST_OUTINGS {
        return None;
    }
    let mean = values.iter().sum::<f64>() / n as f64;
    let variance = values.iter().map(|v| (v - mean).powi(2)).sum::<f64>() / (n - 1) as f64;
    known(mean, crate::chance::student_quantile(0.975, (n - 1) as f64) * (variance / n as f64).sqrt(), n)
}

/// The slopes of `z = a x + b y` through the origin.
fn two_slopes(points: &[[f64; 3]]) -> (Option<Learnt>, Option<Learnt>) {
    let n = points.len();
    if n < LEAST_OUTINGS {
        return (None, None);
    }
    let sum = |f: &dyn Fn(&[f64; 3]) -> f64| points.iter().map(f).sum::<f64>();
    let (xx, xy, yy) = (sum(&|p| p[0] * p[0]), sum(&|p| p[0] * p[1]), sum(&|p| p[1] * p[1]));
    let (xz, yz) = (sum(&|p| p[0] * p[2]), sum(&|p| p[1] * p[2]));
    let det = xx * yy - xy * xy;
    // Ground and finds that go in step cannot be told apart.
    if det <= 1e-6 * xx * yy {
        return (None, None);
    }
    let (a, b) = ((yy * xz - xy * yz) / det, (xx * yz - xy * xz) / det);
    let rest = sum(&|p| (p[2] - a * p[0] - b * p[1]).powi(2)) / (n - 2) as f64;
    let t = crate::chance::student_quantile(0.975, (n - 2) as f64);
    let half = |part: f64| t * (rest * part / det).sqrt();
    (known(a, half(yy), n), known(b, half(xx), n))
}

fn known(value: f64, half: f64, outings: usize) -> Option<Learnt> {
    (value > 0.0 && half <= WIDEST * value).then_some(Learnt { value, low: value - half, high: value + half, outings })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::route::params::Params;

    #[test]
    fn ground_and_digging_are_told_apart() {
        let points: Vec<[f64; 3]> = (0..30)
            .map(|n| {
                let (ground, finds) = (300.0 + 40.0 * f64::from(n % 7), f64::from(n % 5 * 4));
                let noise = f64::from((n * 37) % 11) - 5.0;
                [ground, finds, ground / 0.2 + finds * 150.0 + 20.0 * noise]
            })
            .collect();
        let (per_m2, per_find) = two_slopes(&points);
        let (per_m2, per_find) = (per_m2.unwrap(), per_find.unwrap());
        assert!(per_m2.low < 5.0 && per_m2.high > 5.0 && (per_m2.value - 5.0).abs() < 0.1, "{per_m2:?}");
        assert!(per_find.low < 150.0 && per_find.high > 150.0 && per_find.outings == 30, "{per_find:?}");
        assert_eq!(two_slopes(&points[..9]), (None, None));
        // Finds that always go with the ground say nothing of either.
        let step: Vec<[f64; 3]> = (1..20).map(|n| [f64::from(n) * 10.0, f64::from(n), f64::from(n) * 100.0]).collect();
        assert_eq!(two_slopes(&step), (None, None));
    }

    #[test]
    fn the_walk_out_is_never_made_quicker_and_nothing_known_changes_nothing() {
        let quick = Learnt { value: 2.0, low: 1.9, high: 2.1, outings: 20 };
        let mut params = Params::default();
        Paces { walk_m_s: Some(quick), outings: 20, ..Paces::default() }.apply(&mut params);
        assert_eq!(params.walk_out_m_s, Params::default().walk_out_m_s);
        let slow = Learnt { value: 0.6, low: 0.5, high: 0.7, outings: 20 };
        Paces { walk_m_s: Some(slow), outings: 20, ..Paces::default() }.apply(&mut params);
        assert!((params.walk_out_m_s - 0.375).abs() < 1e-12);
        let mut params = Params::default();
        Paces::default().apply(&mut params);
        assert_eq!(Params { paces: None, ..params }, Params::default());
        assert!(Paces::default().said().contains("not known yet"));
    }
}
