use std::sync::Arc;

use jiff::Timestamp;
use quick_xml::events::BytesStart;

use super::fix::Fix;
use super::{OWN_NAMESPACE, PLANNED};
use crate::Progress;
use crate::book::{Plan, Track, TrackPoint, Uid};
use crate::exchange::error::{Fault, Stop};
use crate::exchange::records::places;
use crate::exchange::records::waypoint::{self, Waiting};
use crate::exchange::take_in::taking::weeks::weeks_later;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{DEPTH, xml_encoding};
use crate::exchange::tools::xml::{self, Parts, read_time};
use crate::exchange::what::What;

/// Longest text kept of one element, bytes.
const TEXT_KEPT: usize = 64 * 1024;

/// Reads a GPX file from start to end without holding it, and says what it was taken for.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let encoding = xml_encoding(&source.head()?)?;
    let mut gpx = Gpx::new(taking);
    gpx.taking.understand("encoding", encoding.name());
    let last_line = xml::read(source, encoding, progress, &mut gpx)?;
    gpx.finish(last_line)
}

/// What is open, and what of it is wanted.
struct Gpx<'t, 'b> {
    taking: &'t mut Taking<'b>,
    /// Local names of the open elements, outermost first.
    open: Vec<String>,
    /// What names of elements that are closed were held in, to be used again: a long track opens millions.
    spare: Vec<String>,
    root_prefix: Option<String>,
    version: String,
    own_prefix: Option<String>,
    /// Whether this program made the file.
    own: bool,
    /// When the file says it was made.
    made: Option<Timestamp>,
    /// Depth of the element whose inside is passed over.
    skipping: Option<usize>,
    /// Inside an element of this program's own: a uid, or the kind of a find.
    inside: Option<Inside>,
    text: String,
    fix: Option<Fix>,
    way: Option<Way>,
    counts: Counts,
    /// The waypoints so far.
    waiting: Waiting,
}

/// What an element of this program's own holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Inside {
    Uid,
    Kind,
}

/// A track or route as far as it has been read.
struct Way {
    line: u64,
    name: String,
    description: String,
    /// What sort the file says it is.
    sort: String,
    uid: Option<Uid>,
    segments: Vec<Arc<[TrackPoint]>>,
    segment: Vec<TrackPoint>,
}

#[derive(Default)]
struct Counts {
    tracks: u64,
    segments: u64,
    track_points: u64,
    routes: u64,
    route_points: u64,
    waypoints: u64,
}

impl Parts for Gpx<'_, '_> {
    fn start(&mut self, element: &BytesStart<'_>, line: u64) -> Result<(), Stop> {
        if self.open.len() >= DEPTH {
            return Err(Fault::TooDeep { line, limit: DEPTH }.into());
        }
        let (local, prefix) = element.name().decompose();
        let prefix = prefix.map(|p| p.as_ref().to_owned());
        let name = local.as_ref();
        if self.open.is_empty() {
            self.root(element, name, prefix)?;
        } else if self.skipping.is_none() {
            self.inner(element, name, prefix, line);
        }
        let mut held = self.spare.pop().unwrap_or_default();
        held.push_str(name);
        self.open.push(held);
        Ok(())
    }

    fn text(&mut self, text: &str) {
        if self.skipping.is_none() && self.text.len() + text.len() <= TEXT_KEPT {
            self.text.push_str(text);
        }
    }

    fn unknown_entity(&mut self) {
        if let Some(fix) = &mut self.fix {
            fix.entity = true;
        }
    }

    fn end(&mut self) -> Result<(), Stop> {
        let Some(mut name) = self.open.pop() else { return Ok(()) };
        let done = self.close(&name);
        name.clear();
        self.spare.push(name);
        done
    }
}

impl<'t, 'b> Gpx<'t, 'b> {
    /// Sees to what an element held that was the innermost until now.
    fn close(&mut self, name: &str) -> Result<(), Stop> {
        if let Some(depth) = self.skipping {
            if self.open.len() == depth {
                self.skipping = None;
            }
            return Ok(());
        }
        if let Some(inside) = self.inside.take() {
            let text = self.text.trim();
            match (inside, &mut self.fix, &mut self.way) {
                (Inside::Uid, Some(fix), _) => fix.named.uid = text.parse().ok(),
                (Inside::Uid, None, Some(way)) => way.uid = text.parse().ok(),
                (Inside::Kind, Some(fix), _) => text.clone_into(&mut fix.named.kind),
                _ => {}
            }
            return Ok(());
        }
        match name {
            "wpt" | "rtept" | "trkpt" => match self.fix.take() {
                Some(fix) => self.fix(name, fix),
                None => Ok(()),
            },
            "trkseg" => {
                self.end_segment();
                Ok(())
            }
            "trk" | "rte" => match self.way.take() {
                Some(way) => self.way(name, way),
                None => Ok(()),
            },
            leaf => {
                match (&mut self.fix, &mut self.way, leaf) {
                    (Some(fix), _, _) => fix.child(leaf, &self.text),
                    (None, Some(way), "name") => self.text.trim().clone_into(&mut way.name),
                    (None, Some(way), "type") => self.text.trim().clone_into(&mut way.sort),
                    (None, Some(way), "desc") => self.text.trim().clone_into(&mut way.description),
                    // In the metadata, or at the beginning of GPX 1.0.
                    (None, None, "time") if self.open.last().is_some_and(|n| matches!(n.as_str(), "metadata" | "gpx")) => {
                        self.made = read_time(self.text.trim()).map(|(time, _)| time);
                    }
                    _ => {}
                }
                self.text.clear();
                Ok(())
            }
        }
    }

    fn new(taking: &'t mut Taking<'b>) -> Self {
        Self {
            taking,
            open: Vec::new(),
            spare: Vec::new(),
            root_prefix: None,
            version: String::new(),
            own_prefix: None,
            own: false,
            made: None,
            skipping: None,
            inside: None,
            text: String::new(),
            fix: None,
            way: None,
            counts: Counts::default(),
            waiting: Waiting::default(),
        }
    }

    fn root(&mut self, element: &BytesStart<'_>, name: &str, prefix: Option<String>) -> Result<(), Stop> {
        if name != "gpx" || !self.version.is_empty() {
            return Err(Fault::OtherXml { root: name.to_owned() }.into());
        }
        self.root_prefix = prefix;
        self.version = "without a version".to_owned();
        for attribute in element.attributes().flatten() {
            let key = attribute.key.as_ref();
            if key == "creator" {
                self.own = attribute.value.trim() == "Scourline";
            } else if key == "version" {
                self.version = attribute.value.trim().to_owned();
            } else if let Some(prefix) = key.strip_prefix("xmlns:")
                && attribute.value == OWN_NAMESPACE
            {
                self.own_prefix = Some(prefix.to_owned());
            }
        }
        Ok(())
    }

    fn inner(&mut self, element: &BytesStart<'_>, name: &str, prefix: Option<String>, line: u64) {
        let in_extensions = self.open.last().is_some_and(|n| n == "extensions");
        if prefix.is_some() && prefix == self.own_prefix && matches!(name, "uid" | "kind") {
            self.inside = Some(if name == "uid" { Inside::Uid } else { Inside::Kind });
            self.text.clear();
            return;
        }
        if in_extensions || prefix != self.root_prefix {
            self.taking.ignored_extensions += 1;
            self.skipping = Some(self.open.len());
            return;
        }
        match (self.open.last().map(String::as_str), name) {
            (_, "wpt" | "rtept" | "trkpt") => self.fix = Some(Fix::open(element, line)),
            (_, "trk" | "rte") => {
                let (name, description, sort) = (String::new(), String::new(), String::new());
                self.way = Some(Way { line, name, description, sort, uid: None, segments: Vec::new(), segment: Vec::new() });
            }
            _ => self.text.clear(),
        }
    }

    /// A finished point of any sort.
    fn fix(&mut self, name: &str, fix: Fix) -> Result<(), Stop> {
        let (noun, count) = match name {
            "trkpt" => ("track point", &mut self.counts.track_points),
            "rtept" => ("route point", &mut self.counts.route_points),
            _ => ("waypoint", &mut self.counts.waypoints),
        };
        *count += 1;
        let mark = Mark { line: fix.line, noun, number: *count };
        if let Err(why) = &fix.at {
            self.taking.refuse(mark, why.clone());
            return Ok(());
        }
        if fix.entity {
            self.taking.refuse(mark, "uses an entity that the file defines itself; such are not expanded");
            return Ok(());
        }
        if fix.bad_time {
            self.taking.count(fix.line, "time(s) could not be read; the positions are kept without them");
        }
        if fix.zoneless {
            self.taking.count(fix.line, "time(s) name no zone and were taken for UTC");
        }
        if let (Ok(at), "wpt") = (&fix.at, name) {
            let mut fix = fix.clone();
            if self.is_early(fix.named.time, fix.line) {
                fix.named.time = fix.named.time.and_then(weeks_later);
            }
            return self.waiting.add(self.taking, mark, *at, fix.named);
        }
        if let (Some(way), Some(point)) = (&mut self.way, fix.track_point()) {
            way.segment.push(point);
        }
        Ok(())
    }

    fn end_segment(&mut self) {
        if let Some(way) = &mut self.way
            && !way.segment.is_empty()
        {
            self.counts.segments += 1;
            way.segments.push(std::mem::take(&mut way.segment).into());
        }
    }

    fn way(&mut self, element: &str, mut way: Way) -> Result<(), Stop> {
        let (noun, count) =
            if element == "trk" { ("track", &mut self.counts.tracks) } else { ("route", &mut self.counts.routes) };
        *count += 1;
        let mark = Mark { line: way.line, noun, number: *count };
        if !way.segment.is_empty() {
            way.segments.push(std::mem::take(&mut way.segment).into());
        }
        if way.segments.is_empty() {
            self.taking.refuse(mark, "has no positions");
            return Ok(());
        }
        let first = way.segments.iter().flat_map(|s| s.iter()).find_map(TrackPoint::time);
        if self.is_early(first, way.line) {
            let moved = |p: &TrackPoint| p.with_time(p.time().and_then(weeks_later));
            way.segments = way.segments.iter().map(|s| s.iter().map(moved).collect()).collect();
        }
        let beach = self.taking.beach.uid;
        let places = || way.segments.iter().flat_map(|s| s.iter()).map(|p| p.at);
        let planned = way.sort.eq_ignore_ascii_case(PLANNED) || (self.own && way.name.starts_with("Plan: "));
        let element = if planned && self.taking.options.what.is_none() { "rte" } else { element };
        match (self.taking.options.what, element) {
            (Some(What::Baseline), _) => self.taking.take_baseline(mark, places().collect(), None),
            (Some(What::Levels), _) => self.levels(mark, &way),
            (Some(What::Tracks), _) | (_, "trk") => {
                let uid = way.uid.unwrap_or_else(|| Track::content_uid(beach, &way.segments));
                let track = Track { uid, beach, outing: None, name: way.name, segments: way.segments };
                self.taking.take_as(mark, track, Some(uid))
            }
            _ => {
                self.taking.understand_once("plan", "a way that is planned, kept as a plan and never as a way walked");
                let uid = Uid::of_content("", []);
                let plan = Plan { uid, beach, points: places().collect(), name: way.name };
                self.taking.take_as(mark, plan, way.uid)
            }
        }
    }

    /// Whether a time is 1,024 weeks too early; what was written here is as its book had it.
    fn is_early(&mut self, time: Option<Timestamp>, line: u64) -> bool {
        time.is_some_and(|time| !self.own && self.taking.is_weeks_early(time, line, self.made))
    }

    fn levels(&mut self, mark: Mark, way: &Way) -> Result<(), Stop> {
        for point in way.segments.iter().flat_map(|s| s.iter()) {
            match point.height_m() {
                Some(height_m) => places::receivers_level(self.taking, mark, point.at, height_m, point.time())?,
                None => self.taking.refuse(mark, "has a position without a height, so it gives no level"),
            }
        }
        Ok(())
    }

    fn finish(self, last_line: u64) -> Result<String, Stop> {
        if !self.open.is_empty() {
            return Err(Fault::Truncated { line: last_line }.into());
        }
        if self.version.is_empty() {
            return Err(Fault::OtherXml { root: String::new() }.into());
        }
        let c = &self.counts;
        if c.tracks + c.routes + c.waypoints == 0 {
            self.taking.warn("the file holds no track, route or waypoint");
        }
        let spoken = self.waiting.finish(self.taking)?;
        waypoint::tell_spoken(self.taking, spoken);
        self.taking.in_order_of_lines();
        self.taking.understand("positions", "WGS 84, as GPX asks");
        self.taking.understand("times", "UTC unless they state an offset, as GPX asks");
        Ok(format!(
            "GPX {}: {} track(s) with {} segment(s) and {} position(s), {} route(s) with {} position(s), {} waypoint(s)",
            self.version, c.tracks, c.segments, c.track_points, c.routes, c.route_points, c.waypoints
        ))
    }
}
