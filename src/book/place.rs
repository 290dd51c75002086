use geo_types::{Coord, LineString, MultiLineString, MultiPolygon};
use jiff::civil::Date;
use serde::{Deserialize, Serialize};

use super::words::words;
use super::{BookError, Closure, Uid, check_range};
use crate::earth::LonLat;

words! {
    /// What a zone is used for.
    ZoneUse, "zone use" {
        /// Sand that the sea does not reach on ordinary days.
        DrySand = "dry_sand", "dry sand";
        /// Sand between the tides.
        WetSand = "wet_sand", "wet sand";
        /// Bathing water or bathers' sand.
        Bathing = "bathing", "bathing";
        /// Where people come onto the beach.
        Access = "access", "access";
        /// Where people sit, eat and play.
        Seats = "seats", "seats and play";
        /// Between two groynes.
        GroyneBay = "groyne_bay", "groyne bay";
        /// Rock and boulders.
        Rocks = "rocks", "rocks";
        /// Soft mud.
        Mud = "mud", "mud";
        /// A channel or stream.
        Channel = "channel", "channel";
        /// Not to be searched.
        NoSearch = "no_search", "no-search";
        /// Anything else.
        Other = "other", "other";
    }
}

/// A named part of the beach with a use.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Zone {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// What it is used for; `use` is taken by the language.
    pub usage: ZoneUse,
    /// The ground it covers, longitude and latitude in degrees.
    pub area: MultiPolygon<f64>,
    /// Why and when it is not to be searched, of a zone that is not.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub closure: Option<Closure>,
    /// Anything else.
    pub notes: String,
}

impl Zone {
    /// Whether it is not to be searched on a day of the beach's calendar; all year where nothing is said.
    pub fn is_closed_on(&self, day: Date) -> bool {
        self.usage == ZoneUse::NoSearch && self.closure.is_none_or(|c| c.holds(day))
    }

    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_area("zone area", &self.area)
    }
}

/// A way on and off the beach.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Access {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// Where it meets the sand.
    pub at: LonLat,
    /// Anything else.
    pub notes: String,
}

words! {
    /// What a barrier is made of.
    BarrierKind, "barrier" {
        /// A groyne.
        Groyne = "groyne", "groyne";
        /// Rock and boulders.
        Rocks = "rocks", "rocks";
        /// A channel or stream.
        Channel = "channel", "channel";
        /// Soft mud.
        Mud = "mud", "mud";
        /// A cliff, wall or other edge that cannot be climbed.
        Wall = "wall", "cliff or wall";
        /// Anything else.
        Other = "other", "other";
    }
}

/// The shape of a barrier: a line one cannot cross or ground one cannot walk.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum BarrierShape {
    /// Lines, longitude and latitude in degrees.
    Line(MultiLineString<f64>),
    /// Areas, longitude and latitude in degrees.
    Area(MultiPolygon<f64>),
}

/// Something that bars the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Barrier {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// What the person calls it.
    pub name: String,
    /// What it is.
    pub kind: BarrierKind,
    /// Where it is.
    pub shape: BarrierShape,
    /// Anything else.
    pub notes: String,
}

impl Barrier {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        match &self.shape {
            BarrierShape::Area(area) => check_area("barrier area", area),
            BarrierShape::Line(lines) => lines.0.iter().try_for_each(|l| check_line("barrier", l)),
        }
    }
}

/// A surveyed level of the sand.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct LevelPoint {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it belongs to.
    pub beach: Uid,
    /// Where.
    pub at: LonLat,
    /// Height above the land datum, metres.
    pub level_m: f64,
    /// Standard error of that height, metres, if the survey states one.
    pub sigma_m: Option<f64>,
    /// Day of the survey.
    pub date: Option<Date>,
    /// Which survey it belongs to.
    pub survey: String,
}

impl LevelPoint {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        check_range("level", Some(self.level_m), -100.0, 1000.0, "m")?;
        check_range("level error", self.sigma_m, 0.0, 100.0, "m")
    }
}

/// A route as it was planned, kept as it came.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Plan {
    /// Its lasting name.
    pub uid: Uid,
    /// The beach it is for.
    pub beach: Uid,
    /// What the file or the person calls it.
    pub name: String,
    /// Its waypoints in order.
    pub points: Vec<LonLat>,
}

impl Plan {
    pub(crate) fn validate(&self) -> Result<(), BookError> {
        if self.points.is_empty() {
            return Err(BookError::field("plan", "has no positions"));
        }
        Ok(())
    }
}

/// Checks an area: at least one polygon, rings of four positions or more, all on earth.
pub(crate) fn check_area(what: &'static str, area: &MultiPolygon<f64>) -> Result<(), BookError> {
    if area.0.is_empty() {
        return Err(BookError::field(what, "has no polygon"));
    }
    for ring in area.iter().flat_map(|p| std::iter::once(p.exterior()).chain(p.interiors())) {
        if ring.0.len() < 4 {
            return Err(BookError::field(what, "has a ring of fewer than four positions (the last repeats the first)"));
        }
        check_coords(what, &ring.0)?;
    }
    Ok(())
}

fn check_line(what: &'static str, line: &LineString<f64>) -> Result<(), BookError> {
    if line.0.len() < 2 {
        return Err(BookError::field(what, "has a line of fewer than two positions"));
    }
    check_coords(what, &line.0)
}

fn check_coords(what: &'static str, coords: &[Coord<f64>]) -> Result<(), BookError> {
    coords
        .iter()
        .try_for_each(|c| LonLat::try_from(*c).map(drop).map_err(|e| BookError::field(what, format!("has a bad position: {e}"))))
}
