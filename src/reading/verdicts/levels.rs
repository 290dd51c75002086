//! What was searched, laid out by along and level: the grid that strips which keep their level are sought on.

use crate::reading::exposure::{CountedAt, Exposure};
use crate::reading::given::{Covered, Ground, Placed, PlacedFinds, WeightChoice};
use crate::reading::scan::ExposureGrid;
use crate::shore::{Shore, ShorePoint};

/// What a strip keeps along its length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kept {
    /// The level of the sand.
    Level,
    /// The distance from the baseline.
    Distance,
}

/// With less of the ground covered of known level than this share strips are sought by their distance from the baseline.
const LEVEL_SHARE: f64 = 0.5;

/// A step along the shore, metres.
pub(super) const ALONG_M: f64 = 10.0;
/// A step of level is what the sand falls over this many metres across, ...
const ACROSS_M: f64 = 2.5;

/// What was searched, on a grid of along and level, or of along and how far landward it lies: what a strip keeps is its
/// *height* here.
pub(super) struct Levels {
    pub(super) kept: Kept,
    pub(super) from_along_m: f64,
    pub(super) low_m: f64,
    pub(super) step_m: f64,
    pub(super) across_count: usize,
    pub(super) count: usize,
    /// For each square of the ground covered the cells it lies in, and by which share.
    pub(super) of_square: Vec<Vec<(u32, f32)>>,
    /// Exposure of each cell by outing; its finds are those scanned for.
    pub(super) grid: ExposureGrid,
}

/// A piece of ground swept: its square, along, across, height and size, m².
#[derive(Clone, Copy)]
struct Piece {
    square: u32,
    along_m: f64,
    across_m: f64,
    height_m: f64,
    m2: f64,
}

/// The pieces whose level is known, or all by their distance from the baseline where that is not most of the ground.
fn pieces(covered: &Covered, shore: &Shore) -> (Kept, Vec<Piece>) {
    // Large squares are taken apart, as a level changes within them.
    let parts = covered.cell_m.clamp(1.0, 20.0).ceil() as u32;
    let part = 1.0 / f64::from(parts * parts);
    let (mut leveled, mut all): (Vec<Piece>, Vec<Piece>) = (Vec::new(), Vec::new());
    for (square, c) in (0..).zip(&covered.cells).filter(|(_, c)| c.swept_m2 > 0.0) {
        for k in 0..parts * parts {
            let shift = |n: u32| ((f64::from(n) + 0.5) / f64::from(parts) - 0.5) * covered.cell_m;
            let s = ShorePoint::new(c.along_m + shift(k / parts), c.across_m + shift(k % parts));
            let piece = Piece { square, along_m: s.along_m, across_m: s.across_m, height_m: -s.across_m, m2: c.swept_m2 * part };
            all.push(piece);
            leveled.extend(shore.sand_level(shore.to_local(s)).map(|level| Piece { height_m: level.land_m, ..piece }));
        }
    }
    let m2 = |of: &[Piece]| of.iter().map(|p| p.m2).sum::<f64>();
    if m2(&leveled) >= LEVEL_SHARE * m2(&all) { (Kept::Level, leveled) } else { (Kept::Distance, all) }
}

impl Levels {
    pub(super) fn new(ground: &Ground, laid: &PlacedFinds, shore: &Shore, exposure: &Exposure) -> Option<Self> {
        let covered = ground.covered?;
        let (kept, pieces) = pieces(covered, shore);
        let step_m = match kept {
            Kept::Level => (ACROSS_M * fall(&pieces)?).clamp(0.03, 0.5),
            Kept::Distance => ACROSS_M,
        };
        let range = |of: fn(&Piece) -> f64| {
            pieces.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(v), high.max(v)))
        };
        let ((from_along_m, to_along_m), (low_m, high_m)) = (range(|p| p.along_m), range(|p| p.height_m));
        let rows = ((to_along_m - from_along_m) / ALONG_M) as usize + 1;
        let across_count = ((high_m - low_m) / step_m) as usize + 1;
        if rows.saturating_mul(across_count) > 200_000 {
            return None;
        }
        let count = rows * across_count;
        let (of_square, nothing) = (vec![Vec::new(); covered.cells.len()], std::iter::empty());
        let grid = ExposureGrid::new(across_count, count, 0, nothing, std::iter::empty());
        let mut levels = Self { kept, from_along_m, low_m, step_m, across_count, count, of_square, grid };
        let whole_m2 = |square: u32| covered.cells[square as usize].swept_m2;
        for p in &pieces {
            if let Some(n) = levels.cell(p.along_m, p.height_m) {
                levels.of_square[p.square as usize].push((n as u32, (p.m2 / whole_m2(p.square)) as f32));
            }
        }
        let of_square = |square: usize| levels.of_square[square].iter().copied();
        let pieces = exposure.pieces(of_square);
        let mut grid = ExposureGrid::new(across_count, count, exposure.outings(), pieces, std::iter::empty());
        for (find, at) in laid.finds.iter().zip(&exposure.of_find) {
            let Some(at) = at.filter(|_| WeightChoice::Heavy.takes(find.weight)) else { continue };
            if let Some(cell) = levels.cell_of(&grid, shore, find, at) {
                grid.finds.push((at.outing, cell));
            }
        }
        // A receiver's error across is as wide as a step of level; along, a step is far longer.
        grid.blur([0.0, 1.0, 0.0], [0.25, 0.5, 0.25]);
        levels.grid = grid;
        Some(levels)
    }

    fn cell(&self, along_m: f64, height_m: f64) -> Option<usize> {
        let (a, b) = ((along_m - self.from_along_m) / ALONG_M, (height_m - self.low_m) / self.step_m);
        let inside = a >= 0.0 && b >= 0.0 && (b as usize) < self.across_count;
        let n = a as usize * self.across_count + b as usize;
        (inside && n < self.count).then_some(n)
    }

    /// The height of a find, if it has one.
    pub(super) fn height_m(&self, find: &Placed, at: ShorePoint) -> Option<f64> {
        match self.kept {
            Kept::Level => find.land_m,
            Kept::Distance => Some(-at.across_m),
        }
    }

    /// The cell a find is counted in: its own if its outing searched that, else that of the ground it is laid to.
    pub(super) fn cell_of(&self, grid: &ExposureGrid, shore: &Shore, find: &Placed, at: CountedAt) -> Option<u32> {
        let at_shore = shore.to_shore(find.at);
        let own = self.height_m(find, at_shore).and_then(|m| self.cell(at_shore.along_m, m)).map(|c| c as u32);
        let laid_to = self.of_square[at.square as usize].iter().map(|c| c.0);
        own.into_iter().chain(laid_to).find(|cell| grid.has(at.outing, *cell))
    }
}

/// How much the sand falls per metre across, over the ground swept.
fn fall(pieces: &[Piece]) -> Option<f64> {
    let weight: f64 = pieces.iter().map(|p| p.m2).sum();
    let mean = |of: fn(&Piece) -> f64| pieces.iter().map(|p| of(p) * p.m2).sum::<f64>() / weight;
    let (across, level) = (mean(|p| p.across_m), mean(|p| p.height_m));
    let both: f64 = pieces.iter().map(|p| p.m2 * (p.across_m - across) * (p.height_m - level)).sum();
    let own: f64 = pieces.iter().map(|p| p.m2 * (p.across_m - across).powi(2)).sum();
    (own > 0.0).then(|| (both / own).abs())
}
