//! How long a hole takes this person, from the tracks.

use serde::Serialize;

use super::tables::PaceTables;
use crate::book::{Beach, Find, Track};
use crate::chance::median_interval;
use crate::earth::{Frame, Local};

/// How far a receiver wanders while its bearer digs, metres.
const STANDING_M: f64 = 4.0;
/// Longer than this at one spot is a rest, not a hole, seconds.
const REST_S: f64 = 1800.0;
/// Fixes further apart than this in time do not show a stay, seconds.
const GAP_S: f64 = 60.0;

/// Time at the hole, find by find.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Pace {
    /// Median time at the hole, minutes.
    pub minutes_per_hole: f64,
    /// 95 % interval of the median, minutes.
    pub interval: (f64, f64),
    /// Holes it was measured on.
    pub holes: usize,
}

/// Measures the stay about each find's instant on the track of its outing; `None` with fewer than six.
/// Sweeping just before and after within four metres is counted with the hole.
pub fn pace(book: impl Into<PaceTables>, beach: &Beach) -> Option<Pace> {
    let book = book.into();
    let frame = Frame::centred_on(beach.origin).ok()?;
    let tracks: Vec<(&Track, Vec<(f64, Local)>)> = book
        .tracks_of(beach.uid)
        .map(|t| {
            let timed = t.points().filter_map(|p| Some((p.time_s()?, frame.to_local(p.at).ok()?)));
            let mut points: Vec<_> = timed.collect();
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            (t, points)
        })
        .collect();
    let stays: Vec<(f64, f64)> = book
        .finds_of(beach.uid)
        .filter_map(|f| {
            let own = tracks.iter().filter(|(t, _)| t.outing.is_some() && t.outing == f.outing);
            own.filter_map(|(_, points)| stay_s(f, points)).next()
        })
        .collect();
    let minutes = |of: fn(&(f64, f64)) -> f64| median_interval(&stays.iter().map(|s| of(s) / 60.0).collect::<Vec<_>>());
    let (middle, ..) = minutes(|s| 0.5 * (s.0 + s.1))?;
    let (_, low, _) = minutes(|s| s.0)?;
    let (.., high) = minutes(|s| s.1)?;
    Some(Pace { minutes_per_hole: middle, interval: (low, high), holes: stays.len() })
}

/// The least and the most seconds for which the track can have stayed where it was at the find's instant:
/// between the first and the last fix there, and between the fixes before and after those.
fn stay_s(find: &Find, points: &[(f64, Local)]) -> Option<(f64, f64)> {
    let at_s = find.time?.as_millisecond() as f64 / 1000.0;
    let n = points.partition_point(|p| p.0 < at_s).min(points.len().checked_sub(1)?);
    let (here_s, here) = points.get(n)?;
    if (here_s - at_s).abs() > GAP_S {
        return None;
    }
    let away = |p: &(f64, Local)| p.1.distance_m(*here) > STANDING_M;
    let after = points.get(n..)?.iter().position(away)? + n;
    let before = points.get(..n)?.iter().rposition(away)?;
    let time = |n: usize| points.get(n).map(|p| p.0);
    let least = time(after.checked_sub(1)?)? - time(before + 1)?;
    let most = time(after)? - time(before)?;
    (most < REST_S).then_some((least, most))
}
