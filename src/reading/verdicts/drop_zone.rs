//! Drop zones: compact hot spots of mixed weights that outlast storms.
//!
//! A hot spot of all finds, at most 25 m to either side and at most twice as long as wide, is told as
//! a drop zone if its weights are mixed (heavy and light ones each at least a quarter of those of
//! known weight; a judgement with no published source), unless a scour line holds most of its heavy
//! finds, or storms came and nothing was found there after any of them. What lies near is told, not
//! required.

use geo::{Distance, Euclidean};
use geo_types::{Coord, Point};
use serde::{Deserialize, Serialize};

use super::habit::Habit;
use super::scour::ScourLine;
use crate::book::ZoneUse;
use crate::chance::{Fisher, fisher_exact};
use crate::earth::{Local, LonLat};
use crate::reading::exposure::Outings;
use crate::reading::given::{Counts, Ground, Placed, PlacedFinds, WeightChoice};
use crate::reading::params::Params;
use crate::reading::scan::HotSpot;
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
/// A hot spot that reaches further to either side is no drop zone, metres.
const COMPACT_M: f64 = 25.0;

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
    let mut told: Vec<&HotSpot> = Vec::new();
    let mut zones = Vec::new();
    for spot in spots.iter().filter(|s| is_compact_and_mixed(s) && !on_a_line(s)) {
        // What lies against a stronger one is its rim.
        let rim = |s: &&HotSpot| {
            let (along_m, across_m) = (spot.shore.along_m - s.shore.along_m, spot.shore.across_m - s.shore.across_m);
            along_m.hypot(across_m) < s.half_along_m + spot.half_along_m
        };
        if told.iter().any(rim) {
            continue;
        }
        if let Some(zone) = judge(ground, laid, outings, shore, spot, params) {
            told.push(spot);
            zones.push(zone);
        }
    }
    zones
}

/// Whether a hot spot of all finds is no larger than a drop zone and holds both weights in earnest.
pub(in crate::reading) fn is_compact_and_mixed(spot: &HotSpot) -> bool {
    let c = spot.counts;
    let compact = spot.of == WeightChoice::All && spot.half_along_m <= COMPACT_M.min(2.0 * spot.half_across_m);
    compact && c.heavy.min(c.light) * 4 >= c.heavy + c.light && c.heavy > 0
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
    let rest = Counts::tally(&laid.finds).without(own);
    let table = [[own.heavy as u64, own.light as u64], [rest.heavy as u64, rest.light as u64]];
    let shares_test = fisher_exact(table);
    let times = || inside.iter().filter_map(|f| f.time);
    let first = times().min();
    let ends = ground.book.storms_of(ground.setting.beach.uid).into_iter().filter_map(|s| s.span().map(|(_, end)| end));
    let after_first: Vec<_> = ends.filter(|end| first.is_some_and(|f| f < *end)).collect();
    let storms_outlasted = after_first.iter().filter(|end| times().any(|t| t > **end)).count();
    if storms_outlasted == 0 && !after_first.is_empty() {
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
