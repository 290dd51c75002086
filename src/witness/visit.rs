//! What an outing's tracks and finds say of where it went: the lowest sand reached, spell by spell.

use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::followed::Followed;
use super::{InWash, Params, WitnessTables};
use crate::book::{Uid, is_day_alone};
use crate::chance::normal_quantile;
use crate::earth::{Local, LonLat};
use crate::effort::{self, EffortError, Fix};
use crate::shore::Shore;

/// Straight steps over which the fall of the sand is measured, metres.
const FALL_OVER_M: f64 = 6.0;
/// What the sand wavers by from place to place whatever its survey says, metres.
const SMALL_M: f64 = 0.03;
/// A spell of which more than this share lies where no level is known says nothing.
const UNKNOWN_SHARE: f64 = 0.1;

/// A place at a moment, on foot.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Step {
    pub(super) time_s: f64,
    pub(super) at: Local,
    /// Sand above the land datum as believed, metres.
    pub(super) land_m: f64,
    /// What the receiver leaves open of it, standard deviation, metres.
    pub(super) off_m: f64,
    /// What the survey leaves open of it, standard error, metres.
    pub(super) sigma_m: f64,
}

/// The lowest sand that a spell reached.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Spell {
    pub(super) lowest: Step,
    /// Fall of the sand there, metres per metre.
    pub(super) slope: f64,
    /// The water's edge itself, as somebody noted it.
    pub(super) in_wash: bool,
}

/// One outing, or a track without one.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Visit {
    /// The outing.
    pub(super) outing: Option<Uid>,
    /// The outing's uid, else the track's.
    pub(super) who: Uid,
    pub(super) steps: Vec<Step>,
    pub(super) spells: Vec<Spell>,
    /// It went where and when a plan in the book would have it go: its limit is the plan's, and no word of the water's.
    pub(super) by_plan: bool,
}

impl Visit {
    fn new(outing: Option<Uid>, who: Uid) -> Self {
        Self { outing, who, steps: Vec::new(), spells: Vec::new(), by_plan: false }
    }

    pub(super) fn span_s(&self) -> (f64, f64) {
        let times = || self.steps.iter().map(|s| s.time_s).chain(self.spells.iter().map(|s| s.lowest.time_s));
        (times().fold(f64::INFINITY, f64::min), times().fold(f64::NEG_INFINITY, f64::max))
    }
}

/// Every visit to the beach of which it is known where it was on sand whose level is known, and when.
pub(super) fn visits(
    tables: &WitnessTables,
    in_wash: &[InWash],
    shore: &Shore,
    beach: &crate::book::Beach,
    params: &Params,
) -> Result<Vec<Visit>, EffortError> {
    let (walks, _) = effort::walks_of(&tables.into(), beach, |p| p, &effort::Params::from_settings(&beach.search))?;
    let mut by_visit: BTreeMap<Uid, Visit> = BTreeMap::new();
    for walk in &walks {
        let who = walk.outing.unwrap_or(walk.track);
        let visit = by_visit.entry(who).or_insert(Visit::new(walk.outing, who));
        for run in &walk.runs {
            let aside = |time_s: f64| tables.is_aside(walk.outing, time_s);
            add_run(visit, shore, run, &aside, params);
        }
    }
    let zone = beach.zone().unwrap_or(TimeZone::UTC);
    // The noon of a day without an hour is no moment at which the water stood anywhere.
    let known =
        |time_s: f64| Timestamp::from_millisecond((time_s * 1000.0) as i64).is_ok_and(|t| !is_day_alone(zone.to_datetime(t)));
    for &InWash { outing, time_s, at } in in_wash {
        if tables.is_aside(Some(outing), time_s) || !known(time_s) {
            continue;
        }
        let Ok(at) = shore.frame().to_local(at) else { continue };
        let Some(spell) = spell_at(shore, at, time_s, true, params) else { continue };
        by_visit.entry(outing).or_insert(Visit::new(Some(outing), outing)).spells.push(spell);
    }
    let plans = Followed::of_beach(tables, shore, beach);
    let mut all: Vec<Visit> = by_visit.into_values().filter(|v| !v.spells.is_empty()).collect();
    for visit in all.iter_mut().filter(|_| !plans.is_empty()) {
        let (steps, span_s): (Vec<Local>, _) = (visit.steps.iter().map(|s| s.at).collect(), visit.span_s());
        visit.by_plan = plans.iter().any(|p| p.is_followed_by(&steps, span_s));
    }
    Ok(all)
}

/// When, where, and the sand there as believed with its standard error, metres, where its level is known.
type Look = (f64, Local, Option<(f64, f64)>);

/// Adds what one unbroken run of fixes says.
fn add_run(visit: &mut Visit, shore: &Shore, run: &[Fix], aside: &impl Fn(f64) -> bool, params: &Params) {
    let places = thinned(run, params.step_s);
    let mut spell: Vec<Look> = Vec::new();
    let mut began_s = f64::NEG_INFINITY;
    let mut close = |spell: &mut Vec<Look>| {
        add_spell(visit, shore, spell, params);
        spell.clear();
    };
    for pair in places.windows(2) {
        let [(before_s, before), (time_s, at)] = [pair[0], pair[1]];
        let fast = before.distance_m(at) > params.foot_m_per_s * (time_s - before_s);
        if !fast && !aside(time_s) {
            if time_s - began_s >= params.spell_s {
                close(&mut spell);
                began_s = time_s;
            }
            spell.push((time_s, at, shore.sand_level(at).map(|l| (l.land_m, l.sigma_m))));
        }
    }
    close(&mut spell);
}

fn add_spell(visit: &mut Visit, shore: &Shore, spell: &[Look], params: &Params) {
    let known = || spell.iter().filter_map(|(time_s, at, level)| level.map(|(land_m, sigma_m)| (*time_s, *at, land_m, sigma_m)));
    let unknown = spell.iter().filter(|s| s.2.is_none()).count() as f64;
    if unknown > UNKNOWN_SHARE * spell.len() as f64 {
        return;
    }
    let Some(lowest) = known().min_by(|a, b| a.2.total_cmp(&b.2)) else { return };
    let Some(found) = spell_at(shore, lowest.1, lowest.0, false, params) else { return };
    let off_m = params.receiver_m * found.slope;
    visit.steps.extend(known().map(|(time_s, at, land_m, sigma_m)| Step { time_s, at, land_m, off_m, sigma_m }));
    // A spell of half a minute has been nowhere.
    if spell.len() as f64 * params.step_s >= 0.4 * params.spell_s {
        let lowest = Step { land_m: found.lowest.land_m + chance_m(known().map(|k| k.2), &found.lowest, params), ..found.lowest };
        visit.spells.push(Spell { lowest, ..found });
    }
}

/// How far the lowest of several looks at one limit lies below their mean by the errors of the survey alone, metres.
fn chance_m(lands_m: impl Iterator<Item = f64>, lowest: &Step, params: &Params) -> f64 {
    let sd_m = lowest.sigma_m.hypot(SMALL_M);
    // Looks half a minute apart are over other sand.
    let looks = lands_m.filter(|m| *m < lowest.land_m + 3.0 * sd_m).count() as f64 * params.step_s / 30.0;
    // The least of n normal values (Blom 1958).
    let least = if looks > 1.0 { normal_quantile((looks - 0.375) / (looks + 0.25)) } else { 0.0 };
    params.lowest_share * least * sd_m
}

fn spell_at(shore: &Shore, at: Local, time_s: f64, in_wash: bool, params: &Params) -> Option<Spell> {
    let level = shore.sand_level(at)?;
    let slope = fall(shore, at);
    let lowest = Step { time_s, at, land_m: level.land_m, off_m: params.receiver_m * slope, sigma_m: level.sigma_m };
    Some(Spell { lowest, slope, in_wash })
}

/// Fall of the sand at a place, metres per metre.
fn fall(shore: &Shore, at: Local) -> f64 {
    let land_m = |de: f64, dn: f64| shore.sand_level(Local::new(at.east_m + de, at.north_m + dn)).map(|l| l.land_m);
    let along = |de: f64, dn: f64| match (land_m(de, dn), land_m(0.0, 0.0), land_m(-de, -dn)) {
        (Some(a), _, Some(b)) => (a - b) / (2.0 * FALL_OVER_M),
        (Some(a), Some(b), None) | (None, Some(a), Some(b)) => (a - b) / FALL_OVER_M,
        _ => 0.0,
    };
    along(FALL_OVER_M, 0.0).hypot(along(0.0, FALL_OVER_M))
}

/// Where a run was once in so many seconds: the mean of its fixes about that moment.
fn thinned(run: &[Fix], step_s: f64) -> Vec<(f64, Local)> {
    let timed: Vec<&Fix> = run.iter().filter(|f| f.time_s.is_finite()).collect();
    let of = |fixes: &[&Fix]| {
        let n = fixes.len() as f64;
        let sum = fixes.iter().fold((0.0, 0.0, 0.0), |s, f| (s.0 + f.time_s, s.1 + f.at.east_m, s.2 + f.at.north_m));
        (sum.0 / n, Local::new(sum.1 / n, sum.2 / n))
    };
    let number = |f: &Fix| (f.time_s / step_s).floor() as i64;
    timed.chunk_by(|a, b| number(a) == number(b)).map(of).collect()
}

/// The position of a place in the plane, for whoever is shown it.
pub(super) fn lonlat(shore: &Shore, at: Local) -> Option<LonLat> {
    shore.frame().to_lonlat(at).ok()
}
