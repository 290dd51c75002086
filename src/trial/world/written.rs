//! A world as its people wrote it down: the records of a book.

use std::sync::Arc;

use geo_types::{Coord, LineString, MultiPolygon, Polygon};
use jiff::tz::TimeZone;
use jiff::{SignedDuration, Timestamp};

use super::draw::{Rng, chance, normal, pick, uniform};
use super::land::Land;
use super::receiver::Receiver;
use super::sand::Class;
use super::search::Visit;
use super::truth::Survey;
use crate::book::{Access, Find, Kind, LevelPoint, SeaState, Storm, Track, TrackPoint, Uid, Zone, ZoneUse};
use crate::earth::{EarthError, Local, LonLat};

/// A uid that stands for a part of a world.
pub(super) fn named(kind: &str, beach: Uid, number: usize) -> Uid {
    Uid::of_content(kind, [beach.to_string().as_bytes(), &(number as u64).to_le_bytes()])
}

/// An instant, seconds since 1970.
pub(super) fn instant(second: i64) -> Timestamp {
    Timestamp::from_second(second).unwrap_or(Timestamp::UNIX_EPOCH)
}

fn moved(at: Local, by: (f64, f64)) -> Local {
    Local::new(at.east_m + by.0, at.north_m + by.1)
}

/// The track of an outing as received, with the drift through it.
pub(super) fn track(
    land: &Land,
    beach: Uid,
    outing: Uid,
    visit: &Visit,
    receiver: &Receiver,
    drift: &[(f64, f64)],
    rng: &mut Rng,
) -> Result<Track, EarthError> {
    let mut points = Vec::new();
    let mut step = 0;
    for second in (0..=visit.seconds).step_by(receiver.every_s.max(1) as usize) {
        while step + 1 < visit.steps.len() && visit.steps[step + 1].second <= second {
            step += 1;
        }
        let (Some(at), Some(off)) = (visit.steps.get(step), drift.get(second as usize)) else { break };
        let seen = moved(moved(at.at, *off), receiver.shiver(rng));
        let time = instant(visit.start_s) + SignedDuration::from_secs(i64::from(second));
        points.push(TrackPoint::new(land.lonlat(seen)?).with_time(Some(time)));
    }
    let segments: Vec<Arc<[TrackPoint]>> = vec![points.into()];
    let uid = Track::content_uid(beach, &segments);
    Ok(Track { uid, beach, outing: Some(outing), name: String::new(), segments })
}

/// How finds are noted on one beach.
#[derive(Debug, Clone, Copy)]
pub(super) struct Noting {
    /// Whether the receiver of the track gives the position; else another one does.
    pub(super) by_track: bool,
    /// Standard deviation of the other one along each axis, metres.
    pub(super) sigma_m: f64,
    /// Share of finds without a time.
    pub(super) timeless: f64,
    /// Share of those without an outing either.
    pub(super) adrift: f64,
}

impl Noting {
    pub(super) fn draw(rng: &mut Rng) -> Self {
        Self {
            by_track: chance(rng, 0.5),
            sigma_m: uniform(rng, 1.0, 6.0) * std::f64::consts::FRAC_1_SQRT_2,
            timeless: if chance(rng, 0.5) { 0.0 } else { uniform(rng, 0.0, 0.4) },
            adrift: if chance(rng, 0.7) { 0.0 } else { uniform(rng, 0.0, 0.3) },
        }
    }

    /// A find as it is noted, and where, in the beach's plane.
    #[allow(clippy::too_many_arguments, reason = "one find, and each argument is a different thing")]
    pub(super) fn find(
        &self,
        land: &Land,
        (beach, outing): (Uid, Uid),
        number: usize,
        (at, class): (Local, Class),
        time_s: i64,
        drift: (f64, f64),
        rng: &mut Rng,
    ) -> Result<(Find, Local), EarthError> {
        let own = if self.by_track { 0.5 } else { self.sigma_m };
        let off = (normal(rng, own), normal(rng, own));
        let seen = moved(at, if self.by_track { (drift.0 + off.0, drift.1 + off.1) } else { off });
        let what = words(class, rng);
        let timeless = chance(rng, self.timeless);
        let adrift = timeless && chance(rng, self.adrift);
        let find = Find {
            uid: named("trial find", beach, number),
            outing: (!adrift).then_some(outing),
            time: (!timeless).then(|| instant(time_s)),
            depth_m: Some(uniform(rng, 3.0, 30.0).round() / 100.0),
            ..Find::new(beach, land.lonlat(seen)?, what.0, Kind::keyed(what.1))
        };
        Ok((find, seen))
    }
}

/// What a thing of a class may be: words and kind.
fn words(class: Class, rng: &mut Rng) -> (&'static str, &'static str) {
    const HEAVY: [(&str, &str); 5] = [
        ("worn coin", "coin"),
        ("fishing weight", "lead_weight"),
        ("lead piece", "lead"),
        ("bullet", "bullet"),
        ("door key", "key"),
    ];
    const LIGHT: [(&str, &str); 5] =
        [("ring-pull", "ring_pull"), ("foil", "foil"), ("drinks can", "can"), ("bottle cap", "bottle_cap"), ("button", "button")];
    const IRON: [(&str, &str); 3] = [("nail", "nail"), ("rusty iron", "iron"), ("fish hook", "hook")];
    match class {
        Class::Heavy => HEAVY[pick(rng, HEAVY.len())],
        Class::Light => LIGHT[pick(rng, LIGHT.len())],
        Class::Iron => IRON[pick(rng, IRON.len())],
    }
}

/// The levels of a survey.
pub(super) fn levels(land: &Land, beach: Uid, survey: Survey, day_s: i64, rng: &mut Rng) -> Result<Vec<LevelPoint>, EarthError> {
    let (apart_m, every_m) = match survey {
        Survey::Dense => (uniform(rng, 10.0, 30.0), uniform(rng, 4.0, 9.0)),
        Survey::Sparse => ((land.length_m / uniform(rng, 2.0, 7.0)).max(30.0), uniform(rng, 6.0, 15.0)),
        Survey::Slope | Survey::Missing => return Ok(Vec::new()),
    };
    let date = instant(day_s).to_zoned_datetime(TimeZone::UTC).date();
    let mut levels = Vec::new();
    let lines = (land.length_m / apart_m).round().max(2.0) as usize;
    for line in 0..=lines {
        let mut across = -1.0;
        while across < land.width_m + 12.0 {
            let (a, c) = (land.length_m * line as f64 / lines as f64 + normal(rng, 1.0), across + normal(rng, 0.7));
            levels.push(LevelPoint {
                uid: named("trial level", beach, levels.len()),
                beach,
                at: land.lonlat(land.place(a, c))?,
                level_m: ((land.level_m(a, c) + normal(rng, 0.03)) * 1000.0).round() / 1000.0,
                sigma_m: Some(0.03),
                date: Some(date),
                survey: "survey".to_owned(),
            });
            across += every_m;
        }
    }
    Ok(levels)
}

/// The sea through a storm.
pub(super) fn storm(beach: Uid, number: usize, peak_s: i64, rng: &mut Rng) -> Storm {
    let peak_m = uniform(rng, 2.2, 6.0);
    let series = (-3..=3_i64).map(|k| SeaState {
        time: instant(peak_s + k * 6 * 3600),
        hs_m: peak_m * (1.0 - 0.12 * (k * k) as f64 / 3.0).max(0.2),
        tp_s: Some(8.0),
        dir_deg: None,
        surge_m: None,
    });
    let name = format!("Storm {}", number + 1);
    Storm { uid: named("trial storm", beach, number), beach, name, series: series.collect(), notes: String::new() }
}

/// A way onto the sand.
pub(super) fn access(land: &Land, beach: Uid, number: usize, along_m: f64) -> Result<Access, EarthError> {
    let name = format!("Steps {}", number + 1);
    Ok(Access {
        uid: named("trial access", beach, number),
        beach,
        name,
        at: land.lonlat(land.place(along_m, 0.0))?,
        notes: String::new(),
    })
}

/// Where people sit: a rectangle about a place, metres along and across.
pub(super) fn seats(
    land: &Land,
    beach: Uid,
    number: usize,
    (along_m, across_m): (f64, f64),
    half_m: f64,
) -> Result<Zone, EarthError> {
    let corners = [(-1.0, -1.0), (-1.0, 1.0), (1.0, 1.0), (1.0, -1.0), (-1.0, -1.0)];
    let ring: Vec<LonLat> = corners
        .iter()
        .map(|(a, c)| land.lonlat(land.place(along_m + a * half_m, across_m + c * half_m)))
        .collect::<Result<_, _>>()?;
    let ring = LineString(ring.into_iter().map(Coord::from).collect());
    Ok(Zone {
        uid: named("trial zone", beach, number),
        beach,
        name: format!("Seats {}", number + 1),
        usage: ZoneUse::Seats,
        area: MultiPolygon(vec![Polygon::new(ring, Vec::new())]),
        closure: None,
        notes: String::new(),
    })
}
