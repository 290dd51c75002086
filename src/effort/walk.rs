use jiff::Timestamp;
use rayon::prelude::*;

use super::{EffortError, Params};
use crate::book::part::part;
use crate::book::{Beach, Track, TrackPoint, Uid};
use crate::earth::{Frame, Local, LonLat};

part! {
    /// What the ground covered is worked out from.
    pub struct EffortTables: outings, setups, tracks;
}

/// A fix in the plane in which speed is measured and in the plane of the grid.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fix {
    /// Metres east and north, true to the ground.
    pub at: Local,
    /// Where it lies on the grid; the same, or metres along and across.
    pub on_grid: Local,
    /// Seconds since 1970-01-01 UTC; NaN where unknown.
    pub time_s: f64,
}

/// One track as it enters the effort.
#[derive(Debug, Clone, PartialEq)]
pub struct Walk {
    /// The track.
    pub track: Uid,
    /// The outing it belongs to, if known.
    pub outing: Option<Uid>,
    /// When that outing, or else the track, began; seconds since 1970-01-01 UTC. Decides whose
    /// ground was fresh; NaN, when unknown, comes last.
    pub began_s: f64,
    /// Width of the coil, metres, if the set-up says so.
    pub coil_width_m: Option<f64>,
    /// Runs of usable fixes; between two runs the receiver was lost.
    pub runs: Vec<Vec<Fix>>,
    /// Fixes left out for their dilution of precision, their satellites, or as too far off.
    pub unusable: usize,
}

/// The tracks of a beach, laid in its plane and on the grid, earliest outing first.
///
/// `on_grid` takes a point of the beach's plane to the plane of the grid; give the identity for a
/// grid of metres east and north. A track that repeats another's fixes is left out: the second
/// value counts those.
///
/// # Errors
/// When no plane can be laid at the beach.
pub fn walks_of(
    book: &EffortTables,
    beach: &Beach,
    on_grid: impl Fn(Local) -> Local + Sync,
    params: &Params,
) -> Result<(Vec<Walk>, usize), EffortError> {
    let frame = Frame::centred_on(beach.origin)?;
    let mut tracks: Vec<Candidate<'_>> = book.tracks_of(beach.uid).map(|track| Candidate::new(book, track)).collect();
    let all = tracks.len();
    leave_out_repeats(&mut tracks);
    let repeated = all - tracks.len();
    // Unknown times last; an outing's tracks together; among equals by uid.
    tracks.sort_by(|a, b| {
        let key = |s: f64| if s.is_nan() { f64::INFINITY } else { s };
        let outing = a.track.outing.cmp(&b.track.outing);
        key(a.began_s).total_cmp(&key(b.began_s)).then(outing).then(a.span.cmp(&b.span)).then(a.track.uid.cmp(&b.track.uid))
    });
    let lay = |p: LonLat| frame.to_local(p).ok();
    let walks = tracks
        .par_iter()
        .map(|Candidate { track, began_s, .. }| {
            let coil = track.outing.and_then(|o| book.outings().get(&o)?.setup).and_then(|s| book.setups().get(&s)?.coil_width_m);
            let mut walk = Walk {
                track: track.uid,
                outing: track.outing,
                began_s: *began_s,
                coil_width_m: coil,
                runs: Vec::new(),
                unusable: 0,
            };
            for segment in &track.segments {
                let mut run = Vec::with_capacity(segment.len());
                for point in segment.iter() {
                    match lay(point.at).filter(|_| usable(point, params)) {
                        Some(at) => run.push(Fix { at, on_grid: on_grid(at), time_s: point.time_s().unwrap_or(f64::NAN) }),
                        None => walk.unusable += 1,
                    }
                }
                walk.runs.push(run);
            }
            walk
        })
        .collect();
    Ok((walks, repeated))
}

/// A track that may enter the effort.
struct Candidate<'a> {
    track: &'a Track,
    began_s: f64,
    span: Option<(Timestamp, Timestamp)>,
}

impl<'a> Candidate<'a> {
    fn new(book: &EffortTables, track: &'a Track) -> Self {
        let span = track.span();
        let outing = track.outing.and_then(|o| book.outings().get(&o)).map(|o| o.start);
        let began = outing.or(span.map(|s| s.0));
        Self { track, began_s: began.map_or(f64::NAN, |t| t.as_millisecond() as f64 / 1000.0), span }
    }

    /// Whether both can be the same walk: their times overlap, or neither has any.
    fn may_repeat(&self, other: &Self) -> bool {
        match (self.span, other.span) {
            (Some(a), Some(b)) => a.0 <= b.1 && b.0 <= a.1,
            (None, None) => true,
            _ => false,
        }
    }
}

fn usable(point: &TrackPoint, params: &Params) -> bool {
    point.hdop().is_none_or(|h| h <= params.hdop_most) && point.satellites().is_none_or(|s| s >= params.satellites_least)
}

/// A fix to the second and to about a tenth of a metre: the same in a copy of a file that another
/// program wrote with fewer decimals, but for a few on the edge of rounding.
type Rough = (i64, i64, i64);

fn rough(p: &TrackPoint) -> Rough {
    let round = |deg: f64| (deg * 1e6).round() as i64;
    (p.time_s().map_or(i64::MIN, |s| s.floor() as i64), round(p.at.lon_deg()), round(p.at.lat_deg()))
}

/// Leaves out every track of which nine fixes in ten are those of another that is at least as long.
fn leave_out_repeats(tracks: &mut Vec<Candidate<'_>>) {
    tracks.sort_by_key(|c| (std::cmp::Reverse(c.track.len()), c.track.uid));
    // Few tracks overlap in time, so hardly any are ever compared fix by fix.
    let mut kept: Vec<(Candidate<'_>, Option<Vec<Rough>>)> = Vec::with_capacity(tracks.len());
    for candidate in tracks.drain(..) {
        let repeats = kept.iter_mut().filter(|(other, _)| candidate.may_repeat(other)).any(|(other, fixes)| {
            let fixes = fixes.get_or_insert_with(|| {
                let mut fixes: Vec<Rough> = other.track.points().map(rough).collect();
                fixes.sort_unstable();
                fixes
            });
            // One fix in ten may be another; a track that is no repeat shows as many at once.
            let others = candidate.track.points().filter(|p| fixes.binary_search(&rough(p)).is_err());
            let may_differ = candidate.track.len() / 10;
            others.take(may_differ + 1).count() <= may_differ
        });
        if !repeats {
            kept.push((candidate, None));
        }
    }
    tracks.extend(kept.into_iter().map(|k| k.0));
}
