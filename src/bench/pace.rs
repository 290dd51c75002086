//! How long a hole takes this person, from the tracks.

use serde::Serialize;

use super::share::median_interval;
use crate::book::{Book, Find, Track, Uid};
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
pub fn pace(book: &Book, beach: Uid) -> Option<Pace> {
    let frame = Frame::centred_on(book.beaches().get(&beach)?.origin).ok()?;
    let tracks: Vec<(&Track, Vec<(f64, Local)>)> = book
        .tracks_of(beach)
        .map(|t| {
            let timed = t.points().filter_map(|p| Some((p.time_s()?, frame.to_local(p.at).ok()?)));
            let mut points: Vec<_> = timed.collect();
            points.sort_by(|a, b| a.0.total_cmp(&b.0));
            (t, points)
        })
        .collect();
    let stays: Vec<f64> = book
        .finds_of(beach)
        .filter_map(|f| {
            let own = tracks.iter().filter(|(t, _)| t.outing.is_some() && t.outing == f.outing);
            own.filter_map(|(_, points)| stay_s(f, points)).next()
        })
        .map(|s| s / 60.0)
        .collect();
    let (middle, low, high) = median_interval(&stays)?;
    Some(Pace { minutes_per_hole: middle, interval: (low, high), holes: stays.len() })
}

/// Seconds for which the track stays where it was at the find's instant.
fn stay_s(find: &Find, points: &[(f64, Local)]) -> Option<f64> {
    let at_s = find.time?.as_millisecond() as f64 / 1000.0;
    let n = points.partition_point(|p| p.0 < at_s).min(points.len().checked_sub(1)?);
    let (here_s, here) = points.get(n)?;
    if (here_s - at_s).abs() > GAP_S {
        return None;
    }
    let stays = |a: &&(f64, Local)| a.1.distance_m(*here) <= STANDING_M;
    let last = points.get(n..)?.iter().take_while(stays).last()?.0;
    let first = points.get(..=n)?.iter().rev().take_while(stays).last()?.0;
    let stay = last - first;
    (stay > 0.0 && stay < REST_S).then_some(stay)
}
