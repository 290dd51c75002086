//! Before and after storms: what the same ground gave in the days before each storm and in those after.
//!
//! Only outings whose tracks show the ground they swept count, with their finds; an outing counts on
//! one side of one storm at most, as the time between two storms is parted in the middle. The ratio
//! of the two rates has the exact conditional interval of Przyborowski & Wilenski (1940), over all
//! storms that of a ratio common to them ([`common_rate_ratio`]).

use jiff::{SignedDuration, Timestamp};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::rate::Rate;
use super::yields::{in_band, round_up};
use crate::book::Uid;
use crate::chance::{COVERAGE, Pair, RateRatio, common_rate_ratio, rate_ratio, weighted_share_interval};
use crate::reading::given::{Ground, Outings, PlacedFinds, WeightChoice};
use crate::reading::params::Params;

/// What storms changed.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
pub struct Storms {
    /// Storm by storm, in order of time.
    pub each: Vec<StormReading>,
    /// Over all storms: the beach, then each band from the highest down, each for all finds, the
    /// heavy and the light ones. Empty without storms or without ground covered.
    pub over_all: Vec<BeforeAfter>,
}

/// The days before one storm and those after it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct StormReading {
    /// The storm.
    pub uid: Uid,
    /// Its name.
    pub name: String,
    /// When it began.
    pub from: Timestamp,
    /// When it ended.
    pub to: Timestamp,
    /// Its highest significant wave height, metres.
    pub hs_m: f64,
    /// The days before it.
    pub before: Days,
    /// The days after it.
    pub after: Days,
    /// The beach, then each band from the highest down, each for all finds, the heavy and the light ones.
    pub changes: Vec<BeforeAfter>,
}

/// A span of days and the outings in it whose ground is known.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Days {
    /// From when, ...
    pub from: Timestamp,
    /// ... to when.
    pub to: Timestamp,
    /// Outings that began in it and whose tracks show the ground swept.
    pub outings: usize,
    /// Ground they swept, m²; what two outings swept counts twice.
    pub swept_m2: f64,
}

/// One part of the beach and one sort of finds, before and after.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct BeforeAfter {
    /// The band; `None` for the whole beach.
    pub band: Option<String>,
    /// Which finds.
    pub of: WeightChoice,
    /// Their rate before; `None` when no ground was swept then.
    pub before: Option<Rate>,
    /// Their rate after.
    pub after: Option<Rate>,
    /// The rate after over the rate before; `None` with too little ground or too few finds.
    pub ratio: Option<RateRatio>,
    /// Whether too little ground was covered on either side, or too few finds made, for a ratio.
    pub too_little: bool,
    /// What is lacking, or what would make the ratio surer.
    pub surer: String,
}

/// What a part of the beach gave in the days before (0) and after (1).
#[derive(Debug, Clone, Copy, Default)]
struct Sides {
    finds: [u64; 2],
    swept_m2: [f64; 2],
}

impl Sides {
    fn pair(self) -> Pair {
        Pair { counts: [self.finds[1], self.finds[0]], exposures: [self.swept_m2[1], self.swept_m2[0]] }
    }
}

/// Reads all storms of the beach.
pub(in crate::reading) fn storms(ground: &Ground, laid: &PlacedFinds, outings: &Outings, params: &Params) -> Storms {
    let mut storms: Vec<_> = ground.book.storms_of(ground.setting.beach.uid);
    storms.retain(|s| s.span().is_some());
    storms.sort_by_key(|s| (s.span(), s.uid));
    if storms.is_empty() || outings.all.is_empty() {
        return Storms::default();
    }
    let spans: Vec<(Timestamp, Timestamp)> = storms.iter().filter_map(|s| s.span()).collect();
    let mut sum = vec![Sides::default(); 3 * (ground.setting.bands.len() + 1)];
    let mut strata: Vec<Vec<Pair>> = vec![Vec::new(); sum.len()];
    let mut each = Vec::new();
    for (n, (storm, (from, to))) in storms.iter().zip(&spans).enumerate() {
        let (before_from, after_to) = reach(&spans, n, params.storm_days);
        let (before, mut sides) = side(ground, laid, outings, before_from, *from, 0);
        let (after, later) = side(ground, laid, outings, *to, after_to, 1);
        for (k, (own, later)) in sides.iter_mut().zip(later).enumerate() {
            (own.finds[1], own.swept_m2[1]) = (later.finds[1], later.swept_m2[1]);
            for s in 0..2 {
                sum[k].finds[s] += own.finds[s];
                sum[k].swept_m2[s] += own.swept_m2[s];
            }
            strata[k].push(own.pair());
        }
        each.push(StormReading {
            uid: storm.uid,
            name: storm.name.clone(),
            from: *from,
            to: *to,
            hs_m: storm.peak().map_or(0.0, |s| s.hs_m),
            before,
            after,
            changes: changes(
                ground,
                &sides,
                params,
                |k| {
                    let pair = sides[k].pair();
                    rate_ratio(pair.counts, pair.exposures)
                },
                true,
            ),
        });
    }
    let over_all = changes(ground, &sum, params, |k| common_rate_ratio(&strata[k]), false);
    Storms { each, over_all }
}

/// From when the days before a storm reach, and to when those after it.
fn reach(spans: &[(Timestamp, Timestamp)], n: usize, days: u32) -> (Timestamp, Timestamp) {
    let (from, to) = spans[n];
    let most_s = i64::from(days) * 86_400;
    // Storms that overlap leave no days between them.
    let half_gap_s = |a: Timestamp, b: Timestamp| ((b.as_second() - a.as_second()) / 2).clamp(0, most_s);
    let last_end = spans[..n].iter().map(|s| s.1).max();
    let before_s = last_end.map_or(most_s, |end| half_gap_s(end, from));
    let after_s = spans.get(n + 1).map_or(most_s, |next| half_gap_s(to, next.0));
    let shifted = |t: Timestamp, s: i64| t.checked_add(SignedDuration::from_secs(s)).unwrap_or(t);
    (shifted(from, -before_s), shifted(to, after_s))
}

/// The outings that began in a span, and what each part of the beach gave on them.
fn side(
    ground: &Ground,
    laid: &PlacedFinds,
    outings: &Outings,
    from: Timestamp,
    to: Timestamp,
    which: usize,
) -> (Days, Vec<Sides>) {
    let within: Vec<bool> = outings.all.iter().map(|o| from <= o.start && o.start < to).collect();
    let mut sides = vec![Sides::default(); 3 * (ground.setting.bands.len() + 1)];
    for (outing, _) in outings.all.iter().zip(&within).filter(|(_, w)| **w) {
        for (part, m2) in outing.swept_m2.iter().enumerate() {
            (0..3).for_each(|of| sides[3 * part + of].swept_m2[which] += m2);
        }
    }
    for (find, _) in laid.finds.iter().zip(&outings.of_find).filter(|(_, o)| o.is_some_and(|o| within[o])) {
        let parts = [Some(0), find.band.map(|b| b + 1)];
        for (of, part) in WeightChoice::ALL
            .iter()
            .enumerate()
            .flat_map(|(n, of)| parts.map(|p| (n, of, p)))
            .filter_map(|(n, of, p)| of.takes(find.weight).then_some((n, p?)))
        {
            sides[3 * part + of].finds[which] += 1;
        }
    }
    let outings_in = within.iter().filter(|w| **w).count();
    (Days { from, to, outings: outings_in, swept_m2: sides[0].swept_m2[which] }, sides)
}

fn changes(
    ground: &Ground,
    sides: &[Sides],
    params: &Params,
    ratio: impl Fn(usize) -> Option<RateRatio> + Sync,
    one_storm: bool,
) -> Vec<BeforeAfter> {
    let bands = std::iter::once(None).chain(ground.setting.bands.iter().map(|b| Some(b.name.clone())));
    let rows: Vec<_> = bands.flat_map(|band| WeightChoice::ALL.map(|of| (band.clone(), of))).enumerate().collect();
    rows.into_par_iter()
        .map(|(k, (band, of))| {
            let s = sides[k];
            let rate = |side: usize| Rate::new(s.finds[side] as f64, s.swept_m2[side]);
            let lacking = lacking(s, band.as_deref(), params, one_storm);
            BeforeAfter {
                before: rate(0),
                after: rate(1),
                ratio: if lacking.is_some() { None } else { ratio(k) },
                too_little: lacking.is_some(),
                surer: lacking.unwrap_or_else(|| surer(s, band.as_deref(), one_storm)),
                band,
                of,
            }
        })
        .collect()
}

/// What is lacking for a ratio, if anything.
fn lacking(s: Sides, band: Option<&str>, params: &Params, one_storm: bool) -> Option<String> {
    let place = band.map_or_else(|| "on this beach".to_owned(), in_band);
    let least_m2 = params.least_swept_m2;
    if s.swept_m2.iter().any(|m2| *m2 < least_m2) {
        let [before, after] = s.swept_m2;
        let more = if one_storm {
            format!("those days are past, {least_m2:.0} m² on either side of the next storm would tell")
        } else {
            let short = [("before", before), ("after", after)].into_iter().filter(|(_, m2)| *m2 < least_m2);
            let short: Vec<String> = short.map(|(side, m2)| format!("another {:.0} m² {side}", (least_m2 - m2).ceil())).collect();
            format!("{} until the {least_m2:.0} m² each that a ratio needs", short.join(" and "))
        };
        return Some(format!("not enough ground covered yet: {before:.0} m² before and {after:.0} m² after {place}; {more}"));
    }
    let finds = s.finds[0] + s.finds[1];
    (finds < u64::from(params.least_compared))
        .then(|| format!("not enough finds yet: {finds} before and after {place}, at least {} are needed", params.least_compared))
}

/// How much more ground on either side would halve the interval of the ratio, on the scale of its logarithm.
fn surer(s: Sides, band: Option<&str>, one_storm: bool) -> String {
    let place = band.map_or_else(|| "of this beach".to_owned(), in_band);
    if s.finds.contains(&0) {
        let side = if s.finds[0] == 0 { "before" } else { "after" };
        return format!("nothing was found {side}, so the interval is open on one side; one find {side} {place} would close it");
    }
    let more = times_to_halve(s.finds) - 1.0;
    let [before, after] = s.swept_m2.map(|m2| round_up(m2 * more));
    if one_storm {
        format!(
            "those days are past; {before:.0} m² before and {after:.0} m² after the next storm {place} would halve the interval over both"
        )
    } else {
        format!("another {before:.0} m² before and {after:.0} m² after storms {place} would halve this interval")
    }
}

/// How many times the ground is needed at the same rates for an interval half as wide, both counts above 0.
pub(in crate::reading) fn times_to_halve(finds: [u64; 2]) -> f64 {
    let width = |times: f64| {
        let (x, y) = (finds[1] as f64 * times, finds[0] as f64 * times);
        let (low, high) = weighted_share_interval(x, x + y, COVERAGE);
        let ln_odds = |p: f64| (p / (1.0 - p)).ln();
        ln_odds(high) - ln_odds(low)
    };
    let wanted = 0.5 * width(1.0);
    let (mut low, mut high) = (1.0, 16.0);
    for _ in 0..30 {
        let mid = 0.5 * (low + high);
        if width(mid) > wanted { low = mid } else { high = mid }
    }
    high
}
