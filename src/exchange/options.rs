use std::collections::BTreeMap;

use jiff::Timestamp;
use jiff::tz::TimeZone;

use super::error::Fault;
use super::take_in::About;
use super::tools::heading::{Meaning, meaning};
use super::what::What;
use crate::book::Uid;
use crate::earth::Grid;

/// Headings in lower case, each with the meaning it is given.
pub(super) type Given = Vec<(String, Option<Meaning>)>;

/// What the person says about a file rather than leaving it to a guess.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Options {
    /// What its records are.
    pub what: Option<What>,
    /// The beach they belong to. `None`: the only beach, else the nearest within 20 km.
    pub beach: Option<Uid>,
    /// Whether that beach was made for these files, centred on them, so that where it lies says nothing of them.
    pub of_new_beach: bool,
    /// The grid of its coordinates, such as `EPSG:27700`, when they are not longitude and latitude.
    pub grid: Option<String>,
    /// Significant wave height from which the sea counts as a storm, metres. `None`: 2.0.
    pub storm_threshold_m: Option<f64>,
    /// Whether `03/04` is the third of April. `None`: told from the file, else day first.
    pub day_first: Option<bool>,
    /// The clock of times that state no offset, a name such as `UTC` or `Europe/London`. `None`: the beach's own.
    pub zone: Option<String>,
    /// Whether levels and heights of a tide table or gauge record that state no unit are feet rather than metres.
    pub feet: bool,
    /// How far the clock of the camera was ahead of UTC, seconds, for photographs without the satellites' time. `None`: as
    /// they say, or as others of the same camera show.
    pub camera_clock_s: Option<i64>,
    /// What columns of a table mean, by their headings: a heading and a word that heads such columns as a rule, such as
    /// `depth_cm`, or [`Options::LEFT`] for one that is only kept with the notes.
    pub columns: Vec<(String, String)>,
    /// Whether `columns` are said of many tables at once, so that one which lacks some of them is no mistake.
    pub columns_where_there: bool,
    /// What the person answered where a file leaves something open: an answer of [`About::answers`] for each.
    pub answers: BTreeMap<About, &'static str>,
    /// Whose finds they are, where they are another person's: kept apart from one's own, and in no outing.
    pub by: Option<String>,
    /// The present instant, by which a track of the future is known. `None`: the machine's clock.
    pub now: Option<Timestamp>,
}

impl Options {
    pub(super) fn grid(&self) -> Result<Option<Grid>, Fault> {
        self.grid.as_deref().map(Grid::named).transpose().map_err(|e| Fault::Option(e.to_string()))
    }

    /// The word for a column that means nothing here.
    pub const LEFT: &'static str = "none";

    /// What a column can be said to mean: the word for `--columns`, and how it is called.
    pub const MEANINGS: &[(&str, &str)] = &[
        (Self::LEFT, "only kept"),
        ("lat", "latitude"),
        ("lon", "longitude"),
        ("latlon", "latitude and longitude"),
        ("gridref", "grid reference"),
        ("easting", "easting"),
        ("northing", "northing"),
        ("date", "date"),
        ("clock", "time of day"),
        ("time", "date and time"),
        ("what", "what it is"),
        ("kind", "kind"),
        ("target_id", "target ID"),
        ("depth_cm", "depth, centimetres"),
        ("depth_in", "depth, inches"),
        ("mass_g", "mass, grams"),
        ("size_mm", "size, millimetres"),
        ("material", "material"),
        ("condition", "condition"),
        ("age", "age"),
        ("value", "value"),
        ("finder", "finder"),
        ("permission", "permission"),
        ("disposal", "what became of it"),
        ("reported", "reported to"),
        ("photo", "photo"),
        ("notes", "notes"),
        ("level_m", "level of the sand, metres"),
        ("sigma_m", "error of the level, metres"),
        ("hs_m", "wave height, metres"),
        ("tp_s", "wave period, seconds"),
        ("dir", "wave direction"),
        ("surge_m", "surge, metres"),
        ("name", "name"),
    ];

    /// The meanings that columns are given, by their headings in lower case.
    pub(super) fn columns(&self) -> Result<Given, Fault> {
        Self::columns_of(&self.columns)
    }

    /// The same of what was said of them.
    pub(super) fn columns_of(said: &[(String, String)]) -> Result<Given, Fault> {
        let unknown = |word: &str| {
            Fault::Option(format!(
                "\"{word}\" is no meaning of a column; use a heading that is known, such as lat, lon, what, kind, date, time, depth_cm, target_id, \
                 mass_g, notes, level_m, grid_ref, or {} for none",
                Self::LEFT
            ))
        };
        let given = |(heading, word): &(String, String)| {
            let named = if word.trim().eq_ignore_ascii_case(Self::LEFT) {
                None
            } else {
                Some(meaning(word).ok_or_else(|| unknown(word))?)
            };
            Ok((heading.trim().to_lowercase(), named))
        };
        said.iter().map(given).collect()
    }

    pub(super) fn zone(&self) -> Result<Option<TimeZone>, Fault> {
        let named = |name: &str| {
            TimeZone::get(name.trim())
                .map_err(|_| Fault::Option(format!("\"{name}\" is not a zone name such as Europe/London or UTC")))
        };
        self.zone.as_deref().map(named).transpose()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_meaning_that_is_offered_is_one() {
        for (word, said) in Options::MEANINGS {
            let given = Options::columns_of(&[("Some heading".to_owned(), (*word).to_owned())]).unwrap();
            assert_eq!(given[0].1.is_none(), *word == Options::LEFT, "{word}, {said}");
        }
    }
}
