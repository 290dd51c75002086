use std::sync::Arc;

use super::{Both, Patch, Placing, Relief};
use crate::Progress;
use crate::book::{Beach, Book, Uid};
use crate::shore::{Shore, ShorePoint, TideMark, newest_levels};
use crate::tide::{Levels, Water};

/// The ground between two tide levels, ready to fill.
pub(crate) struct Strip {
    pub(crate) patch: Patch,
    /// How wet: 0 above every tide, 1 below every tide.
    pub(crate) wet: f32,
}

/// A named tide level on the sand.
pub(crate) struct TideLine {
    pub(crate) name: String,
    /// Above the tide's datum, metres.
    pub(crate) tide_m: f64,
    /// Above the land datum, metres.
    pub(crate) land_m: f64,
    pub(crate) lines: Vec<Vec<Both>>,
}

/// Everything that the shape of the beach and its tide levels decide.
pub(crate) struct Land {
    pub(crate) placing: Placing,
    pub(crate) relief: Relief,
    pub(crate) strips: Vec<Strip>,
    pub(crate) unknown: Patch,
    /// From the highest down.
    pub(crate) tide_lines: Vec<TideLine>,
    pub(crate) baseline: Vec<Both>,
    /// Tide level = land level + this, metres.
    pub(crate) offset_m: Option<f64>,
    /// What is missing, each a sentence that says what to do.
    pub(crate) missing: Vec<String>,
}

/// Net for drawing: at most so many knots along and across.
const NET: (usize, usize) = (240, 120);
/// Surveys older than the newest level within this distance are left out, metres.
const NEWEST_WITHIN_M: f64 = 15.0;

impl Land {
    /// The land of a beach as the book knows it.
    ///
    /// # Errors
    /// A sentence when the beach is not in the book, lies where no plane can be laid, or the work was called off.
    pub(crate) fn of(book: &Book, beach: Uid, water: Option<&Water>, progress: &Progress) -> Result<Self, String> {
        let beach = book.beaches().get(&beach).ok_or("the beach is no longer in the book")?;
        let mut missing = Vec::new();
        let shore = match shape(book, beach) {
            Ok(shore) => Some(Arc::new(shore)),
            Err(why) => {
                missing.push(why);
                None
            }
        };
        progress.check().map_err(|e| e.to_string())?;
        let placing = Placing::new(beach, shore.clone()).map_err(|e| e.to_string())?;
        let marks = water.map(|w| tide_marks(w.levels())).unwrap_or_default();
        if water.is_none() {
            missing.push("This beach has no tide source: choose a station or import a tide table under Beach.".to_owned());
        } else if beach.datum_offset_m.is_none() {
            missing.push(
                "The offset between land datum and tide datum is not set, so the tide cannot be laid on the sand: set it under Beach."
                    .to_owned(),
            );
        }
        let mut land = Self {
            baseline: shore
                .as_ref()
                .map(|s| s.baseline().points().into_iter().map(|p| placing.of_local(p)).collect())
                .unwrap_or_default(),
            placing,
            relief: Relief::default(),
            strips: Vec::new(),
            unknown: Patch::default(),
            tide_lines: Vec::new(),
            offset_m: beach.datum_offset_m,
            missing,
        };
        if let Some(shore) = shore {
            land.lay(&shore, &marks, progress)?;
        }
        Ok(land)
    }

    fn lay(&mut self, shore: &Shore, marks: &[TideMark], progress: &Progress) -> Result<(), String> {
        if shore.level_range_m().is_none() {
            self.missing.push(
                "The level of the sand is not known: import at least three surveyed levels, or set a slope under Beach.".to_owned(),
            );
            return Ok(());
        }
        let ((a0, a1), (c0, c1)) = (shore.along_range_m(), shore.across_range_m());
        let knots = |span: f64, most: usize| ((span / 1.5).ceil() as usize).clamp(2, most);
        let (columns, rows) = (knots(a1 - a0, NET.0), knots(c1 - c0, NET.1));
        let placing = &self.placing;
        let mut called_off = None;
        let relief = Relief::sample(columns, rows, |column, row| {
            if column == 0 {
                called_off = called_off.or(progress.check().err());
            }
            let share = |n: usize, of: usize| n as f64 / (of - 1) as f64;
            let s = ShorePoint::new(a0 + share(column, columns) * (a1 - a0), c0 + share(row, rows) * (c1 - c0));
            let level = if called_off.is_some() { None } else { shore.sand_level(shore.to_local(s)) };
            (level.map(|l| l.land_m), placing.of_shore(s))
        });
        if let Some(off) = called_off {
            return Err(off.to_string());
        }
        let offset_m = self.offset_m;
        let edges: Vec<(&TideMark, f64)> = marks.iter().filter_map(|m| Some((m, m.level_m - offset_m?))).collect();
        let mut upper = f32::INFINITY;
        for n in 0..=edges.len() {
            let low = edges.get(n).map_or(f32::NEG_INFINITY, |(_, land_m)| *land_m as f32);
            let wet = if edges.is_empty() { 0.35 } else { n as f32 / edges.len() as f32 };
            self.strips.push(Strip { patch: relief.strip(low, upper), wet });
            upper = low;
        }
        self.tide_lines = edges
            .iter()
            .map(|(mark, land_m)| TideLine {
                name: mark.name.clone(),
                tide_m: mark.level_m,
                land_m: *land_m,
                lines: relief.contour(*land_m as f32),
            })
            .collect();
        self.unknown = relief.unknown();
        self.relief = relief;
        Ok(())
    }

    /// The land-datum level at which a water level stands, when the offset is known.
    pub(crate) fn land_m(&self, tide_m: f64) -> Option<f64> {
        Some(tide_m - self.offset_m?)
    }
}

/// The shape of the beach from its newest levels.
fn shape(book: &Book, beach: &Beach) -> Result<Shore, String> {
    let frame = crate::earth::Frame::centred_on(beach.origin).map_err(|e| e.to_string())?;
    let levels = newest_levels(&frame, book.levels_of(beach.uid), NEWEST_WITHIN_M);
    Shore::build(beach, levels).map_err(|e| {
        let mut said = e.to_string();
        if let Some(first) = said.get_mut(0..1) {
            first.make_ascii_uppercase();
        }
        said + "."
    })
}

/// The tide levels that divide a beach, from the highest down: springs and neaps where the tide has
/// them, else the means of high and low waters.
pub(crate) fn tide_marks(levels: &Levels) -> Vec<TideMark> {
    let springs = [
        ("HAT", levels.hat),
        ("MHWS", levels.mhws),
        ("MHWN", levels.mhwn),
        ("MSL", levels.msl),
        ("MLWN", levels.mlwn),
        ("MLWS", levels.mlws),
    ];
    let means = [
        ("HAT", levels.hat),
        ("MHHW", levels.mhhw),
        ("MHW", levels.mhw),
        ("MSL", levels.msl),
        ("MLW", levels.mlw),
        ("MLLW", levels.mllw),
    ];
    let chosen = if levels.mhws.is_some() && levels.mlws.is_some() { springs } else { means };
    let mut marks: Vec<TideMark> = chosen.into_iter().filter_map(|(name, l)| Some(TideMark::new(name, l?.m))).collect();
    marks.sort_by(|a, b| b.level_m.total_cmp(&a.level_m));
    // Levels a hand apart make no band worth its name.
    marks.dedup_by(|b, a| (a.level_m - b.level_m).abs() < 0.05);
    marks
}
