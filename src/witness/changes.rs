//! Which single change of an input would reconcile what the witnesses say: each is tried.

use super::Believed;
use super::curve::{Curve, curve_of};
use super::params::{Clear, Params};
use super::shifts::{best_of, cost};
use super::surface::{Grid, Surface};
use super::testimony::{Change, Reconciling};
use super::visit::Visit;
use crate::{Cancelled, Progress};

/// A foot, metres (exact, international yard and pound agreement of 1959).
const FOOT_M: f64 = 0.3048;
/// What a figure costs that is free to fit, natural units (Akaike's information criterion: one each).
const FREE_NATS: f64 = 1.0;
/// A change reconciles where it explains all but so many natural units of what any shift does, ...
const SHORT_NATS: f64 = 4.0;
/// ... and does as well as another if it stays within so many of it.
const AS_GOOD_NATS: f64 = 2.0;
/// Ranges and slopes tried, times what is believed.
const TIMES: [f64; 10] = [0.4, 0.5, 0.6, 0.7, 0.8, 1.25, 1.4, 1.6, 2.0, 2.5];

/// How good each shift of the inputs is.
pub(super) struct Scores<'a> {
    pub(super) grid: &'a Grid,
    pub(super) total: &'a [f64],
    pub(super) best: f64,
    pub(super) sound: f64,
    pub(super) clear: Clear,
    pub(super) elsewhere_nats: f64,
}

impl Scores<'_> {
    fn with_cost(&self, cost: impl Fn(f64, f64) -> f64) -> (f64, f64, f64) {
        let (n, nats) = best_of(self.grid, self.total, |n| cost(self.grid.level_m(n), self.grid.minute(n)));
        (self.grid.level_m(n), self.grid.minute(n), nats)
    }
}

/// The changes that reconcile, the best first.
pub(super) fn reconciling(
    scores: &Scores<'_>,
    visits: &[(&Visit, f64)],
    believed: &Believed<'_>,
    params: &Params,
    progress: &Progress,
) -> Result<Vec<Reconciling>, Cancelled> {
    let clear = scores.clear;
    let level = |m: f64, at_m: f64| 0.5 * ((m - clear.m - at_m) / clear.sd_m).powi(2);
    let time = |minutes: f64, at: f64| 0.5 * ((minutes - at) / params.time_sd_min).powi(2);
    let mut tried: Vec<(Change, f64)> = Vec::new();
    let (level_m, _, nats) = scores.with_cost(|_, t| time(t, 0.0));
    tried.push((Change::Level { add_m: clear.m - level_m }, nats - FREE_NATS));
    let in_feet_m = believed.offset_m * (1.0 - FOOT_M);
    if in_feet_m.abs() > 2.0 * clear.sd_m {
        let nats = scores.with_cost(|m, t| level(m, in_feet_m) + time(t, 0.0)).2;
        tried.push((Change::OffsetInFeet { offset_m: believed.offset_m * FOOT_M }, nats));
    }
    if believed.even_from_m.is_none() {
        let through = |v: &Visit| curve_of(v, believed.water);
        for (change, times) in [(Change::LevelsInFeet, FOOT_M), (Change::LevelsTurned, -1.0)] {
            progress.check()?;
            tried.push((change, sound_with(visits, through, |land_m| times * land_m, times.abs(), believed, scores, params)));
        }
    }
    for earlier_min in [60.0, -60.0] {
        let nats = scores.with_cost(|m, t| level(m, 0.0) + time(t, earlier_min)).2;
        tried.push((Change::Clock { earlier_min }, nats));
    }
    let (_, earlier_min, nats) = scores.with_cost(|m, _| level(m, 0.0));
    tried.push((Change::Times { earlier_min }, nats - FREE_NATS));
    for other in believed.others {
        progress.check()?;
        let through = |v: &Visit| curve_of(v, &other.water).mapped(|m| m + other.add_m);
        let nats = sound_with(visits, through, |land_m| land_m, 1.0, believed, scores, params);
        tried.push((Change::Station { id: other.id.clone(), name: other.name.clone() }, nats));
    }
    for (times, mean_m) in TIMES.into_iter().filter_map(|times| Some((times, believed.mean_m?))) {
        progress.check()?;
        let through = |v: &Visit| curve_of(v, believed.water).mapped(|m| mean_m + times * (m - mean_m));
        let nats = sound_with(visits, through, |land_m| land_m, 1.0, believed, scores, params);
        tried.push((Change::Range { times }, nats - FREE_NATS));
    }
    for times in TIMES.into_iter().filter(|_| believed.even_from_m.is_some()) {
        let back_m = believed.even_from_m.unwrap_or_default();
        let through = |v: &Visit| curve_of(v, believed.water);
        let nats = sound_with(visits, through, |land_m| back_m - times * (back_m - land_m), times, believed, scores, params);
        tried.push((Change::Slope { times }, nats - FREE_NATS));
    }
    Ok(finished(tried, scores))
}

/// How good the inputs would be, were the water or the sand so changed; the sand then falls `steeper` times as steeply.
fn sound_with(
    visits: &[(&Visit, f64)],
    through: impl Fn(&Visit) -> Curve,
    land_m: impl Fn(f64) -> f64,
    steeper: f64,
    believed: &Believed<'_>,
    scores: &Scores<'_>,
    params: &Params,
) -> f64 {
    let clear = scores.clear;
    let reach_m = 3.0 * clear.sd_m + 3.0 * params.day_sd_m;
    let minutes = [-2.0, -1.0, 0.0, 1.0, 2.0].map(|n| n * params.time_sd_min).to_vec();
    let grid = Grid::new(clear.m - reach_m, clear.m + reach_m, minutes);
    let mut total = vec![0.0; grid.len()];
    for (visit, floor) in visits {
        let mut visit = Visit::clone(visit);
        for spell in &mut visit.spells {
            spell.lowest.land_m = land_m(spell.lowest.land_m);
            spell.lowest.off_m *= steeper;
        }
        let surface = Surface::new(&visit, &through(&visit), believed.offset_m, clear, scores.elsewhere_nats, &grid, params);
        total.iter_mut().enumerate().for_each(|(n, t)| *t += surface.as_ref().map_or(*floor, |s| s.nats[n].max(*floor)));
    }
    best_of(&grid, &total, |n| cost(&grid, n, clear, params)).1
}

/// Those that explain enough, the best of each sort first.
fn finished(mut tried: Vec<(Change, f64)>, scores: &Scores<'_>) -> Vec<Reconciling> {
    tried.sort_by(|a, b| b.1.total_cmp(&a.1));
    let mut sorts = std::collections::BTreeSet::new();
    // Of ranges and slopes many were tried: the best of each.
    tried.retain(|(change, _)| match change {
        Change::Range { .. } => sorts.insert("range"),
        Change::Slope { .. } => sorts.insert("slope"),
        _ => true,
    });
    let enough = scores.sound + 0.5 * (scores.best - scores.sound);
    tried.retain(|(_, nats)| *nats >= enough && *nats >= scores.best - SHORT_NATS);
    let Some(best) = tried.first().map(|t| t.1) else { return Vec::new() };
    let told = |(change, nats): (Change, f64)| Reconciling {
        change,
        better_nats: nats - scores.sound,
        as_good: nats >= best - AS_GOOD_NATS,
    };
    tried.into_iter().map(told).collect()
}
