//! Whether two tracks are one walk, as two receivers saw it.

use crate::book::{Track, TrackPoint};
use crate::earth::{LonLat, distance_m};

/// At how many instants two tracks are held against each other.
const COMPARED: u32 = 60;
/// Fewer common instants tell nothing.
const LEAST: usize = 10;
/// Between fixes farther apart than this nothing is known of where one was, seconds.
const KNOWN_S: f64 = 60.0;
/// Two receivers carried by one person differ by no more than this in the middle, metres: each is good to about five
/// (common practice, no published source), mostly by a slow drift. Two people side by side are mostly farther apart, and
/// not by the same all the while; where they are not, whoever is asked knows it.
const MEDIAN_M: f64 = 12.0;
/// And by no more than this but for one instant in ten, metres.
const MOST_M: f64 = 30.0;

/// The distance between two tracks in the middle of their common time, if they are one walk, metres.
pub(super) fn one_walk(a: &Track, b: &Track) -> Option<f64> {
    let (a, b) = (timed(a), timed(b));
    let (from_s, to_s) = (a.first()?.0.max(b.first()?.0), a.last()?.0.min(b.last()?.0));
    if to_s <= from_s {
        return None;
    }
    let step_s = (to_s - from_s) / f64::from(COMPARED);
    let apart = |n: u32| {
        let at_s = from_s + step_s * (f64::from(n) + 0.5);
        Some(distance_m(place_at(&a, at_s)?, place_at(&b, at_s)?))
    };
    let mut apart: Vec<f64> = (0..COMPARED).filter_map(apart).collect();
    apart.sort_by(f64::total_cmp);
    let (middle, most) = (*apart.get(apart.len() / 2)?, *apart.get(apart.len() * 9 / 10)?);
    (apart.len() >= LEAST && middle <= MEDIAN_M && most <= MOST_M).then_some(middle)
}

fn timed(track: &Track) -> Vec<(f64, LonLat)> {
    let mut fixes: Vec<(f64, LonLat)> = track.points().filter_map(|p: &TrackPoint| Some((p.time_s()?, p.at))).collect();
    fixes.sort_by(|a, b| a.0.total_cmp(&b.0));
    fixes
}

/// Where one was between two fixes.
fn place_at(fixes: &[(f64, LonLat)], at_s: f64) -> Option<LonLat> {
    let after = fixes.partition_point(|(t, _)| *t < at_s);
    let (a, b) = (fixes.get(after.checked_sub(1)?)?, fixes.get(after)?);
    if b.0 - a.0 > KNOWN_S {
        return None;
    }
    let share = if b.0 > a.0 { (at_s - a.0) / (b.0 - a.0) } else { 0.0 };
    let between = |a: f64, b: f64| a + (b - a) * share;
    LonLat::new(between(a.1.lon_deg(), b.1.lon_deg()), between(a.1.lat_deg(), b.1.lat_deg())).ok()
}
