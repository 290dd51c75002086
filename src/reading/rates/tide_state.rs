//! What the beach and each of its bands gave on the ebb, round low water, on the flood and round high water.
//!
//! An outing's ground is shared among the states of the tide by the swath it searched in each, that of a
//! band by the swath searched there; finds go by their own time and place. What is worn thin is not told from what was never there: rates by state
//! compare when one searched, not why it paid. Finds whose
//! minute is not known are left out, with as large a share of their outing's ground as they are of its finds: they were
//! found somewhere on it in some state.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::yields::{Part, Yield, in_band};
use crate::book::Uid;
use crate::chance::{Group, Parted, RateRatio, false_discovery, group_ratio};
use crate::reading::exposure::Outings;
use crate::reading::given::{Counts, Covered, Ground, Placed, PlacedFinds};
use crate::reading::params::Params;
use crate::tide::{Turn, TurnKind, Water};

/// State of the tide.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum TideState {
    /// The water falls.
    Ebb,
    /// Near a low water.
    LowWater,
    /// The water rises.
    Flood,
    /// Near a high water.
    HighWater,
}

impl TideState {
    /// Every state, from one high water to the next.
    pub const ALL: [Self; 4] = [Self::Ebb, Self::LowWater, Self::Flood, Self::HighWater];

    /// As the end of a sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::Ebb => "on the ebb",
            Self::LowWater => "round low water",
            Self::Flood => "on the flood",
            Self::HighWater => "round high water",
        }
    }
}

/// What the beach, or one band of it, gave in one state of the tide.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct TideReading {
    /// The band; `None` for the whole beach.
    #[serde(default)]
    pub band: Option<String>,
    /// The state.
    pub state: TideState,
    /// Time searched in it, hours.
    pub hours: f64,
    /// What it gave. Ground that outings swept in several states or several times counts in each.
    #[serde(flatten)]
    pub gave: Yield,
    /// Its rate over that of the other states in the same part of the beach; `None` with too little ground or too few
    /// finds.
    #[serde(default)]
    pub against_rest: Option<RateRatio>,
    /// The p-value of that after all rows were allowed for (Benjamini & Hochberg).
    #[serde(default)]
    pub q: Option<f64>,
}

/// A stretch of time is looked at in pieces of at most this many seconds.
const PIECE_S: f64 = 120.0;
/// Turns are sought this far beyond an outing, hours: no tide goes longer without one where it is of use.
const BEYOND_H: i64 = 15;

/// The turns about an outing.
struct Turns(Vec<Turn>);

impl Turns {
    fn around(water: &Water, from: Timestamp, to: Timestamp) -> Self {
        let beyond = jiff::SignedDuration::from_hours(BEYOND_H);
        Self(water.turns(from.checked_sub(beyond).unwrap_or(from), to.checked_add(beyond).unwrap_or(to)))
    }

    /// `None` where there are no turns on both sides.
    fn state(&self, at_s: f64, slack_s: f64) -> Option<TideState> {
        let second = |t: &Turn| t.time.as_millisecond() as f64 / 1000.0;
        let next = self.0.partition_point(|t| second(t) <= at_s);
        let (before, after) = (self.0.get(next.checked_sub(1)?)?, self.0.get(next)?);
        let near = [before, after].into_iter().find(|t| (second(t) - at_s).abs() <= slack_s);
        Some(match near.map(|t| t.kind) {
            Some(TurnKind::Low) => TideState::LowWater,
            Some(TurnKind::High) => TideState::HighWater,
            None if after.kind == TurnKind::Low => TideState::Ebb,
            None => TideState::Flood,
        })
    }
}

/// Swath, or its share, and seconds searched by outing, part of the beach (0: all of it, else the band's place and 1)
/// and state of the tide.
type Shares = BTreeMap<(Uid, usize, TideState), (f64, f64)>;

/// Rates by state of the tide: the beach, then the bands in which the coil was in use, from the highest down.
/// Empty without a tide source or without times of the searching.
pub(in crate::reading) fn tides(ground: &Ground, laid: &PlacedFinds, outings: &Outings, params: &Params) -> Vec<TideReading> {
    let (Some(water), Some(covered)) = (&ground.setting.water, ground.covered) else { return Vec::new() };
    let slack_s = 60.0 * params.slack_minutes;
    let turns: BTreeMap<Uid, Turns> =
        outings.all.par_iter().map(|o| (o.uid, Turns::around(water, o.start, o.end))).collect::<Vec<_>>().into_iter().collect();
    let timed = timed_shares(laid, outings);
    let mut shares = shares(covered, &turns, slack_s);
    for ((outing, ..), share) in &mut shares {
        share.0 *= timed.get(outing).copied().unwrap_or(1.0);
    }
    let told: BTreeSet<Uid> = shares.keys().map(|(outing, ..)| *outing).collect();
    let state_of = |f: &Placed, n: Option<usize>| {
        let outing = outings.all.get(n?).filter(|o| told.contains(&o.uid))?;
        turns.get(&outing.uid)?.state(f.minute?.as_millisecond() as f64 / 1000.0, slack_s)
    };
    let states: Vec<Option<TideState>> = laid.finds.iter().zip(&outings.of_find).map(|(f, n)| state_of(f, *n)).collect();
    let reading = |part: usize, state: TideState| {
        let band = part.checked_sub(1).and_then(|n| ground.setting.bands.get(n)).map(|b| b.name.clone());
        let here = |f: &Placed| part == 0 || f.band == Some(part - 1);
        let of_state = laid.finds.iter().zip(&states).filter(|(f, s)| **s == Some(state) && here(f)).map(|(f, _)| f);
        let own = |o: &Uid| shares.get(&(*o, part, state)).copied().unwrap_or_default();
        let swept_m2 = outings.all.iter().map(|o| o.swept_m2.get(part).copied().unwrap_or(0.0) * own(&o.uid).0).sum();
        let hours = outings.all.iter().map(|o| own(&o.uid).1 / 3600.0).sum();
        let place = band.as_deref().map_or_else(|| state.words().to_owned(), |b| format!("{} {}", in_band(b), state.words()));
        let rated = outings.exposure.map(|exposure| {
            let mut by_outing = vec![0.0; exposure.outings()];
            for (number, e) in by_outing.iter_mut().enumerate() {
                let outing = outings.of_visits(number).map(|n| &outings.all[n]);
                *e = outing.map_or(0.0, |o| o.exposure_m2.get(part).copied().unwrap_or(0.0) * own(&o.uid).0);
            }
            Part::new(exposure, &by_outing, laid, |n, f| states[n] == Some(state) && here(f))
        });
        let gave = Yield::new(&place, Counts::tally(of_state), None, Some(swept_m2), rated.as_ref(), params);
        let groups = rated.map_or_else(Vec::new, Part::into_groups);
        (TideReading { band, state, hours, gave, against_rest: None, q: None }, groups)
    };
    let parts: BTreeSet<usize> = shares.keys().map(|(_, part, _)| *part).collect();
    let mut rows = Vec::new();
    for part in parts {
        let mut own: Vec<(TideReading, Vec<Group>)> = TideState::ALL.into_par_iter().map(|s| reading(part, s)).collect();
        let ratios: Vec<Option<RateRatio>> =
            (0..own.len()).into_par_iter().map(|n| against_rest(n, &own, outings, params)).collect();
        own.iter_mut().zip(ratios).for_each(|((row, _), ratio)| row.against_rest = ratio);
        rows.extend(own.into_iter().map(|o| o.0));
    }
    let p: Vec<f64> = rows.iter().filter_map(|r| Some(r.against_rest?.p)).collect();
    let told = rows.iter_mut().filter(|r| r.against_rest.is_some());
    told.zip(false_discovery(&p)).for_each(|(row, q)| row.q = Some(q));
    rows
}

/// How many finds are on an outing, but not known to the minute.
pub(in crate::reading) fn without_minute(laid: &PlacedFinds, outings: &Outings) -> usize {
    laid.finds.iter().zip(&outings.of_find).filter(|(f, n)| n.is_some() && f.minute.is_none()).count()
}

/// Of each outing, the share of its finds that are known to the minute.
fn timed_shares(laid: &PlacedFinds, outings: &Outings) -> BTreeMap<Uid, f64> {
    let mut counts = BTreeMap::<Uid, (f64, f64)>::new();
    for (find, n) in laid.finds.iter().zip(&outings.of_find) {
        let Some(outing) = n.and_then(|n| outings.all.get(n)) else { continue };
        let (timed, all) = counts.entry(outing.uid).or_default();
        *timed += f64::from(u8::from(find.minute.is_some()));
        *all += 1.0;
    }
    counts.into_iter().map(|(uid, (timed, all))| (uid, timed / all)).collect()
}

/// The rate of one state over that of the others, the same outings on both sides.
fn against_rest(own: usize, states: &[(TideReading, Vec<Group>)], outings: &Outings, params: &Params) -> Option<RateRatio> {
    let mut pairs = vec![Parted::default(); outings.exposure?.outings()];
    for (n, (_, groups)) in states.iter().enumerate() {
        for (pair, group) in pairs.iter_mut().zip(groups) {
            let side = if n == own { &mut pair.inside } else { &mut pair.outside };
            (side.count, side.exposure) = (side.count + group.count, side.exposure + group.exposure);
        }
    }
    let finds: f64 = pairs.iter().map(|p| p.inside.count + p.outside.count).sum();
    let rest: f64 = states.iter().enumerate().filter(|(n, _)| *n != own).filter_map(|(_, s)| s.0.gave.swept_m2).sum();
    let enough = !states[own].0.gave.too_little && rest >= params.least_swept_m2 && finds >= f64::from(params.least_compared);
    enough.then(|| group_ratio(&pairs, outings.exposure?.shapes(crate::reading::given::WeightChoice::All)))?
}

/// For each outing, part and state the share of the swath the outing searched in that part, and the seconds.
fn shares(covered: &Covered, turns: &BTreeMap<Uid, Turns>, slack_s: f64) -> Shares {
    let mut shares = Shares::new();
    let mut whole: BTreeMap<(Uid, usize), f64> = BTreeMap::new();
    for s in &covered.searched {
        let Some((outing, turns)) = s.outing.and_then(|o| Some((o, turns.get(&o)?))) else { continue };
        let pieces = ((s.to_s - s.from_s) / PIECE_S).ceil().clamp(1.0, 10_000.0);
        let (m2, long_s) = (s.swath_m2 / pieces, (s.to_s - s.from_s) / pieces);
        for k in 0..pieces as u32 {
            let state = turns.state(s.from_s + (f64::from(k) + 0.5) * long_s, slack_s);
            for part in [Some(0), s.band.map(|b| b + 1)].into_iter().flatten() {
                *whole.entry((outing, part)).or_default() += m2;
                if let Some(state) = state {
                    let sum = shares.entry((outing, part, state)).or_default();
                    *sum = (sum.0 + m2, sum.1 + long_s);
                }
            }
        }
    }
    for ((outing, part, _), sum) in &mut shares {
        let whole = whole.get(&(*outing, *part)).copied().unwrap_or(0.0);
        sum.0 = if whole > 0.0 { sum.0 / whole } else { 0.0 };
    }
    shares
}
