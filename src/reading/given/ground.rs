use jiff::Timestamp;
use jiff::tz::TimeZone;
use rayon::prelude::*;

use super::covered::Covered;
use super::pinned::pinned;
use super::placed::{Heard, Placed, PlacedFinds};
use super::tables::ReadingTables;
use crate::book::{Find, Weight};
use crate::earth::{Frame, Local};
use crate::reading::error::ReadingError;
use crate::shore::{Setting, Shore};

/// What a reading is made from; all of it borrowed, none of it changed.
#[derive(Clone, Copy)]
pub struct Ground<'a> {
    /// The book, as a snapshot.
    pub book: &'a ReadingTables,
    /// The beach with its sand, water and bands.
    pub setting: &'a Setting,
    /// The ground covered, if tracks show it. Without it there are densities but no rates.
    pub covered: Option<&'a Covered>,
    /// The instant of the reading, to tell finds dated in the future.
    pub now: Option<Timestamp>,
}

impl Ground<'_> {
    pub(in crate::reading) fn shore(&self) -> Option<&Shore> {
        self.setting.shore.as_ref().ok().map(AsRef::as_ref)
    }

    /// Level of the sand at a place above the land datum, metres, and the band it lies in.
    fn level_and_band(&self, at: Local) -> (Option<f64>, Option<usize>) {
        let land_m = self.shore().and_then(|s| s.sand_level(at)).map(|l| l.land_m);
        let tide_m = land_m.zip(self.setting.beach.datum_offset_m).map(|(land, offset)| land + offset);
        (land_m, tide_m.and_then(|m| self.setting.bands.iter().position(|b| b.holds(m))))
    }

    pub(in crate::reading) fn lay(&self) -> Result<PlacedFinds, ReadingError> {
        let beach = &self.setting.beach;
        let frame = Frame::centred_on(beach.origin)?;
        let zone = beach.zone().unwrap_or(TimeZone::UTC);
        let all: Vec<&Find> = self.book.finds_of(beach.uid).collect();
        let place = |find: &&Find| {
            let at = frame.to_local(find.at).ok()?;
            let (land_m, band) = self.level_and_band(at);
            let (kind, iron) = (find.kind.clone(), find.is_iron());
            let weight = if iron { Weight::Unknown } else { find.weight_class() };
            Some(Placed {
                uid: find.uid,
                kind,
                weight,
                iron,
                time: find.time,
                minute: find.minute(&zone),
                outing: find.outing,
                at,
                land_m,
                band,
                pinned: false,
            })
        };
        let mut finds: Vec<Placed> = all.par_iter().filter_map(place).collect();
        let too_far = all.len() - finds.len();
        // One thing noted twice: same kind at the same instant in the same place.
        let all = finds.len();
        let mut seen = std::collections::BTreeSet::new();
        finds.retain(|f| {
            let Some(time) = f.minute else { return true };
            let mm = |v: f64| (v * 1000.0).round() as i64;
            seen.insert((f.kind.clone(), time, mm(f.at.east_m), mm(f.at.north_m)))
        });
        let (is_pinned, heaps) = pinned(&finds.iter().map(|f| f.at).collect::<Vec<_>>());
        finds.iter_mut().zip(is_pinned).for_each(|(f, pinned)| f.pinned = pinned);
        let heard = self.book.signals_of(beach.uid).filter_map(|s| frame.to_local(s.at).ok());
        let signals = heard.map(|at| Heard { at, band: self.level_and_band(at).1 }).collect();
        Ok(PlacedFinds { frame, signals, repeated: all - finds.len(), finds, heaps, too_far })
    }
}
