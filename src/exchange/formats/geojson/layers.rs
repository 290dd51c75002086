//! The records of a book as features, in the words that the reader of this room takes back.

use geo_types::{Coord, Geometry, LineString, MultiLineString, Point};
use serde_json::{Value, json};

use super::{Feature, MORE};
use crate::book::{Access, Barrier, BarrierShape, Beach, Find, LevelPoint, Permission, PlaceRule, Signal, Track, Uid, Zone};
use crate::earth::LonLat;
use crate::exchange::tools::heading::meaning;

fn point(at: LonLat) -> Geometry<f64> {
    Point(at.into()).into()
}

fn line(points: impl Iterator<Item = LonLat>) -> LineString<f64> {
    LineString(points.map(Coord::from).collect())
}

/// Text, or null when there is none.
fn words(text: &str) -> Value {
    if text.is_empty() { Value::Null } else { text.into() }
}

fn shown(value: Option<impl ToString>) -> Value {
    value.map_or(Value::Null, |v| v.to_string().into())
}

fn feature(geometry: impl Into<Geometry<f64>>, role: &str, uid: Uid) -> Feature {
    Feature::new(geometry).with("uid", uid.to_string()).with("role", role)
}

/// Finds as points.
pub fn finds<'a>(finds: impl IntoIterator<Item = &'a Find>) -> Vec<Feature> {
    let one = |f: &Find| {
        feature(point(f.at), "find", f.uid)
            .with("what", words(&f.what))
            .with("kind", f.kind.key())
            .with("time", shown(f.time))
            .with("weight", f.weight.map(|w| w.word()))
            .with("material", f.material.map(|m| m.word()))
            .with("depth_m", f.depth_m)
            .with("target_id", f.target_id)
            .with("mass_g", f.mass_g)
            .with("size_mm", f.size_mm)
            .with("state", words(&f.state))
            .with("photo", words(&f.photo))
            .with("notes", words(&f.notes))
            .with("finder", words(&f.finder))
            .with("permission", words(&f.permission))
            .with("value", words(&f.value))
            .with("age", words(&f.age))
            .with("disposal", words(&f.disposal))
            .with("reported", words(&f.reported))
    };
    let with_more = |f: &Find| f.more.iter().fold(one(f), |made, (title, text)| made.with(&property(title), words(text)));
    finds.into_iter().map(with_more).collect()
}

/// The property under which what a file said beside the fields of a find is written: its heading, apart from those that
/// mean a field.
fn property(title: &str) -> String {
    let taken = meaning(title).is_some() || title.starts_with(MORE) || matches!(title, "fid" | "beach" | "outing" | "more");
    if taken { format!("{MORE}{title}") } else { title.to_owned() }
}

/// Signals as points.
pub fn signals<'a>(signals: impl IntoIterator<Item = &'a Signal>) -> Vec<Feature> {
    let one = |s: &Signal| {
        feature(point(s.at), "signal", s.uid)
            .with("time", shown(s.time))
            .with("target_ids", if s.target_ids.is_empty() { Value::Null } else { json!(s.target_ids) })
            .with("steadiness", s.steadiness.map(|v| v.word()))
            .with("gauge_step", s.gauge_step)
            .with("notes", words(&s.notes))
    };
    signals.into_iter().map(one).collect()
}

/// Zones as areas.
pub fn zones<'a>(zones: impl IntoIterator<Item = &'a Zone>) -> Vec<Feature> {
    let one = |z: &Zone| {
        feature(z.area.clone(), "zone", z.uid)
            .with("name", words(&z.name))
            .with("use", z.usage.word())
            .with("closure", shown(z.closure))
            .with("notes", words(&z.notes))
    };
    zones.into_iter().map(one).collect()
}

/// Permissions as areas.
pub fn permissions<'a>(permissions: impl IntoIterator<Item = &'a Permission>) -> Vec<Feature> {
    let one = |p: &Permission| {
        let hours = p.hours.map(|(from, to)| format!("{}-{}", from.strftime("%H:%M"), to.strftime("%H:%M")));
        feature(p.area.clone(), "permission", p.uid)
            .with("name", words(&p.name))
            .with("holder", words(&p.holder))
            .with("from", shown(p.from))
            .with("to", shown(p.to))
            .with("hours", shown(hours))
            .with("terms", words(&p.terms))
            .with("report", words(&p.report))
            .with("exact_positions", p.exact_positions)
            .with("coarsen_m", p.coarsen_m)
            .with("contact", words(&p.agreed.contact))
            .with("papers", words(&p.agreed.papers))
            .with("deepest_m", p.agreed.deepest_m)
            .with("holder_share", p.agreed.holder_share)
            .with("report_due", p.agreed.due.map(|d| d.word()))
            .with("older_than", p.agreed.older_than)
            .with("places_by_kind", words(&PlaceRule::words_of_all(&p.agreed.places)))
    };
    permissions.into_iter().map(one).collect()
}

/// Tracks as lines, with `coordTimes` as many programs write the times of a line. A run of a single fix is left out, as no line has one position.
pub fn tracks<'a>(tracks: impl IntoIterator<Item = &'a Track>) -> Vec<Feature> {
    let one = |t: &Track| {
        let runs: Vec<_> = t.segments.iter().filter(|s| s.len() > 1).collect();
        let lines = MultiLineString(runs.iter().map(|s| line(s.iter().map(|p| p.at))).collect());
        let times = runs.iter().map(|s| s.iter().map(|p| shown(p.time())).collect::<Value>()).collect::<Value>();
        let timed = t.points().any(|p| p.time().is_some());
        let times = if timed { times } else { Value::Null };
        (!lines.0.is_empty()).then(|| feature(lines, "track", t.uid).with("name", words(&t.name)).with("coordTimes", times))
    };
    tracks.into_iter().filter_map(one).collect()
}

/// Surveyed levels as points.
pub fn levels<'a>(levels: impl IntoIterator<Item = &'a LevelPoint>) -> Vec<Feature> {
    let one = |l: &LevelPoint| {
        feature(point(l.at), "level", l.uid)
            .with("level_m", l.level_m)
            .with("sigma_m", l.sigma_m)
            .with("date", shown(l.date))
            .with("survey", words(&l.survey))
    };
    levels.into_iter().map(one).collect()
}

/// Ways on and off the beach as points.
pub fn accesses<'a>(accesses: impl IntoIterator<Item = &'a Access>) -> Vec<Feature> {
    let one = |a: &Access| feature(point(a.at), "access", a.uid).with("name", words(&a.name)).with("notes", words(&a.notes));
    accesses.into_iter().map(one).collect()
}

/// Barriers as lines or areas.
pub fn barriers<'a>(barriers: impl IntoIterator<Item = &'a Barrier>) -> Vec<Feature> {
    let one = |b: &Barrier| {
        let shape: Geometry<f64> = match &b.shape {
            BarrierShape::Line(lines) => lines.clone().into(),
            BarrierShape::Area(area) => area.clone().into(),
        };
        feature(shape, "barrier", b.uid).with("name", words(&b.name)).with("kind", b.kind.word()).with("notes", words(&b.notes))
    };
    barriers.into_iter().map(one).collect()
}

/// The baselines of those beaches that have one.
pub fn baselines<'a>(beaches: impl IntoIterator<Item = &'a Beach>) -> Vec<Feature> {
    let one = |b: &Beach| {
        let line = line(b.baseline.iter().copied());
        Feature::new(line).with("role", "baseline").with("name", words(&b.name)).with("seaward", b.seaward.word())
    };
    beaches.into_iter().filter(|b| b.baseline.len() > 1).map(one).collect()
}
