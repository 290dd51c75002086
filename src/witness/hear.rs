//! All visits heard together: each against the inputs as they are, and all of them against every shift.

use jiff::Timestamp;

use super::changes::{self, Scores};
use super::curve::{Curve, MOST_MIN, curve_of};
use super::params::{Clear, Params};
use super::shifts::{best_of, cost, wrong};
use super::surface::{Free, Grid, Surface, range_m};
use super::testimony::{Dry, Finding, Heard, Shift, Testimony, Wet};
use super::visit::{Spell, Step, Visit, lonlat};
use super::{Believed, Witnesses};
use crate::shore::Shore;
use crate::{Cancelled, Progress};

/// The step of the water's time, minutes.
const STEP_MIN: f64 = 10.0;
/// To so much the limit of an outing is known, metres.
const KNOWN_M: f64 = 0.1;
/// What two standard deviations cost.
const USUAL_COST: f64 = 2.0;
/// A silence of the track longer than this ends a stretch, seconds.
const SILENCE_S: f64 = 120.0;

pub(super) fn hear(
    witnesses: &Witnesses,
    believed: &Believed<'_>,
    params: &Params,
    progress: &Progress,
) -> Result<Heard, Cancelled> {
    let heard: Vec<(&Visit, Curve)> = witnesses.visits.iter().map(|v| (v, curve_of(v, believed.water))).collect();
    let clear = usual_clear(&witnesses.visits, believed, params);
    let (from_m, to_m) = range_m(&heard, believed.offset_m);
    let steps = (MOST_MIN / STEP_MIN) as i32;
    let grid = Grid::new(from_m, to_m, (-steps..=steps).map(|n| f64::from(n) * STEP_MIN).collect());
    let cost = |n: usize| cost(&grid, n, clear, params);
    let free: Vec<Option<Free>> = heard.iter().map(|(v, c)| Free::new(v, c, believed.offset_m, params)).collect();
    let elsewhere_nats = elsewhere(&free, params);
    let mut surfaces: Vec<(usize, Surface)> = Vec::new();
    for (n, (visit, curve)) in heard.iter().enumerate() {
        progress.check()?;
        progress.set(0.6 * n as f64 / heard.len() as f64);
        surfaces.extend(Surface::new(visit, curve, believed.offset_m, clear, elsewhere_nats, &grid, params).map(|s| (n, s)));
    }
    let mut total = vec![0.0; grid.len()];
    for (_, surface) in &mut surfaces {
        let floor = surface.best() - params.most_nats;
        surface.nats.iter_mut().for_each(|v| *v = v.max(floor));
        total.iter_mut().zip(&surface.nats).for_each(|(t, v)| *t += v);
    }
    let wrong = |n: usize| wrong(&grid, n, clear, params);
    let best = best_of(&grid, &total, wrong);
    let sound = best_of(&grid, &total, cost);
    let against_nats = (best.1 - sound.1).max(0.0);
    // Inputs that are right may be off by two standard deviations, but not as far as the best shift merely because that
    // explains more than it costs.
    let near = best_of(&grid, &total, |n| if cost(n) <= USUAL_COST { cost(n) } else { f64::INFINITY }).0;
    let agree = surfaces.iter().filter(|(_, s)| s.nats[best.0] - s.nats[near] >= params.says_so_nats).count();
    let mut testimonies = Vec::new();
    for (n, (visit, curve)) in heard.iter().enumerate() {
        let surface = surfaces.iter().find(|s| s.0 == n).map(|s| &s.1);
        testimonies.extend(testimony(&witnesses.shore, visit, curve, surface, &grid, clear, believed, params));
    }
    testimonies.sort_by_key(|t| (t.began, t.who));
    let wet_witnesses = testimonies.iter().filter(|t| t.wet.is_some()).count();
    let (dry, asking) = (testimonies.iter().filter(|t| t.dry.is_some()).count(), testimonies.iter().any(|t| t.asks));
    // How many must say so for it to count.
    let timed = grid.minute(best.0).abs() >= params.timed_min;
    let share = (params.timed_share * surfaces.len() as f64).ceil() as usize;
    let enough = if timed { share.clamp(params.agree, params.timed_most.max(params.agree)) } else { params.agree };
    let finding = match () {
        () if surfaces.is_empty() => Finding::Unheard,
        () if dry >= params.agree || (against_nats >= params.blocks_nats && agree >= enough) => Finding::Contradict,
        () if asking || (against_nats >= params.all_ask_nats && agree >= enough) => Finding::Ask,
        () => Finding::Agree,
    };
    let shift = (wet_witnesses > 0 || dry > 0).then(|| shift_at(&grid, &total, best.0, clear));
    let changes = if finding >= Finding::Ask {
        let scores = Scores { grid: &grid, total: &total, best: best.1, sound: sound.1, clear, elsewhere_nats };
        let floors: Vec<f64> = surfaces.iter().map(|(_, s)| s.best() - params.most_nats).collect();
        let spoken: Vec<(&Visit, f64)> = surfaces.iter().zip(floors).map(|((n, _), floor)| (heard[*n].0, floor)).collect();
        changes::reconciling(&scores, &spoken, believed, params, progress)?
    } else {
        Vec::new()
    };
    progress.set(1.0);
    let (dry_witnesses, by_plan) = (surfaces.len(), witnesses.visits.iter().filter(|v| v.by_plan).count());
    let set_aside = witnesses.set_aside;
    Ok(Heard { testimonies, dry_witnesses, wet_witnesses, by_plan, set_aside, finding, against_nats, agree, shift, changes })
}

/// What it costs a limit to lie where it does for no reason of the water's: nothing for a person who always searches
/// down to one level, the more the further the limits of the outings lie apart.
fn elsewhere(free: &[Option<Free>], params: &Params) -> f64 {
    let levels: Vec<f64> = free.iter().flatten().filter_map(|f| f.level_m).collect();
    if levels.len() < params.agree {
        return 0.0;
    }
    let middle = |mut values: Vec<f64>| {
        values.sort_by(f64::total_cmp);
        values[values.len() / 2]
    };
    let mid_m = middle(levels.clone());
    // The median distance from the median, as a standard deviation (Rousseeuw & Croux 1993).
    let spread_m = 1.4826 * middle(levels.iter().map(|m| (m - mid_m).abs()).collect());
    params.elsewhere_share * (spread_m / KNOWN_M).ln().clamp(0.0, 2.5)
}

/// How far people keep above the water on this beach.
fn usual_clear(visits: &[Visit], believed: &Believed<'_>, params: &Params) -> Clear {
    let middle = |of: fn(&Spell) -> f64, usual: f64| {
        let mut all: Vec<f64> = visits.iter().flat_map(|v| v.spells.iter().map(of)).collect();
        all.sort_by(f64::total_cmp);
        all.get(all.len() / 2).copied().unwrap_or(usual)
    };
    Clear::usual(believed.run_up_m, middle(|s| s.slope, 0.03), middle(|s| s.lowest.sigma_m, 0.1), params)
}

/// A shift with its errors: half of the width over which it explains nearly as much (half a natural unit less).
fn shift_at(grid: &Grid, nats: &[f64], at: usize, clear: Clear) -> Shift {
    let near = |n: &usize| nats[*n] >= nats[at] - 0.5;
    let spread = |of: &dyn Fn(usize) -> f64| {
        let within = || (0..grid.len()).filter(near).map(of);
        0.5 * (within().fold(f64::NEG_INFINITY, f64::max) - within().fold(f64::INFINITY, f64::min))
    };
    Shift {
        higher_m: grid.level_m(at) - clear.m,
        higher_sd_m: spread(&|n| grid.level_m(n)).max(0.05).hypot(clear.sd_m),
        earlier_min: grid.minute(at),
        earlier_sd_min: spread(&|n| grid.minute(n)).max(0.5 * STEP_MIN),
    }
}

#[allow(clippy::too_many_arguments, reason = "one outing, and each argument is a different thing")]
fn testimony(
    shore: &Shore,
    visit: &Visit,
    curve: &Curve,
    surface: Option<&Surface>,
    grid: &Grid,
    clear: Clear,
    believed: &Believed<'_>,
    params: &Params,
) -> Option<Testimony> {
    let (from_s, to_s) = visit.span_s();
    let began = instant(from_s)?;
    let dry = dry(shore, &visit.steps, curve, believed.offset_m, params);
    let against_nats = surface.map_or(0.0, |s| {
        let best = best_of(grid, &s.nats, |n| wrong(grid, n, clear, params)).1;
        (best - best_of(grid, &s.nats, |n| cost(grid, n, clear, params)).1).max(0.0)
    });
    let followed = surface.filter(|s| s.follows > params.follows_nats && s.touch >= params.touch_share);
    let wet = followed.and_then(|s| {
        let lowest = visit.spells.iter().min_by(|a, b| a.lowest.land_m.total_cmp(&b.lowest.land_m))?;
        let shift = shift_at(grid, &s.nats, best_of(grid, &s.nats, |n| wrong(grid, n, clear, params)).0, clear);
        Some(Wet { from: began, minutes: (to_s - from_s) / 60.0, shift, at: lonlat(shore, lowest.lowest.at)? })
    });
    let asks = dry.is_some() || (wet.is_some() && against_nats >= params.asks_nats);
    Some(Testimony { outing: visit.outing, who: visit.who, began, dry, wet, against_nats, asks })
}

/// The longest stretch that stood under the water.
fn dry(shore: &Shore, steps: &[Step], curve: &Curve, offset_m: f64, params: &Params) -> Option<Dry> {
    let under = |s: &Step| {
        let deep_m = curve.at(s.time_s)? - s.land_m - offset_m;
        (deep_m > params.wade_m + 2.0 * s.off_m.hypot(s.sigma_m).hypot(params.day_sd_m)).then_some(deep_m)
    };
    let mut stretch: Vec<(&Step, f64)> = Vec::new();
    let mut longest: Vec<(&Step, f64)> = Vec::new();
    let length_s = |s: &[(&Step, f64)]| s.first().zip(s.last()).map_or(0.0, |(a, b)| b.0.time_s - a.0.time_s);
    for step in steps {
        let goes_on = stretch.last().is_none_or(|last| step.time_s - last.0.time_s <= SILENCE_S);
        match under(step) {
            Some(deep_m) if goes_on => stretch.push((step, deep_m)),
            Some(deep_m) => stretch = vec![(step, deep_m)],
            None => stretch.clear(),
        }
        if length_s(&stretch) > length_s(&longest) {
            longest.clone_from(&stretch);
        }
    }
    let minutes = length_s(&longest) / 60.0;
    if minutes < params.under_min {
        return None;
    }
    let mut deep: Vec<f64> = longest.iter().map(|s| s.1).collect();
    deep.sort_by(f64::total_cmp);
    let (first, middle) = (longest.first()?.0, longest.get(longest.len() / 2)?.0);
    Some(Dry { from: instant(first.time_s)?, minutes, under_m: deep[deep.len() / 2], at: lonlat(shore, middle.at)? })
}

fn instant(time_s: f64) -> Option<Timestamp> {
    Timestamp::from_millisecond((time_s * 1000.0) as i64).ok()
}
