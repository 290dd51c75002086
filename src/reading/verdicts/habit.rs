//! Months and days of the week of a place, held against those on which it was searched.
//!
//! Who searches on Sundays finds on Sundays. So each find's day is compared with the ground its place
//! was searched by day: Pearson's chi-square of the counts against that pattern, its chance by Monte
//! Carlo draws of as many finds from it, as most counts are small. A find's day is that of the dig,
//! not that of the loss.

use jiff::tz::TimeZone;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Binomial, Distribution as _};
use serde::{Deserialize, Serialize};

use crate::reading::given::{Outings, Placed};
use crate::reading::params::Params;
use crate::reading::scan::HotSpot;
use crate::shore::ShorePoint;

/// Finds of a place by month and by day of the week, and how they would fall by the searching alone.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Habit {
    /// Finds of outings whose ground is known; the others say nothing of a pattern.
    pub finds: usize,
    /// Outings that searched the place.
    pub outings: usize,
    /// Finds by month, January first, ...
    pub by_month: Vec<usize>,
    /// ... as the searching alone would have them, ...
    pub expected_by_month: Vec<f64>,
    /// ... and the chance of a difference as large by luck; `None` with too few finds or months.
    pub month_p: Option<f64>,
    /// Finds by day of the week, Monday first, ...
    pub by_weekday: Vec<usize>,
    /// ... as the searching alone would have them, ...
    pub expected_by_weekday: Vec<f64>,
    /// ... and the chance of a difference as large by luck; `None` with too few finds or days.
    pub weekday_p: Option<f64>,
}

/// Fewer finds than this show no pattern.
const LEAST_FINDS: usize = 10;

impl Habit {
    /// Of the finds in a hot spot.
    pub(in crate::reading) fn in_spot(
        outings: &Outings,
        inside: &[(&Placed, Option<usize>)],
        spot: &HotSpot,
        zone: &TimeZone,
        params: &Params,
    ) -> Self {
        // Ground that each outing swept within the spot.
        let mut swept = vec![0.0; outings.all.len()];
        let within = |s: ShorePoint| {
            let (a, b) = (s.along_m - spot.shore.along_m, s.across_m - spot.shore.across_m);
            (a / spot.half_along_m).powi(2) + (b / spot.half_across_m).powi(2) <= 1.0
        };
        if let Some(visits) = outings.visits {
            let near = visits.squares_near(spot.shore, spot.half_along_m, spot.half_across_m);
            for (n, v) in near.filter(|n| within(visits.middle(*n))).flat_map(|n| visits.to(n)) {
                if let Some(n) = outings.of_visits(n) {
                    swept[n] += v.swept_m2;
                }
            }
        }
        let day = |n: usize| {
            let date = outings.all[n].start.to_zoned_datetime(zone.clone()).date();
            let month = date.month().unsigned_abs() as usize - 1;
            (month.min(11), (date.weekday().to_monday_zero_offset().unsigned_abs() as usize).min(6))
        };
        let (mut months, mut days) = ([0.0; 12], [0.0; 7]);
        let (mut by_month, mut by_weekday) = (vec![0; 12], vec![0; 7]);
        for (n, m2) in swept.iter().enumerate().filter(|(_, m2)| **m2 > 0.0) {
            let (month, weekday) = day(n);
            months[month] += m2;
            days[weekday] += m2;
        }
        let known: Vec<usize> = inside.iter().filter_map(|(_, n)| *n).filter(|n| swept[*n] > 0.0).collect();
        for n in &known {
            let (month, weekday) = day(*n);
            by_month[month] += 1;
            by_weekday[weekday] += 1;
        }
        let expected = |ground: &[f64]| {
            let sum: f64 = ground.iter().sum();
            ground.iter().map(|m2| if sum > 0.0 { known.len() as f64 * m2 / sum } else { 0.0 }).collect::<Vec<f64>>()
        };
        let (expected_by_month, expected_by_weekday) = (expected(&months), expected(&days));
        let p = |seen: &[usize], expected: &[f64], salt: u64| chance(seen, expected, params, salt);
        Self {
            finds: known.len(),
            outings: swept.iter().filter(|m2| **m2 > 0.0).count(),
            month_p: p(&by_month, &expected_by_month, 12),
            weekday_p: p(&by_weekday, &expected_by_weekday, 7),
            by_month,
            expected_by_month,
            by_weekday,
            expected_by_weekday,
        }
    }
}

/// Chance of counts as far from what is expected, by draws.
fn chance(seen: &[usize], expected: &[f64], params: &Params, salt: u64) -> Option<f64> {
    let finds: usize = seen.iter().sum();
    if finds < LEAST_FINDS || expected.iter().filter(|e| **e > 0.0).count() < 2 {
        return None;
    }
    let far = |counts: &[usize]| -> f64 {
        let terms = counts.iter().zip(expected).filter(|(_, e)| **e > 0.0);
        terms.map(|(n, e)| (*n as f64 - e).powi(2) / e).sum()
    };
    let seen = far(seen) * (1.0 - 1e-12);
    // As many finds fall on the classes one after the other: a multinomial is a chain of binomials.
    let mut left: f64 = expected.iter().sum();
    let share = |e: &f64| {
        let share = (e / left).clamp(0.0, 1.0);
        left -= e;
        share
    };
    let shares: Vec<f64> = expected.iter().map(share).collect();
    let mut rng = ChaCha8Rng::seed_from_u64(params.seed.wrapping_add(1000 + salt));
    let (mut as_far, mut counts) = (0, vec![0; expected.len()]);
    for _ in 0..params.replicates {
        let mut lacking = finds as u64;
        for (count, share) in counts.iter_mut().zip(&shares) {
            // A share of no number is that of a class after the last with any effort.
            let drawn = Binomial::new(lacking, if share.is_nan() { 0.0 } else { *share }).map_or(0, |b| b.sample(&mut rng));
            *count = drawn as usize;
            lacking -= drawn;
        }
        as_far += usize::from(far(&counts) >= seen);
    }
    Some((as_far + 1) as f64 / (params.replicates + 1) as f64)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against scipy 1.17.1: `chisquare([20, 5, 5], [10, 10, 10]).pvalue` = 0.000553; with 30 finds the
    /// draws agree to their own error.
    #[test]
    fn a_pattern_like_the_searching_is_luck_and_another_is_not() {
        let params = Params { replicates: 9999, ..Params::default() };
        let p = chance(&[20, 5, 5], &[10.0, 10.0, 10.0], &params, 0).unwrap();
        assert!(p < 0.002, "{p}");
        let p = chance(&[20, 5, 5], &[20.0, 5.0, 5.0], &params, 0).unwrap();
        assert!(p > 0.99, "{p}");
        // `chisquare([14, 9, 7], [10, 10, 10]).pvalue` = 0.2725.
        let p = chance(&[14, 9, 7], &[10.0, 10.0, 10.0], &params, 0).unwrap();
        assert!((p - 0.2725).abs() < 0.05, "{p}");
        assert!(chance(&[4, 3], &[3.5, 3.5], &params, 0).is_none() && chance(&[40, 0], &[40.0, 0.0], &params, 0).is_none());
    }
}
