use jiff::Timestamp;
use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use crate::book::{Book, Find, Kind, Uid, Weight};
use crate::earth::{Frame, Local};
pub use crate::effort::Share as Visit;
use crate::shore::{Setting, Shore};

/// What a reading is made from; all of it borrowed, none of it changed.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// The book, as a snapshot.
    pub book: &'a Book,
    /// The beach with its sand, water and bands.
    pub setting: &'a Setting,
    /// The ground covered, if tracks show it. Without it there are densities but no rates.
    pub covered: Option<&'a Covered>,
    /// The instant of the reading, to tell finds dated in the future.
    pub now: Option<Timestamp>,
}

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
}

/// A find with everything a reading asks of its place.
#[derive(Debug, Clone)]
pub(super) struct Placed {
    pub(super) uid: Uid,
    pub(super) kind: Kind,
    pub(super) weight: Weight,
    pub(super) time: Option<Timestamp>,
    pub(super) outing: Option<Uid>,
    pub(super) at: Local,
    /// Level of the sand above the land datum, metres.
    pub(super) land_m: Option<f64>,
    /// Which of the setting's bands.
    pub(super) band: Option<usize>,
}

/// A signal left undug, laid in the beach's plane.
#[derive(Debug, Clone, Copy)]
pub(super) struct Heard {
    pub(super) at: Local,
    /// Which of the setting's bands.
    pub(super) band: Option<usize>,
}

/// The finds of a beach laid in its plane, in order of uid, with what was left out and why.
pub(super) struct Laid {
    pub(super) frame: Frame,
    pub(super) finds: Vec<Placed>,
    /// Signals left undug, in order of uid; never among the finds.
    pub(super) signals: Vec<Heard>,
    pub(super) too_far: usize,
    pub(super) repeated: usize,
}

impl Ground<'_> {
    pub(super) fn shore(&self) -> Option<&Shore> {
        self.setting.shore.as_ref().ok().map(AsRef::as_ref)
    }

    /// Level of the sand at a place above the land datum, metres, and the band it lies in.
    fn level_and_band(&self, at: Local) -> (Option<f64>, Option<usize>) {
        let land_m = self.shore().and_then(|s| s.sand_level(at)).map(|l| l.land_m);
        let tide_m = land_m.zip(self.setting.beach.datum_offset_m).map(|(land, offset)| land + offset);
        (land_m, tide_m.and_then(|m| self.setting.bands.iter().position(|b| b.holds(m))))
    }

    pub(super) fn lay(&self) -> Result<Laid, super::ReadingError> {
        let beach = &self.setting.beach;
        let frame = Frame::centred_on(beach.origin)?;
        let all: Vec<&Find> = self.book.finds_of(beach.uid).collect();
        let place = |find: &&Find| {
            let at = frame.to_local(find.at).ok()?;
            let (land_m, band) = self.level_and_band(at);
            let (kind, weight) = (find.kind.clone(), find.weight_class());
            Some(Placed { uid: find.uid, kind, weight, time: find.time, outing: find.outing, at, land_m, band })
        };
        let mut finds: Vec<Placed> = all.par_iter().filter_map(place).collect();
        let too_far = all.len() - finds.len();
        // One thing noted twice: same kind at the same instant in the same place.
        let all = finds.len();
        let mut seen = std::collections::BTreeSet::new();
        finds.retain(|f| {
            let Some(time) = f.time else { return true };
            let mm = |v: f64| (v * 1000.0).round() as i64;
            seen.insert((f.kind.clone(), time, mm(f.at.east_m), mm(f.at.north_m)))
        });
        let heard = self.book.signals_of(beach.uid).filter_map(|s| frame.to_local(s.at).ok());
        let signals = heard.map(|at| Heard { at, band: self.level_and_band(at).1 }).collect();
        Ok(Laid { frame, signals, repeated: all - finds.len(), finds, too_far })
    }
}
