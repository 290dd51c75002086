use super::{DrawnPlace, Patch, Placing, Relief};
use crate::Progress;
use crate::query::Given;
use crate::shore::{LevelSource, Setting, Shore, ShorePoint};

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
    pub(crate) lines: Vec<Vec<DrawnPlace>>,
}

/// Everything that the shape of the beach and its tide levels decide.
pub(crate) struct Land {
    /// Another one for every land laid out.
    pub(crate) serial: u64,
    pub(crate) setting: Given<Setting>,
    pub(crate) placing: Placing,
    pub(crate) relief: Relief,
    pub(crate) strips: Vec<Strip>,
    /// The part of all that whose level is a guess, as nobody surveyed it.
    pub(crate) unsurveyed: Patch,
    /// From the highest down.
    pub(crate) tide_lines: Vec<TideLine>,
    pub(crate) baseline: Vec<DrawnPlace>,
}

/// Net for drawing: at most so many knots along and across.
const NET: (usize, usize) = (240, 120);
/// How wet ground looks whose tide level is not known.
const UNKNOWN_WET: f32 = 0.3;

impl Land {
    /// The land of a beach laid out.
    ///
    /// # Errors
    /// A sentence when the beach lies where no plane can be laid, or the work was called off.
    pub(crate) fn drawn(setting: Given<Setting>, progress: &Progress) -> Result<Self, String> {
        let placing = Placing::new(&setting).map_err(|e| e.to_string())?;
        let shore = placing.shore().cloned();
        let mut land = Self {
            serial: super::next_serial(),
            baseline: shore.iter().flat_map(|s| s.baseline().points()).map(|p| placing.of_local(p)).collect(),
            setting,
            placing,
            relief: Relief::default(),
            strips: Vec::new(),
            unsurveyed: Patch::default(),
            tide_lines: Vec::new(),
        };
        if let Some(shore) = shore.filter(|s| s.level_range_m().is_some()) {
            land.lay(&shore, progress)?;
        }
        Ok(land)
    }

    fn lay(&mut self, shore: &Shore, progress: &Progress) -> Result<(), String> {
        let ((a0, a1), (c0, c1)) = (shore.along_range_m(), shore.across_range_m());
        let knots = |span: f64, most: usize| ((span / 1.5).ceil() as usize).clamp(2, most);
        let (columns, rows) = (knots(a1 - a0, NET.0), knots(c1 - c0, NET.1));
        let placing = &self.placing;
        let mut called_off = None;
        let mut guessed = Vec::with_capacity(columns * rows);
        let relief = Relief::sample(columns, rows, |column, row| {
            if column == 0 {
                called_off = called_off.or(progress.check().err());
            }
            let share = |n: usize, of: usize| n as f64 / (of - 1) as f64;
            let s = ShorePoint::new(a0 + share(column, columns) * (a1 - a0), c0 + share(row, rows) * (c1 - c0));
            let level = if called_off.is_some() { None } else { shore.sand_level(shore.to_local(s)) };
            guessed.push(level.is_some_and(|l| l.from != LevelSource::Surveyed));
            (level.map(|l| l.land_m), placing.of_shore(s))
        });
        if let Some(off) = called_off {
            return Err(off.to_string());
        }
        self.tide_lines = self
            .setting
            .marks
            .iter()
            .filter_map(|m| {
                let land_m = self.land_m(m.level_m)?;
                Some(TideLine { name: m.name.clone(), tide_m: m.level_m, land_m, lines: relief.contour(land_m as f32) })
            })
            .collect();
        let mut upper = f32::INFINITY;
        for n in 0..=self.tide_lines.len() {
            let low = self.tide_lines.get(n).map_or(f32::NEG_INFINITY, |t| t.land_m as f32);
            self.strips.push(Strip { patch: relief.strip(low, upper), wet: self.wet(n) });
            upper = low;
        }
        self.unsurveyed = relief.touching(|knot| guessed[knot]);
        self.relief = relief;
        Ok(())
    }

    /// How wet the n-th strip from the top is.
    fn wet(&self, n: usize) -> f32 {
        if self.tide_lines.is_empty() { UNKNOWN_WET } else { n as f32 / self.tide_lines.len() as f32 }
    }

    /// How wet sand at a land-datum level is.
    pub(crate) fn wet_at(&self, land_m: f64) -> f32 {
        self.wet(self.tide_lines.iter().filter(|t| t.land_m > land_m).count())
    }

    /// The land-datum level at which a tide level stands, when the offset is known.
    pub(crate) fn land_m(&self, tide_m: f64) -> Option<f64> {
        self.setting.water_land_m(tide_m)
    }
}
