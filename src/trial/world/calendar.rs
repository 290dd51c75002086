//! When storms come and when people go out.

use super::draw::{Rng, chance, log_uniform, normal, pick, poisson, uniform};
use super::water::Water;

/// One outing as it is planned: its start, seconds since 1970, its length in seconds and whose habit it follows.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Planned {
    pub(super) start_s: i64,
    pub(super) seconds: u32,
    pub(super) habit: usize,
}

/// First and last instant of a world, both midnights, seconds since 1970.
pub(super) fn span_s(outings: usize, rng: &mut Rng) -> (i64, i64) {
    // Some day between 2015 and 2024.
    let first = 16_436 + pick(rng, 3_300) as i64;
    let least = (1.6 * outings as f64 + 5.0).max(30.0);
    let days = log_uniform(rng, least, 730.0).ceil() as i64;
    (first * 86_400, (first + days) * 86_400)
}

/// Peaks of the storms, in order of time.
pub(super) fn storms_s(span_s: (i64, i64), least: usize, rng: &mut Rng) -> Vec<i64> {
    let days = (span_s.1 - span_s.0) as f64 / 86_400.0;
    let apart_days = log_uniform(rng, 40.0, 200.0);
    let count = poisson(rng, days / apart_days).clamp(least, 10);
    let mut storms: Vec<i64> =
        (0..count).map(|_| uniform(rng, span_s.0 as f64 + 86_400.0, span_s.1 as f64 - 86_400.0) as i64).collect();
    storms.sort_unstable();
    storms
}

/// The outings in order of time, at most one a day; `after_storms` says it of each habit.
pub(super) fn outings(
    count: usize,
    after_storms: &[bool],
    span_s: (i64, i64),
    storms_s: &[i64],
    water: &Water,
    rng: &mut Rng,
) -> Vec<Planned> {
    let days = (span_s.1 - span_s.0) / 86_400;
    let usual_min = log_uniform(rng, 20.0, 240.0);
    let by_low_water = chance(rng, 0.75);
    let mut taken = std::collections::BTreeSet::new();
    let mut planned = Vec::with_capacity(count);
    for _ in 0..count * 50 {
        if planned.len() == count {
            break;
        }
        let habit = pick(rng, after_storms.len());
        let day = if after_storms[habit] && !storms_s.is_empty() && chance(rng, 0.8) {
            (storms_s[pick(rng, storms_s.len())] - span_s.0) / 86_400 + 1 + (uniform(rng, 0.0, 1.0).powi(2) * 9.0) as i64
        } else {
            uniform(rng, 0.0, days as f64) as i64
        };
        if day >= days || !taken.insert(day) {
            continue;
        }
        let seconds = ((usual_min * normal(rng, 0.3).exp()).clamp(20.0, 240.0) * 60.0) as u32;
        let noon_s = (span_s.0 + day * 86_400 + 43_200) as f64;
        let middle_s = if by_low_water { water.low_near_s(noon_s) } else { noon_s + uniform(rng, -14_000.0, 14_000.0) };
        planned.push(Planned { start_s: middle_s as i64 - i64::from(seconds) / 2, seconds, habit });
    }
    planned.sort_by_key(|p| p.start_s);
    planned
}
