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
/// ... and the sand beside it has no more than this part of it. ...
const BESIDE: f64 = 0.3;
/// ... Of levels close by it makes at least this part, and of what it makes of those farther off: sand that rises and falls in
/// long waves along the shore makes less, ...
const CLOSE_BY: f64 = 0.7;
/// ... and at both ends across at least this part: an error of an instrument is as large at the foot of a beach as at its back.
const AT_THE_ENDS: f64 = 0.75;

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
        let Between { by_m, spread_m, ends_m, .. } = between(levels, along_m, (0.0, reach_m)).filter(Between::tells)?;
        let of_it = |m: f64| m / by_m;
        let even = by_m.abs() >= STEP_M && spread_m <= EVENLY * by_m.abs() && ends_m.iter().all(|m| of_it(*m) >= AT_THE_ENDS);
        let beside = || [along_m - reach_m, along_m + reach_m].map(|m| between(levels, m, (0.0, reach_m)).filter(Between::tells));
        let alone = || {
            let beside = beside();
            beside.iter().flatten().all(|b| b.by_m.abs() <= BESIDE * by_m.abs()) && beside.iter().any(Option::is_some)
        };
        let sharp = || {
            let [close, far] = [(0.0, 0.5 * reach_m), (0.5 * reach_m, reach_m)].map(|off_m| between(levels, along_m, off_m));
            close.zip(far).is_some_and(|(close, far)| close.by_m / far.by_m >= CLOSE_BY && of_it(close.by_m) >= CLOSE_BY)
        };
        (even && alone() && sharp()).then_some(SurveyStep { along_m, by_m })
    });
    steps.max_by(|a, b| a.by_m.abs().total_cmp(&b.by_m.abs()))
}

/// How the sand on one side of a place along the beach stands against that on the other.
struct Between {
    /// Higher after it by so much in the middle of the levels that lie as far across, metres.
    by_m: f64,
    /// Half of them differ among themselves by so much, metres.
    spread_m: f64,
    /// The same as the first of the third of them at the back of the beach, and of that at its foot.
    ends_m: [f64; 2],
    pairs: usize,
    across_m: f64,
}

impl Between {
    fn tells(&self) -> bool {
        self.pairs >= LEAST_PAIRS && self.across_m >= ACROSS_M
    }
}

/// Levels as far on either side of a place as from one distance to another, metres; `None` where none go together.
fn between(levels: &[(ShorePoint, f64)], along_m: f64, (near_m, far_m): (f64, f64)) -> Option<Between> {
    let within = |from_m: f64| levels.iter().filter(move |(p, _)| (from_m..from_m + far_m - near_m).contains(&p.along_m));
    let after: Vec<&(ShorePoint, f64)> = within(along_m + near_m).collect();
    let pair = |(p, m): &(ShorePoint, f64)| {
        let off_m = |q: &ShorePoint| (q.across_m - p.across_m).abs();
        let (q, other_m) = after.iter().min_by(|a, b| off_m(&a.0).total_cmp(&off_m(&b.0)))?;
        (off_m(q) <= ALIKE_M).then_some((p.across_m, other_m - m))
    };
    let mut up: Vec<(f64, f64)> = within(along_m - far_m).filter_map(pair).collect();
    up.sort_by(|a, b| a.0.total_cmp(&b.0));
    let across_m = up.last()?.0 - up.first()?.0;
    let third = up.len().div_ceil(3);
    let sorted = |of: &[(f64, f64)]| {
        let mut of: Vec<f64> = of.iter().map(|(_, m)| *m).collect();
        of.sort_by(f64::total_cmp);
        of
    };
    let ends_m = [&up[..third], &up[up.len() - third..]].map(|end| sorted(end)[third / 2]);
    let all = sorted(&up);
    let quarter = |n: usize| all.get(all.len() * n / 4).copied();
    let (by_m, spread_m) = (quarter(2)?, quarter(3)? - quarter(1)?);
    Some(Between { by_m, spread_m, ends_m, pairs: up.len(), across_m })
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
        let long_wave = |along_m: f64| 0.8 * (std::f64::consts::TAU * along_m / 260.0).sin();
        assert_eq!(step(|along_m, _| long_wave(along_m)), None, "sand in waves along the shore");
        assert_eq!(step(|along_m, across_m| if along_m > 310.0 { 1.2 - across_m / 150.0 } else { 0.0 }), None, "a long groyne");
        assert_eq!(step_of(&[]), None);
    }
}
