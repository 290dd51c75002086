use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::band::round_up;
use super::cluster::{KindCount, LevelRange, Of, kinds_of, level_range, main_band};
use super::ground::{Covered, Laid, Placed};
use super::scan::{Cells, Settings, Window, scan};
use super::visits::Visits;
use super::weighed::Weighing;
use super::window::{Shape, ellipses};
use super::{Counts, Ground, Params, Rate, ReadingError};
use crate::Progress;
use crate::book::Uid;
use crate::chance::{Shrinkage, getis_ord};
use crate::earth::LonLat;
use crate::shore::{Shore, ShorePoint};

/// Ground where finds are more than effort and luck explain.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct HotSpot {
    /// Which finds.
    pub of: Of,
    /// Its number, strongest first, from 1.
    pub number: usize,
    /// Middle of the window.
    pub centre: LonLat,
    /// Middle of the window by the shore.
    pub shore: ShorePoint,
    /// Half its length along the shore, metres.
    pub half_along_m: f64,
    /// Half its width across the shore, metres.
    pub half_across_m: f64,
    /// The ellipse, anticlockwise or clockwise as the shore runs, the first position repeated.
    pub outline: Vec<LonLat>,
    /// The finds in it, in order of uid.
    pub uids: Vec<Uid>,
    /// How many of all weights lie in it.
    #[serde(flatten)]
    pub counts: Counts,
    /// What they are, most frequent first.
    pub kinds: Vec<KindCount>,
    /// Finds of the kind scanned for.
    pub seen: usize,
    /// As many as its share of the effort would give.
    pub expected: f64,
    /// Seen over expected.
    pub ratio: f64,
    /// Rate of the finds scanned for, per 100 m² swept.
    pub rate: Option<Rate>,
    /// Log likelihood ratio against even ground, beyond the margin for effort misjudged.
    pub log_likelihood_ratio: f64,
    /// Chance of a window as strong anywhere on a beach of even rate.
    pub p: f64,
    /// The same after all scans of the reading were allowed for (Benjamini & Hochberg).
    pub q: f64,
    /// Getis-Ord Gi* score of its middle, a second opinion: above 1.96 supports it.
    pub gi_star: f64,
    /// Levels of the sand at its finds.
    pub level: Option<LevelRange>,
    /// The band most of its finds lie in.
    pub band: Option<String>,
    /// Signals left undug in it; not among the finds.
    #[serde(default)]
    pub signals: usize,
    /// On how many outings its finds were made.
    pub outings: usize,
    /// What would make it surer.
    pub surer: String,
}

/// How one scan went, whether or not it found anything.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct ScanRun {
    /// Which finds.
    pub of: Of,
    /// What was sought: "hot_spot" or "scour_line".
    pub sought: String,
    /// Finds on ground swept.
    pub finds: usize,
    /// Side of a cell along the shore, metres.
    pub cell_m: f64,
    /// Cells with effort.
    pub cells: usize,
    /// Replicates under the null hypothesis.
    pub replicates: usize,
    /// Chance of a window as strong as the strongest; `None` when nothing exceeded its expectation.
    pub p: Option<f64>,
    /// The same after all scans of the reading were allowed for.
    pub q: Option<f64>,
}

/// Half widths of the windows, metres: none so small that a receiver's error would empty it.
pub(super) const HALF_WIDTHS_M: [f64; 4] = [5.0, 8.0, 12.0, 18.0];
/// Lengths along the shore over widths across it.
pub(super) const STRETCHES: [f64; 3] = [1.0, 2.0, 4.0];
/// Coarser cells are taken when there would be more than this many.
const MOST_CELLS: usize = 6000;
/// The Gi* score looks this far round, metres.
const GI_REACH_M: f64 = 12.0;

/// Ground swept on a grid by the shore.
pub(super) struct Field {
    pub(super) cell_m: f64,
    corner: ShorePoint,
    along_count: usize,
    across_count: usize,
    swept_m2: Vec<f64>,
    /// The cell each square of the ground covered lies in.
    pub(super) of_square: Vec<Option<usize>>,
}

impl Field {
    pub(super) fn new(covered: &Covered, params: &Params) -> Option<Self> {
        let usable = || covered.cells.iter().filter(|c| c.swept_m2 > 0.0 && c.along_m.is_finite() && c.across_m.is_finite());
        let range = |of: fn(&super::CoveredCell) -> f64| {
            usable().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((from, to), (back, front)) = (range(|c| c.along_m), range(|c| c.across_m));
        if from > to {
            return None;
        }
        let mut cell_m = params.scan_cell_m.max(covered.cell_m);
        loop {
            let index = |v: f64, low: f64| ((v - low) / cell_m) as usize;
            let (along_count, across_count) = (index(to, from) + 1, index(front, back) + 1);
            let count = along_count.saturating_mul(across_count);
            // A stray cell far off would make the grid huge though few cells hold effort.
            if count <= 40 * MOST_CELLS {
                let mut swept_m2 = vec![0.0; count];
                let cell = |c: &super::CoveredCell| index(c.along_m, from) * across_count + index(c.across_m, back);
                let is_usable = |c: &super::CoveredCell| c.swept_m2 > 0.0 && c.along_m.is_finite() && c.across_m.is_finite();
                let of_square: Vec<_> = covered.cells.iter().map(|c| is_usable(c).then(|| cell(c))).collect();
                for (c, n) in covered.cells.iter().zip(&of_square) {
                    if let Some(n) = n {
                        swept_m2[*n] += c.swept_m2;
                    }
                }
                if swept_m2.iter().filter(|e| **e > 0.0).count() <= MOST_CELLS {
                    let corner = ShorePoint::new(from, back);
                    return Some(Self { cell_m, corner, along_count, across_count, swept_m2, of_square });
                }
            }
            cell_m *= 1.25;
        }
    }

    /// Effort of the squares added up by cell.
    fn lay(&self, effort: &[f64]) -> Vec<f64> {
        let mut laid = vec![0.0; self.swept_m2.len()];
        for (n, e) in self.of_square.iter().zip(effort) {
            if let Some(n) = n {
                laid[*n] += e;
            }
        }
        laid
    }

    fn middle(&self, n: usize) -> ShorePoint {
        let (a, b) = (n / self.across_count, n % self.across_count);
        ShorePoint::new(
            self.corner.along_m + (a as f64 + 0.5) * self.cell_m,
            self.corner.across_m + (b as f64 + 0.5) * self.cell_m,
        )
    }

    /// Cells with effort in the square of cells round a place, nearest first.
    fn around(&self, s: ShorePoint, reach: i64) -> Vec<(f64, usize)> {
        let index = |v: f64, low: f64| ((v - low) / self.cell_m).floor() as i64;
        let (a, b) = (index(s.along_m, self.corner.along_m), index(s.across_m, self.corner.across_m));
        let mut near = Vec::new();
        for i in (a - reach).max(0)..(a + reach + 1).min(self.along_count as i64) {
            for j in (b - reach).max(0)..(b + reach + 1).min(self.across_count as i64) {
                let n = i as usize * self.across_count + j as usize;
                if self.swept_m2[n] > 0.0 {
                    let m = self.middle(n);
                    near.push(((m.along_m - s.along_m).hypot(m.across_m - s.across_m), n));
                }
            }
        }
        near.sort_by(|x, y| x.0.total_cmp(&y.0).then(x.1.cmp(&y.1)));
        near
    }

    /// The cell a find is counted in: its own, or, as receivers err by some metres, the nearest
    /// next to it. `None` when no ground was swept there: such a find says nothing of a rate.
    pub(super) fn cell_of(&self, s: ShorePoint) -> Option<usize> {
        let near = self.around(s, 1);
        let half = 0.5 * self.cell_m + 1e-9;
        let own = near.iter().find(|(_, n)| {
            let m = self.middle(*n);
            (m.along_m - s.along_m).abs() <= half && (m.across_m - s.across_m).abs() <= half
        });
        own.or(near.first()).map(|(_, n)| *n)
    }

    /// Gi* of the rates drawn towards their mean, for each cell; 0 where nothing was swept.
    fn gi_star(&self, finds: &[u32], worth: &[f64]) -> Vec<f64> {
        let cells: Vec<usize> = (0..worth.len()).filter(|n| worth[*n] > 0.0).collect();
        let number: BTreeMap<usize, usize> = cells.iter().enumerate().map(|(k, n)| (*n, k)).collect();
        let counts: Vec<f64> = cells.iter().map(|n| f64::from(finds[*n])).collect();
        let effort: Vec<f64> = cells.iter().map(|n| worth[*n]).collect();
        let mut scores = vec![0.0; worth.len()];
        let Some(shrinkage) = Shrinkage::from_counts(&counts, &effort) else { return scores };
        let rates: Vec<f64> = counts.iter().zip(&effort).map(|(n, e)| shrinkage.rate(*n, *e)).collect();
        let reach = (GI_REACH_M / self.cell_m).ceil().max(1.0);
        let near = |n: usize| {
            let around = self.around(self.middle(n), reach as i64).into_iter();
            around.filter(|(d, m)| *m != n && *d <= reach * self.cell_m).filter_map(|(_, m)| number.get(&m).copied()).collect()
        };
        let near: Vec<Vec<usize>> = cells.iter().map(|n| near(*n)).collect();
        for (n, z) in cells.iter().zip(getis_ord(&rates, &near)) {
            scores[*n] = z;
        }
        scores
    }
}

/// What the scans for hot spots gave: the runs, and every window worth a look with its run.
pub(super) struct Found {
    pub(super) runs: Vec<ScanRun>,
    pub(super) spots: Vec<HotSpot>,
}

/// The ground covered laid out and weighed, and the cell each find is counted in.
pub(super) struct Weighed<'a> {
    pub(super) field: Field,
    pub(super) cell_of: Vec<Option<usize>>,
    pub(super) weighing: Weighing<'a>,
}

impl<'a> Weighed<'a> {
    /// `None` without ground covered, or with less of it than a rate needs.
    pub(super) fn new(ground: &Ground<'a>, laid: &Laid, params: &Params, visits: Option<&'a Visits<'a>>) -> Option<Self> {
        let (shore, covered) = (ground.shore()?, ground.covered?);
        let field = Field::new(covered, params).filter(|_| covered.swept_m2() >= params.least_swept_m2)?;
        let cell_of: Vec<Option<usize>> = laid.finds.iter().map(|f| field.cell_of(shore.to_shore(f.at))).collect();
        let weighing = Weighing::new(ground, visits?, laid, params, field.cell_m, &field.of_square, &cell_of)?;
        Some(Self { field, cell_of, weighing })
    }

    /// Finds where no ground was swept.
    pub(super) fn off_ground(&self) -> usize {
        self.cell_of.iter().filter(|c| c.is_none()).count()
    }
}

/// The numbers of the finds in each cell.
pub(super) fn by_cell(cell_of: &[Option<usize>], cells: usize) -> Vec<Vec<usize>> {
    let mut by_cell = vec![Vec::new(); cells];
    for (n, cell) in cell_of.iter().enumerate() {
        if let Some(finds) = cell.and_then(|c| by_cell.get_mut(c)) {
            finds.push(n);
        }
    }
    by_cell
}

/// The finds in some cells, in their own order.
pub(super) fn finds_in(cells: &[usize], by_cell: &[Vec<usize>]) -> impl Iterator<Item = usize> {
    let mut finds: Vec<usize> = cells.iter().flat_map(|c| &by_cell[*c]).copied().collect();
    finds.sort_unstable();
    finds.into_iter()
}

pub(super) fn settings(params: &Params, salt: u64) -> Settings {
    Settings {
        least_finds: params.least_in_spot,
        replicates: params.replicates,
        seed: params.seed.wrapping_add(salt),
        worst_p: params.worst_p,
        margin: 1.0 + params.effort_error,
    }
}

/// Scans all, heavy and light finds. The q-values are set later, when all scans are known.
pub(super) fn hot_spots(
    ground: &Ground,
    laid: &Laid,
    weighed: &Weighed,
    params: &Params,
    progress: &Progress,
) -> Result<Found, ReadingError> {
    let mut found = Found { runs: Vec::new(), spots: Vec::new() };
    let Some(shore) = ground.shore() else { return Ok(found) };
    let Weighed { field, cell_of, weighing } = weighed;
    // Half widths that catch the same cells are one.
    let mut halves: Vec<f64> = HALF_WIDTHS_M.iter().map(|m| m / field.cell_m).filter(|h| *h >= 0.5).collect();
    halves.dedup();
    let shapes: Vec<Shape> = STRETCHES.iter().map(|s| ellipses(*s, &halves)).collect();
    let by_cell = by_cell(cell_of, field.swept_m2.len());
    let signals: Vec<Option<usize>> = laid.signals.iter().map(|s| field.cell_of(shore.to_shore(s.at))).collect();
    for (salt, of) in Of::ALL.into_iter().enumerate() {
        let mut finds = vec![0; field.swept_m2.len()];
        for (find, cell) in laid.finds.iter().zip(cell_of) {
            if let (true, Some(cell)) = (of.takes(find.weight), cell) {
                finds[*cell] += 1;
            }
        }
        let total = finds.iter().sum::<u32>() as usize;
        if total < params.least_finds {
            continue;
        }
        let effort = field.lay(&weighing.effort(laid, of));
        let cells = Cells { across_count: field.across_count, effort, finds };
        let scanned = scan(&cells, &shapes, &settings(params, salt as u64), progress, |_| true)?;
        let gi_star = field.gi_star(&cells.finds, &cells.effort);
        found.runs.push(ScanRun {
            of,
            sought: "hot_spot".to_owned(),
            finds: total,
            cell_m: field.cell_m,
            cells: field.swept_m2.iter().filter(|e| **e > 0.0).count(),
            replicates: params.replicates,
            p: scanned.p,
            q: None,
        });
        for (n, window) in scanned.windows.iter().enumerate() {
            let place = Place { ground, laid, shore, field, by_cell: &by_cell, signals: &signals };
            let half_across_m = halves[window.rings - 1] * field.cell_m;
            let half_along_m = half_across_m * STRETCHES[window.shape];
            found.spots.push(place.spot(of, n + 1, window, (half_along_m, half_across_m), gi_star[window.middle])?);
        }
    }
    Ok(found)
}

struct Place<'a> {
    ground: &'a Ground<'a>,
    laid: &'a Laid,
    shore: &'a Shore,
    field: &'a Field,
    /// The finds of each cell.
    by_cell: &'a [Vec<usize>],
    /// The cell of each signal.
    signals: &'a [Option<usize>],
}

impl Place<'_> {
    fn spot(
        &self,
        of: Of,
        number: usize,
        window: &Window,
        (half_along_m, half_across_m): (f64, f64),
        gi_star: f64,
    ) -> Result<HotSpot, ReadingError> {
        let mut inside = window.cells.clone();
        inside.sort_unstable();
        let members: Vec<&Placed> = finds_in(&inside, self.by_cell).map(|n| &self.laid.finds[n]).collect();
        let swept_m2: f64 = inside.iter().map(|n| self.field.swept_m2[*n]).sum();
        let rate = Rate::new(f64::from(window.finds), swept_m2);
        let middle = self.field.middle(window.middle);
        let outline = (0..=36).map(|k| {
            let (sin, cos) = f64::from(k % 36 * 10).to_radians().sin_cos();
            self.shore.to_lonlat(ShorePoint::new(middle.along_m + half_along_m * cos, middle.across_m + half_across_m * sin))
        });
        let (band, _) = main_band(self.ground, &members);
        Ok(HotSpot {
            of,
            number,
            centre: self.shore.to_lonlat(middle)?,
            shore: middle,
            half_along_m,
            half_across_m,
            outline: outline.collect::<Result<_, _>>()?,
            uids: members.iter().map(|f| f.uid).collect(),
            counts: Counts::of(members.iter().copied()),
            kinds: kinds_of(&members),
            seen: window.finds as usize,
            expected: window.expected,
            ratio: f64::from(window.finds) / window.expected,
            surer: rate.map_or_else(String::new, |r| {
                format!("another {} m² swept inside it would halve the interval of its rate", round_up(r.to_halve_m2))
            }),
            rate,
            log_likelihood_ratio: window.log_ratio,
            p: window.p,
            q: 1.0,
            gi_star,
            level: level_range(&members),
            band,
            signals: self.signals.iter().flatten().filter(|c| inside.binary_search(c).is_ok()).count(),
            outings: outings_of(&members),
        })
    }
}

/// On how many outings finds were made.
pub(super) fn outings_of(members: &[&Placed]) -> usize {
    members.iter().filter_map(|f| f.outing).collect::<std::collections::BTreeSet<_>>().len()
}
