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

/// Words by which people name ground that is not to be walked on, each with the use that keeps a route off it; several
/// words stand one after the other in the text. Common practice, no published source.
const KEEP_OFF: &[(&str, ZoneUse)] = &[
    ("mud", ZoneUse::Mud),
    ("mudflat", ZoneUse::Mud),
    ("mudflats", ZoneUse::Mud),
    ("quicksand", ZoneUse::Mud),
    ("quicksands", ZoneUse::Mud),
    ("sinking sand", ZoneUse::Mud),
    ("sinking sands", ZoneUse::Mud),
    ("soft sand", ZoneUse::Mud),
    ("soft ground", ZoneUse::Mud),
    ("silt", ZoneUse::Mud),
    ("schlick", ZoneUse::Mud),
    ("treibsand", ZoneUse::Mud),
    ("vase", ZoneUse::Mud),
    ("sables mouvants", ZoneUse::Mud),
    ("drijfzand", ZoneUse::Mud),
    ("slik", ZoneUse::Mud),
    ("arenas movedizas", ZoneUse::Mud),
    ("fango", ZoneUse::Mud),
    ("sabbie mobili", ZoneUse::Mud),
    ("kviksand", ZoneUse::Mud),
    ("channel", ZoneUse::Channel),
    ("channels", ZoneUse::Channel),
    ("creek", ZoneUse::Channel),
    ("river", ZoneUse::Channel),
    ("stream", ZoneUse::Channel),
    ("gully", ZoneUse::Channel),
    ("gut", ZoneUse::Channel),
    ("runnel", ZoneUse::Channel),
    ("deep water", ZoneUse::Channel),
    ("priel", ZoneUse::Channel),
    ("chenal", ZoneUse::Channel),
    ("geul", ZoneUse::Channel),
    ("rock", ZoneUse::Rocks),
    ("rocks", ZoneUse::Rocks),
    ("reef", ZoneUse::Rocks),
    ("boulders", ZoneUse::Rocks),
    ("felsen", ZoneUse::Rocks),
    ("rochers", ZoneUse::Rocks),
    ("rotsen", ZoneUse::Rocks),
    ("rocas", ZoneUse::Rocks),
    ("danger", ZoneUse::NoSearch),
    ("dangerous", ZoneUse::NoSearch),
    ("hazard", ZoneUse::NoSearch),
    ("hazards", ZoneUse::NoSearch),
    ("dangers", ZoneUse::NoSearch),
    ("cliff", ZoneUse::NoSearch),
    ("cliffs", ZoneUse::NoSearch),
    ("rockfall", ZoneUse::NoSearch),
    ("ordnance", ZoneUse::NoSearch),
    ("unexploded", ZoneUse::NoSearch),
    ("uxo", ZoneUse::NoSearch),
    ("mines", ZoneUse::NoSearch),
    ("minefield", ZoneUse::NoSearch),
    ("firing range", ZoneUse::NoSearch),
    ("closed", ZoneUse::NoSearch),
    ("no entry", ZoneUse::NoSearch),
    ("no access", ZoneUse::NoSearch),
    ("no go", ZoneUse::NoSearch),
    ("no dig", ZoneUse::NoSearch),
    ("no digging", ZoneUse::NoSearch),
    ("no search", ZoneUse::NoSearch),
    ("no searching", ZoneUse::NoSearch),
    ("no detecting", ZoneUse::NoSearch),
    ("not dig", ZoneUse::NoSearch),
    ("t dig", ZoneUse::NoSearch),
    ("not search", ZoneUse::NoSearch),
    ("not detect", ZoneUse::NoSearch),
    ("not enter", ZoneUse::NoSearch),
    ("keep out", ZoneUse::NoSearch),
    ("keep off", ZoneUse::NoSearch),
    ("forbidden", ZoneUse::NoSearch),
    ("prohibited", ZoneUse::NoSearch),
    ("gefahr", ZoneUse::NoSearch),
    ("gesperrt", ZoneUse::NoSearch),
    ("verboten", ZoneUse::NoSearch),
    ("nicht graben", ZoneUse::NoSearch),
    ("nicht suchen", ZoneUse::NoSearch),
    ("nicht betreten", ZoneUse::NoSearch),
    ("kein zutritt", ZoneUse::NoSearch),
    ("sperrgebiet", ZoneUse::NoSearch),
    ("lebensgefahr", ZoneUse::NoSearch),
    ("munition", ZoneUse::NoSearch),
    ("munitionsverdacht", ZoneUse::NoSearch),
    ("kampfmittel", ZoneUse::NoSearch),
    ("kampfmittelverdacht", ZoneUse::NoSearch),
    ("interdit", ZoneUse::NoSearch),
    ("interdite", ZoneUse::NoSearch),
    ("défense de", ZoneUse::NoSearch),
    ("ne pas creuser", ZoneUse::NoSearch),
    ("verboden", ZoneUse::NoSearch),
    ("niet graven", ZoneUse::NoSearch),
    ("niet zoeken", ZoneUse::NoSearch),
    ("niet betreden", ZoneUse::NoSearch),
    ("geen toegang", ZoneUse::NoSearch),
    ("gevaar", ZoneUse::NoSearch),
    ("explosieven", ZoneUse::NoSearch),
    ("prohibido", ZoneUse::NoSearch),
    ("prohibida", ZoneUse::NoSearch),
    ("no excavar", ZoneUse::NoSearch),
    ("no cavar", ZoneUse::NoSearch),
    ("peligro", ZoneUse::NoSearch),
    ("explosivos", ZoneUse::NoSearch),
    ("vietato", ZoneUse::NoSearch),
    ("vietata", ZoneUse::NoSearch),
    ("divieto", ZoneUse::NoSearch),
    ("non scavare", ZoneUse::NoSearch),
    ("pericolo", ZoneUse::NoSearch),
    ("esplosivi", ZoneUse::NoSearch),
    ("forbudt", ZoneUse::NoSearch),
    ("ikke grave", ZoneUse::NoSearch),
    ("grav ikke", ZoneUse::NoSearch),
    ("adgang forbudt", ZoneUse::NoSearch),
    ("livsfare", ZoneUse::NoSearch),
    ("ammunition", ZoneUse::NoSearch),
    ("munitions", ZoneUse::NoSearch),
    ("explosives", ZoneUse::NoSearch),
    ("sssi", ZoneUse::NoSearch),
    ("site of special scientific interest", ZoneUse::NoSearch),
    ("scheduled monument", ZoneUse::NoSearch),
    ("scheduled monuments", ZoneUse::NoSearch),
    ("scheduled ancient monument", ZoneUse::NoSearch),
];

impl ZoneUse {
    /// The use that keeps a route off ground which words call dangerous or shut; `None` where they do not.
    pub fn keep_off(text: &str) -> Option<Self> {
        let words: Vec<String> =
            text.split(|c: char| !c.is_alphanumeric()).filter(|w| !w.is_empty()).map(str::to_lowercase).collect();
        let says = |named: &str| {
            let named: Vec<&str> = named.split(' ').collect();
            words.windows(named.len()).any(|w| w.iter().zip(&named).all(|(a, b)| a == b))
        };
        // What is never to be entered comes before what is not to be walked on.
        let named = || KEEP_OFF.iter().filter(|(words, _)| says(words)).map(|(_, usage)| *usage);
        named().find(|u| *u == Self::NoSearch).or_else(|| named().next())
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ground_that_words_call_dangerous_is_known_by_whole_words() {
        for (text, usage) in [
            ("quicksand", Some(ZoneUse::Mud)),
            ("Soft mud - keep out", Some(ZoneUse::NoSearch)),
            ("tidal channel", Some(ZoneUse::Channel)),
            ("Deep water!", Some(ZoneUse::Channel)),
            ("rock", Some(ZoneUse::Rocks)),
            ("NO ENTRY", Some(ZoneUse::NoSearch)),
            ("Sinking sand", Some(ZoneUse::Mud)),
            ("gutter press", None),
            ("Muddy Bar's seats", None),
            ("picnic", None),
            ("Do not dig", Some(ZoneUse::NoSearch)),
            ("Don't dig!", Some(ZoneUse::NoSearch)),
            ("No-dig", Some(ZoneUse::NoSearch)),
            ("Hazards", Some(ZoneUse::NoSearch)),
            ("where we dig", None),
            ("Betreten verboten", Some(ZoneUse::NoSearch)),
            ("Munitionsverdacht", Some(ZoneUse::NoSearch)),
            ("Interdit de fouiller", Some(ZoneUse::NoSearch)),
            ("Verboden te zoeken", Some(ZoneUse::NoSearch)),
            ("Niet graven", Some(ZoneUse::NoSearch)),
            ("Prohibido", Some(ZoneUse::NoSearch)),
            ("Vietato", Some(ZoneUse::NoSearch)),
            ("Forbudt område", Some(ZoneUse::NoSearch)),
            ("Kein Zutritt", Some(ZoneUse::NoSearch)),
            ("SSSI", Some(ZoneUse::NoSearch)),
            ("Scheduled Monument 12", Some(ZoneUse::NoSearch)),
            ("", None),
        ] {
            assert_eq!(ZoneUse::keep_off(text), usage, "{text}");
        }
    }
}
