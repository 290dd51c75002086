use std::fmt::Write;

use jiff::Timestamp;

use super::{OWN_NAMESPACE, PLANNED};
use crate::book::{Find, Kind, Plan, Signal, Track, Uid};
use crate::earth::LonLat;
use crate::exchange::error::ExchangeError;
use crate::exchange::tools::xml::element;
use crate::output::MARK;

/// A point of interest or of a route.
#[derive(Debug, Clone, PartialEq)]
pub struct Waypoint {
    /// Where.
    pub at: LonLat,
    /// Height, metres.
    pub height_m: Option<f64>,
    /// When.
    pub time: Option<Timestamp>,
    /// Its name.
    pub name: String,
    /// More about it.
    pub description: String,
    /// What sort of point it is, such as `find`.
    pub sort: String,
    /// The uid of the record it stands for, so that it is known again.
    pub uid: Option<Uid>,
    /// The kind of the find it stands for.
    pub kind: Option<Kind>,
}

impl Waypoint {
    /// A named point and nothing more.
    pub fn new(at: LonLat, name: impl Into<String>) -> Self {
        let (description, sort) = (String::new(), String::new());
        Self { at, height_m: None, time: None, name: name.into(), description, sort, uid: None, kind: None }
    }
}

/// A way to go.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Route {
    /// Its name.
    pub name: String,
    /// More about it.
    pub description: String,
    /// Its points in order.
    pub points: Vec<Waypoint>,
    /// The uid of the record it stands for.
    pub uid: Option<Uid>,
}

/// What a GPX file is to hold.
#[derive(Debug, Clone, Default)]
pub struct Content<'a> {
    /// Name of the whole.
    pub name: String,
    /// When it was made, if that is to be said.
    pub time: Option<Timestamp>,
    /// Points of interest.
    pub waypoints: Vec<Waypoint>,
    /// Ways to go.
    pub routes: Vec<Route>,
    /// Ways gone.
    pub tracks: Vec<&'a Track>,
    /// Ways planned step by step, written as tracks of the sort `plan`, so that they are never taken for ways gone.
    pub planned: Vec<&'a Track>,
}

/// Finds as waypoints.
pub fn finds<'a>(finds: impl IntoIterator<Item = &'a Find>) -> Vec<Waypoint> {
    let waypoint = |f: &Find| Waypoint {
        time: f.time,
        description: f.notes.clone(),
        sort: "find".to_owned(),
        uid: Some(f.uid),
        kind: Some(f.kind.clone()),
        ..Waypoint::new(f.at, f.what.as_str())
    };
    finds.into_iter().map(waypoint).collect()
}

/// Signals as waypoints whose name begins with the word.
pub fn signals<'a>(signals: impl IntoIterator<Item = &'a Signal>) -> Vec<Waypoint> {
    let name = |s: &Signal| s.target_ids.iter().fold("signal".to_owned(), |name, id| format!("{name} {id}"));
    let waypoint = |s: &Signal| Waypoint {
        time: s.time,
        description: s.notes.clone(),
        sort: "signal".to_owned(),
        uid: Some(s.uid),
        ..Waypoint::new(s.at, name(s))
    };
    signals.into_iter().map(waypoint).collect()
}

/// Plans as routes.
pub fn plans<'a>(plans: impl IntoIterator<Item = &'a Plan>) -> Vec<Route> {
    let route = |p: &Plan| Route {
        name: p.name.clone(),
        description: String::new(),
        points: p.points.iter().map(|at| Waypoint::new(*at, "")).collect(),
        uid: Some(p.uid),
    };
    plans.into_iter().map(route).collect()
}

/// Tracks alone, as [`write()`] takes them.
pub fn tracks<'a>(name: impl Into<String>, tracks: impl IntoIterator<Item = &'a Track>) -> Content<'a> {
    Content { name: name.into(), tracks: tracks.into_iter().collect(), ..Content::default() }
}

/// Writes GPX 1.1, its elements in the order the schema asks for.
///
/// Positions are written in full, so that a track read back has the same content and uid.
///
/// # Errors
/// [`ExchangeError::Write`] for a route or track without positions, which the format could hold but nothing could use.
pub fn write(content: &Content<'_>) -> Result<Vec<u8>, ExchangeError> {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    line(
        &mut out,
        format_args!(
            "<gpx version=\"1.1\" creator=\"Scourline\" xmlns=\"http://www.topografix.com/GPX/1/1\" xmlns:scourline=\"{OWN_NAMESPACE}\">"
        ),
    );
    line(&mut out, format_args!("<!-- {MARK} -->"));
    if !content.name.is_empty() || content.time.is_some() {
        out.push_str(" <metadata>");
        element(&mut out, "name", &content.name);
        element(&mut out, "time", &content.time.map(|t| t.to_string()).unwrap_or_default());
        out.push_str("</metadata>\n");
    }
    content.waypoints.iter().for_each(|w| waypoint(&mut out, "wpt", w));
    for route in &content.routes {
        if route.points.is_empty() {
            return Err(empty("route", &route.name));
        }
        out.push_str(" <rte>");
        element(&mut out, "name", &route.name);
        element(&mut out, "desc", &route.description);
        own(&mut out, route.uid, None);
        out.push('\n');
        route.points.iter().for_each(|w| waypoint(&mut out, "rtept", w));
        out.push_str(" </rte>\n");
    }
    let ways = content.tracks.iter().map(|t| (t, "")).chain(content.planned.iter().map(|t| (t, PLANNED)));
    for (track, sort) in ways {
        if track.is_empty() {
            return Err(empty("track", &track.name));
        }
        write_track(&mut out, track, sort);
    }
    out.push_str("</gpx>\n");
    Ok(out.into_bytes())
}

fn empty(what: &str, name: &str) -> ExchangeError {
    ExchangeError::Write { what: format!("the {what} \"{name}\""), why: "it has no positions".to_owned() }
}

fn write_track(out: &mut String, track: &Track, sort: &str) {
    out.push_str(" <trk>");
    element(out, "name", &track.name);
    element(out, "type", sort);
    own(out, Some(track.uid), None);
    out.push('\n');
    for segment in &track.segments {
        out.push_str("  <trkseg>\n");
        for point in segment.iter() {
            open_point(out, "trkpt", point.at);
            number(out, "ele", point.height_m());
            element(out, "time", &point.time().map(|t| t.to_string()).unwrap_or_default());
            element(out, "sat", &point.satellites().map(|n| n.to_string()).unwrap_or_default());
            number(out, "hdop", point.hdop());
            out.push_str("</trkpt>\n");
        }
        out.push_str("  </trkseg>\n");
    }
    out.push_str(" </trk>\n");
}

fn waypoint(out: &mut String, tag: &str, w: &Waypoint) {
    open_point(out, tag, w.at);
    number(out, "ele", w.height_m);
    element(out, "time", &w.time.map(|t| t.to_string()).unwrap_or_default());
    element(out, "name", &w.name);
    element(out, "desc", &w.description);
    element(out, "type", &w.sort);
    own(out, w.uid, w.kind.as_ref());
    line(out, format_args!("</{tag}>"));
}

fn open_point(out: &mut String, tag: &str, at: LonLat) {
    // Display of a float never uses an exponent, as xsd:decimal asks.
    let _ = write!(out, "  <{tag} lat=\"{}\" lon=\"{}\">", at.lat_deg(), at.lon_deg());
}

fn number(out: &mut String, tag: &str, value: Option<f64>) {
    // Held as f32: its shortest decimal reads back to the same.
    element(out, tag, &value.map(|v| (v as f32).to_string()).unwrap_or_default());
}

/// What the format has no element for: the uid of a record, and the kind of a find.
fn own(out: &mut String, uid: Option<Uid>, kind: Option<&Kind>) {
    if let Some(uid) = uid {
        let _ = write!(out, "<extensions><scourline:uid>{uid}</scourline:uid>");
        element(out, "scourline:kind", kind.map_or("", Kind::key));
        out.push_str("</extensions>");
    }
}

fn line(out: &mut String, text: std::fmt::Arguments<'_>) {
    // Writing to a String cannot fail.
    let _ = out.write_fmt(text);
    out.push('\n');
}
