//! A feature with its shape, or a table row with its position, as the record its role asks for.

use std::sync::Arc;

use geo::{BoundingRect as _, Centroid as _};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon};
use jiff::Timestamp;

use super::row::Row;
use crate::book::{BarrierShape, Find, Plan, Track, TrackPoint, Uid};
use crate::earth::{LonLat, distance_m};
use crate::exchange::error::Stop;
use crate::exchange::records::{places, things};
use crate::exchange::take_in::About;
use crate::exchange::take_in::taking::Taking;
use crate::exchange::tools::heading::{Field, says_level};
use crate::exchange::what::What;

/// A position with the height the file gave, metres.
pub(in crate::exchange) type Placed = (LonLat, Option<f64>);

/// A shape in WGS 84.
#[derive(Debug)]
pub(in crate::exchange) enum Shape {
    Points(Vec<Placed>),
    /// Lines, with a time for each position where the file gave them.
    Lines(Vec<Vec<(Placed, Option<Timestamp>)>>),
    Area(MultiPolygon<f64>),
}

impl Shape {
    fn noun(&self) -> &'static str {
        match self {
            Self::Points(_) => "a point",
            Self::Lines(_) => "a line",
            Self::Area(_) => "an area",
        }
    }
}

/// What a feature's `role` or the person says it is: one of [`What`], or a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::exchange) enum Role {
    What(What),
    Plan,
}

impl Role {
    pub(in crate::exchange) fn named(text: &str) -> Option<Self> {
        match text.trim().to_lowercase().as_str() {
            "plan" | "route" => Some(Self::Plan),
            other => What::of_role(other).map(Self::What),
        }
    }
}

/// Takes a shape as what the person forces, else as its role says, else as its geometry suggests.
pub(in crate::exchange) fn take(taking: &mut Taking<'_>, row: &mut Row, shape: Shape) -> Result<(), Stop> {
    let role = match (taking.options.what, row.text(Field::Role)) {
        (Some(forced), _) => Some(Role::What(forced)),
        (None, "") => None,
        (None, text) => match Role::named(text) {
            Some(role) => Some(role),
            None if is_drawn(text) => {
                taking.count(
                    row.mark.line,
                    "feature(s) are what this program works out and draws (the blocks, lanes and ends of a plan, bands, clusters), no \
                     records of a book; they were passed over",
                );
                return Ok(());
            }
            None => {
                let why = format!(
                    "its role \"{text}\" is not known; use baseline, zone, permission, access, barrier, find, signal, level or track"
                );
                taking.refuse(row.mark, why);
                return Ok(());
            }
        },
    };
    take_in_role(taking, row, role, shape)
}

/// Whether a role is one that files written here give to what is worked out: it is worked out anew, and never taken in.
fn is_drawn(role: &str) -> bool {
    matches!(role, "block" | "lanes" | "start" | "end" | "band" | "cluster")
}

/// Takes a shape in a role already decided.
pub(in crate::exchange) fn take_as(taking: &mut Taking<'_>, row: &mut Row, role: Role, shape: Shape) -> Result<(), Stop> {
    take_in_role(taking, row, Some(role), shape)
}

fn take_in_role(taking: &mut Taking<'_>, row: &mut Row, role: Option<Role>, shape: Shape) -> Result<(), Stop> {
    match shape {
        Shape::Points(points) => take_points(taking, row, role, points),
        Shape::Lines(lines) => take_lines(taking, row, role, lines),
        Shape::Area(area) => take_area(taking, row, role, area),
    }
}

fn misfit(taking: &mut Taking<'_>, row: &Row, role: Role, shape: &Shape) -> Result<(), Stop> {
    let role = match role {
        Role::What(what) => what.word(),
        Role::Plan => "plans",
    };
    taking.refuse(row.mark, format!("is {}, which cannot be taken as {role}", shape.noun()));
    Ok(())
}

fn take_points(taking: &mut Taking<'_>, row: &mut Row, role: Option<Role>, points: Vec<Placed>) -> Result<(), Stop> {
    let described = row.first_of(&[Field::What, Field::Kind, Field::Target]).is_some();
    let role = match role {
        Some(role) => role,
        None if row.has(Field::Level) && !described => Role::What(levels_or_track(taking, row)),
        None => Role::What(What::Finds),
    };
    for (at, height_m) in points {
        match role {
            Role::What(What::Finds) => {
                let made = things::find(taking, row, at);
                things::settle(taking, row, made)?;
            }
            Role::What(What::Signals) => {
                let made = things::signal(taking, row, at);
                things::settle(taking, row, made)?;
            }
            Role::What(What::Levels) => {
                let made = places::level(taking, row, at, height_m);
                things::settle(taking, row, made)?;
            }
            Role::What(What::Accesses) => {
                let made = places::access(taking, row, at);
                things::settle(taking, row, made)?;
            }
            other => return misfit(taking, row, other, &Shape::Points(Vec::new())),
        }
    }
    Ok(())
}

/// What points with a height and no word of anything dug are: levels where they say so, else it is asked.
fn levels_or_track(taking: &mut Taking<'_>, row: &Row) -> What {
    let title = row.title(Field::Level);
    if says_level(title) || row.has(Field::Sigma) || row.has(Field::Survey) {
        return What::Levels;
    }
    let line = row.mark.line;
    let question = || {
        format!(
            "heights under \"{title}\", the first at line {line}, do not say what they are above: are they surveyed levels of the \
             sand, or a receiver's heights along a track?"
        )
    };
    match taking.settle(About::Heights, question, None) {
        Some("tracks") => What::Tracks,
        _ => What::Levels,
    }
}

fn take_lines(
    taking: &mut Taking<'_>,
    row: &mut Row,
    role: Option<Role>,
    lines: Vec<Vec<(Placed, Option<Timestamp>)>>,
) -> Result<(), Stop> {
    let beach = taking.beach.uid;
    let name = row.first_of(&[Field::Name, Field::What, Field::Description]).map(|(_, t)| t.to_owned()).unwrap_or_default();
    let places =
        |lines: &[Vec<(Placed, Option<Timestamp>)>]| -> Vec<LonLat> { lines.iter().flatten().map(|((at, _), _)| *at).collect() };
    let role = role.or_else(|| {
        let line = row.mark.line;
        let question = || format!("lines, the first at line {line}, do not say what they are: what are they?");
        match taking.settle(About::Lines, question, Some("leave")) {
            Some("tracks") => Some(Role::What(What::Tracks)),
            Some("baseline") => Some(Role::What(What::Baseline)),
            Some("plans") => Some(Role::Plan),
            _ => None,
        }
    });
    match role {
        None => {
            taking.refuse(
                row.mark,
                "is a line that does not say what it is; take it as baseline or as tracks (--as tracks), or give it a property \"role\"",
            );
            Ok(())
        }
        Some(Role::What(What::Baseline)) => match lines.as_slice() {
            [_] => {
                let seaward = row.read(Field::Seaward, |t, _| t.parse().ok());
                taking.take_baseline(row.mark, places(&lines), seaward)
            }
            _ => {
                taking.refuse(row.mark, "has several lines; a baseline is one line");
                Ok(())
            }
        },
        Some(Role::What(What::Tracks)) => {
            let point = |((at, height_m), time): &(Placed, Option<Timestamp>)| {
                TrackPoint::new(*at).with_time(*time).with_height_m(*height_m)
            };
            let segments: Vec<Arc<[_]>> = lines.iter().filter(|l| !l.is_empty()).map(|l| l.iter().map(point).collect()).collect();
            let uid = Track::content_uid(beach, &segments);
            taking.take_as(row.mark, Track { uid, beach, outing: None, name, segments }, row.uid().or(Some(uid)))
        }
        Some(Role::Plan) => {
            taking.understand_once("plan", "a way that is planned, kept as a plan and never as a way walked");
            let uid = Uid::of_content("", []);
            taking.take_as(row.mark, Plan { uid, beach, name, points: places(&lines) }, row.uid())
        }
        Some(Role::What(What::Barriers)) => {
            let line = |l: &Vec<(Placed, Option<Timestamp>)>| LineString(l.iter().map(|((at, _), _)| Coord::from(*at)).collect());
            let made = places::barrier(taking, row, BarrierShape::Line(MultiLineString(lines.iter().map(line).collect())));
            things::settle(taking, row, made)
        }
        Some(Role::What(What::Levels)) => take_points(taking, row, role, lines.into_iter().flatten().map(|(p, _)| p).collect()),
        Some(other) => misfit(taking, row, other, &Shape::Lines(Vec::new())),
    }
}

fn take_area(taking: &mut Taking<'_>, row: &mut Row, role: Option<Role>, area: MultiPolygon<f64>) -> Result<(), Stop> {
    let guess = if row.has(Field::Holder) { What::Permissions } else { What::Zones };
    match role.unwrap_or(Role::What(guess)) {
        Role::What(What::Zones) => {
            let made = places::zone(taking, row, area);
            things::settle(taking, row, made)
        }
        Role::What(What::Permissions) => {
            let made = places::permission(taking, row, area);
            things::settle(taking, row, made)
        }
        Role::What(What::Barriers) => {
            let made = places::barrier(taking, row, BarrierShape::Area(area));
            things::settle(taking, row, made)
        }
        Role::What(What::Finds) => take_roughly_placed(taking, row, &area),
        other => misfit(taking, row, other, &Shape::Area(MultiPolygon(Vec::new()))),
    }
}

/// A find that is told to lie somewhere in an area, as a holder is handed it: only as another person's, whose finds are in no
/// reading. It stands in the middle, and what the file says of its place stays with it.
fn take_roughly_placed(taking: &mut Taking<'_>, row: &mut Row, area: &MultiPolygon<f64>) -> Result<(), Stop> {
    if taking.options.by.is_none() {
        let why = "tells its place only as an area, so it cannot stand among your own finds; take it in as another person's (--by NAME)";
        taking.refuse(row.mark, why.to_owned());
        return Ok(());
    }
    let Some(middle) = area.centroid().and_then(|c| LonLat::try_from(Coord::from(c)).ok()) else {
        taking.refuse(row.mark, "tells its place as an area without a middle".to_owned());
        return Ok(());
    };
    let made = things::find(taking, row, middle).map(|mut find| {
        let corners = area.bounding_rect().map(|r| [r.min(), r.max()].map(LonLat::try_from));
        let across = match corners {
            Some([Ok(a), Ok(b)]) => format!("{:.0} m from corner to corner", distance_m(a, b)),
            _ => "of its own".to_owned(),
        };
        find.more.insert(Find::ROUGHLY.to_owned(), format!("the middle of an area {across}, in which it lay"));
        find
    });
    things::settle(taking, row, made)
}
