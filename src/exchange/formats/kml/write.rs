use std::fmt::Write as _;

use geo_types::Geometry;
use serde_json::Value;

use crate::book::{Find, Signal, Track};
use crate::exchange::error::ExchangeError;
use crate::exchange::formats::geojson::{self, Feature};
use crate::exchange::formats::text_of;
use crate::exchange::tools::xml::element;
use crate::output::MARK;

/// Writes KML 2.2: finds and signals as points, tracks as `gx:Track` where every fix has its time, else as lines. What is
/// known of a record stands in its extended data under the names that GeoJSON has for it, so that it reads back whole.
///
/// # Errors
/// [`ExchangeError::Write`] for a track without positions.
pub(in crate::exchange) fn write(
    name: &str,
    finds: &[&Find],
    signals: &[&Signal],
    tracks: &[&Track],
) -> Result<Vec<u8>, ExchangeError> {
    let mut out = String::from("<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n");
    out.push_str("<kml xmlns=\"http://www.opengis.net/kml/2.2\" xmlns:gx=\"http://www.google.com/kml/ext/2.2\">\n");
    let _ = writeln!(out, "<!-- {MARK} -->");
    out.push_str("<Document>");
    element(&mut out, "name", name);
    element(&mut out, "description", "Exact places and times, for oneself.");
    out.push('\n');
    folder(&mut out, "Finds", finds.iter().map(|f| (f.what.as_str(), geojson::finds([*f]))));
    folder(&mut out, "Signals", signals.iter().map(|s| ("signal", geojson::signals([*s]))));
    if !tracks.is_empty() {
        out.push_str("<Folder><name>Tracks</name>\n");
        for track in tracks {
            write_track(&mut out, track)?;
        }
        out.push_str("</Folder>\n");
    }
    out.push_str("</Document>\n</kml>\n");
    Ok(out.into_bytes())
}

fn folder<'n>(out: &mut String, name: &str, placemarks: impl ExactSizeIterator<Item = (&'n str, Vec<Feature>)>) {
    if placemarks.len() == 0 {
        return;
    }
    out.push_str("<Folder>");
    element(out, "name", name);
    out.push('\n');
    for (name, feature) in placemarks.flat_map(|(name, features)| features.into_iter().map(move |f| (name, f))) {
        let Geometry::Point(at) = feature.geometry else { continue };
        out.push_str("<Placemark>");
        element(out, "name", name);
        let text = |key: &str| feature.properties.get(key).and_then(Value::as_str).unwrap_or_default();
        element(out, "description", text("notes"));
        if !text("time").is_empty() {
            out.push_str("<TimeStamp>");
            element(out, "when", text("time"));
            out.push_str("</TimeStamp>");
        }
        data(out, &feature);
        let _ = writeln!(out, "<Point><coordinates>{},{}</coordinates></Point></Placemark>", at.x(), at.y());
    }
    out.push_str("</Folder>\n");
}

fn data(out: &mut String, feature: &Feature) {
    out.push_str("<ExtendedData>");
    for (name, value) in feature.properties.iter().filter(|(name, _)| *name != "coordTimes") {
        // The names are this program's own and need no escaping.
        let _ = write!(out, "<Data name=\"{name}\">");
        element(out, "value", &text_of(value));
        out.push_str("</Data>");
    }
    out.push_str("</ExtendedData>");
}

fn write_track(out: &mut String, track: &Track) -> Result<(), ExchangeError> {
    if track.is_empty() {
        let what = format!("the track \"{}\"", track.name);
        return Err(ExchangeError::Write { what, why: "it has no positions".to_owned() });
    }
    out.push_str("<Placemark>");
    element(out, "name", &track.name);
    let described = Feature::new(Geometry::Point(geo_types::Point::new(0.0, 0.0)))
        .with("role", "track")
        .with("uid", track.uid.to_string())
        .with("name", track.name.as_str());
    data(out, &described);
    let timed = track.points().all(|p| p.time().is_some());
    let several = track.segments.len() > 1;
    let (open, close) = match (several, timed) {
        (false, _) => ("", ""),
        (true, true) => ("<gx:MultiTrack>", "</gx:MultiTrack>"),
        (true, false) => ("<MultiGeometry>", "</MultiGeometry>"),
    };
    out.push_str(open);
    for segment in &track.segments {
        let absolute = if segment.iter().any(|p| p.height_m().is_some()) { "<altitudeMode>absolute</altitudeMode>" } else { "" };
        if timed {
            let _ = write!(out, "<gx:Track>{absolute}");
            for time in segment.iter().filter_map(|p| p.time()) {
                let _ = write!(out, "<when>{time}</when>");
            }
            out.push('\n');
            for p in segment.iter() {
                let height = p.height_m().map(|h| format!(" {}", h as f32)).unwrap_or_default();
                let _ = write!(out, "<gx:coord>{} {}{height}</gx:coord>", p.at.lon_deg(), p.at.lat_deg());
            }
            out.push_str("</gx:Track>");
        } else {
            let _ = write!(out, "<LineString>{absolute}<coordinates>");
            for p in segment.iter() {
                let height = p.height_m().map(|h| format!(",{}", h as f32)).unwrap_or_default();
                let _ = writeln!(out, "{},{}{height}", p.at.lon_deg(), p.at.lat_deg());
            }
            out.push_str("</coordinates></LineString>");
        }
    }
    out.push_str(close);
    out.push_str("</Placemark>\n");
    Ok(())
}
