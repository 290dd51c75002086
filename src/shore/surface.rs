//! The level of the sand: a triangulation of surveyed levels, or an even slope from the baseline.
//!
//! Between surveyed points the level is linear on the facets of their Delaunay triangulation
//! (`spade`), so that a tide line, a band and the level at a place can never contradict each other.
//!
//! Uncertainty: the level at a place has the standard error sqrt(s^2 + (r d)^2). Here s is that of the
//! survey carried to the place by the facet's weights (sum of w_i sigma_i, as errors of one survey go
//! together), d the distance to the nearest corner of the facet, and r the roughness: how much the
//! sand departs from the plane through its neighbours, per metre, measured by leaving out each inner
//! point in turn. Where no sigma is stated 0.05 m stands in; with fewer than ten inner points r is
//! 0.02. An even slope carries 0.3 m plus 2 % of the distance across. Those stand-ins are judgements
//! with no published source.
//!
//! A level stands between any three surveyed points; which of them are near enough to each other that the sand
//! between is known is for [`known`](super::known).

use rayon::prelude::*;
use serde::{Deserialize, Serialize};
use spade::{DelaunayTriangulation, FloatTriangulation, HasPosition, HierarchyHintGenerator, Point2, Triangulation};

use super::known::{Gaps, Judged, Spacing};
use super::{Baseline, ShorePoint};
use crate::book::LevelPoint;
use crate::earth::{Frame, Local};

/// Where a level comes from.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum LevelSource {
    /// Between surveyed points that stand near enough to each other: the sand there is known.
    Surveyed,
    /// Between surveyed points across a gap in the survey: a guess, on which nobody may stand.
    Gap,
    /// From the beach's even slope.
    Slope,
}

/// The level of the sand at a place.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct SandLevel {
    /// Height above the land datum, metres.
    pub land_m: f64,
    /// Its standard error, metres.
    pub sigma_m: f64,
    /// Where it comes from.
    pub from: LevelSource,
}

/// Standard error of a surveyed level whose survey states none, metres.
const UNSTATED_SIGMA_M: f64 = 0.05;
/// Roughness where there are too few points to measure it, metres per metre.
const USUAL: Rough = Rough { per_m: 0.02, departure_m: 0.0 };
/// Levels nearer to each other than this are one point of the surface, metres.
const SAME_POINT_M: f64 = 0.1;
/// Facets thinner than this are slivers along the survey's edge, metres.
const SLIVER_M: f64 = 3.0;
/// The even slope is followed down to this far below its upper end, metres, ...
const SLOPE_FALL_M: f64 = 15.0;
/// ... and at most this far across, metres.
const SLOPE_WIDTH_M: f64 = 1000.0;

/// Sand this little landward of the baseline stands on it, metres.
const ON_LINE_M: f64 = 0.5;
/// So much of the sand seaward of the baseline may stand higher than its top: the foot of a cliff, a wall, a wrong shot.
const STRAYS: f64 = 0.05;
/// No more than about so many of its levels are looked at for it.
const MOST_HELD: usize = 20_000;

/// A corner of the surface.
#[derive(Debug, Clone, Copy)]
pub(super) struct Corner {
    pub(super) at: Local,
    pub(super) land_m: f64,
    sigma_m: f64,
}

impl HasPosition for Corner {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        Point2::new(tame(self.at.east_m), tame(self.at.north_m))
    }
}

/// `spade` refuses coordinates too close to zero to be multiplied.
fn tame(v: f64) -> f64 {
    if v.abs() < 1e-9 { 0.0 } else { v }
}

type Tin = DelaunayTriangulation<Corner, (), (), (), HierarchyHintGenerator<f64>>;

/// The sand as facets, each linear.
pub(super) struct Surface {
    pub(super) corners: Vec<Corner>,
    /// Corner numbers of each facet, anticlockwise.
    pub(super) facets: Vec<[u32; 3]>,
    tin: Option<Tin>,
    rough: Rough,
    slope: Option<Slope>,
    /// Whether each face of the triangulation is known, by its number.
    known: Vec<bool>,
    gaps: Gaps,
}

/// How much the sand departs from the plane through its neighbours.
#[derive(Debug, Clone, Copy)]
struct Rough {
    /// Per metre of the distance to the nearest of them.
    per_m: f64,
    /// At the survey's own spacing, its own error taken off, metres.
    departure_m: f64,
}

/// Fall from the baseline seaward.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Slope {
    pub(super) back_level_m: f64,
    pub(super) fall: f64,
}

impl Surface {
    /// The surface of surveyed levels; facets are absent when they span no area.
    pub(super) fn new<'a>(frame: &Frame, levels: impl IntoIterator<Item = &'a LevelPoint>, slope: Option<Slope>) -> Self {
        let corners = merged(frame, levels);
        let mut surface = Self {
            corners: Vec::new(),
            facets: Vec::new(),
            tin: None,
            rough: USUAL,
            slope,
            known: Vec::new(),
            gaps: Gaps::default(),
        };
        let Ok(tin) = Tin::bulk_load_stable(corners) else { return surface };
        surface.corners = tin.vertices().map(|v| *v.data()).collect();
        surface.facets = tin.inner_faces().map(|f| f.vertices().map(|v| v.index() as u32)).collect();
        if surface.facets.is_empty() {
            return surface;
        }
        surface.rough = roughness(&tin);
        surface.tin = Some(tin);
        surface
    }

    /// Whether levels were surveyed over some area.
    pub(super) fn is_surveyed(&self) -> bool {
        self.tin.is_some()
    }

    pub(super) fn roughness(&self) -> f64 {
        self.rough.per_m
    }

    /// The gaps of the survey.
    pub(super) fn gaps(&self) -> &Gaps {
        &self.gaps
    }

    /// How far the levels fall seaward from the first to the last of them, along a straight line through them all, metres;
    /// `None` with fewer than three.
    pub(super) fn fall_m(&self, baseline: &Baseline) -> Option<f64> {
        let places: Vec<(f64, f64)> = self.corners.iter().map(|c| (baseline.to_shore(c.at).across_m, c.land_m)).collect();
        let n = places.len() as f64;
        let (a, m) = places.iter().fold((0.0, 0.0), |(a, m), p| (a + p.0 / n, m + p.1 / n));
        let (aa, am) = places.iter().fold((0.0, 0.0), |s, p| (s.0 + (p.0 - a).powi(2), s.1 + (p.0 - a) * (p.1 - m)));
        let (least, most) = places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |s, p| (s.0.min(p.0), s.1.max(p.0)));
        (places.len() >= 3 && aa > 0.0).then(|| -am / aa * (most - least))
    }

    /// Of the sand seaward of the baseline: the level that all but [`STRAYS`] of it lies under, metres above land datum, and how
    /// steeply a straight line through it falls seaward, metres a metre.
    pub(super) fn front(&self, baseline: &Baseline) -> Option<(f64, f64)> {
        let some = self.corners.iter().step_by(self.corners.len() / MOST_HELD + 1);
        let places: Vec<(f64, f64)> =
            some.map(|c| (baseline.to_shore(c.at).across_m, c.land_m)).filter(|(across_m, _)| *across_m >= -ON_LINE_M).collect();
        let n = places.len() as f64;
        let (a, m) = places.iter().fold((0.0, 0.0), |(a, m), p| (a + p.0 / n, m + p.1 / n));
        let (aa, am) = places.iter().fold((0.0, 0.0), |s, p| (s.0 + (p.0 - a).powi(2), s.1 + (p.0 - a) * (p.1 - m)));
        let mut levels: Vec<f64> = places.iter().map(|p| p.1).collect();
        levels.sort_by(|a, b| b.total_cmp(a));
        let top_m = *levels.get((n * STRAYS) as usize)?;
        (places.len() >= 3 && aa > 0.0).then(|| (top_m, -am / aa))
    }

    /// Tells which facets are known, now that along and across are.
    pub(super) fn judge(&mut self, baseline: &Baseline) {
        let Some(tin) = &self.tin else { return };
        let places = self.corners.iter().map(|c| baseline.to_shore(c.at)).collect();
        let around: Vec<Vec<usize>> = tin.vertices().map(|v| v.out_edges().map(|e| e.to().index()).collect()).collect();
        let spacing = Spacing::measured(places, &around, self.rough.departure_m);
        let faces: Vec<_> = tin.inner_faces().collect();
        let mut number = vec![None; tin.num_all_faces()];
        faces.iter().enumerate().for_each(|(n, f)| number[f.index()] = Some(n));
        let judged: Vec<Judged> = self.facets.iter().map(|f| spacing.judge(*f)).collect();
        let beside = |n: usize| faces[n].adjacent_edges().iter().filter_map(|e| number[e.rev().face().index()]).collect();
        // On a bay's inner side the triangulation spans the chord from line end to line end, seaward of them all.
        let outside = |n: usize| {
            let corners = self.facets[n].map(|c| self.corner(c).at);
            let middle = Local::new(
                corners.iter().map(|c| c.east_m).sum::<f64>() / 3.0,
                corners.iter().map(|c| c.north_m).sum::<f64>() / 3.0,
            );
            let across = corners.map(|c| baseline.to_shore(c).across_m);
            let here = baseline.to_shore(middle).across_m;
            let longest_m = (0..3).map(|k| corners[k].distance_m(corners[(k + 1) % 3])).fold(0.0, f64::max);
            let sliver = self.twice_area(self.facets[n]) < SLIVER_M * longest_m;
            sliver || across.iter().all(|a| here > *a) || across.iter().all(|a| here < *a)
        };
        let areas: Vec<f64> = self.facets.iter().map(|f| self.twice_area(*f) / 2.0).collect();
        let gaps = spacing.gaps(&self.facets, &judged, &areas, beside, outside);
        let mut known = vec![false; tin.num_all_faces()];
        faces.iter().zip(&judged).for_each(|(f, j)| known[f.index()] = j.known);
        (self.known, self.gaps) = (known, gaps);
    }

    /// Whether the sand is known that these corners of one facet, edge or corner of the triangulation enclose.
    fn is_known(&self, tin: &Tin, corners: &[spade::handles::FixedVertexHandle]) -> bool {
        let known = |face: usize| self.known.get(face).copied().unwrap_or(false);
        match corners {
            [corner] => tin.vertex(*corner).out_edges().any(|e| known(e.face().index())),
            [a, b, rest @ ..] => tin.get_edge_from_neighbors(*a, *b).is_some_and(|e| {
                [e, e.rev()].into_iter().any(|side| {
                    let holds =
                        rest.iter().all(|c| side.face().as_inner().is_some_and(|f| f.vertices().iter().any(|v| v.fix() == *c)));
                    holds && known(side.face().index())
                })
            }),
            [] => false,
        }
    }

    /// The surveyed levels, merged: where they stand, metres above the land datum.
    pub(super) fn surveyed(&self) -> impl Iterator<Item = (Local, f64)> + '_ {
        self.corners.iter().filter(|_| self.is_surveyed()).map(|c| (c.at, c.land_m))
    }

    /// Gives a beach with a slope and no survey facets to draw lines on: strips along the baseline.
    pub(super) fn lay_slope(&mut self, baseline: &Baseline) {
        let Some(slope) = self.slope.filter(|_| !self.is_surveyed()) else { return };
        let width_m = (SLOPE_FALL_M / slope.fall).min(SLOPE_WIDTH_M).min(baseline.reach_m() * 0.98);
        self.corners.clear();
        for along_m in baseline.corners_m() {
            for across_m in [0.0, width_m] {
                let at = baseline.to_local(ShorePoint::new(along_m, across_m));
                self.corners.push(Corner { at, land_m: slope.back_level_m - slope.fall * across_m, sigma_m: 0.0 });
            }
        }
        let strips = (self.corners.len() / 2).saturating_sub(1) as u32;
        let halves = (0..strips).flat_map(|n| [[2 * n, 2 * n + 2, 2 * n + 3], [2 * n, 2 * n + 3, 2 * n + 1]]);
        self.facets = halves.map(|f| if self.twice_area(f) < 0.0 { [f[0], f[2], f[1]] } else { f }).collect();
    }

    pub(super) fn corner(&self, n: u32) -> Corner {
        self.corners[n as usize]
    }

    fn twice_area(&self, [a, b, c]: [u32; 3]) -> f64 {
        let [a, b, c] = [a, b, c].map(|n| self.corner(n).at);
        (b.east_m - a.east_m) * (c.north_m - a.north_m) - (c.east_m - a.east_m) * (b.north_m - a.north_m)
    }

    /// Area of all facets, m².
    pub(super) fn area_m2(&self) -> f64 {
        self.facets.iter().map(|f| self.twice_area(*f) / 2.0).sum()
    }

    /// Lowest and highest corner, metres above the land datum.
    pub(super) fn range_m(&self) -> Option<(f64, f64)> {
        let levels = || self.corners.iter().map(|c| c.land_m);
        (!self.corners.is_empty()).then(|| (levels().fold(f64::INFINITY, f64::min), levels().fold(f64::NEG_INFINITY, f64::max)))
    }

    /// The level at a place; off the survey the slope answers, if there is one.
    pub(super) fn at(&self, p: Local, baseline: &Baseline) -> Option<SandLevel> {
        self.surveyed_at(p).or_else(|| {
            let slope = self.slope?;
            let across_m = baseline.to_shore(p).across_m;
            Some(SandLevel {
                land_m: slope.back_level_m - slope.fall * across_m,
                sigma_m: 0.3 + 0.02 * across_m.abs(),
                from: LevelSource::Slope,
            })
        })
    }

    fn surveyed_at(&self, p: Local) -> Option<SandLevel> {
        let tin = self.tin.as_ref()?;
        if !(p.east_m.is_finite() && p.north_m.is_finite()) {
            return None;
        }
        let mut weights = Vec::with_capacity(3);
        tin.barycentric().get_weights(Point2::new(tame(p.east_m), tame(p.north_m)), &mut weights);
        if weights.is_empty() {
            return None;
        }
        let (mut land_m, mut survey_m, mut nearest_m) = (0.0, 0.0, f64::INFINITY);
        for (handle, weight) in &weights {
            let corner = *tin.vertex(*handle).data();
            land_m += weight * corner.land_m;
            survey_m += weight * corner.sigma_m;
            nearest_m = nearest_m.min(corner.at.distance_m(p));
        }
        let corners: Vec<_> = weights.iter().map(|(handle, _)| *handle).collect();
        let from = if self.is_known(tin, &corners) { LevelSource::Surveyed } else { LevelSource::Gap };
        Some(SandLevel { land_m, sigma_m: survey_m.hypot(self.rough.per_m * nearest_m), from })
    }
}

/// Levels in the beach's plane, those on top of each other made one: the latest day wins, and
/// levels of the same day are averaged. Sorted, so that the input's order does not matter.
fn merged<'a>(frame: &Frame, levels: impl IntoIterator<Item = &'a LevelPoint>) -> Vec<Corner> {
    let mut placed: Vec<_> = levels
        .into_iter()
        .filter_map(|l| {
            let at = frame.to_local(l.at).ok()?;
            let cell = |v: f64| (v / SAME_POINT_M).round() as i64;
            Some(((cell(at.east_m), cell(at.north_m)), std::cmp::Reverse(l.date), at, l))
        })
        .collect();
    placed.par_sort_by(|a, b| {
        (a.0, a.1)
            .cmp(&(b.0, b.1))
            .then(a.2.east_m.total_cmp(&b.2.east_m))
            .then(a.2.north_m.total_cmp(&b.2.north_m))
            .then(a.3.level_m.total_cmp(&b.3.level_m))
    });
    placed
        .chunk_by(|a, b| a.0 == b.0)
        .filter_map(|same| {
            let (_, day, at, _) = same.first()?;
            let last: Vec<_> = same.iter().take_while(|s| s.1 == *day).map(|s| s.3).collect();
            let n = last.len() as f64;
            let sigma_m = last.iter().map(|l| l.sigma_m.unwrap_or(UNSTATED_SIGMA_M)).sum::<f64>() / n;
            Some(Corner { at: *at, land_m: last.iter().map(|l| l.level_m).sum::<f64>() / n, sigma_m })
        })
        .collect()
}

/// How far inner points lie from the plane through their neighbours, per metre of the distance to
/// the nearest of them: root of the sum of squares over the root of the sum of squared distances.
fn roughness(tin: &Tin) -> Rough {
    let (mut off, mut distance, mut own, mut count) = (0.0, 0.0, 0.0, 0_u32);
    for v in tin.vertices() {
        // A point on the hull would be extrapolated to, not interpolated.
        if v.out_edges().any(|e| e.is_outer_edge() || e.rev().is_outer_edge()) {
            continue;
        }
        let centre = v.data();
        let around: Vec<Corner> = v.out_edges().map(|e| *e.to().data()).collect();
        let Some(expected_m) = plane_at(centre.at, &around) else { continue };
        let nearest_m = around.iter().map(|c| c.at.distance_m(centre.at)).fold(f64::INFINITY, f64::min);
        off += (centre.land_m - expected_m).powi(2);
        distance += nearest_m * nearest_m;
        // The level's own error, and about half as much again of the plane through its neighbours.
        own += 1.5 * centre.sigma_m * centre.sigma_m;
        count += 1;
    }
    if count < 10 {
        return USUAL;
    }
    Rough { per_m: (off / distance).sqrt().clamp(0.002, 0.2), departure_m: ((off - own) / f64::from(count)).max(0.0).sqrt() }
}

/// Level at `p` of the plane fitted to its neighbours, each weighted by the inverse square of its
/// distance. `None` when they do not span a plane.
fn plane_at(p: Local, around: &[Corner]) -> Option<f64> {
    let mut m = [[0.0_f64; 4]; 3];
    for c in around {
        let (x, y) = (c.at.east_m - p.east_m, c.at.north_m - p.north_m);
        let w = 1.0 / (x * x + y * y).max(1e-6);
        let row = [1.0, x, y, c.land_m];
        for i in 0..3 {
            for j in 0..4 {
                m[i][j] += w * row[i] * row[j];
            }
        }
    }
    let det = |a: usize, b: usize, c: usize| {
        m[0][a] * (m[1][b] * m[2][c] - m[2][b] * m[1][c]) - m[0][b] * (m[1][a] * m[2][c] - m[2][a] * m[1][c])
            + m[0][c] * (m[1][a] * m[2][b] - m[2][a] * m[1][b])
    };
    let (whole, scale) = (det(0, 1, 2), m[0][0] * m[1][1] * m[2][2]);
    (whole.abs() > 1e-9 * scale.abs()).then(|| det(3, 1, 2) / whole)
}
