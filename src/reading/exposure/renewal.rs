//! How ground that was swept fills up again, as the finds themselves show it.
//!
//! Out of a grid of pairs of a chance per pass and a time constant that is taken which makes the finds likeliest:
//! their places within their outings, and what the outings gave in all, whose good and bad days are gamma effects
//! (see [`Shapes`]). What was stated and what beaches usually do weighs in as a prior, so that few finds leave both
//! nearly as stated. O(stays x pairs).

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::stays::Stays;
use crate::chance::{Group, Shapes};

/// How ground that was swept fills up again.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Renewal {
    /// Chance that one pass of the coil finds what lies under it, 0 to 1.
    pub found_per_pass: f64,
    /// Days after which about two thirds of what was taken has been made good; `None` when nothing
    /// comes back.
    pub days: Option<f64>,
    /// How many finds this rests on.
    pub finds: usize,
}

/// The pairs that are tried.
const FOUND_PER_PASS: [f64; 5] = [0.15, 0.3, 0.5, 0.7, 0.9];
const DAYS: [Option<f64>; 9] =
    [Some(2.0), Some(5.0), Some(12.0), Some(25.0), Some(50.0), Some(100.0), Some(200.0), Some(400.0), None];
/// With more stays than this the pair is learned from a part of the cells, one in so many: hundreds of thousands tell it as
/// well, and each pair takes an exponential for every stay.
const MOST_STAYS: usize = 250_000;
/// Beaches fill up again in weeks, give or take a factor of five (this project's judgement, no published source).
const USUAL_DAYS: (f64, f64) = (30.0, 1.6);

/// The pair that makes finds likeliest, made in these stays by so many outings.
pub(super) fn likeliest(stays: &Stays, outings: usize, finds: &[usize], stated: f64) -> Renewal {
    let one_in = stays.all.len().div_ceil(MOST_STAYS).max(1) as u32;
    let sampled = (one_in > 1).then(|| stays.sampled(one_in, finds));
    let (stays, finds) = sampled.as_ref().map_or((stays, finds), |(stays, finds)| (stays, finds.as_slice()));
    let stated_pairs = FOUND_PER_PASS.iter().copied().chain((!FOUND_PER_PASS.contains(&stated)).then_some(stated));
    let pairs: Vec<(f64, Option<f64>)> = stated_pairs.flat_map(|d| DAYS.map(|t| (d, t))).collect();
    let logit = |p: f64| (p.clamp(0.01, 0.99) / (1.0 - p.clamp(0.01, 0.99))).ln();
    let log_posterior = |(d, days): &(f64, Option<f64>)| {
        let exposure = stays.exposure(*d, *days);
        let mut groups = vec![Group::default(); outings];
        stays.all.iter().zip(&exposure).for_each(|(s, e)| groups[s.outing as usize].exposure += f64::from(*e));
        let mut ln_shares = 0.0;
        for n in finds {
            let group = &mut groups[stays.all[*n].outing as usize];
            group.count += 1.0;
            ln_shares += (f64::from(exposure[*n]) / group.exposure).max(1e-12).ln();
        }
        let of_chance = -0.5 * (logit(*d) - logit(stated)).powi(2);
        let of_days = days.map_or(-3.0, |t| -0.5 * ((t / USUAL_DAYS.0).ln() / USUAL_DAYS.1).powi(2));
        ln_shares + Shapes::evidence(&groups) + of_chance + of_days
    };
    let scores: Vec<f64> = pairs.par_iter().map(log_posterior).collect();
    let best = (0..pairs.len()).max_by(|a, b| scores[*a].total_cmp(&scores[*b]));
    let (found_per_pass, days) = best.map_or((stated, None), |n| pairs[n]);
    Renewal { found_per_pass, days, finds: finds.len() }
}
