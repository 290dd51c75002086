//! A route as files: GPX for a receiver, GeoJSON for a map, JSON for a program.

use std::sync::Arc;

use geo_types::{Coord, LineString, MultiLineString, Point, Polygon};
use jiff::Timestamp;
use serde_json::{Value, json};

use super::emergency::emergency_at;
use super::route_told::{HandedOut, second, stands_on, stands_on_document};
use crate::book::{Track, TrackPoint};
use crate::earth::{Frame, Local, LonLat};
use crate::exchange::geojson::{self, Feature};
use crate::exchange::{ExchangeError, gpx};
use crate::route::{BlockId, Doing, Route, RouteClock, Visit, WayIn};
use crate::shore::Setting;

/// A route that cannot be written.
fn off(why: impl std::fmt::Display) -> ExchangeError {
    ExchangeError::Write { what: "the route".to_owned(), why: why.to_string() }
}

fn frame(setting: &Setting) -> Result<&Frame, ExchangeError> {
    setting.shore.as_ref().map(|s| s.frame()).map_err(off)
}

/// A block's name in files: `along/across`, counted from the baseline's first point.
fn name(block: BlockId) -> String {
    format!("{}/{}", block.along, block.across)
}

/// GPX 1.1: a route of the accesses and blocks with their times, and a track of every step and lane. What it stands on is in
/// the description of the route.
///
/// # Errors
/// [`ExchangeError::Write`] when a place cannot be told in longitude and latitude.
pub fn route_gpx(route: &Route, setting: &Setting, handed: &HandedOut) -> Result<Vec<u8>, ExchangeError> {
    let frame = frame(setting)?;
    let place = |p: Local| frame.to_lonlat(p).map_err(off);
    let clock = RouteClock::on_beach(route, &setting.beach);
    // The clock's letters stand in the descriptions: with them "12 leave 13:34" is longer than a small handheld shows.
    let hour = |t: Timestamp| clock.whole(t);
    let point = |at: Local, name: String, time: Timestamp, description: String| -> Result<gpx::Waypoint, ExchangeError> {
        Ok(gpx::Waypoint { time: Some(time), description, ..gpx::Waypoint::new(place(at)?, name) })
    };
    let all_times = format!("(all times: {})", clock.zone(route.low.time));
    let start = format!("{} {all_times}", route.from.name);
    let mut points = vec![point(route.from.at, format!("start {}", clock.hour(route.depart)), route.depart, start)?];
    for (n, visit) in route.visits.iter().enumerate() {
        let Some(first) = visit.lanes.first() else { continue };
        let said = format!("be gone by {}; planned to leave {}", hour(visit.leave_by), hour(visit.leave));
        // A small handheld shows a dozen letters of a name: the number, and the hour that matters.
        points.push(point(first[0], format!("{} leave {}", n + 1, clock.hour(visit.leave_by)), visit.begin, said)?);
    }
    let off_at = route.not_off.as_ref().map_or_else(|| route.to.name.clone(), |n| n.said(hour));
    points.push(point(
        route.to.at,
        format!("off by {}", clock.hour(route.off_sand_by())),
        route.back,
        format!("{off_at} {all_times}"),
    )?);
    let title = format!("{}, low water {}", route.beach, hour(route.low.time));
    let first =
        route.first_to_leave().map_or_else(String::new, |(n, by)| format!(" First to be left: block {} by {}.", n + 1, hour(by)));
    let stands_on: Vec<String> = stands_on(route, setting, handed).into_iter().map(|s| s.said).collect();
    let description = format!(
        "Off the sand by {} at {}.{}{first} {} {}",
        hour(route.off_sand_by()),
        route.to.name,
        route.not_off.as_ref().map_or_else(String::new, |n| format!(" {}", n.said(hour))),
        stands_on.join(" "),
        crate::tide::CAUTION
    );
    let way = gpx::Route { name: title.clone(), description, points, uid: None };
    let fixes = route.trace.iter().map(|s| Ok(TrackPoint::new(place(s.at)?).with_time(Some(s.time))));
    let segments: Vec<Arc<[TrackPoint]>> = vec![fixes.collect::<Result<Vec<_>, ExchangeError>>()?.into()];
    let beach = setting.beach.uid;
    let uid = Track::content_uid(beach, &segments);
    let track = Track { uid, beach, outing: None, name: format!("Plan: {title}"), segments };
    gpx::write(&gpx::Content {
        name: title,
        time: Timestamp::from_second(handed.made_at.as_second()).ok(),
        waypoints: Vec::new(),
        routes: vec![way],
        tracks: Vec::new(),
        planned: vec![&track],
    })
}

/// GeoJSON: the way, each block with its times, its lanes, and the accesses. What the route stands on is among the properties
/// of the way, the first feature: a program that drops members it does not know keeps those.
///
/// # Errors
/// [`ExchangeError::Write`] when a place cannot be told in longitude and latitude.
pub fn route_geojson(route: &Route, setting: &Setting, handed: &HandedOut) -> Result<Vec<u8>, ExchangeError> {
    let frame = frame(setting)?;
    let coord = |p: Local| frame.to_lonlat(p).map(Coord::from).map_err(off);
    let line = |points: &[Local]| -> Result<LineString<f64>, ExchangeError> {
        Ok(LineString(points.iter().map(|p| coord(*p)).collect::<Result<_, _>>()?))
    };
    let trace: Vec<Local> = route.trace.iter().map(|s| s.at).collect();
    let times: Vec<String> = route.trace.iter().map(|s| second(s.time)).collect();
    let way = Feature::new(line(&trace)?)
        .with("role", "route")
        .with("times", times)
        .with("off_sand_by", second(route.off_sand_by()))
        .with("turn_back", second(route.turn_back))
        .with("low", second(route.low.time));
    let all = stands_on_document(route, setting, handed);
    let mut features = vec![all.into_iter().fold(way, |way, (key, value)| way.with(&key, value))];
    for (n, visit) in route.visits.iter().enumerate() {
        let ring: Vec<Local> = visit.corners.iter().chain(&visit.corners[..1]).copied().collect();
        let mut feature = Feature::new(Polygon::new(line(&ring)?, Vec::new())).with("role", "block").with("number", n + 1);
        if let Value::Object(all) = told(visit) {
            feature.properties.extend(all);
        }
        features.push(feature);
        let lanes = visit.lanes.iter().map(|l| line(l)).collect::<Result<Vec<_>, _>>()?;
        features.push(Feature::new(MultiLineString(lanes)).with("role", "lanes").with("number", n + 1));
    }
    for (way, role) in [(&route.from, "start"), (&route.to, "end")] {
        features.push(Feature::new(Point(coord(way.at)?)).with("role", role).with("name", way.name.as_str()));
    }
    geojson::write(&features)
}

/// The route as one JSON value; its keys are part of the promise in DEVELOPERS.md.
///
/// # Errors
/// [`ExchangeError::Write`] when a place cannot be told in longitude and latitude.
pub fn route_document(route: &Route, setting: &Setting, handed: &HandedOut) -> Result<Value, ExchangeError> {
    let frame = frame(setting)?;
    let place = |p: Local| frame.to_lonlat(p).map_err(off);
    let access = |w: &WayIn| -> Result<Value, ExchangeError> { Ok(json!({ "name": w.name, "position": place(w.at)? })) };
    let visits = route.visits.iter().enumerate().map(|(n, v)| -> Result<Value, ExchangeError> {
        let corners: Vec<LonLat> = v.corners.iter().map(|c| place(*c)).collect::<Result<_, _>>()?;
        let lanes: Vec<[LonLat; 2]> =
            v.lanes.iter().map(|[a, b]| Ok([place(*a)?, place(*b)?])).collect::<Result<_, ExchangeError>>()?;
        let mut all = told(v);
        all["number"] = json!(n + 1);
        all["corners"] = json!(corners);
        all["lanes"] = json!(lanes);
        Ok(all)
    });
    let visits: Vec<Value> = visits.collect::<Result<_, _>>()?;
    let trace = route.trace.iter().map(|s| -> Result<Value, ExchangeError> {
        let searching = match s.doing {
            Doing::Searching(n) => Some(n + 1),
            Doing::Walking => None,
        };
        Ok(json!({ "position": place(s.at)?, "time": second(s.time), "block": searching }))
    });
    let (least_m, most_m) = route.margins.sum_m();
    let mut document = json!({
        "beach": route.beach,
        "low": { "time": second(route.low.time), "level_m": round(route.low.level_m, 2) },
        "depart": second(route.depart),
        "back": second(route.back),
        "turn_back": second(route.turn_back),
        "off_sand_by": second(route.off_sand_by()),
        "first_to_leave": route.first_to_leave().map(|(n, by)| json!({ "number": n + 1, "leave_by": second(by) })),
        "not_off": route.not_off.as_ref().map(|n| json!({
            "access": n.access,
            "under": n.under.map(second),
            "cut": n.cut.map(second),
            "until": n.until.map(second),
        })),
        "passed_over": route.passed_over.iter().map(|p| json!({ "low": second(p.low), "why": p.why })).collect::<Vec<_>>(),
        "dark_min": round(route.dark_min, 0),
        "emergency": emergency_at(&setting.beach).map(|e| json!({ "country": e.country, "numbers": e.numbers })),
        "start": access(&route.from)?,
        "end": access(&route.to)?,
        "finds_expected": round(route.finds, 2),
        "finds_sd": round(route.finds_sd, 2),
        "swept_m2": round(route.swept_m2, 0),
        "walked_m": round(route.walked_m, 0),
        "blocks_considered": route.ground.len(),
        "blocks": visits,
        "trace": trace.collect::<Result<Vec<_>, _>>()?,
        "margins": {
            "run_up_m": route.margins.run_up_m,
            "source_m": route.margins.source_m,
            "surge_m": round(route.margins.surge_m, 3),
            "sand_least_m": round(route.margins.sand_m.0, 3),
            "sand_most_m": round(route.margins.sand_m.1, 3),
            "sum_least_m": round(least_m, 3),
            "sum_most_m": round(most_m, 3),
            "time_min": route.margins.time_min,
        },
        "what_if": route.what_if.iter().map(|w| json!({
            "what": w.said,
            "turn_back": w.turn_back.map(second),
            "blocks_lost": w.lost.len(),
            "first_lost": w.lost.first().map(|n| n + 1),
            "never_safe": w.never_safe.iter().map(|n| n + 1).collect::<Vec<_>>(),
            "blocks": w.blocks_said(),
        })).collect::<Vec<_>>(),
        "sunset": route.sunset.map(second),
        "dark": route.dark.map(second),
        "light": route.end_light(setting.beach.origin, &RouteClock::on_beach(route, &setting.beach)).said,
        "checked": {
            "moments": route.checked.moments,
            "longest_way_out_min": round(route.checked.longest_out_s / 60.0, 1),
        },
        "cautions": route.cautions,
        "doubts": route.doubts,
        "assumptions": route.assumptions,
        "params": route.params,
    });
    if let Value::Object(members) = &mut document {
        members.extend(stands_on_document(route, setting, handed));
    }
    Ok(document)
}

fn told(v: &Visit) -> Value {
    json!({
        "block": name(v.block),
        "along_m": round(v.along_m, 1),
        "across_m": round(v.across_m, 1),
        "arrive": second(v.arrive),
        "begin": second(v.begin),
        "leave": second(v.leave),
        "leave_by": second(v.leave_by),
        "dry_by": second(v.dry_by),
        "finds_expected": round(v.finds, 3),
        "finds_sd": round(v.finds_sd, 3),
        "area_m2": round(v.area_m2, 0),
        "lowest_sand_m": round(v.level_m, 2),
    })
}

fn round(value: f64, decimals: i32) -> f64 {
    let k = 10_f64.powi(decimals);
    (value * k).round() / k
}
