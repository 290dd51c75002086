//! Training Center XML, version 2: `Activities` hold laps of tracks of fixes. `Courses` are plans.

use quick_xml::events::BytesStart;

use super::{take, take_plan};
use crate::Progress;
use crate::book::TrackPoint;
use crate::earth::LonLat;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{DEPTH, xml_encoding};
use crate::exchange::tools::xml::{self, Parts, read_time};

/// Longest text kept of one element, bytes.
const TEXT_KEPT: usize = 4096;

/// Reads a file from start to end without holding it, and says what it was taken for.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let encoding = xml_encoding(&source.head()?)?;
    let mut tcx = Tcx { taking, open: Vec::new(), text: String::new(), fix: None, way: None, tracks: 0, plans: 0, fixes: 0 };
    tcx.taking.understand("encoding", encoding.name());
    let last_line = xml::read(source, encoding, progress, &mut tcx)?;
    if !tcx.open.is_empty() {
        return Err(Fault::Truncated { line: last_line }.into());
    }
    let Tcx { taking, tracks, plans, fixes, .. } = tcx;
    if tracks + plans == 0 {
        taking.warn("the file holds no position");
    }
    taking.understand("positions", "WGS 84, as satellite navigation is");
    taking.understand("times", "UTC unless they state an offset, as TCX asks");
    Ok(format!("TCX: {fixes} position(s) in {tracks} track(s) and {plans} plan(s)"))
}

struct Tcx<'t, 'b> {
    taking: &'t mut Taking<'b>,
    /// Local names of the open elements, outermost first.
    open: Vec<String>,
    text: String,
    fix: Option<Fix>,
    way: Option<Way>,
    tracks: u64,
    plans: u64,
    fixes: u64,
}

/// A `Trackpoint` as far as it has been read.
#[derive(Default)]
struct Fix {
    line: u64,
    lon: Option<f64>,
    lat: Option<f64>,
    time: Option<jiff::Timestamp>,
    bad_time: bool,
    height_m: Option<f64>,
}

/// An `Activity` or a `Course` as far as it has been read.
#[derive(Default)]
struct Way {
    line: u64,
    plan: bool,
    name: String,
    runs: Vec<Vec<TrackPoint>>,
}

impl Parts for Tcx<'_, '_> {
    fn start(&mut self, element: &BytesStart<'_>, line: u64) -> Result<(), Stop> {
        if self.open.len() >= DEPTH {
            return Err(Fault::TooDeep { line, limit: DEPTH }.into());
        }
        let name = element.local_name().as_ref().to_owned();
        match name.as_str() {
            "Activity" | "Course" if self.way.is_none() => {
                self.way = Some(Way { line, plan: name == "Course", ..Way::default() });
            }
            "Track" => {
                if let Some(way) = &mut self.way {
                    way.runs.push(Vec::new());
                }
            }
            "Trackpoint" => self.fix = Some(Fix { line, ..Fix::default() }),
            _ => {}
        }
        self.text.clear();
        self.open.push(name);
        Ok(())
    }

    fn text(&mut self, text: &str) {
        if self.text.len() + text.len() <= TEXT_KEPT {
            self.text.push_str(text);
        }
    }

    fn unknown_entity(&mut self) {}

    fn end(&mut self) -> Result<(), Stop> {
        let Some(name) = self.open.pop() else { return Ok(()) };
        let text = std::mem::take(&mut self.text);
        let text = text.trim();
        let degrees = || text.parse::<f64>().ok().filter(|v| v.is_finite());
        match (name.as_str(), &mut self.fix, &mut self.way) {
            ("LatitudeDegrees", Some(fix), _) => fix.lat = degrees(),
            ("LongitudeDegrees", Some(fix), _) => fix.lon = degrees(),
            ("AltitudeMeters", Some(fix), _) => fix.height_m = degrees(),
            ("Time", Some(fix), _) => match read_time(text) {
                Some((time, _)) => fix.time = Some(time),
                None => fix.bad_time = true,
            },
            ("Name" | "Notes", None, Some(way)) if way.name.is_empty() => text.clone_into(&mut way.name),
            ("Trackpoint", ..) => self.end_fix(),
            ("Activity" | "Course", None, Some(_)) => return self.end_way(),
            _ => {}
        }
        Ok(())
    }
}

impl Tcx<'_, '_> {
    fn end_fix(&mut self) {
        let (Some(fix), Some(way)) = (self.fix.take(), &mut self.way) else { return };
        if fix.bad_time {
            self.taking.count(fix.line, "fix(es) have a time that is none, and were taken without it");
        }
        // A watch that lost the satellites goes on with pulse and time alone.
        let (Some(lon), Some(lat)) = (fix.lon, fix.lat) else {
            self.taking.count(fix.line, "fix(es) have no position and were passed over");
            return;
        };
        if lon == 0.0 && lat == 0.0 {
            self.taking.count(fix.line, "fix(es) at 0, 0 are no positions and were left out");
            return;
        }
        match LonLat::new(lon, lat) {
            Ok(at) => {
                self.fixes += 1;
                let point = TrackPoint::new(at).with_time(fix.time).with_height_m(fix.height_m);
                match way.runs.last_mut() {
                    Some(run) => run.push(point),
                    None => way.runs.push(vec![point]),
                }
            }
            Err(_) => self.taking.count(fix.line, "fix(es) have a position that cannot be and were left out"),
        }
    }

    fn end_way(&mut self) -> Result<(), Stop> {
        let Some(way) = self.way.take() else { return Ok(()) };
        if !way.plan {
            if take(way.line, self.tracks + 1, &way.name, way.runs, self.taking)? {
                self.tracks += 1;
            }
            return Ok(());
        }
        let points: Vec<LonLat> = way.runs.into_iter().flatten().map(|p| p.at).collect();
        self.plans += u64::from(take_plan(way.line, self.plans + 1, &way.name, points, self.taking)?);
        Ok(())
    }
}
