//! The slope of the sand at the water's edge, which says how high waves run up it.

use super::{SectionPoint, Setting, Shore};
use crate::sea::{Foreshore, RunUp};
use crate::tide::Window;
use jiff::Timestamp;

/// Sections along the shore are laid this far apart, metres, and this many at most.
const ALONG_M: f64 = 20.0;
const MOST_SECTIONS: f64 = 150.0;
/// Places across the shore are this far apart, metres.
const ACROSS_M: f64 = 2.5;
/// The slope at a place is that over so many steps to either side of it.
const BESIDE: usize = 2;
/// Steeper than this it is a wall, a cut or rock and no foreshore, metres a metre (common practice, no published
/// source: loose sand in the swash lies at less).
const STEEPEST: f64 = 0.3;
/// Waves run up the sand this far below a level before they reach it, metres.
const BELOW_M: f64 = 1.0;

impl Shore {
    /// The slope of the sand that lies between two levels above the land datum, metres, with its scatter along and
    /// across the shore; `None` where no sand of them is known.
    ///
    /// Sand that rises seaward, as behind a bar, is left out: waves run up the slope before it.
    pub fn foreshore(&self, (low_m, high_m): (f64, f64)) -> Option<Foreshore> {
        let (from_m, to_m) = self.along_range_m();
        let step_m = ALONG_M.max((to_m - from_m) / MOST_SECTIONS);
        let sections = ((to_m - from_m) / step_m).floor().max(0.0) as u32;
        let slopes = (0..=sections).flat_map(|n| {
            let section = self.section(from_m + f64::from(n) * step_m, ACROSS_M);
            slopes(&section, (low_m, high_m)).collect::<Vec<_>>()
        });
        let found = Foreshore::measured(slopes)?;
        // An even slope that was typed has no scatter to be measured.
        Some(if self.is_surveyed() { found } else { Foreshore::stated(found.slope) })
    }
}

/// The slopes of a section at its places between two levels.
fn slopes(section: &[SectionPoint], (low_m, high_m): (f64, f64)) -> impl Iterator<Item = f64> {
    section.windows(2 * BESIDE + 1).filter_map(move |run| {
        let (first, last) = (run.first()?, run.last()?);
        let length_m = last.across_m - first.across_m;
        let whole = length_m < (2 * BESIDE) as f64 * ACROSS_M * 1.5;
        let slope = (first.land_m - last.land_m) / length_m;
        let level_m = run.get(BESIDE)?.land_m;
        (whole && (low_m..=high_m).contains(&level_m) && slope > 0.0 && slope <= STEEPEST).then_some(slope)
    })
}

impl Setting {
    /// The slope that waves run up while the water stands between two levels above the tide's datum, metres: of the
    /// sand between them, else of all sand that is known, else [`Foreshore::UNKNOWN`].
    pub fn foreshore(&self, (low_m, high_m): (f64, f64)) -> Foreshore {
        let known = self.shore.as_ref().ok().zip(self.beach.datum_offset_m).and_then(|(shore, offset_m)| {
            let all = (f64::NEG_INFINITY, f64::INFINITY);
            shore.foreshore((low_m - offset_m, high_m - offset_m)).or_else(|| shore.foreshore(all))
        });
        known.unwrap_or(Foreshore::UNKNOWN)
    }

    /// The highest run-up in `from..to` while the water stands between two levels above the tide's datum, metres.
    pub fn run_up_between(&self, levels_m: (f64, f64), from: Timestamp, to: Timestamp) -> RunUp {
        self.sea.highest(self.foreshore(levels_m), from, to)
    }

    /// The slope that waves run up before they reach a level above the tide's datum, metres.
    pub(crate) fn foreshore_below(&self, level_m: f64) -> Foreshore {
        self.foreshore((level_m - BELOW_M, level_m))
    }

    /// When sand of a level above the tide's datum, metres, is dry in `from..to`: the weather and another margin are
    /// kept, and the run-up of each hour.
    pub(crate) fn dry_windows(&self, level_m: f64, margin_m: f64, (from, to): (Timestamp, Timestamp)) -> Vec<Window> {
        let Some(water) = &self.water else { return Vec::new() };
        let margin_m = margin_m + self.surge.margin_m() + self.source_margin_m();
        self.sea.dry_windows(water, (level_m, margin_m), self.foreshore_below(level_m), (from, to))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::shore::LevelSource;

    fn section(level: impl Fn(f64) -> f64) -> Vec<SectionPoint> {
        (0..80)
            .map(|n| f64::from(n) * ACROSS_M)
            .map(|across_m| SectionPoint { across_m, land_m: level(across_m), sigma_m: 0.0, from: LevelSource::Surveyed })
            .collect()
    }

    #[test]
    fn a_section_gives_its_slope_at_each_level_and_a_wall_is_no_foreshore() {
        let face = section(|x| if x < 50.0 { 5.0 - 0.08 * x } else { 1.0 - 0.02 * (x - 50.0) });
        let between = |low, high| Foreshore::measured(slopes(&face, (low, high))).unwrap();
        assert!((between(1.8, 4.0).slope - 0.08).abs() < 1e-9 && (between(-1.0, 0.5).slope - 0.02).abs() < 1e-9);
        assert!(between(-1.0, 4.0).steep() > 0.07);
        let wall = section(|x| if x < 50.0 { 5.0 } else { 1.0 - 0.02 * (x - 50.0) });
        assert!(slopes(&wall, (-5.0, 6.0)).all(|s| s < 0.021));
        let bar = section(|x| 2.0 - 0.02 * x + (x / 20.0).sin());
        assert!(slopes(&bar, (-5.0, 6.0)).all(|s| s > 0.0));
    }
}
