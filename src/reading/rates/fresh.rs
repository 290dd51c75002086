//! Fresh ground apart from ground swept again.
//!
//! A find counts as made on fresh ground when most of what its outing swept within a receiver's
//! error of it was fresh. If nothing came back, ground swept again would give the share of the fresh
//! ground's rate that the earlier passes left: (1 - d)^n with the stated chance d per pass. A higher
//! ratio tells that the beach fills up again, or that d is stated too high.
//!
//! These two alone are finds per 100 m² *as swept*, whatever earlier visits left: that is what they are to show.

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::rate::Rate;
use super::storm::times_to_halve;
use super::yields::{in_band, round_up};
use crate::chance::{Group, Parted, RateRatio, Shapes, group_ratio};
use crate::reading::exposure::{CountedAt, Outings};
use crate::reading::given::{Ground, WeightChoice};
use crate::reading::params::Params;

/// What fresh ground gave, and what ground swept again.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct FreshAgain {
    /// The band; `None` for the whole beach.
    pub band: Option<String>,
    /// Finds per 100 m² as swept, of ground that no earlier outing had swept.
    pub fresh: Option<Rate>,
    /// Finds per 100 m² as swept, of ground that an earlier outing had swept.
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

#[derive(Clone)]
struct Sums {
    /// By outing of the visits: fresh ground outside, ground swept again inside.
    outings: Vec<Parted>,
    left_m2: f64,
}

impl Sums {
    /// Fresh, then swept again.
    fn finds(&self) -> [u64; 2] {
        let sum = |of: fn(&Parted) -> f64| self.outings.iter().map(of).sum::<f64>() as u64;
        [sum(|p| p.outside.count), sum(|p| p.inside.count)]
    }

    fn swept_m2(&self) -> [f64; 2] {
        let sum = |of: fn(&Parted) -> f64| self.outings.iter().map(of).sum::<f64>();
        [sum(|p| p.outside.exposure), sum(|p| p.inside.exposure)]
    }
}

/// For the beach and each band, from the highest down; empty when outings are not told apart.
pub(in crate::reading) fn fresh_again(ground: &Ground, outings: &Outings, params: &Params) -> Vec<FreshAgain> {
    let Some((covered, visits)) = ground.covered.zip(outings.visits) else {
        return Vec::new();
    };
    if covered.visits.is_empty() {
        return Vec::new();
    }
    let none = Sums { outings: vec![Parted::default(); visits.outings().len()], left_m2: 0.0 };
    let mut sums = vec![none; ground.setting.bands.len() + 1];
    let parts = |band: Option<usize>| [Some(0), band.map(|b| b + 1)].into_iter().flatten();
    for cell in 0..covered.cells.len() {
        let (left_by_each, mut left) = ((1.0 - params.detection_per_pass).powf(visits.passes_each(cell)), 1.0);
        for visit in visits.to(cell) {
            let outing = visit.outing as usize;
            let again_m2 = (visit.swept_m2 - visit.fresh_m2).max(0.0);
            for part in parts(outings.band_of_square.get(cell).copied().flatten()) {
                let sum = &mut sums[part];
                sum.outings[outing].outside.exposure += visit.fresh_m2;
                sum.outings[outing].inside.exposure += again_m2;
                sum.left_m2 += again_m2 * left;
            }
            left *= left_by_each;
        }
    }
    let on_fresh = |at: &CountedAt| {
        let band = outings.band_of_square.get(at.square as usize).copied().flatten();
        Some((at.outing as usize, band, at.fresh?))
    };
    let counted = outings.exposure.map_or(&[][..], |e| &e.of_find);
    for (outing, band, fresh) in counted.iter().flatten().filter_map(on_fresh) {
        parts(band).for_each(|part| {
            let of = &mut sums[part].outings[outing];
            let side = if fresh { &mut of.outside } else { &mut of.inside };
            side.count += 1.0;
        });
    }
    let usual = Shapes::default();
    let shapes = outings.exposure.map_or(&usual, |e| e.shapes(WeightChoice::All));
    let bands = std::iter::once(None).chain(ground.setting.bands.iter().map(|b| Some(b.name.clone())));
    let each: Vec<_> = bands.zip(sums).collect();
    each.into_par_iter().map(|(band, s)| told(band, &s, shapes, params)).collect()
}

fn told(band: Option<String>, s: &Sums, shapes: &Shapes, params: &Params) -> FreshAgain {
    let (finds, swept_m2) = (s.finds().iter().sum::<u64>(), s.swept_m2());
    let too_little = swept_m2.iter().any(|m2| *m2 < params.least_swept_m2) || finds < u64::from(params.least_compared);
    let rate = |of: fn(&Parted) -> Group| {
        let groups: Vec<Group> = s.outings.iter().map(of).filter(|g| g.exposure > 0.0).collect();
        Rate::by_outing(&groups, shapes)
    };
    let ratio = if too_little { None } else { group_ratio(&s.outings, shapes) };
    FreshAgain {
        surer: surer(s, band.as_deref(), params),
        band,
        fresh: rate(|p| p.outside),
        again: rate(|p| p.inside),
        ratio,
        ratio_if_nothing_came_back: (swept_m2[1] > 0.0).then(|| s.left_m2 / swept_m2[1]),
        detection_per_pass: params.detection_per_pass,
        too_little,
    }
}

/// What is lacking for a ratio, or the ground that would halve its interval.
fn surer(s: &Sums, band: Option<&str>, params: &Params) -> String {
    let place = band.map_or_else(|| "on this beach".to_owned(), in_band);
    let sorts = ["fresh ground", "ground swept again"];
    let least_m2 = params.least_swept_m2;
    let short = sorts.iter().zip(s.swept_m2()).filter(|(_, m2)| *m2 < least_m2);
    let short: Vec<String> = short.map(|(sort, m2)| format!("{:.0} m² of {sort}", (least_m2 - m2).ceil())).collect();
    if !short.is_empty() {
        return format!("another {} {place} until the {least_m2:.0} m² of each that a ratio needs", short.join(" and "));
    }
    let finds: u64 = s.finds().iter().sum();
    if finds < u64::from(params.least_compared) {
        return format!("another {} finds {place}; there are {finds}", u64::from(params.least_compared) - finds);
    }
    if let Some(n) = s.finds().iter().position(|n| *n == 0) {
        return format!("nothing was found on {}, so the interval is open on one side; one find there would close it", sorts[n]);
    }
    let more = times_to_halve(s.finds()) - 1.0;
    let [fresh, again] = s.swept_m2().map(|m2| round_up(m2 * more));
    format!("another {fresh:.0} m² of fresh ground and {again:.0} m² swept again {place} would halve this interval")
}
