//! Where somebody was at a time, by the tracks of the book.

use jiff::Timestamp;

use crate::book::{Book, TrackPoint, Uid};
use crate::earth::LonLat;

/// Between two fixes farther apart than this nobody knows where one was, seconds.
const GAP_S: i64 = 300;
/// So long before its first fix and after its last a track still says where one was, seconds.
const SLACK_S: i64 = 120;

/// Where one was, by which track.
#[derive(Debug, Clone, PartialEq)]
pub struct Along {
    /// Where.
    pub at: LonLat,
    /// The name of the track.
    pub track: String,
}

/// Where one was on a beach at a time.
///
/// # Errors
/// How far from the time the nearest track is, seconds; `None` without any.
pub fn along(book: &Book, beach: Uid, time: Timestamp) -> Result<Along, Option<i64>> {
    let mut nearest: Option<i64> = None;
    for track in book.tracks_of(beach) {
        let Some((from, to)) = track.span() else { continue };
        let off_s = (from.as_second() - time.as_second()).max(time.as_second() - to.as_second()).max(0);
        nearest = Some(nearest.map_or(off_s, |n| n.min(off_s)));
        if off_s > SLACK_S {
            continue;
        }
        let found = track.segments.iter().find_map(|segment| within(segment, time));
        if let Some(at) = found.or_else(|| at_an_end(track.points(), time)) {
            return Ok(Along { at, track: track.name.clone() });
        }
    }
    Err(nearest)
}

fn within(segment: &[TrackPoint], time: Timestamp) -> Option<LonLat> {
    segment.windows(2).find_map(|pair| {
        let [a, b] = pair else { return None };
        let (from, to) = (a.time()?, b.time()?);
        let whole_s = to.as_second() - from.as_second();
        if !(from <= time && time <= to) || whole_s > GAP_S {
            return None;
        }
        let share = if whole_s > 0 { (time.as_second() - from.as_second()) as f64 / whole_s as f64 } else { 0.0 };
        let mix = |a: f64, b: f64| a + (b - a) * share;
        // Two fixes on either side of the antimeridian are a step apart, not a world.
        if (a.at.lon_deg() - b.at.lon_deg()).abs() > 180.0 {
            return Some(a.at);
        }
        LonLat::new(mix(a.at.lon_deg(), b.at.lon_deg()), mix(a.at.lat_deg(), b.at.lat_deg())).ok()
    })
}

/// The fix nearest in time, where it is near enough.
fn at_an_end<'p>(points: impl Iterator<Item = &'p TrackPoint>, time: Timestamp) -> Option<LonLat> {
    let off_s = |p: &TrackPoint| p.time().map(|t| (t.as_second() - time.as_second()).abs());
    let (off_s, at) = points.filter_map(|p| Some((off_s(p)?, p.at))).min_by_key(|(off_s, _)| *off_s)?;
    (off_s <= SLACK_S).then_some(at)
}
