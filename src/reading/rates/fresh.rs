//! Fresh ground apart from ground swept again.
//!
//! A find counts as made on fresh ground when most of what its outing swept within a receiver's
//! error of it was fresh. If nothing came back, ground swept again would give the share of the fresh
//! ground's rate that the earlier passes left: (1 - d)^n with the stated chance d per pass. A higher
//! ratio tells that the beach fills up again, or that d is stated too high.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::rate::Rate;
use super::storm::times_to_halve;
use super::yields::{in_band, round_up};
use crate::chance::{RateRatio, rate_ratio};
use crate::reading::given::{Ground, Outings, Placed, PlacedFinds, Visits};
use crate::reading::params::Params;
use crate::shore::ShorePoint;

/// What fresh ground gave, and what ground swept again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FreshAgain {
    /// The band; `None` for the whole beach.
    pub band: Option<String>,
    /// Finds per 100 m² of ground that no earlier outing had swept.
    pub fresh: Option<Rate>,
    /// Finds per 100 m² of ground that an earlier outing had swept.
    pub again: Option<Rate>,
    /// The second rate over the first; `None` with too little ground or too few finds.
    pub ratio: Option<RateRatio>,
    /// What the ratio would be if nothing came back, with the stated chance per pass.
    pub ratio_if_nothing_came_back: Option<f64>,
    /// The stated chance that one pass finds what lies under the coil, 0 to 1.
    pub detection_per_pass: f64,
    /// Whether too little ground was covered on either side, or too few finds made, for a ratio.
    pub too_little: bool,
    /// What is lacking, or what would make the ratio surer.
    #[serde(default)]
    pub surer: String,
}

/// Finds belong to ground swept within this of them, metres: a receiver's error.
const NEAR_M: f64 = 3.0;

#[derive(Clone, Copy, Default)]
struct Sums {
    finds: [u64; 2],
    swept_m2: [f64; 2],
    left_m2: f64,
}

/// For the beach and each band, from the highest down; empty when outings are not told apart.
pub(in crate::reading) fn fresh_again(
    ground: &Ground,
    laid: &PlacedFinds,
    outings: &Outings,
    params: &Params,
) -> Vec<FreshAgain> {
    let Some(((shore, covered), visits)) = ground.shore().zip(ground.covered).zip(outings.visits) else {
        return Vec::new();
    };
    if covered.visits.is_empty() {
        return Vec::new();
    }
    let mut sums = vec![Sums::default(); ground.setting.bands.len() + 1];
    let parts = |band: Option<usize>| [Some(0), band.map(|b| b + 1)].into_iter().flatten();
    for cell in 0..covered.cells.len() {
        let (left_by_each, mut left) = ((1.0 - params.detection_per_pass).powf(visits.passes_each(cell)), 1.0);
        for (_, visit) in visits.to(cell) {
            let again_m2 = (visit.swept_m2 - visit.fresh_m2).max(0.0);
            for part in parts(outings.band_of_square.get(cell).copied().flatten()) {
                let sum = &mut sums[part];
                sum.swept_m2[0] += visit.fresh_m2;
                sum.swept_m2[1] += again_m2;
                sum.left_m2 += again_m2 * left;
            }
            left *= left_by_each;
        }
    }
    let on_fresh = |(find, outing): (&Placed, &Option<usize>)| {
        let outing = visits.number_of(Some(outings.all.get((*outing)?)?.uid))?;
        is_fresh(visits, shore.to_shore(find.at), outing)
    };
    let on_fresh: Vec<Option<bool>> = laid.finds.par_iter().zip(&outings.of_find).map(on_fresh).collect();
    for (find, fresh) in laid.finds.iter().zip(on_fresh) {
        if let Some(fresh) = fresh {
            parts(find.band).for_each(|part| sums[part].finds[usize::from(!fresh)] += 1);
        }
    }
    let bands = std::iter::once(None).chain(ground.setting.bands.iter().map(|b| Some(b.name.clone())));
    bands.zip(sums).map(|(band, s)| told(band, s, params)).collect()
}

fn told(band: Option<String>, s: Sums, params: &Params) -> FreshAgain {
    let finds = s.finds[0] + s.finds[1];
    let too_little = s.swept_m2.iter().any(|m2| *m2 < params.least_swept_m2) || finds < u64::from(params.least_compared);
    let ratio = rate_ratio([s.finds[1], s.finds[0]], [s.swept_m2[1], s.swept_m2[0]]);
    FreshAgain {
        surer: surer(s, band.as_deref(), params),
        band,
        fresh: Rate::new(s.finds[0] as f64, s.swept_m2[0]),
        again: Rate::new(s.finds[1] as f64, s.swept_m2[1]),
        ratio: ratio.filter(|_| !too_little),
        ratio_if_nothing_came_back: (s.swept_m2[1] > 0.0).then(|| s.left_m2 / s.swept_m2[1]),
        detection_per_pass: params.detection_per_pass,
        too_little,
    }
}

/// What is lacking for a ratio, or the ground that would halve its interval.
fn surer(s: Sums, band: Option<&str>, params: &Params) -> String {
    let place = band.map_or_else(|| "on this beach".to_owned(), in_band);
    let sorts = ["fresh ground", "ground swept again"];
    let least_m2 = params.least_swept_m2;
    let short = sorts.iter().zip(s.swept_m2).filter(|(_, m2)| *m2 < least_m2);
    let short: Vec<String> = short.map(|(sort, m2)| format!("{:.0} m² of {sort}", (least_m2 - m2).ceil())).collect();
    if !short.is_empty() {
        return format!("another {} {place} until the {least_m2:.0} m² of each that a ratio needs", short.join(" and "));
    }
    let finds = s.finds[0] + s.finds[1];
    if finds < u64::from(params.least_compared) {
        return format!("another {} finds {place}; there are {finds}", u64::from(params.least_compared) - finds);
    }
    if let Some(n) = s.finds.iter().position(|n| *n == 0) {
        return format!("nothing was found on {}, so the interval is open on one side; one find there would close it", sorts[n]);
    }
    let more = times_to_halve(s.finds) - 1.0;
    let [fresh, again] = s.swept_m2.map(|m2| round_up(m2 * more));
    format!("another {fresh:.0} m² of fresh ground and {again:.0} m² swept again {place} would halve this interval")
}

/// Whether most of what the outing swept near a find was fresh; `None` when it swept nothing there.
fn is_fresh(visits: &Visits, at: ShorePoint, outing: usize) -> Option<bool> {
    let (mut fresh, mut swept) = (0.0, 0.0);
    let near = visits.squares_near(at, NEAR_M, NEAR_M);
    for visit in near.flat_map(|n| visits.of_outing(outing, n)) {
        fresh += visit.fresh_m2;
        swept += visit.swept_m2;
    }
    (swept > 0.0).then_some(2.0 * fresh >= swept)
}
