//! Months and days of the week of a place, held against those on which it was searched.
//!
//! Who searches on Sundays finds on Sundays. So each find's day is compared with the ground its place
//! was searched by day: Pearson's chi-square of the counts against that pattern, its chance by Monte
//! Carlo draws of as many finds from it, as most counts are small, each draw with good and bad days of its own
//! ([`Shapes`](crate::chance::Shapes)): a single good Sunday is no habit. A find's day is that of the dig,
//! not that of the loss.

use jiff::tz::TimeZone;
use rand::SeedableRng as _;
use rand_chacha::ChaCha8Rng;
use rand_distr::{Binomial, Distribution as _, Gamma};
use serde::{Deserialize, Serialize};

use crate::reading::exposure::Outings;
use crate::reading::given::Placed;
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
    /// The same after all zones, months and days told were allowed for (Benjamini & Hochberg).
    #[serde(default)]
    pub month_q: Option<f64>,
    /// Finds by day of the week, Monday first, ...
    pub by_weekday: Vec<usize>,
    /// ... as the searching alone would have them, ...
    pub expected_by_weekday: Vec<f64>,
    /// ... and the chance of a difference as large by luck; `None` with too few finds or days.
    pub weekday_p: Option<f64>,
    /// The same after all zones, months and days told were allowed for (Benjamini & Hochberg).
    #[serde(default)]
    pub weekday_q: Option<f64>,
}

/// Fewer finds than this show no pattern.
const LEAST_FINDS: usize = 10;

impl Habit {
    /// Of the finds in a hot spot; those set apart say nothing.
    pub(in crate::reading) fn in_spot(
        outings: &Outings,
        inside: &[(&Placed, Option<usize>)],
        spot: &HotSpot,
        zone: &TimeZone,
        params: &Params,
    ) -> Self {
        // What each outing searched within the spot, m² of rested ground.
        let mut swept = vec![0.0; outings.all.len()];
        let within = |s: ShorePoint| {
            let (a, b) = (s.along_m - spot.shore.along_m, s.across_m - spot.shore.across_m);
            (a / spot.half_along_m).powi(2) + (b / spot.half_across_m).powi(2) <= 1.0
        };
        if let Some(exposure) = outings.exposure {
            let visits = exposure.visits;
            let near = visits.squares_near(spot.shore, spot.half_along_m, spot.half_across_m);
            let by_outing = exposure.by_outing(near.filter(|n| within(visits.middle(*n))));
            for (n, e) in by_outing.into_iter().enumerate() {
                if let Some(n) = outings.of_visits(n) {
                    swept[n] += e;
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
        let phi = outings.exposure.map_or(1.0, |e| e.shapes(spot.of).phi());
        let searched = || swept.iter().enumerate().filter(|(_, e)| **e > 0.0);
        let of_month: Vec<(usize, f64)> = searched().map(|(n, e)| (day(n).0, *e)).collect();
        let of_weekday: Vec<(usize, f64)> = searched().map(|(n, e)| (day(n).1, *e)).collect();
        Self {
            finds: known.len(),
            outings: swept.iter().filter(|m2| **m2 > 0.0).count(),
            month_p: chance(&by_month, &of_month, phi, params, 12),
            month_q: None,
            weekday_p: chance(&by_weekday, &of_weekday, phi, params, 7),
            weekday_q: None,
            by_month,
            expected_by_month,
            by_weekday,
            expected_by_weekday,
        }
    }
}

/// Chance of counts as far from what is expected, by draws: of outings with their class and exposure, whose effects
/// are gamma of shape `phi`.
fn chance(seen: &[usize], outings: &[(usize, f64)], phi: f64, params: &Params, salt: u64) -> Option<f64> {
    let finds: usize = seen.iter().sum();
    let by_class = |effects: &mut dyn FnMut() -> f64| {
        let mut ground = vec![0.0; seen.len()];
        outings.iter().for_each(|(class, e)| ground[*class] += e * effects());
        let sum: f64 = ground.iter().sum();
        ground.into_iter().map(|e| if sum > 0.0 { e / sum } else { 0.0 }).collect::<Vec<f64>>()
    };
    let shares = by_class(&mut || 1.0);
    if finds < LEAST_FINDS || shares.iter().filter(|e| **e > 0.0).count() < 2 {
        return None;
    }
    let far = |counts: &[usize]| -> f64 {
        let terms = counts.iter().zip(&shares).filter(|(_, e)| **e > 0.0);
        terms.map(|(n, share)| (*n as f64 - finds as f64 * share).powi(2) / share).sum()
    };
    let seen = far(seen) * (1.0 - 1e-12);
    let effect = Gamma::new(phi, 1.0 / phi).ok()?;
    let mut rng = ChaCha8Rng::seed_from_u64(params.seed.wrapping_add(1000 + salt));
    let (mut as_far, mut counts) = (0, vec![0; shares.len()]);
    for _ in 0..params.replicates {
        let drawn = by_class(&mut || effect.sample(&mut rng));
        strew(finds as u64, &drawn, &mut counts, &mut rng);
        as_far += usize::from(far(&counts) >= seen);
    }
    Some((as_far + 1) as f64 / (params.replicates + 1) as f64)
}

/// As many finds fall on the classes one after the other: a multinomial is a chain of binomials.
fn strew(finds: u64, shares: &[f64], counts: &mut [usize], rng: &mut ChaCha8Rng) {
    let (mut lacking, mut left) = (finds, 1.0);
    for (count, share) in counts.iter_mut().zip(shares) {
        let chance: f64 = if left > 1e-12 { (share / left).clamp(0.0, 1.0) } else { 0.0 };
        let drawn = Binomial::new(lacking, chance).map_or(0, |b| b.sample(rng));
        *count = drawn as usize;
        lacking -= drawn;
        left -= share;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Against scipy 1.17.1: `chisquare([20, 5, 5], [10, 10, 10]).pvalue` = 0.000553; with 30 finds the
    /// draws agree to their own error.
    #[test]
    fn a_pattern_like_the_searching_is_luck_and_another_is_not() {
        let params = Params { replicates: 9999, ..Params::default() };
        let p = |seen: &[usize], exposure: &[f64], phi: f64| {
            let outings: Vec<(usize, f64)> = exposure.iter().copied().enumerate().collect();
            chance(seen, &outings, phi, &params, 0)
        };
        let alike = 1e4;
        assert!(p(&[20, 5, 5], &[10.0, 10.0, 10.0], alike).unwrap() < 0.002);
        assert!(p(&[20, 5, 5], &[20.0, 5.0, 5.0], alike).unwrap() > 0.99);
        // `chisquare([14, 9, 7], [10, 10, 10]).pvalue` = 0.2725.
        let even = p(&[14, 9, 7], &[10.0, 10.0, 10.0], alike).unwrap();
        assert!((even - 0.2725).abs() < 0.05, "{even}");
        // One outing a class, and days that differ: the same counts are no habit any more.
        assert!(p(&[20, 5, 5], &[10.0, 10.0, 10.0], 2.0).unwrap() > 0.1);
        assert!(p(&[4, 3], &[3.5, 3.5], alike).is_none() && p(&[40, 0], &[40.0, 0.0], alike).is_none());
    }
}
