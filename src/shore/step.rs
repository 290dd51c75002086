//! A step in a survey: from some place along the beach on all of its levels stand higher, or lower, by one and the same.

use super::ShorePoint;
use crate::trust::SurveyStep;

/// On either side of a place the sand over this part of the beach's length is held against the other, ...
const PART: f64 = 0.125;
/// ... between so many metres.
const REACH_M: (f64, f64) = (30.0, 100.0);
/// So many places along the beach are looked at.
const PLACES: usize = 29;
/// No more than about so many levels are.
pub(super) const MOST: usize = 1_500;
/// Levels on both sides belong together that lie so near to one another across, metres.
const ALIKE_M: f64 = 4.0;
/// So many such pairs must there be, ...
const LEAST_PAIRS: usize = 12;
/// ... and so far must they reach across, metres: a groyne steps the upper beach alone.
const ACROSS_M: f64 = 60.0;
/// From so much in the middle on a step is told, metres, ...
const STEP_M: f64 = 0.6;
/// ... where half of the pairs differ among themselves by no more than this part of it, ...
const EVENLY: f64 = 0.4;
/// ... and the sand beside it has no more than this part of it.
const BESIDE: f64 = 0.3;

/// The greatest step of a survey, by the places of its levels and how high they are, metres.
pub(super) fn step_of(levels: &[(ShorePoint, f64)]) -> Option<SurveyStep> {
    let along = || levels.iter().map(|(p, _)| p.along_m);
    let (from_m, to_m) = (along().fold(f64::INFINITY, f64::min), along().fold(f64::NEG_INFINITY, f64::max));
    let reach_m = (PART * (to_m - from_m)).clamp(REACH_M.0, REACH_M.1);
    if to_m - from_m < 4.0 * reach_m {
        return None;
    }
    let at = |n: usize| from_m + reach_m + (to_m - from_m - 2.0 * reach_m) * n as f64 / (PLACES - 1) as f64;
    let steps = (0..PLACES).filter_map(|n| {
        let along_m = at(n);
        let (by_m, spread_m) = between(levels, along_m, reach_m)?;
        let even = by_m.abs() >= STEP_M && spread_m <= EVENLY * by_m.abs();
        let beside = [along_m - reach_m, along_m + reach_m].map(|m| between(levels, m, reach_m));
        let alone = || beside.iter().flatten().all(|(m, _)| m.abs() <= BESIDE * by_m.abs()) && beside.iter().any(Option::is_some);
        (even && alone()).then_some(SurveyStep { along_m, by_m })
    });
    steps.max_by(|a, b| a.by_m.abs().total_cmp(&b.by_m.abs()))
}

/// How much higher the sand stands from a place along the beach on than before it, in the middle of the levels that lie as
/// far across, and how much half of them differ among themselves, metres.
fn between(levels: &[(ShorePoint, f64)], along_m: f64, reach_m: f64) -> Option<(f64, f64)> {
    let within = |from_m: f64| levels.iter().filter(move |(p, _)| (from_m..from_m + reach_m).contains(&p.along_m));
    let after: Vec<&(ShorePoint, f64)> = within(along_m).collect();
    let mut up = Vec::new();
    let (mut least_m, mut most_m) = (f64::INFINITY, f64::NEG_INFINITY);
    for (p, m) in within(along_m - reach_m) {
        let off_m = |q: &ShorePoint| (q.across_m - p.across_m).abs();
        let Some((q, other_m)) = after.iter().min_by(|a, b| off_m(&a.0).total_cmp(&off_m(&b.0))) else { continue };
        if off_m(q) <= ALIKE_M {
            up.push(other_m - m);
            (least_m, most_m) = (least_m.min(p.across_m), most_m.max(p.across_m));
        }
    }
    up.sort_by(f64::total_cmp);
    let quarter = |n: usize| up.get(up.len() * n / 4).copied();
    let (by_m, spread_m) = (quarter(2)?, quarter(3)? - quarter(1)?);
    (up.len() >= LEAST_PAIRS && most_m - least_m >= ACROSS_M).then_some((by_m, spread_m))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Levels each 25 m along and 10 m across on sand that falls by one in fifty.
    fn step(up_m: impl Fn(f64, f64) -> f64) -> Option<SurveyStep> {
        let place = |n: usize| ShorePoint::new(25.0 * (n % 25) as f64, 10.0 * (n / 25) as f64);
        let levels: Vec<(ShorePoint, f64)> =
            (0..25 * 20).map(place).map(|p| (p, 4.0 - p.across_m / 50.0 + up_m(p.along_m, p.across_m))).collect();
        step_of(&levels)
    }

    #[test]
    fn a_step_between_two_parts_of_a_survey_is_found_and_what_beaches_do_is_not() {
        for by_m in [1.0, -1.0, 0.7] {
            let found = step(|along_m, _| if along_m > 310.0 { by_m } else { 0.0 }).unwrap();
            assert!((found.by_m - by_m).abs() < 0.01 && (275.0..=350.0).contains(&found.along_m), "{found:?}");
        }
        assert_eq!(step(|_, _| 0.0), None);
        assert_eq!(step(|along_m, _| if along_m > 310.0 { 0.3 } else { 0.0 }), None, "too little");
        assert_eq!(step(|along_m, _| along_m / 150.0), None, "the beach stands higher at one end");
        assert_eq!(step(|along_m, across_m| if along_m > 310.0 && across_m < 50.0 { 1.0 } else { 0.0 }), None, "a groyne");
        assert_eq!(step_of(&[]), None);
    }
}
