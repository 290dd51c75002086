use std::collections::BTreeMap;

use quick_xml::events::BytesStart;

use super::placemark::Placemark;
use crate::Progress;
use crate::exchange::error::{Fault, Stop};
use crate::exchange::records::waypoint::{self, Waiting};
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::packed::{Packed, is_kml};
use crate::exchange::tools::source::Source;
use crate::exchange::tools::text::{DEPTH, xml_encoding};
use crate::exchange::tools::xml::{self, Parts};

/// Longest text kept of one element, bytes.
const TEXT_KEPT: usize = 64 * 1024;
/// Longest text of the coordinates of one geometry, bytes.
const COORDINATES_KEPT: usize = 64 << 20;

/// Reads a KML file from start to end without holding it, and says what it was taken for.
pub(in crate::exchange) fn read(source: &Source, taking: &mut Taking<'_>, progress: &Progress) -> Result<String, Stop> {
    let encoding = xml_encoding(&source.head()?)?;
    taking.understand("encoding", encoding.name());
    let mut kml = Kml {
        taking,
        open: Vec::new(),
        folders: Vec::new(),
        skipping: None,
        text: String::new(),
        placemark: None,
        counts: Counts::default(),
        left_out: BTreeMap::new(),
        rooted: false,
        waiting: Waiting::default(),
    };
    let last_line = xml::read(source, encoding, progress, &mut kml)?;
    kml.finish(last_line)
}

/// Reads the KML file of a KMZ archive: `doc.kml`, else the first there is (OGC 12-007r2, on KMZ). Others in it, as a rule
/// parts that the first one links to, are told and left out.
pub(in crate::exchange) fn read_packed(
    source: &Source,
    mut packed: Packed,
    taking: &mut Taking<'_>,
    progress: &Progress,
) -> Result<String, Stop> {
    let names: Vec<String> = packed.names().into_iter().filter(|n| is_kml(n)).collect();
    let main = names.iter().find(|n| n.as_str() == "doc.kml").or(names.first()).cloned().unwrap_or_default();
    let inner = Source::bytes(source.name(), packed.read(&main)?);
    taking.understand("file in the archive", main.clone());
    let others: Vec<String> = names.into_iter().filter(|n| *n != main).collect();
    if !others.is_empty() {
        taking.warn(format!("{} more KML file(s) in the archive were left out: {}", others.len(), others.join(", ")));
    }
    Ok(format!("KMZ, {}", read(&inner, taking, progress)?))
}

/// What is open, and what of it is wanted.
struct Kml<'t, 'b> {
    taking: &'t mut Taking<'b>,
    /// Local names of the open elements, outermost first.
    open: Vec<String>,
    /// Names of the open folders, with their depth.
    folders: Vec<(usize, String)>,
    /// Depth of the element whose inside is passed over.
    skipping: Option<usize>,
    text: String,
    placemark: Option<(Mark, Placemark)>,
    counts: Counts,
    /// What is not read, by name.
    left_out: BTreeMap<String, usize>,
    rooted: bool,
    /// Points that have names alone.
    waiting: Waiting,
}

#[derive(Default)]
struct Counts {
    placemarks: u64,
    points: u64,
    lines: u64,
    tracks: u64,
    areas: u64,
}

/// What KML shows beside placemarks and nothing here has a use for; links lead elsewhere and are never followed.
const LEFT_OUT: &[&str] = &["NetworkLink", "GroundOverlay", "PhotoOverlay", "ScreenOverlay", "Tour", "Model"];

impl Parts for Kml<'_, '_> {
    fn start(&mut self, element: &BytesStart<'_>, line: u64) -> Result<(), Stop> {
        if self.open.len() >= DEPTH {
            return Err(Fault::TooDeep { line, limit: DEPTH }.into());
        }
        let local = element.local_name();
        let name = local.as_ref();
        if self.open.is_empty() {
            if name != "kml" || self.rooted {
                return Err(Fault::OtherXml { root: name.to_owned() }.into());
            }
            self.rooted = true;
        } else if self.skipping.is_none() {
            self.inner(element, name, line);
        }
        self.open.push(name.to_owned());
        Ok(())
    }

    fn text(&mut self, text: &str) {
        if self.skipping.is_some() {
            return;
        }
        let coordinates = self.open.last().is_some_and(|n| n == "coordinates");
        let most = if coordinates { COORDINATES_KEPT } else { TEXT_KEPT };
        if self.text.len() + text.len() <= most {
            self.text.push_str(text);
        } else if let Some((_, placemark)) = self.placemark.as_mut().filter(|_| coordinates) {
            placemark.spoil("has more positions in one line than can be read");
        }
    }

    fn unknown_entity(&mut self) {
        if let Some((_, placemark)) = &mut self.placemark {
            placemark.spoil("uses an entity that the file defines itself; such are not expanded");
        }
    }

    fn end(&mut self) -> Result<(), Stop> {
        let Some(name) = self.open.pop() else { return Ok(()) };
        let depth = self.open.len();
        if let Some(skipped) = self.skipping {
            if depth == skipped {
                self.skipping = None;
            }
            return Ok(());
        }
        if self.folders.last().is_some_and(|(at, _)| *at == depth) {
            self.folders.pop();
        }
        if name == "Placemark" {
            return match self.placemark.take() {
                Some((mark, placemark)) => {
                    let named = self.folders.iter().map(|(_, name)| name.as_str()).filter(|name| !name.is_empty());
                    let folder = named.collect::<Vec<_>>().join(" ");
                    placemark.take(self.taking, mark, &folder, &mut self.waiting)
                }
                None => Ok(()),
            };
        }
        self.leaf(&name);
        self.text.clear();
        Ok(())
    }
}

impl Kml<'_, '_> {
    fn inner(&mut self, element: &BytesStart<'_>, name: &str, line: u64) {
        self.text.clear();
        if LEFT_OUT.contains(&name) {
            *self.left_out.entry(name.to_owned()).or_default() += 1;
            self.skipping = Some(self.open.len());
            return;
        }
        match (name, &mut self.placemark) {
            ("Document" | "Folder", _) => self.folders.push((self.open.len(), String::new())),
            ("Placemark", _) => {
                self.counts.placemarks += 1;
                let mark = Mark { line, noun: "placemark", number: self.counts.placemarks };
                self.placemark = Some((mark, Placemark::default()));
            }
            // Styles hold names and colours of their own; data of a track are one for each fix.
            ("Style" | "StyleMap" | "LookAt" | "Camera" | "Region", Some(_)) => self.skipping = Some(self.open.len()),
            ("ExtendedData", Some(_)) if self.open.iter().any(|n| n == "Track") => self.skipping = Some(self.open.len()),
            ("Data" | "SimpleData", Some((_, placemark))) => {
                let named = element.attributes().flatten().find(|a| a.key.local_name().as_ref() == "name");
                let text = named.and_then(|a| quick_xml::escape::unescape(&a.value).ok().map(|t| t.into_owned()));
                placemark.data_name = text.unwrap_or_default();
            }
            ("Point" | "LineString" | "LinearRing" | "Track", Some((_, placemark))) => {
                placemark.heights = false;
                match name {
                    "Point" => self.counts.points += 1,
                    "LineString" => self.counts.lines += 1,
                    "Track" => self.counts.tracks += 1,
                    _ => {}
                }
            }
            ("Polygon", Some(_)) => self.counts.areas += 1,
            _ => {}
        }
    }

    /// The end of an element that holds text or closes a geometry.
    fn leaf(&mut self, name: &str) {
        let parent = self.open.last().map_or("", String::as_str);
        let within = |wanted: &str| self.open.iter().any(|n| n == wanted);
        let text = self.text.trim();
        let Some((_, placemark)) = &mut self.placemark else {
            if name == "name"
                && let Some((at, folder)) = self.folders.last_mut()
                && *at + 1 == self.open.len()
            {
                text.clone_into(folder);
            }
            return;
        };
        match (name, parent) {
            ("name", "Placemark") => text.clone_into(&mut placemark.name),
            ("description", "Placemark") => text.clone_into(&mut placemark.description),
            ("when", "Track") => placemark.when(text),
            ("when", "TimeStamp") | ("begin", "TimeSpan") => text.clone_into(&mut placemark.time),
            ("coord", "Track") => placemark.coord(text),
            ("altitudeMode", _) => placemark.heights = text == "absolute",
            ("value", "Data") | ("SimpleData", _) => {
                let title = std::mem::take(&mut placemark.data_name);
                placemark.data.push((title, text.to_owned()));
            }
            ("coordinates", geometry) => {
                let (geometry, inner) = (geometry.to_owned(), within("innerBoundaryIs"));
                placemark.coordinates(&geometry, inner, text);
            }
            ("Track", _) => placemark.end_track(),
            ("Polygon", _) => placemark.end_polygon(),
            ("LinearRing", _) if !within("Polygon") => placemark.end_lone_ring(),
            _ => {}
        }
    }

    fn finish(self, last_line: u64) -> Result<String, Stop> {
        if !self.open.is_empty() {
            return Err(Fault::Truncated { line: last_line }.into());
        }
        if !self.rooted {
            return Err(Fault::OtherXml { root: String::new() }.into());
        }
        let c = &self.counts;
        if c.placemarks == 0 {
            self.taking.warn("the file holds no placemark");
        }
        if !self.left_out.is_empty() {
            let parts: Vec<String> = self.left_out.iter().map(|(name, count)| format!("{count} {name}")).collect();
            self.taking.warn(format!("what is no placemark was left out, and no link was followed: {}", parts.join(", ")));
        }
        let spoken = self.waiting.finish(self.taking)?;
        waypoint::tell_spoken(self.taking, spoken);
        self.taking.understand("positions", "longitude, latitude on WGS 84, as KML asks; heights count where they are absolute");
        Ok(format!(
            "KML: {} placemark(s) with {} point(s), {} line(s), {} track(s) and {} area(s)",
            c.placemarks, c.points, c.lines, c.tracks, c.areas
        ))
    }
}
