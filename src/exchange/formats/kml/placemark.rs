//! A placemark as far as it has been read, and what it becomes.

use std::sync::Arc;

use geo_types::{LineString, MultiPolygon, Polygon};
use jiff::Timestamp;

use super::coordinates::{coord, ring, tuples};
use crate::book::ZoneUse;
use crate::exchange::error::Stop;
use crate::exchange::records::row::Row;
use crate::exchange::records::shape::{self, Placed, Role, Shape};
use crate::exchange::records::spoken::{folder_of_signals, folder_without_finds};
use crate::exchange::records::waypoint::{Named, Waiting};
use crate::exchange::take_in::taking::weeks::weeks_later;
use crate::exchange::take_in::taking::{Mark, Taking};
use crate::exchange::tools::heading::{Field, Meaning, meaning};
use crate::exchange::tools::when::When;
use crate::exchange::tools::xml::read_time;
use crate::exchange::what::What;

/// Longest description kept, characters.
const DESCRIPTION_KEPT: usize = 4000;

/// One run of a line: its positions with their times.
type Run = Vec<(Placed, Option<Timestamp>)>;

#[derive(Debug, Default)]
pub(super) struct Placemark {
    pub(super) name: String,
    pub(super) description: String,
    /// The text of its time, or of the begin of its span.
    pub(super) time: String,
    /// Extended data, name first.
    pub(super) data: Vec<(String, String)>,
    /// The name of the data element that is open.
    pub(super) data_name: String,
    /// Whether heights of the open geometry are above the sea and not just what a viewer lays on its ground.
    pub(super) heights: bool,
    points: Vec<Placed>,
    lines: Vec<Run>,
    /// Runs that have times of their own.
    runs: Vec<Run>,
    areas: Vec<Polygon<f64>>,
    rings: (Option<LineString<f64>>, Vec<LineString<f64>>),
    whens: Vec<Option<Timestamp>>,
    coords: Vec<Option<Placed>>,
    wrong: Option<String>,
    pub(super) bad_times: u64,
    pub(super) zoneless: u64,
}

impl Placemark {
    fn keep<T>(&mut self, read: Result<T, String>) -> Option<T> {
        match read {
            Ok(value) => Some(value),
            Err(why) => {
                self.wrong.get_or_insert(why);
                None
            }
        }
    }

    /// Something that is wrong with the whole.
    pub(super) fn spoil(&mut self, why: &str) {
        self.wrong.get_or_insert_with(|| why.to_owned());
    }

    /// The coordinates of a geometry.
    pub(super) fn coordinates(&mut self, geometry: &str, inner: bool, text: &str) {
        let Some(places) = self.keep(tuples(text, self.heights)) else { return };
        match geometry {
            "Point" => self.points.extend(places),
            "LineString" => self.lines.push(places.into_iter().map(|p| (p, None)).collect()),
            "LinearRing" => {
                let Some(ring) = self.keep(ring(&places)) else { return };
                if inner {
                    self.rings.1.push(ring);
                } else {
                    self.rings.0 = Some(ring);
                }
            }
            _ => {}
        }
    }

    pub(super) fn end_polygon(&mut self) {
        let (outer, inner) = std::mem::take(&mut self.rings);
        match outer {
            Some(outer) => self.areas.push(Polygon::new(outer, inner)),
            None => self.spoil("has an area without an outer ring"),
        }
    }

    /// A ring by itself, which bounds nothing.
    pub(super) fn end_lone_ring(&mut self) {
        if let Some(ring) = self.rings.0.take() {
            self.areas.push(Polygon::new(ring, Vec::new()));
        }
    }

    /// A time of a track.
    pub(super) fn when(&mut self, text: &str) {
        let time = match read_time(text.trim()).filter(|_| text.contains('T')) {
            Some((time, zoneless)) => {
                self.zoneless += u64::from(zoneless);
                Some(time)
            }
            None => {
                self.bad_times += u64::from(!text.trim().is_empty());
                None
            }
        };
        self.whens.push(time);
    }

    /// A position of a track; an empty one is a fix that is missing.
    pub(super) fn coord(&mut self, text: &str) {
        let place = if text.trim().is_empty() { None } else { self.keep(coord(text, self.heights)) };
        self.coords.push(place);
    }

    pub(super) fn end_track(&mut self) {
        let (whens, coords) = (std::mem::take(&mut self.whens), std::mem::take(&mut self.coords));
        if whens.len() != coords.len() {
            self.spoil(&format!("has a track of {} times for {} positions", whens.len(), coords.len()));
            return;
        }
        let run: Run = coords.into_iter().zip(whens).filter_map(|(place, time)| Some((place?, time))).collect();
        if !run.is_empty() {
            self.runs.push(run);
        }
    }

    /// Gives it to the intake, but its points, where they have names alone, to those that wait for the whole file.
    pub(super) fn take(mut self, taking: &mut Taking<'_>, mark: Mark, folder: &str, waiting: &mut Waiting) -> Result<(), Stop> {
        if let Some(why) = self.wrong.take() {
            taking.refuse(mark, why);
            return Ok(());
        }
        let time = self.moment(taking, mark);
        let description = plain_text(&self.description);
        let mut row = self.row(mark, &description, time.as_ref());
        let (points, lines, runs) =
            (std::mem::take(&mut self.points), std::mem::take(&mut self.lines), std::mem::take(&mut self.runs));
        let areas = std::mem::take(&mut self.areas);
        let keep_off = if ZoneUse::keep_off(folder).is_some() { folder } else { "" };
        let no_finds = if keep_off.is_empty() && folder_without_finds(folder) { folder } else { "" };
        if points.is_empty() && lines.is_empty() && runs.is_empty() && areas.is_empty() {
            taking.refuse(mark, "has no position, line or area");
        }
        if !points.is_empty() {
            if says_more_than_a_name(&row) || !named_role(taking) {
                shape::take(taking, &mut row, Shape::Points(points))?;
            } else {
                let sort = if folder_of_signals(folder) { "signals" } else { "" };
                let (keep_off, no_finds, sort) = (keep_off.to_owned(), no_finds.to_owned(), sort.to_owned());
                let named = Named { keep_off, no_finds, sort, ..self.named(&row, description, time) };
                for (at, height_m) in points {
                    waiting.add(taking, mark, at, Named { height_m, ..named.clone() })?;
                }
            }
        }
        let walked = !runs.is_empty() || says_track(&[&self.name, folder]);
        let mut runs = runs;
        let first = runs.iter().flatten().find_map(|(_, time)| *time).filter(|_| row.uid().is_none());
        if first.is_some_and(|first| taking.is_weeks_early(first, mark.line, None)) {
            runs.iter_mut().flatten().for_each(|(_, time)| *time = time.and_then(weeks_later));
        }
        if !(lines.is_empty() && runs.is_empty()) {
            let lines = Shape::Lines(runs.into_iter().chain(lines).collect());
            if walked && taking.options.what.is_none() && !row.has(Field::Role) {
                shape::take_as(taking, &mut row, Role::What(What::Tracks), lines)?;
            } else {
                shape::take(taking, &mut row, lines)?;
            }
        }
        if !areas.is_empty() {
            let says = [Field::Role, Field::Use, Field::Kind, Field::Closure, Field::Holder].into_iter().any(|f| row.has(f));
            if !keep_off.is_empty() && !says {
                let usage = Meaning { field: Field::Use, unit: None, clock: None, numbered: false };
                row.add(&usage, &Arc::from("folder"), keep_off, false);
            }
            shape::take(taking, &mut row, Shape::Area(MultiPolygon(areas)))?;
        }
        row.tell_unread(taking);
        Ok(())
    }

    /// When it was, told where that is doubtful: a time without an offset is taken for UTC, as in GPX; of a month or a
    /// year alone there is no day.
    fn moment(&mut self, taking: &mut Taking<'_>, mark: Mark) -> Option<Moment> {
        let text = self.time.trim().to_owned();
        // A day alone has no time of day to be taken for UTC.
        let day = When::read(&text, true).filter(|w| matches!(w, When::Day(_)) && text.len() == 10);
        let read = match (day, read_time(&text)) {
            (Some(_), _) => Some(Moment::Day(text.clone())),
            (None, Some((time, zoneless))) => {
                self.zoneless += u64::from(zoneless);
                Some(Moment::Instant(time))
            }
            (None, None) => None,
        };
        if read.is_none() && !text.is_empty() {
            self.bad_times += 1;
        }
        for (count, what) in [
            (self.bad_times, "time(s) could not be read or name no day; the positions are kept without them"),
            (self.zoneless, "time(s) name no zone and were taken for UTC"),
        ] {
            (0..count).for_each(|_| taking.count(mark.line, what));
        }
        read
    }

    fn row(&self, mark: Mark, description: &str, time: Option<&Moment>) -> Row {
        let mut row = Row::new(mark, true);
        for (title, text) in &self.data {
            let heading: Arc<str> = Arc::from(title.as_str());
            match meaning(title).filter(|m| m.field != Field::Id) {
                Some(m) => row.add(&m, &heading, text, false),
                None => row.add_headed(&heading, text),
            }
        }
        let mut add = |field, title: &str, text: &str| {
            row.add(&Meaning { field, unit: None, clock: None, numbered: false }, &Arc::from(title), text, false);
        };
        match time {
            Some(Moment::Instant(time)) => add(Field::Time, "when", &time.to_string()),
            Some(Moment::Day(day)) => add(Field::Date, "when", day),
            None => {}
        }
        // Of a record that was written here everything stands in its data; the rest is there to be looked at.
        let own = ["uid", "role"].iter().all(|wanted| self.data.iter().any(|(title, _)| title == wanted));
        if !own {
            add(Field::Name, "name", &self.name);
            add(Field::Description, "description", description);
        }
        row
    }

    fn named(&self, row: &Row, description: String, time: Option<Moment>) -> Named {
        let time = match time {
            Some(Moment::Instant(time)) => Some(time),
            _ => None,
        };
        Named { time, name: self.name.clone(), comment: row.others(), description, uid: row.uid(), ..Named::default() }
    }
}

/// What a placemark says about when.
#[derive(Debug, Clone)]
enum Moment {
    Instant(Timestamp),
    Day(String),
}

/// Whether its data name the fields of a record, so that it is read as a row is.
fn says_more_than_a_name(row: &Row) -> bool {
    use Field::{Date, Depth, Kind, Level, Mass, Role, Size, Target, TargetId, What};
    [Date, Depth, Kind, Level, Mass, Role, Size, Target, TargetId, What].into_iter().any(|f| row.has(f))
}

/// Whether points may be read by their names alone, as what is asked for allows.
fn named_role(taking: &Taking<'_>) -> bool {
    !matches!(taking.options.what, Some(What::Zones | What::Permissions | What::Barriers))
}

/// Whether a name says of a line that it is a track.
fn says_track(names: &[&str]) -> bool {
    let is_track = |w: &str| matches!(w.to_lowercase().as_str(), "track" | "tracks" | "tracklog");
    names.iter().any(|n| n.split(|c: char| !c.is_alphanumeric()).any(is_track))
}

/// A description without the marks of HTML that many writers put into it.
fn plain_text(text: &str) -> String {
    let mut out = String::new();
    let mut rest = text;
    while let Some((before, after)) = rest.split_once('<') {
        out.push_str(before);
        // A sign that opens nothing is one.
        let opens = after.starts_with(|c: char| c.is_ascii_alphabetic() || matches!(c, '/' | '!'));
        match after.split_once('>').filter(|_| opens) {
            Some((_, after)) => {
                out.push(' ');
                rest = after;
            }
            None => {
                out.push('<');
                rest = after;
            }
        }
    }
    out.push_str(rest);
    for (entity, sign) in [("&nbsp;", " "), ("&lt;", "<"), ("&gt;", ">"), ("&quot;", "\""), ("&#39;", "'"), ("&amp;", "&")] {
        out = out.replace(entity, sign);
    }
    let words: Vec<&str> = out.split_whitespace().collect();
    words.join(" ").chars().take(DESCRIPTION_KEPT).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn descriptions_lose_their_marks_and_keep_their_words() {
        assert_eq!(plain_text("<b>ring</b><br/>depth &lt; 5&nbsp;cm &amp; wet"), "ring depth < 5 cm & wet");
        assert_eq!(plain_text("a < b and c > d"), "a < b and c > d");
        assert_eq!(plain_text("cut <b"), "cut <b");
        assert_eq!(plain_text("<!-- x --> "), "");
    }
}
