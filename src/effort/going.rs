//! How fast somebody goes who walks no faster than others search.
//!
//! Below the speed that tells walking from searching ([`Params::walk_m_per_s`]) every step counts as searched, and the
//! pace of a slow walker would never be known. The ways to the ground and back tell it all the same: at either end of a
//! track one goes straight on, and clearly faster than between, where the coil swings. Who begins to search at the access
//! goes no faster there than later, and says nothing.

use super::{Params, Walk};
use crate::earth::Local;

/// A way straight on lasts at least so long, seconds, ...
const LEAST_S: f64 = 80.0;
/// ... leads at least so far, metres, ...
const LEAST_M: f64 = 24.0;
/// ... turns from where it led so far by no more than this, degrees, ...
const TURN_DEG: f64 = 40.0;
/// ... never falls below this share of the speed so far, as it does where the search begins in the same direction, ...
const STEADY: f64 = 0.6;
/// ... and is so many times as fast as what lies between the two ends. Judgements, no published source.
const FASTER: f64 = 1.5;
/// Slower than this nobody walks, metres a second: it is a pause.
const LEAST_M_S: f64 = 0.2;

/// Where one was on average in one window of time.
struct Spot {
    time_s: f64,
    at: Local,
}

/// The pace of the ways to the ground and back, metres a second; `None` where neither end of a walk shows one slower than
/// what counts as walking.
pub(super) fn slow_going_m_s(walk: &Walk, params: &Params) -> Option<f64> {
    let spots = spots(walk, params.window_s);
    let steps: Vec<f64> = spots.windows(2).map(|w| speed_m_s(&w[0], &w[1])).collect();
    let first = straight(spots.iter());
    let last = straight(spots.iter().rev());
    // What lies between the ends is the search.
    let (skip, end) = (first.map_or(0, |f| f.0), steps.len().saturating_sub(last.map_or(0, |l| l.0)));
    let mut between: Vec<f64> = steps.get(skip..end)?.to_vec();
    if between.len() < 2 * (LEAST_S / params.window_s) as usize {
        return None;
    }
    between.sort_by(f64::total_cmp);
    let usual_m_s = between[between.len() / 2];
    let ways = [first, last].into_iter().flatten().map(|w| w.1);
    let slow: Vec<f64> = ways.filter(|v| *v >= FASTER * usual_m_s && *v <= params.walk_m_per_s).collect();
    (!slow.is_empty()).then(|| slow.iter().sum::<f64>() / slow.len() as f64)
}

/// Steps and speed of the way straight on with which spots begin.
fn straight<'a>(spots: impl Iterator<Item = &'a Spot>) -> Option<(usize, f64)> {
    let spots: Vec<&Spot> = spots.collect();
    let first = spots.first()?;
    let on = |n: usize| {
        let (a, b) = (spots[n - 1], spots[n]);
        let led = turn_deg(first.at, a.at, b.at);
        let steady_m_s = LEAST_M_S.max(if n == 1 { 0.0 } else { STEADY * speed_m_s(first, a) });
        speed_m_s(a, b) >= steady_m_s && (n == 1 || led <= TURN_DEG)
    };
    let steps = (1..spots.len()).take_while(|n| on(*n)).count();
    let last = spots.get(steps)?;
    let (way_m, way_s) = (first.at.distance_m(last.at), (last.time_s - first.time_s).abs());
    (way_m >= LEAST_M && way_s >= LEAST_S).then(|| (steps, way_m / way_s))
}

fn speed_m_s(a: &Spot, b: &Spot) -> f64 {
    let seconds = (b.time_s - a.time_s).abs();
    if seconds > 0.0 { a.at.distance_m(b.at) / seconds } else { 0.0 }
}

/// Between the way from the first to the second and that from the second to the third, degrees.
fn turn_deg(a: Local, b: Local, c: Local) -> f64 {
    let (x1, y1) = (b.east_m - a.east_m, b.north_m - a.north_m);
    let (x2, y2) = (c.east_m - b.east_m, c.north_m - b.north_m);
    (x1 * y2 - y1 * x2).atan2(x1 * x2 + y1 * y2).to_degrees().abs()
}

/// Mean places and times of the fixes in windows of so many seconds, which smooths the receiver's error.
fn spots(walk: &Walk, window_s: f64) -> Vec<Spot> {
    let mut fixes = walk.runs.iter().flatten().filter(|f| f.time_s.is_finite()).peekable();
    let Some(began_s) = fixes.peek().map(|f| f.time_s) else { return Vec::new() };
    let window = |time_s: f64| ((time_s - began_s) / window_s).floor() as i64;
    let fixes: Vec<_> = fixes.collect();
    let mean = |of: &[&super::Fix]| {
        let n = of.len() as f64;
        let sum = |f: &dyn Fn(&super::Fix) -> f64| of.iter().map(|x| f(x)).sum::<f64>() / n;
        Spot {
            time_s: began_s + sum(&|f| f.time_s - began_s),
            at: Local { east_m: sum(&|f| f.at.east_m), north_m: sum(&|f| f.at.north_m) },
        }
    };
    fixes.chunk_by(|a, b| window(a.time_s) == window(b.time_s)).map(mean).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::book::Uid;
    use crate::effort::Fix;

    /// Two minutes and more to the ground at a pace, half an hour of lanes at another, and back; a fix every five seconds
    /// that stands up to two metres off.
    fn walk(out_m_s: f64, search_m_s: f64) -> Walk {
        let (mut x, mut fixes) = (0.0_f64, Vec::new());
        for n in 0..440 {
            let v = match n {
                0..40 => out_m_s,
                40..400 if (n / 20) % 2 == 1 => search_m_s,
                40..400 => -search_m_s,
                _ => -out_m_s,
            };
            x += 5.0 * v;
            let off = |k: usize| 2.0 * (f64::from(((n * k) % 17) as u32) / 8.0 - 1.0);
            let at = Local { east_m: x + off(7), north_m: 0.1 * f64::from(n as u32) + off(11) };
            fixes.push(Fix { at, on_grid: at, time_s: 5.0 * f64::from(n as u32) });
        }
        let (track, outing) = (Uid::fresh(), Some(Uid::fresh()));
        Walk { track, outing, began_s: 0.0, coil_width_m: None, runs: vec![fixes], unusable: 0 }
    }

    #[test]
    fn a_slow_walk_to_the_ground_is_told_from_the_search_and_a_search_from_the_access_on_is_not_a_walk() {
        let params = Params::default();
        for pace in [0.3, 0.4, 0.5, 0.6, 0.7] {
            let learnt = slow_going_m_s(&walk(pace, 0.15), &params).unwrap();
            assert!((learnt - pace).abs() < 0.15 * pace, "{pace}: {learnt}");
        }
        assert_eq!(slow_going_m_s(&walk(0.35, 0.35), &params), None);
        assert_eq!(slow_going_m_s(&walk(1.2, 0.3), &params), None, "that counts as walking");
        assert_eq!(slow_going_m_s(&Walk { runs: Vec::new(), ..walk(0.5, 0.2) }, &params), None);
    }
}
