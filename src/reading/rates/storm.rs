//! Before and after storms: what the same ground gave in the days before each storm and in those after.
//!
//! Only outings whose tracks show the ground they swept count, with their finds; an outing counts on
//! one side of one storm at most, as the time between two storms is parted in the middle. Both rates and their ratio
//! are those of outings that differ ([`group_rate`](crate::chance::group_rate), [`group_ratio`]): days before a storm
//! and days after it are other days. Rows are read together, so each ratio's p-value is raised to a q-value
//! (Benjamini & Hochberg) over the rows told with it.

use jiff::{SignedDuration, Timestamp};
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::rate::{Rate, until_half_as_wide};
use super::yields::{in_band, round_up};
use crate::book::Uid;
use crate::chance::{COVERAGE, Group, Parted, RateRatio, Shapes, false_discovery, group_ratio, weighted_share_interval};
use crate::reading::exposure::Outings;
use crate::reading::given::{Ground, PlacedFinds, WeightChoice};
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
    /// Its p-value after all rows told with it were allowed for (Benjamini & Hochberg); up to 0.05 more than luck.
    #[serde(default)]
    pub q: Option<f64>,
    /// Whether too little ground was covered on either side, or too few finds made, for a ratio.
    pub too_little: bool,
    /// What is lacking, or what would make the ratio surer.
    pub surer: String,
}

/// What a part of the beach gave in the days before (outside) and after (inside), outing by outing.
#[derive(Debug, Clone, Default)]
struct Sides {
    outings: Vec<Parted>,
    swept_m2: [f64; 2],
}

impl Sides {
    fn finds(&self) -> [u64; 2] {
        let sum = |of: fn(&Parted) -> f64| self.outings.iter().map(of).sum::<f64>() as u64;
        [sum(|p| p.outside.count), sum(|p| p.inside.count)]
    }

    fn rate(&self, side: usize, shapes: &Shapes) -> Option<Rate> {
        let of = |p: &Parted| if side == 0 { p.outside } else { p.inside };
        let groups: Vec<Group> = self.outings.iter().map(of).filter(|g| g.exposure > 0.0).collect();
        Rate::by_outing(&groups, shapes)
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
    let mut each = Vec::new();
    for (n, (storm, (from, to))) in storms.iter().zip(&spans).enumerate() {
        let (before_from, after_to) = reach(&spans, n, params.storm_days);
        let (before, mut sides) = side(ground, laid, outings, before_from, *from, 0);
        let (after, later) = side(ground, laid, outings, *to, after_to, 1);
        for ((own, later), sum) in sides.iter_mut().zip(later).zip(&mut sum) {
            own.swept_m2[1] = later.swept_m2[1];
            own.outings.extend(later.outings);
            sum.outings.extend(&own.outings);
            (0..2).for_each(|s| sum.swept_m2[s] += own.swept_m2[s]);
        }
        each.push(StormReading {
            uid: storm.uid,
            name: storm.name.clone(),
            from: *from,
            to: *to,
            hs_m: storm.peak().map_or(0.0, |s| s.hs_m),
            before,
            after,
            changes: changes(ground, &sides, outings, params, true),
        });
    }
    let over_all = changes(ground, &sum, outings, params, false);
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
    let mut counts = vec![vec![0.0; outings.all.len()]; 3 * (ground.setting.bands.len() + 1)];
    for (n, (find, outing)) in laid.finds.iter().zip(&outings.of_find).enumerate() {
        let Some(outing) = outing.filter(|o| within[*o]) else { continue };
        let square = outings.exposure.and_then(|e| e.of_find[n]).map(|at| at.square as usize);
        let band = square.and_then(|s| outings.band_of_square.get(s).copied().flatten());
        for part in [Some(0), band.map(|b| b + 1)].into_iter().flatten() {
            for of in WeightChoice::ALL.into_iter().filter(|of| of.takes(find.weight)) {
                counts[3 * part + of.place()][outing] += 1.0;
            }
        }
    }
    let sides = counts.into_iter().enumerate().map(|(k, counts)| {
        let part = k / 3;
        let mut side = Sides::default();
        for (outing, count) in outings.all.iter().zip(counts).zip(&within).filter(|(_, w)| **w).map(|(o, _)| o) {
            side.swept_m2[which] += outing.swept_m2[part];
            let group = Group::new(count, outing.exposure_m2[part]);
            if group.exposure > 0.0 {
                let (inside, outside) = if which == 1 { (group, Group::default()) } else { (Group::default(), group) };
                side.outings.push(Parted { inside, outside });
            }
        }
        side
    });
    let sides: Vec<Sides> = sides.collect();
    let outings_in = within.iter().filter(|w| **w).count();
    (Days { from, to, outings: outings_in, swept_m2: sides[0].swept_m2[which] }, sides)
}

fn changes(ground: &Ground, sides: &[Sides], outings: &Outings, params: &Params, one_storm: bool) -> Vec<BeforeAfter> {
    let bands = std::iter::once(None).chain(ground.setting.bands.iter().map(|b| Some(b.name.clone())));
    let rows: Vec<_> = bands.flat_map(|band| WeightChoice::ALL.map(|of| (band.clone(), of))).enumerate().collect();
    let usual = Shapes::default();
    let row = |(k, (band, of)): (usize, (Option<String>, WeightChoice))| {
        let s = &sides[k];
        let shapes = outings.exposure.map_or(&usual, |e| e.shapes(of));
        let lacking = lacking(s, band.as_deref(), params, one_storm);
        BeforeAfter {
            before: s.rate(0, shapes),
            after: s.rate(1, shapes),
            ratio: if lacking.is_some() { None } else { group_ratio(&s.outings, shapes) },
            q: None,
            too_little: lacking.is_some(),
            surer: lacking.unwrap_or_else(|| surer(s, band.as_deref(), one_storm)),
            band,
            of,
        }
    };
    let mut rows: Vec<BeforeAfter> = rows.into_par_iter().map(row).collect();
    let p: Vec<f64> = rows.iter().filter_map(|r| Some(r.ratio?.p)).collect();
    let told = rows.iter_mut().filter(|r| r.ratio.is_some());
    told.zip(false_discovery(&p)).for_each(|(row, q)| row.q = Some(q));
    rows
}

/// What is lacking for a ratio, if anything.
fn lacking(s: &Sides, band: Option<&str>, params: &Params, one_storm: bool) -> Option<String> {
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
    let finds: u64 = s.finds().iter().sum();
    (finds < u64::from(params.least_compared))
        .then(|| format!("not enough finds yet: {finds} before and after {place}, at least {} are needed", params.least_compared))
}

/// How much more ground on either side would halve the interval of the ratio, on the scale of its logarithm.
fn surer(s: &Sides, band: Option<&str>, one_storm: bool) -> String {
    let place = band.map_or_else(|| "of this beach".to_owned(), in_band);
    if s.finds().contains(&0) {
        let side = if s.finds()[0] == 0 { "before" } else { "after" };
        return format!("nothing was found {side}, so the interval is open on one side; one find {side} {place} would close it");
    }
    let more = times_to_halve(s.finds()) - 1.0;
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
    until_half_as_wide(width, 16.0)
}
