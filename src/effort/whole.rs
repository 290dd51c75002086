use std::collections::BTreeMap;

use rayon::prelude::*;
use serde::{Deserialize, Serialize};

use super::going::slow_going_m_s;
use super::grid::{self, Square};
use super::stretch::{Stretch, StretchKind, follow};
use super::walk::{EffortTables, Walk, walks_of};
use super::{EffortError, Params};
use crate::Progress;
use crate::book::{Beach, Book, Uid};
use crate::earth::Local;

/// One square of ground that was swept.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Cell {
    /// Its middle on the grid, first coordinate, metres: east, or along the shore.
    pub along_m: f64,
    /// Its middle on the grid, second coordinate, metres: north, or across the shore.
    pub across_m: f64,
    /// Ground in it that was swept at least once, m².
    pub swept_m2: f64,
    /// How often the swept ground was passed over, on average; at least 1.
    pub passes: f64,
}

/// What one outing did in one square.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Visit {
    /// The square, by its place in [`Effort::cells`].
    pub cell: usize,
    /// The outing; `None` for a track that belongs to none.
    pub outing: Option<Uid>,
    /// Ground that the outing swept, m².
    pub swept_m2: f64,
    /// Ground that no earlier outing had swept, m².
    pub fresh_m2: f64,
}

/// What one outing did over the whole ground.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct OutingGround {
    /// The outing; `None` for tracks that belong to none, taken together.
    pub outing: Option<Uid>,
    /// Ground that it swept, m².
    pub swept_m2: f64,
    /// Ground that no earlier outing had swept, m². Over all outings they add up to the ground swept.
    pub fresh_m2: f64,
}

/// Sums over the ground or over one part of it.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Totals {
    /// Ground swept at least once, m².
    pub swept_m2: f64,
    /// Ground swept, every pass counted, m².
    pub passed_m2: f64,
}

/// The ground covered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Effort {
    /// The settings it rests on.
    pub params: Params,
    /// The squares that were swept, in order of across and along.
    pub cells: Vec<Cell>,
    /// What each outing did in each square, in order of square and then of time.
    pub shares: Vec<Visit>,
    /// What each outing did in all squares together, in order of uid. Kept beside the shares, as those are handed
    /// on to a reading and not copied.
    pub outings: Vec<OutingGround>,
    /// The tracks, told apart into searching, walking and gaps.
    pub stretches: Vec<Stretch>,
    /// The pace of outings whose ways to the ground and back are straight, and slower than what counts as walking, metres a
    /// second.
    pub slow_going: Vec<(Uid, f64)>,
    /// Tracks left out as they repeat another.
    pub repeated_tracks: usize,
    /// Fixes left out for their dilution of precision, their satellites, or as too far off.
    pub unusable_fixes: usize,
}

impl Effort {
    /// The ground covered on a beach of the book; see [`from_tracks`](Self::from_tracks).
    ///
    /// # Errors
    /// As there, and [`EffortError::NoBeach`].
    pub fn from_book(
        book: &Book,
        beach: Uid,
        on_grid: impl Fn(Local) -> Local + Sync,
        params: &Params,
        progress: &Progress,
    ) -> Result<Self, EffortError> {
        let beach = book.beaches().get(&beach).ok_or(EffortError::NoBeach)?;
        Self::from_tracks(&EffortTables::from(book), beach, on_grid, params, progress)
    }

    /// The ground covered on a beach, on a grid in the plane that `on_grid` leads to.
    ///
    /// # Errors
    /// When a setting cannot be, no plane can be laid at the beach, or the work was called off.
    pub fn from_tracks(
        book: &EffortTables,
        beach: &Beach,
        on_grid: impl Fn(Local) -> Local + Sync,
        params: &Params,
        progress: &Progress,
    ) -> Result<Self, EffortError> {
        params.check()?;
        let (walks, repeated_tracks) = walks_of(book, beach, on_grid, params)?;
        Ok(Self { repeated_tracks, ..Self::of_walks(&walks, params, progress)? })
    }

    /// The ground that walks cover; earlier ones first, those of one outing together.
    ///
    /// # Errors
    /// When a setting cannot be, or the work was called off.
    pub fn of_walks(walks: &[Walk], params: &Params, progress: &Progress) -> Result<Self, EffortError> {
        params.check()?;
        progress.check()?;
        // One group for each outing, in order of appearance; a track without outing is one by itself.
        let mut groups: Vec<Option<Uid>> = Vec::new();
        let mut known: BTreeMap<Uid, u32> = BTreeMap::new();
        let numbers: Vec<u32> = walks
            .iter()
            .map(|walk| {
                let next = groups.len() as u32;
                let number = walk.outing.map_or(next, |outing| *known.entry(outing).or_insert(next));
                if number == next {
                    groups.push(walk.outing);
                }
                number
            })
            .collect();
        let followed: Vec<_> = walks.par_iter().zip(&numbers).map(|(walk, group)| follow(walk, *group, params)).collect();
        progress.check()?;
        progress.set(0.4);
        let mut sweeps = Vec::with_capacity(followed.iter().map(|f| f.0.len()).sum());
        let mut stretches = Vec::new();
        for (s, t) in followed {
            sweeps.extend(s);
            stretches.extend(t);
        }
        // Walks of one outing that are not together would split it.
        sweeps.sort_by_key(|s| s.group);
        let squares = grid::lay(&sweeps, params.cell_m, params.again_s);
        progress.check()?;
        progress.set(1.0);
        let (cells, shares) = measure(&squares, &groups, params);
        let outings = by_outing(&shares);
        let unusable_fixes = walks.iter().map(|w| w.unusable).sum();
        let slow_going = walks.par_iter().filter_map(|w| Some((w.outing?, slow_going_m_s(w, params)?))).collect();
        Ok(Self { params: *params, cells, shares, outings, stretches, slow_going, repeated_tracks: 0, unusable_fixes })
    }

    /// Sums over all of it.
    pub fn totals(&self) -> Totals {
        self.cells.iter().fold(Totals::default(), |sum, c| sum.with(c))
    }

    /// Sums over parts of the ground, such as bands or zones: `part` says which a square belongs to.
    pub fn totals_by<K: Ord>(&self, part: impl Fn(&Cell) -> Option<K>) -> BTreeMap<K, Totals> {
        let mut sums: BTreeMap<K, Totals> = BTreeMap::new();
        for cell in &self.cells {
            if let Some(key) = part(cell) {
                let sum = sums.entry(key).or_default();
                *sum = sum.with(cell);
            }
        }
        sums
    }

    /// Length of track of each kind, metres.
    pub fn lengths_m(&self) -> BTreeMap<StretchKind, f64> {
        let mut sums = BTreeMap::new();
        for s in &self.stretches {
            *sums.entry(s.kind).or_insert(0.0) += s.length_m;
        }
        sums
    }

    /// Swath searched in each of the caller's states of time, such as tide states, m²: length times
    /// width, so that ground passed twice counts twice. A stretch counts for the state at its middle;
    /// `None` is for those without times.
    pub fn searched_by<K: Ord>(&self, state: impl Fn(f64) -> Option<K>) -> BTreeMap<Option<K>, f64> {
        let mut sums = BTreeMap::new();
        for s in &self.stretches {
            if matches!(s.kind, StretchKind::Searched | StretchKind::Timeless) {
                let middle_s = s.from_s.zip(s.to_s).map(|(a, b)| (a + b) / 2.0);
                *sums.entry(middle_s.and_then(&state)).or_insert(0.0) += s.length_m * s.swath_m * self.params.overlap;
            }
        }
        sums
    }
}

impl Totals {
    fn with(self, cell: &Cell) -> Self {
        Self { swept_m2: self.swept_m2 + cell.swept_m2, passed_m2: self.passed_m2 + cell.swept_m2 * cell.passes }
    }
}

/// Sums over the squares by outing; one after the other, so that the same tracks give the same sums to the last digit.
fn by_outing(shares: &[Visit]) -> Vec<OutingGround> {
    let mut sums: BTreeMap<Option<Uid>, OutingGround> = BTreeMap::new();
    for share in shares {
        let none = OutingGround { outing: share.outing, swept_m2: 0.0, fresh_m2: 0.0 };
        let sum = sums.entry(share.outing).or_insert(none);
        sum.swept_m2 += share.swept_m2;
        sum.fresh_m2 += share.fresh_m2;
    }
    sums.into_values().collect()
}

fn measure(squares: &[Square], groups: &[Option<Uid>], params: &Params) -> (Vec<Cell>, Vec<Visit>) {
    let m2 = params.cell_m * params.cell_m * params.overlap;
    let middle = |index: i64| (index as f64 + 0.5) * params.cell_m;
    let cell = |s: &Square| Cell {
        along_m: middle(s.column),
        across_m: middle(s.row),
        swept_m2: s.swept * m2,
        passes: s.passed / s.swept,
    };
    let cells = squares.par_iter().with_min_len(1024).map(cell).collect();
    // Millions of shares on a large beach: written by all cores, each of which knows the square of the share before.
    let starts: Vec<usize> = std::iter::once(0)
        .chain(squares.iter().scan(0, |sum, s| {
            *sum += s.groups.len();
            Some(*sum)
        }))
        .collect();
    let share = |square: &mut usize, n: usize| {
        while starts[*square + 1] <= n || starts[*square] > n {
            let next = *square + 1;
            let is_next = starts.get(next + 1).is_some_and(|end| starts[next] <= n && n < *end);
            *square = if is_next { next } else { starts.partition_point(|start| *start <= n) - 1 };
        }
        let (group, all, new) = squares[*square].groups[n - starts[*square]];
        Visit { cell: *square, outing: groups.get(group as usize).copied().flatten(), swept_m2: all * m2, fresh_m2: new * m2 }
    };
    let total = starts[squares.len()];
    let shares = (0..total).into_par_iter().with_min_len(4096).map_init(|| 0, share).collect();
    (cells, shares)
}
