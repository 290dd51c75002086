//! Drop zones: compact hot spots of the beach's own mix that outlast storms as far as anyone looked.
//!
//! A hot spot of all finds, at most 25 m to either side, is told as a drop zone unless one weight makes up more than
//! three quarters of its finds and that is plainly more than on the rest of the beach (Fisher's exact test, 0.1 %; both
//! are judgements with no published source: people may lose heavier things than lie about), a scour line holds most
//! of its heavy finds, or storms came and nothing was found there after any of them *although it was searched
//! enough*: nothing is held against a place where nobody looked. Hot spots that touch are told together, with the
//! number of both. What lies near is told, not required.

use geo::{Distance, Euclidean};
use geo_types::{Coord, Point};
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use super::habit::Habit;
use super::scour::ScourLine;
use super::whereabouts::Whereabouts;
use crate::book::ZoneUse;
use crate::chance::{Fisher, false_discovery, fisher_exact};
use crate::earth::{Local, LonLat};
use crate::reading::exposure::Outings;
use crate::reading::given::{Counts, Ground, Placed, PlacedFinds, WeightChoice};
use crate::reading::params::Params;
use crate::reading::scan::{COMPACT_M, HotSpot};
use crate::shore::{Shore, ShorePoint};

/// A place where people lose things.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DropZone {
    /// Number of the hot spot of all finds that it is.
    pub hot_spot: usize,
    /// Mean position of its finds.
    pub centre: LonLat,
    /// The same by the shore.
    pub shore: ShorePoint,
    /// Share of heavy ones among its finds of known weight.
    pub heavy_share: Option<f64>,
    /// The same on the rest of the beach.
    pub heavy_share_elsewhere: Option<f64>,
    /// Fisher's exact test of the two shares, told and not judged by: people may lose heavier things than lie about.
    pub shares_test: Fisher,
    /// Storms with finds in it both before and after; of how many that could have been.
    pub storms_outlasted: usize,
    /// Storms after its first find.
    pub storms: usize,
    /// Finds that its own rate would have given for the searching done in it after the first of those storms; 0 where
    /// nobody looked.
    #[serde(default)]
    pub expected_after: f64,
    /// Numbers of hot spots that touch it and are told with it.
    #[serde(default)]
    pub together_with: Vec<usize>,
    /// Where it is: by what is near, its coordinates, and how far from which end.
    #[serde(default)]
    pub place: String,
    /// What lies near, nearest first: accesses, seats, bathing, the high-water line.
    pub near: Vec<Near>,
    /// Finds by month of the beach's own calendar, January first.
    pub by_month: [usize; 12],
    /// Finds by day of the week, Monday first.
    pub by_weekday: [usize; 7],
    /// Months and days of the week against those on which it was searched.
    #[serde(default)]
    pub habit: Habit,
    /// What would make it surer.
    #[serde(default)]
    pub surer: String,
}

/// Something near a place.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Near {
    /// Its name.
    pub name: String,
    /// How far its edge is, metres; 0 inside it.
    pub distance_m: f64,
}

/// Further off than this is not near, metres.
const NEAR_M: f64 = 40.0;
/// So unlike the rest of the beach a place is by luck in less than this share of cases: what the sea sorts, or what
/// someone tipped out.
const UNLIKE_P: f64 = 0.001;
/// Finding nothing after a storm is held against a place where it would be luck in less than this share of cases.
const ABSENT_P: f64 = 0.05;

/// The drop zones among the hot spots, in their order.
pub(in crate::reading) fn drop_zones(
    ground: &Ground,
    laid: &PlacedFinds,
    outings: &Outings,
    spots: &[HotSpot],
    lines: &[ScourLine],
    params: &Params,
) -> Vec<DropZone> {
    let Some(shore) = ground.shore() else { return Vec::new() };
    let on_a_line = |s: &HotSpot| {
        let held = |l: &ScourLine| 2 * l.uids.iter().filter(|u| s.uids.binary_search(u).is_ok()).count() > s.counts.heavy;
        lines.iter().any(held)
    };
    let all = Counts::tally(laid.finds.iter().filter(|f| !f.pinned));
    let whereabouts = Whereabouts::new(ground, shore);
    let mut told: Vec<&HotSpot> = Vec::new();
    let mut zones: Vec<DropZone> = Vec::new();
    for spot in spots.iter().filter(|s| is_compact_and_mixed(s, all) && !on_a_line(s)) {
        if let Some(n) = told.iter().position(|s| touches(s, spot)) {
            zones[n].together_with.push(spot.number);
            continue;
        }
        if let Some(zone) = judge(ground, laid, outings, shore, spot, params) {
            told.push(spot);
            zones.push(DropZone { place: whereabouts.said(zone.shore), ..zone });
        }
    }
    correct_habits(&mut zones);
    zones
}

/// Whether two spots lie against each other: one is the rim of the other, or they are two places side by side.
fn touches(a: &HotSpot, b: &HotSpot) -> bool {
    let along = (a.shore.along_m - b.shore.along_m) / (a.half_along_m + b.half_along_m);
    let across = (a.shore.across_m - b.shore.across_m) / (a.half_across_m + b.half_across_m);
    along.hypot(across) < 1.25
}

/// Habits are many questions at once: all zones, by month and by day of the week.
fn correct_habits(zones: &mut [DropZone]) {
    let p: Vec<f64> = zones.iter().flat_map(|z| [z.habit.month_p, z.habit.weekday_p]).flatten().collect();
    let mut q = false_discovery(&p).into_iter();
    for zone in zones {
        zone.habit.month_q = zone.habit.month_p.and_then(|_| q.next());
        zone.habit.weekday_q = zone.habit.weekday_p.and_then(|_| q.next());
    }
}

/// Whether a hot spot of all finds is no larger than a drop zone and holds the beach's own mix of weights, of which
/// the beach has `all` in all.
pub(in crate::reading) fn is_compact_and_mixed(spot: &HotSpot, all: Counts) -> bool {
    let compact = spot.of == WeightChoice::All && spot.half_along_m <= COMPACT_M;
    if !compact {
        return false;
    }
    let (own, rest) = (spot.counts, all.without_at_most(spot.counts));
    let [a, b, c, d] = [own.heavy, own.light, rest.heavy, rest.light].map(|n| n as u64);
    let heavier = || fisher_exact([[a, b], [c, d]]).greater < UNLIKE_P;
    let lighter = || fisher_exact([[b, a], [d, c]]).greater < UNLIKE_P;
    let is_unlike = 4 * b < a + b && heavier() || 4 * a < a + b && lighter();
    !is_unlike
}

/// What the rate of a place would have given after an instant for the searching done there, and the chance of finding
/// nothing all the same.
fn absent_after(outings: &Outings, spot: &HotSpot, after: Timestamp) -> Option<(f64, f64)> {
    let exposure = outings.exposure?;
    let rate = spot.rate?.per_100m2 / 100.0;
    let phi = exposure.shapes(WeightChoice::All).phi();
    let within = |s: ShorePoint| {
        let (a, b) = (s.along_m - spot.shore.along_m, s.across_m - spot.shore.across_m);
        (a / spot.half_along_m).powi(2) + (b / spot.half_across_m).powi(2) <= 1.0
    };
    let near = exposure.visits.squares_near(spot.shore, spot.half_along_m, spot.half_across_m);
    let by_outing = exposure.by_outing(near.filter(|n| within(exposure.visits.middle(*n))));
    let later =
        by_outing.into_iter().enumerate().filter(|(n, _)| outings.of_visits(*n).is_some_and(|n| outings.all[n].start >= after));
    let means: Vec<f64> = later.map(|(_, e)| rate * e).collect();
    // None of a negative binomial of this mean.
    let nothing = means.iter().map(|m| -phi * (m / phi).ln_1p()).sum::<f64>().exp();
    Some((means.iter().sum(), nothing))
}

fn judge(
    ground: &Ground,
    laid: &PlacedFinds,
    outings: &Outings,
    shore: &Shore,
    spot: &HotSpot,
    params: &Params,
) -> Option<DropZone> {
    // Both are in order of uid.
    let places = spot.uids.iter().filter_map(|uid| laid.finds.binary_search_by_key(uid, |f| f.uid).ok());
    let members: Vec<(&Placed, Option<usize>)> = places.map(|n| (&laid.finds[n], outings.of_find[n])).collect();
    let inside: Vec<&Placed> = members.iter().map(|(f, _)| *f).collect();
    let own = Counts::tally(inside.iter().copied());
    let rest = Counts::tally(&laid.finds).without_at_most(own);
    let table = [[own.heavy as u64, own.light as u64], [rest.heavy as u64, rest.light as u64]];
    let shares_test = fisher_exact(table);
    let times = || inside.iter().filter_map(|f| f.time);
    let first = times().min();
    let ends = ground.book.storms_of(ground.setting.beach.uid).into_iter().filter_map(|s| s.span().map(|(_, end)| end));
    let after_first: Vec<_> = ends.filter(|end| first.is_some_and(|f| f < *end)).collect();
    let storms_outlasted = after_first.iter().filter(|end| times().any(|t| t > **end)).count();
    let searched_after = after_first.iter().min().and_then(|end| absent_after(outings, spot, *end));
    if storms_outlasted == 0 && searched_after.is_some_and(|(_, nothing)| nothing < ABSENT_P) {
        return None;
    }
    let (mut by_month, mut by_weekday) = ([0; 12], [0; 7]);
    let zone = ground.setting.beach.zone().unwrap_or(jiff::tz::TimeZone::UTC);
    for time in times() {
        let date = time.to_zoned_datetime(zone.clone()).date();
        let (month, day) =
            (date.month().unsigned_abs() as usize - 1, date.weekday().to_monday_zero_offset().unsigned_abs() as usize);
        by_month[month.min(11)] += 1;
        by_weekday[day.min(6)] += 1;
    }
    let habit = Habit::in_spot(outings, &members, spot, &zone, params);
    let n = inside.len() as f64;
    let centre =
        inside.iter().fold(Local::default(), |c, f| Local::new(c.east_m + f.at.east_m / n, c.north_m + f.at.north_m / n));
    let share = |c: Counts| (c.heavy + c.light > 0).then(|| c.heavy as f64 / (c.heavy + c.light) as f64);
    Some(DropZone {
        hot_spot: spot.number,
        centre: laid.frame.to_lonlat(centre).ok()?,
        shore: shore.to_shore(centre),
        heavy_share: share(own),
        heavy_share_elsewhere: share(rest),
        shares_test,
        storms_outlasted,
        storms: after_first.len(),
        expected_after: searched_after.map_or(0.0, |s| s.0),
        together_with: Vec::new(),
        place: String::new(),
        near: near(ground, shore, centre),
        by_month,
        by_weekday,
        surer: surer(spot, storms_outlasted, &habit),
        habit,
    })
}

/// What would make a drop zone surer, each with its figure.
fn surer(spot: &HotSpot, outlasted: usize, habit: &Habit) -> String {
    let mut said = vec![spot.surer.clone()];
    if outlasted < 2 {
        said.push(format!(
            "it has outlasted {outlasted} storms; finds in it after another one would tell it from a passing patch"
        ));
    }
    let days = habit.expected_by_weekday.iter().filter(|e| **e > 0.0).count();
    if days < 7 {
        said.push(format!("it was searched on {days} of 7 days of the week; the others would show whether weekends pay more"));
    }
    said.retain(|s| !s.is_empty());
    said.join("; ")
}

fn near(ground: &Ground, shore: &Shore, at: Local) -> Vec<Near> {
    let beach = ground.setting.beach.uid;
    let here = Point::from(Coord::from(at));
    let mut found = Vec::new();
    for access in ground.book.accesses().values().filter(|a| a.beach == beach) {
        if let Ok(p) = shore.frame().to_local(access.at) {
            found.push(Near { name: access.name.clone(), distance_m: p.distance_m(at) });
        }
    }
    let used = |z: &&crate::book::Zone| matches!(z.usage, ZoneUse::Access | ZoneUse::Seats | ZoneUse::Bathing);
    for zone in ground.book.zones_of(beach).filter(used) {
        if let Ok(area) = shore.area_to_local(&zone.area) {
            found.push(Near { name: zone.name.clone(), distance_m: Euclidean.distance(&here, &area) });
        }
    }
    if let Some(mark) = ground.setting.marks.first()
        && let Ok(line) = shore.tide_line(mark.level_m)
        && !line.0.is_empty()
    {
        found.push(Near { name: format!("{} line", mark.name), distance_m: Euclidean.distance(&here, &line) });
    }
    found.retain(|n| n.distance_m <= NEAR_M);
    found.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m).then_with(|| a.name.cmp(&b.name)));
    found
}
