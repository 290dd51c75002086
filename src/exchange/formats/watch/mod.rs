//! What sports watches keep of a walk: TCX, which is XML, and FIT, which is binary. Only where one was and when is read.

mod fit;
mod tcx;

use std::sync::Arc;

pub(in crate::exchange) use fit::read as read_fit;
pub(in crate::exchange) use tcx::read as read_tcx;

use crate::book::{Plan, Track, TrackPoint, Uid};
use crate::earth::LonLat;
use crate::exchange::error::Stop;
use crate::exchange::take_in::taking::{Mark, Taking};

/// Takes runs of fixes as one track; whether there was anything to take.
fn take(line: u64, number: u64, name: &str, mut runs: Vec<Vec<TrackPoint>>, taking: &mut Taking<'_>) -> Result<bool, Stop> {
    taking.of_their_weeks(&mut runs, line);
    let segments: Vec<Arc<[TrackPoint]>> = runs.into_iter().filter(|r| !r.is_empty()).map(Arc::from).collect();
    if segments.is_empty() {
        return Ok(false);
    }
    let beach = taking.beach.uid;
    let uid = Track::content_uid(beach, &segments);
    let name = if name.is_empty() { taking.stem.clone() } else { name.to_owned() };
    let track = Track { uid, beach, outing: None, name, segments };
    taking.take_as(Mark { line, noun: "track", number }, track, Some(uid))?;
    Ok(true)
}

/// Takes a course as a plan; whether there was anything to take.
fn take_plan(line: u64, number: u64, name: &str, points: Vec<LonLat>, taking: &mut Taking<'_>) -> Result<bool, Stop> {
    if points.is_empty() {
        return Ok(false);
    }
    let beach = taking.beach.uid;
    let bytes: Vec<u8> = points.iter().flat_map(|p| [p.lon_deg(), p.lat_deg()]).flat_map(f64::to_le_bytes).collect();
    let uid = Uid::of_content("plan", [beach.to_string().as_bytes(), &bytes]);
    let name = if name.is_empty() { taking.stem.clone() } else { name.to_owned() };
    taking.take_as(Mark { line, noun: "course", number }, Plan { uid, beach, name, points }, Some(uid))?;
    Ok(true)
}
