//! The ground covered on a beach, as a reading takes it: squares along and across the shore.

use std::collections::{BTreeMap, BTreeSet};

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::Progress;
use crate::book::{Track, Uid};
use crate::earth::{Local, LonLat};
use crate::effort::{Effort, EffortError, EffortTables, Params, Stretch, StretchKind, Visit};
use crate::reading::error::ReadingError;
use crate::shore::{Setting, Shore};

/// One square of ground and how well it was searched.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct CoveredCell {
    /// Metres along at its middle.
    pub along_m: f64,
    /// Metres across at its middle.
    pub across_m: f64,
    /// Ground in it that the coil went over at least once, m².
    pub swept_m2: f64,
    /// How often the coil went over the swept ground, on average; at least 1.
    pub passes: f64,
}

/// The ground covered, in squares along and across the shore; squares never swept are left out.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Covered {
    /// Side of a square, metres.
    pub cell_m: f64,
    /// The squares, in any order but each once.
    pub cells: Vec<CoveredCell>,
    /// What each outing swept, square by square and in order of time; empty when outings are not told apart.
    #[serde(default)]
    pub visits: Vec<Visit>,
    /// When the coil was in use; empty when no track has times.
    #[serde(default)]
    pub searched: Vec<Searched>,
}

/// A stretch of time through which the coil was in use.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Searched {
    /// The outing, if known.
    pub outing: Option<Uid>,
    /// When it began, seconds since 1970-01-01 UTC.
    pub from_s: f64,
    /// When it ended.
    pub to_s: f64,
    /// Length times width of the swath, m²: ground passed twice counts twice.
    pub swath_m2: f64,
    /// Which of the setting's bands it was, if known.
    #[serde(default)]
    pub band: Option<usize>,
}

impl Covered {
    /// Ground swept in all, m².
    pub fn swept_m2(&self) -> f64 {
        self.cells.iter().map(|c| c.swept_m2).sum()
    }

    /// The same as of one visit, where outings are not told apart; `None` where they are.
    pub(in crate::reading) fn as_one_visit(&self) -> Option<Self> {
        if !self.visits.is_empty() || self.cells.is_empty() {
            return None;
        }
        let visit = |(cell, c): (usize, &CoveredCell)| {
            let swept_m2 = c.swept_m2.max(0.0);
            Visit { cell, outing: None, swept_m2, fresh_m2: swept_m2 }
        };
        let visits = self.cells.iter().enumerate().map(visit).collect();
        Some(Self { visits, ..self.clone() })
    }

    /// The ground covered on a beach, along and across its shore, with the effort behind it, whose
    /// shares become [`Covered::visits`]; `None` where no track shows any or the beach has no shape yet.
    ///
    /// # Errors
    /// [`ReadingError::Effort`] when a setting cannot be, [`ReadingError::Cancelled`] when called off.
    pub fn from_tracks(
        book: impl Into<EffortTables>,
        setting: &Setting,
        params: &Params,
        progress: &Progress,
    ) -> Result<Option<(Self, Effort)>, ReadingError> {
        let book = book.into();
        let Ok(shore) = &setting.shore else { return Ok(None) };
        let on_grid = |p: Local| {
            let s = shore.to_shore(p);
            Local::new(s.along_m, s.across_m)
        };
        let mut effort = Effort::from_tracks(&book, &setting.beach, on_grid, params, progress).map_err(|e| match e {
            EffortError::Cancelled(c) => ReadingError::Cancelled(c),
            other => ReadingError::Effort(other),
        })?;
        if effort.cells.is_empty() {
            return Ok(None);
        }
        let cells = effort
            .cells
            .iter()
            .map(|c| CoveredCell { along_m: c.along_m, across_m: c.across_m, swept_m2: c.swept_m2, passes: c.passes })
            .collect();
        // Millions on a large beach, so they are handed on and not copied.
        let visits = std::mem::take(&mut effort.shares);
        let in_use: Vec<&Stretch> = effort.stretches.iter().filter(|s| s.kind == StretchKind::Searched).collect();
        let tracks: BTreeSet<Uid> = in_use.iter().map(|s| s.track).collect();
        let passed = |uid: &Uid| (*uid, book.tracks().get(uid).map(|t| passed(t, setting, shore)).unwrap_or_default());
        let passed: BTreeMap<Uid, Vec<Passed>> = tracks.par_iter().map(passed).collect();
        let searched = in_use.iter().flat_map(|s| by_band(s, params.overlap, passed.get(&s.track).map_or(&[], Vec::as_slice)));
        let searched = searched.collect();
        Ok(Some((Self { cell_m: params.cell_m, cells, visits, searched }, effort)))
    }
}

/// When a track was in which band.
#[derive(Debug, Clone, Copy)]
struct Passed {
    time_s: f64,
    band: Option<usize>,
}

/// The band of a track is looked up every so many seconds: lanes run along the shore, and a band is not crossed in less.
const LOOK_S: f64 = 10.0;

/// The bands that a track passed through, in order of time.
fn passed(track: &Track, setting: &Setting, shore: &Shore) -> Vec<Passed> {
    let Some(offset_m) = setting.beach.datum_offset_m else { return Vec::new() };
    let band_at = |at: LonLat| {
        let tide_m = shore.sand_level(shore.frame().to_local(at).ok()?)?.land_m + offset_m;
        setting.bands.iter().position(|b| b.holds(tide_m))
    };
    let mut last_s = f64::NEG_INFINITY;
    let mut passed: Vec<Passed> = Vec::new();
    for point in track.points() {
        let Some(time_s) = point.time_s().filter(|t| (t - last_s).abs() >= LOOK_S) else { continue };
        passed.push(Passed { time_s, band: band_at(point.at) });
        last_s = time_s;
    }
    passed.sort_by(|a, b| a.time_s.total_cmp(&b.time_s));
    passed
}

/// A stretch parted where the track goes from one band into another, half way between the two looks; its swath goes by time.
fn by_band(stretch: &Stretch, overlap: f64, passed: &[Passed]) -> Vec<Searched> {
    let Some((from_s, to_s)) = stretch.from_s.zip(stretch.to_s) else { return Vec::new() };
    let piece = |from_s, to_s, swath_m2, band| Searched { outing: stretch.outing, from_s, to_s, swath_m2, band };
    let swath_m2 = stretch.length_m * stretch.swath_m * overlap;
    // The looks within, and the one before them that tells where it began.
    let first = passed.partition_point(|p| p.time_s <= from_s).saturating_sub(1);
    let looks = &passed[first..passed.partition_point(|p| p.time_s < to_s).max(first)];
    let Some(at_first) = looks.first().or(passed.get(first)) else { return vec![piece(from_s, to_s, swath_m2, None)] };
    let mut pieces = Vec::new();
    let (mut since_s, mut band) = (from_s, at_first.band);
    let share = |a: f64, b: f64| if to_s > from_s { swath_m2 * (b - a) / (to_s - from_s) } else { swath_m2 };
    for pair in looks.windows(2).filter(|w| w[0].band != w[1].band) {
        let change_s = 0.5 * (pair[0].time_s + pair[1].time_s);
        if change_s > since_s {
            pieces.push(piece(since_s, change_s, share(since_s, change_s), band));
            since_s = change_s;
        }
        band = pair[1].band;
    }
    pieces.push(piece(since_s, to_s, share(since_s, to_s), band));
    pieces
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_stretch_is_parted_where_its_track_changes_bands_and_loses_nothing() {
        let stretch = Stretch {
            track: Uid::of_content("track", []),
            outing: None,
            kind: StretchKind::Searched,
            from_s: Some(100.0),
            to_s: Some(200.0),
            length_m: 50.0,
            swath_m: 0.5,
        };
        let look = |time_s: f64, band: usize| Passed { time_s, band: Some(band) };
        let told = |passed: &[Passed]| -> Vec<(f64, f64, f64, Option<usize>)> {
            by_band(&stretch, 0.8, passed).iter().map(|s| (s.from_s, s.to_s, s.swath_m2, s.band)).collect()
        };
        assert_eq!(told(&[]), [(100.0, 200.0, 20.0, None)]);
        assert_eq!(told(&[look(0.0, 3)]), [(100.0, 200.0, 20.0, Some(3))]);
        assert_eq!(told(&[look(500.0, 2)]), [(100.0, 200.0, 20.0, Some(2))]);
        let through = [look(90.0, 1), look(110.0, 1), look(130.0, 2), look(170.0, 2), look(190.0, 1), look(210.0, 0)];
        assert_eq!(told(&through), [(100.0, 120.0, 4.0, Some(1)), (120.0, 180.0, 12.0, Some(2)), (180.0, 200.0, 4.0, Some(1))]);
        // A change before the stretch began is none of its own.
        assert_eq!(told(&[look(85.0, 4), look(101.0, 1), look(150.0, 1)]), [(100.0, 200.0, 20.0, Some(1))]);
    }
}
