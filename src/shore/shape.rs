use geo::{Area, MapCoords};
use geo_types::{Coord, LineString, MultiLineString, MultiPolygon};
use serde::Serialize;

use super::band::{Band, TideMark, strips};
use super::flat::flat_of;
use super::rise::rise_of;
use super::step::{MOST, step_of};
use super::surface::{Slope, Surface};
use super::{Baseline, Gap, LevelSource, SandLevel, ShoreError, ShorePoint, SmallGaps};
use crate::book::{Beach, LevelPoint};
use crate::earth::{EarthError, Frame, Local, LonLat};
use crate::trust::{FlatSand, SandFront, SandRise, SandSpan, SurveyStep};

/// How far from the baseline along and across should hold, metres, unless the levels reach further.
const USUAL_REACH_M: f64 = 300.0;
/// No more than about so many levels are looked at for what is no sand.
const MOST_HELD: usize = 20_000;
/// A section has at most this many points.
const MOST_POINTS: f64 = 20_000.0;

/// The shape of one beach, ready to answer. Build it again when the beach or its levels change.
pub struct Shore {
    name: String,
    frame: Frame,
    baseline: Baseline,
    surface: Surface,
    datum_offset_m: Option<f64>,
    along_m: (f64, f64),
    across_m: (f64, f64),
}

/// One place of a section across the shore.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SectionPoint {
    /// Metres seaward of the baseline.
    pub across_m: f64,
    /// Level of the sand above the land datum, metres.
    pub land_m: f64,
    /// Its standard error, metres.
    pub sigma_m: f64,
    /// Where the level comes from.
    pub from: LevelSource,
}

impl Shore {
    /// The shape that a beach and its surveyed levels make.
    ///
    /// Of levels on top of each other the latest day wins; to drop older surveys over a wider
    /// reach pass the levels through [`newest_levels`](super::newest_levels) first. With fewer than
    /// three levels, or all in one line, the beach's own slope stands in if it is set; without that
    /// the shore still knows along and across but no level.
    ///
    /// # Errors
    /// Without a usable baseline, or when the beach lies where no plane can be laid.
    pub fn build<'a>(beach: &Beach, levels: impl IntoIterator<Item = &'a LevelPoint>) -> Result<Self, ShoreError> {
        let frame = Frame::centred_on(beach.origin)?;
        if beach.baseline.len() < 2 {
            return Err(ShoreError::NoBaseline(beach.name.clone()));
        }
        let slope = beach.slope.zip(beach.back_level_m).map(|(fall, back_level_m)| Slope { back_level_m, fall });
        let mut surface = Surface::new(&frame, levels, slope);
        let line = beach.baseline.iter().map(|p| frame.to_local(*p)).collect::<Result<Vec<_>, _>>()?;
        let flat = || ShoreError::FlatBaseline(beach.name.clone());
        let mut baseline = Baseline::new(&line, beach.seaward, USUAL_REACH_M).ok_or_else(flat)?;
        let furthest_m = surface.corners.iter().map(|c| baseline.to_shore(c.at).across_m.abs()).fold(0.0, f64::max);
        if furthest_m > USUAL_REACH_M && baseline.reach_m().min(baseline.reach_back_m()) < furthest_m {
            baseline = Baseline::new(&line, beach.seaward, furthest_m).ok_or_else(flat)?;
        }
        surface.lay_slope(&baseline);
        surface.judge(&baseline);
        let places: Vec<ShorePoint> = surface.corners.iter().map(|c| baseline.to_shore(c.at)).collect();
        let span = |of: fn(&ShorePoint) -> f64, from: (f64, f64)| {
            places.iter().map(of).fold(from, |(low, high), v| (low.min(v), high.max(v)))
        };
        let along_m = span(|s| s.along_m, (0.0, baseline.length_m()));
        let across_m = if places.is_empty() { (0.0, 0.0) } else { span(|s| s.across_m, (f64::INFINITY, f64::NEG_INFINITY)) };
        Ok(Self { name: beach.name.clone(), frame, baseline, surface, datum_offset_m: beach.datum_offset_m, along_m, across_m })
    }

    /// The beach's plane.
    pub fn frame(&self) -> &Frame {
        &self.frame
    }

    /// The line along and across are measured from.
    pub fn baseline(&self) -> &Baseline {
        &self.baseline
    }

    /// Smallest and largest along, metres, over the baseline and everything whose level is known.
    pub fn along_range_m(&self) -> (f64, f64) {
        self.along_m
    }

    /// Smallest and largest across, metres, over everything whose level is known; (0, 0) if nothing is.
    pub fn across_range_m(&self) -> (f64, f64) {
        self.across_m
    }

    /// Lowest and highest sand above the land datum, metres.
    pub fn level_range_m(&self) -> Option<(f64, f64)> {
        self.surface.range_m()
    }

    /// What an offset and levels are held against: lowest and highest sand, and how far it falls seaward.
    pub fn sand_span(&self) -> Option<SandSpan> {
        let (low_m, high_m) = self.level_range_m()?;
        let surveyed = self.is_surveyed();
        let fall_m = self.surface.fall_m(&self.baseline).filter(|_| surveyed);
        let front = self.surface.front(&self.baseline).filter(|_| surveyed);
        Some(SandSpan { low_m, high_m, fall_m, front: front.map(|(top_m, falls)| SandFront { top_m, falls }) })
    }

    /// The surveyed levels seaward of the baseline by where they lie, no more than about so many.
    fn seaward(&self, most: usize) -> Vec<(ShorePoint, f64)> {
        let corners = if self.is_surveyed() { self.surface.corners.as_slice() } else { &[] };
        let some = corners.iter().step_by(corners.len() / most + 1);
        let placed = some.map(|c| (self.baseline.to_shore(c.at), c.land_m));
        placed.filter(|(p, _)| p.across_m >= 0.0).collect()
    }

    /// What of the survey is no sand: a plane at its foot, or levels that turn back at nought.
    pub fn flat_sand(&self) -> Option<FlatSand> {
        flat_of(&self.seaward(MOST_HELD))
    }

    /// The rise across the shore that stays to the end of the survey, where there is one.
    pub fn sand_rise(&self) -> Option<SandRise> {
        rise_of(&self.seaward(MOST_HELD))
    }

    /// The greatest step between two parts of the survey along the beach, where there is one.
    pub fn survey_step(&self) -> Option<SurveyStep> {
        step_of(&self.seaward(MOST))
    }

    /// Size of the ground whose level is known, m².
    pub fn area_m2(&self) -> f64 {
        self.surface.area_m2()
    }

    /// Whether the levels come from a survey rather than from an even slope.
    pub fn is_surveyed(&self) -> bool {
        self.surface.is_surveyed()
    }

    /// Whether the level of the sand at a place is known: it lies between surveyed levels that stand near enough to
    /// each other. Across a gap of the survey, and on an even slope, there is a level but it is a guess.
    pub fn is_known(&self, p: Local) -> bool {
        self.sand_level(p).is_some_and(|l| l.from == LevelSource::Surveyed)
    }

    /// The gaps of the survey that are worth a sentence, the largest first.
    pub fn gaps(&self) -> &[Gap] {
        &self.surface.gaps().told
    }

    /// The gaps that are too small for a sentence each, together.
    pub fn small_gaps(&self) -> SmallGaps {
        self.surface.gaps().small
    }

    /// The surveyed levels as they were taken, those on top of each other made one: where, and how high above the
    /// land datum, metres.
    pub fn surveyed(&self) -> impl Iterator<Item = (Local, f64)> + '_ {
        self.surface.surveyed()
    }

    /// How far the sand departs from an even facet, metres per metre from the nearest level.
    pub fn roughness(&self) -> f64 {
        self.surface.roughness()
    }

    /// Metres along and across of a position.
    ///
    /// # Errors
    /// [`EarthError::TooFar`] when it cannot belong to the beach.
    pub fn locate(&self, p: LonLat) -> Result<ShorePoint, EarthError> {
        Ok(self.to_shore(self.frame.to_local(p)?))
    }

    /// Metres along and across of a place in the plane.
    pub fn to_shore(&self, p: Local) -> ShorePoint {
        self.baseline.to_shore(p)
    }

    /// The place in the plane at metres along and across.
    pub fn to_local(&self, s: ShorePoint) -> Local {
        self.baseline.to_local(s)
    }

    /// The position at metres along and across.
    ///
    /// # Errors
    /// [`EarthError`] when they lead off the map.
    pub fn to_lonlat(&self, s: ShorePoint) -> Result<LonLat, EarthError> {
        self.frame.to_lonlat(self.to_local(s))
    }

    /// Level of the sand at a place, above the land datum; `None` where nothing is known of it. Whether it may be
    /// stood on is for [`Shore::is_known`].
    pub fn sand_level(&self, p: Local) -> Option<SandLevel> {
        self.surface.at(p, &self.baseline)
    }

    /// Offset from the land datum to the tide's: tide level = land level + this, metres.
    ///
    /// # Errors
    /// [`ShoreError::NoDatumOffset`] when the beach does not say.
    pub fn datum_offset_m(&self) -> Result<f64, ShoreError> {
        self.datum_offset_m.ok_or_else(|| ShoreError::NoDatumOffset(self.name.clone()))
    }

    /// The tide that would just reach the sand at a place, metres above the tide's datum.
    ///
    /// # Errors
    /// [`ShoreError::NoDatumOffset`], or [`ShoreError::NoLevels`] where the sand's level is not known.
    pub fn tide_level_m(&self, p: Local) -> Result<f64, ShoreError> {
        let offset_m = self.datum_offset_m()?;
        Ok(self.sand_level(p).ok_or_else(|| ShoreError::NoLevels(self.name.clone()))?.land_m + offset_m)
    }

    /// The land-datum level that a tide level meets, once there is sand to meet it.
    fn land_m(&self, tide_m: f64) -> Result<f64, ShoreError> {
        let offset_m = self.datum_offset_m()?;
        if self.surface.facets.is_empty() {
            return Err(ShoreError::NoLevels(self.name.clone()));
        }
        Ok(tide_m - offset_m)
    }

    /// Where a tide level (metres above the tide's datum) meets the sand, in the beach's plane.
    /// The higher ground lies on the left of each line.
    ///
    /// # Errors
    /// [`ShoreError::NoDatumOffset`] or [`ShoreError::NoLevels`].
    pub fn tide_line(&self, tide_m: f64) -> Result<MultiLineString<f64>, ShoreError> {
        Ok(self.surface.contour(self.land_m(tide_m)?))
    }

    /// The water's edge at a water level; the same as [`Shore::tide_line`], by the word of the view.
    ///
    /// # Errors
    /// As [`Shore::tide_line`].
    pub fn water_edge(&self, water_m: f64) -> Result<MultiLineString<f64>, ShoreError> {
        self.tide_line(water_m)
    }

    /// The ground lower than a water level, in the beach's plane. Hollows behind a bar count as
    /// under water even when nothing joins them to the sea.
    ///
    /// # Errors
    /// As [`Shore::tide_line`].
    pub fn under_water(&self, water_m: f64) -> Result<MultiPolygon<f64>, ShoreError> {
        Ok(self.surface.between(None, Some(self.land_m(water_m)?)))
    }

    /// The bands between tide marks, from the highest down; they cover the surface without overlap.
    ///
    /// # Errors
    /// As [`Shore::tide_line`].
    pub fn bands(&self, marks: &[TideMark]) -> Result<Vec<Band>, ShoreError> {
        let shift_m = self.land_m(0.0)?;
        Ok(strips(marks)
            .into_iter()
            .map(|(name, low_m, high_m)| {
                let area = self.surface.between(low_m.map(|l| l + shift_m), high_m.map(|h| h + shift_m));
                Band { name, low_m, high_m, area_m2: area.unsigned_area(), area }
            })
            .collect())
    }

    /// The band in which a place lies; `None` where the level of the sand is not known.
    ///
    /// # Errors
    /// [`ShoreError::NoDatumOffset`].
    pub fn band_at<'b>(&self, p: Local, bands: &'b [Band]) -> Result<Option<&'b Band>, ShoreError> {
        let offset_m = self.datum_offset_m()?;
        Ok(self.sand_level(p).and_then(|level| bands.iter().find(|b| b.holds(level.land_m + offset_m))))
    }

    /// The sand along a line across the shore, every `step_m` metres (at least 0.01) from the back
    /// to the sea, where its level is known.
    pub fn section(&self, along_m: f64, step_m: f64) -> Vec<SectionPoint> {
        let (from_m, to_m) = self.across_m;
        let step_m = if step_m.is_finite() { step_m.max(0.01).max((to_m - from_m) / MOST_POINTS) } else { return Vec::new() };
        let steps = ((to_m - from_m) / step_m).floor() as u32;
        (0..=steps)
            .map(|n| from_m + f64::from(n) * step_m)
            .filter_map(|across_m| {
                let level = self.sand_level(self.to_local(ShorePoint::new(along_m, across_m)))?;
                Some(SectionPoint { across_m, land_m: level.land_m, sigma_m: level.sigma_m, from: level.from })
            })
            .collect()
    }

    /// An area of the beach's plane as longitudes and latitudes.
    ///
    /// # Errors
    /// [`EarthError`] when it leads off the map.
    pub fn area_to_lonlat(&self, area: &MultiPolygon<f64>) -> Result<MultiPolygon<f64>, EarthError> {
        area.try_map_coords(|c| self.coord_to_lonlat(c))
    }

    /// Lines of the beach's plane as longitudes and latitudes.
    ///
    /// # Errors
    /// [`EarthError`] when they lead off the map.
    pub fn lines_to_lonlat(&self, lines: &MultiLineString<f64>) -> Result<MultiLineString<f64>, EarthError> {
        lines.try_map_coords(|c| self.coord_to_lonlat(c))
    }

    /// An area given in longitudes and latitudes, laid in the beach's plane.
    ///
    /// # Errors
    /// [`EarthError::TooFar`] when it cannot belong to the beach.
    pub fn area_to_local(&self, area: &MultiPolygon<f64>) -> Result<MultiPolygon<f64>, EarthError> {
        area.try_map_coords(|c| Ok(self.frame.to_local(LonLat::try_from(c)?)?.into()))
    }

    /// The outline of the ground whose level is known, in the beach's plane.
    pub fn outline(&self) -> MultiPolygon<f64> {
        self.surface.between(None, None)
    }

    /// The baseline in the beach's plane, as it is measured from.
    pub fn baseline_line(&self) -> LineString<f64> {
        self.baseline.points().into_iter().map(Coord::from).collect()
    }

    fn coord_to_lonlat(&self, c: Coord<f64>) -> Result<Coord<f64>, EarthError> {
        self.frame.to_lonlat(c.into()).map(Coord::from)
    }
}
