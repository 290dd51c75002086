//! Finds, signals and tracks in the formats that other programs read, for oneself: exact in place and time.

use std::path::Path;

use super::error::ExchangeError;
use super::formats::{geojson, gpx, kml, table};
use crate::book::{Find, Signal, Track};

/// A format to write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// GPS Exchange Format 1.1. Of a find it keeps place, time, words and notes.
    Gpx,
    /// KML 2.2.
    Kml,
    /// A table of delimited text: finds and signals, or tracks.
    Csv,
    /// GeoJSON, RFC 7946. A run of a single fix is left out, as no line has one position.
    GeoJson,
}

impl Written {
    /// Every format with its word, which is also the ending of its files.
    pub const ALL: [(Self, &'static str); 4] =
        [(Self::Gpx, "gpx"), (Self::Kml, "kml"), (Self::Csv, "csv"), (Self::GeoJson, "geojson")];

    /// The word for it.
    pub fn word(self) -> &'static str {
        Self::ALL.iter().find(|(f, _)| *f == self).map_or("", |(_, word)| word)
    }

    /// The format of a word; `json` is GeoJSON too.
    pub fn named(word: &str) -> Option<Self> {
        let word = word.trim().to_lowercase();
        let word = if word == "json" { "geojson" } else { word.as_str() };
        Self::ALL.iter().find(|(_, w)| *w == word).map(|(f, _)| *f)
    }

    /// The format that the ending of a file's name names.
    pub fn of_path(path: &Path) -> Option<Self> {
        Self::named(path.extension()?.to_str()?)
    }
}

/// What is to be written.
#[derive(Debug, Clone, Default)]
pub struct Chosen<'b> {
    /// What the whole is called.
    pub name: String,
    /// Finds.
    pub finds: Vec<&'b Find>,
    /// Signals.
    pub signals: Vec<&'b Signal>,
    /// Tracks.
    pub tracks: Vec<&'b Track>,
}

impl Chosen<'_> {
    /// Whether there is nothing in it.
    pub fn is_empty(&self) -> bool {
        self.finds.is_empty() && self.signals.is_empty() && self.tracks.is_empty()
    }
}

/// Writes what was chosen. The readers of this room take each of these files back, and know the records again.
///
/// # Errors
/// [`ExchangeError::Write`] for a track without positions, and for a table of tracks with something else.
pub fn export(chosen: &Chosen<'_>, written: Written) -> Result<Vec<u8>, ExchangeError> {
    let Chosen { name, finds, signals, tracks } = chosen;
    match written {
        Written::Gpx => {
            let mut content = gpx::tracks(name.clone(), tracks.iter().copied());
            content.waypoints = gpx::finds(finds.iter().copied());
            content.waypoints.extend(gpx::signals(signals.iter().copied()));
            gpx::write(&content)
        }
        Written::Kml => kml::write(name, finds, signals, tracks),
        Written::Csv if tracks.is_empty() => table::points(finds, signals),
        Written::Csv if finds.is_empty() && signals.is_empty() => table::tracks(tracks),
        Written::Csv => Err(ExchangeError::Write {
            what: "one table".to_owned(),
            why: "a table holds either finds and signals or tracks; choose one of them".to_owned(),
        }),
        Written::GeoJson => {
            let mut features = geojson::finds(finds.iter().copied());
            features.extend(geojson::signals(signals.iter().copied()));
            features.extend(geojson::tracks(tracks.iter().copied()));
            geojson::write(&features)
        }
    }
}
