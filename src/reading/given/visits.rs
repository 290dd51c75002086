//! The visits to each square of the ground covered, and the squares near a place.

use std::collections::HashMap;
use std::ops::Range;

use rayon::prelude::*;

use super::covered::{Covered, CoveredCell};
use crate::book::Uid;
use crate::shore::{Setting, ShorePoint};

/// An index of the ground covered: built in O(visits + squares log squares), a square's visits are had in
/// O(1), the squares round a place in O(rows log squares). Outings go by number, as there may be millions
/// of visits. It stands as long as the ground does, whatever finds are read on it.
pub(in crate::reading) struct CoveredIndex {
    /// The band of the setting that the middle of each square lies in; empty where levels are not known.
    band_of_square: Vec<Option<usize>>,
    /// The visits square by square, those of one in order of time: whatever is read of them is read in that order, and
    /// there may be millions.
    visits: Vec<OneVisit>,
    /// Where in `visits` those of each square begin.
    first: Vec<u32>,
    /// Each row that holds squares, and where in `in_rows` its own begin; in order.
    rows: Vec<(i64, u32)>,
    /// Column and number of each square, row by row and then in order of column.
    in_rows: Vec<(i64, u32)>,
    /// The visits outing by outing, those of one row by row and then in order of column, and where each outing's begin.
    by_outing: Vec<Placed>,
    first_by_outing: Vec<u32>,
    /// The outings, in order of their first visit.
    outings: Vec<Option<Uid>>,
    number_of: HashMap<Option<Uid>, u32>,
}

/// Where a visit was: row and column of its square, its number, and that of the visit.
#[derive(Debug, Clone, Copy, Default)]
struct Placed {
    row: i32,
    column: i32,
    square: u32,
    visit: u32,
}

/// One outing in one square.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(in crate::reading) struct OneVisit {
    /// The outing, by its place among [`Visits::outings`].
    pub(in crate::reading) outing: u32,
    /// Ground that it swept, m².
    pub(in crate::reading) swept_m2: f64,
    /// Ground that no earlier outing had swept, m².
    pub(in crate::reading) fresh_m2: f64,
}

/// The ground covered with its index.
#[derive(Clone, Copy)]
pub(in crate::reading) struct Visits<'a> {
    covered: &'a Covered,
    index: &'a CoveredIndex,
}

impl CoveredIndex {
    /// The index of ground covered on a beach.
    pub(in crate::reading) fn built(setting: &Setting, covered: &Covered) -> Self {
        Self { band_of_square: bands_of_squares(setting, covered), ..Self::by_square(covered) }
    }

    fn by_square(covered: &Covered) -> Self {
        let squares = covered.cells.len();
        let mut first = vec![0_u32; squares + 1];
        covered.visits.iter().filter(|v| v.cell < squares).for_each(|v| first[v.cell + 1] += 1);
        for n in 0..squares {
            first[n + 1] += first[n];
        }
        let mut next = first.clone();
        let mut visits = vec![OneVisit { outing: 0, swept_m2: 0.0, fresh_m2: 0.0 }; first[squares] as usize];
        let mut number_of = HashMap::new();
        let mut outings = Vec::new();
        let mut last = None;
        for v in &covered.visits {
            // The visits to one square are of different outings, but mostly of those of the square before.
            let outing = match last {
                Some((uid, number)) if uid == v.outing => number,
                _ => *number_of.entry(v.outing).or_insert_with(|| {
                    outings.push(v.outing);
                    outings.len() as u32 - 1
                }),
            };
            last = Some((v.outing, outing));
            if let Some(at) = next.get_mut(v.cell).filter(|_| v.cell < squares) {
                visits[*at as usize] = OneVisit { outing, swept_m2: v.swept_m2, fresh_m2: v.fresh_m2 };
                *at += 1;
            }
        }
        let place = |(n, c): (usize, &CoveredCell)| {
            let (row, column) = row_and_column(ShorePoint::new(c.along_m, c.across_m), covered.cell_m);
            (row, column, n as u32)
        };
        let mut by_place: Vec<_> = covered.cells.iter().enumerate().map(place).collect();
        by_place.sort_unstable();
        let mut rows: Vec<(i64, u32)> = Vec::new();
        for (n, (row, _, _)) in by_place.iter().enumerate() {
            if rows.last().is_none_or(|last| last.0 != *row) {
                rows.push((*row, n as u32));
            }
        }
        let (by_outing, first_by_outing) = by_outing(&visits, &first, &by_place, outings.len());
        let in_rows = by_place.into_iter().map(|(_, column, n)| (column, n)).collect();
        Self { band_of_square: Vec::new(), visits, first, rows, in_rows, by_outing, first_by_outing, outings, number_of }
    }
}

/// The visits outing by outing, in the order of the squares by their places.
fn by_outing(visits: &[OneVisit], first: &[u32], by_place: &[(i64, i64, u32)], outings: usize) -> (Vec<Placed>, Vec<u32>) {
    let mut first_by_outing = vec![0_u32; outings + 1];
    visits.iter().for_each(|v| first_by_outing[v.outing as usize + 1] += 1);
    for n in 0..outings {
        first_by_outing[n + 1] += first_by_outing[n];
    }
    let mut next = first_by_outing.clone();
    let mut by_outing = vec![Placed::default(); visits.len()];
    for (row, column, square) in by_place {
        for visit in first[*square as usize]..first[*square as usize + 1] {
            let at = &mut next[visits[visit as usize].outing as usize];
            by_outing[*at as usize] = Placed { row: *row as i32, column: *column as i32, square: *square, visit };
            *at += 1;
        }
    }
    (by_outing, first_by_outing)
}

/// For each square of the ground covered, the band of the setting that its middle lies in.
fn bands_of_squares(setting: &Setting, covered: &Covered) -> Vec<Option<usize>> {
    let (Ok(shore), Some(offset_m)) = (&setting.shore, setting.beach.datum_offset_m) else { return Vec::new() };
    let band = |cell: &CoveredCell| {
        let level = shore.sand_level(shore.to_local(ShorePoint::new(cell.along_m, cell.across_m)))?;
        setting.bands.iter().position(|b| b.holds(level.land_m + offset_m))
    };
    covered.cells.par_iter().map(band).collect()
}

impl<'a> Visits<'a> {
    pub(in crate::reading) fn new(covered: &'a Covered, index: &'a CoveredIndex) -> Self {
        Self { covered, index }
    }

    /// The band that the middle of each square lies in.
    pub(in crate::reading) fn band_of_square(&self) -> &'a [Option<usize>] {
        &self.index.band_of_square
    }

    /// How many squares were swept.
    pub(in crate::reading) fn squares(&self) -> usize {
        self.covered.cells.len()
    }

    /// Side of a square, metres.
    pub(in crate::reading) fn cell_m(&self) -> f64 {
        self.covered.cell_m
    }

    pub(in crate::reading) fn middle(&self, square: usize) -> ShorePoint {
        let c = &self.covered.cells[square];
        ShorePoint::new(c.along_m, c.across_m)
    }

    /// Ground swept in a square at least once, m².
    pub(in crate::reading) fn swept_m2(&self, square: usize) -> f64 {
        self.covered.cells[square].swept_m2.max(0.0)
    }

    /// The outings, in order of their first visit; visits name them by their place here.
    pub(in crate::reading) fn outings(&self) -> &'a [Option<Uid>] {
        &self.index.outings
    }

    /// The place of an outing among [`Visits::outings`]; `None` when it visited nothing.
    pub(in crate::reading) fn number_of(&self, outing: Option<Uid>) -> Option<usize> {
        self.index.number_of.get(&outing).map(|n| *n as usize)
    }

    /// How often each visit to a square passed over what it swept: the passes are known in all, and each visit is given
    /// its share; at least 1.
    pub(in crate::reading) fn passes_each(&self, square: usize) -> f64 {
        let all_m2: f64 = self.to(square).iter().map(|v| v.swept_m2).sum();
        let of = &self.covered.cells[square];
        if all_m2 > 0.0 { (of.passes * of.swept_m2 / all_m2).max(1.0) } else { 1.0 }
    }

    /// Every visit, square by square, those of one in order of time.
    pub(in crate::reading) fn all(&self) -> &'a [OneVisit] {
        &self.index.visits
    }

    /// Where among [`Visits::all`] those of a square stand.
    pub(in crate::reading) fn numbers(&self, square: usize) -> Range<usize> {
        self.index.first[square] as usize..self.index.first[square + 1] as usize
    }

    /// The visits to a square, in order of time.
    pub(in crate::reading) fn to(&self, square: usize) -> &'a [OneVisit] {
        &self.index.visits[self.numbers(square)]
    }

    /// The visits of one outing to the squares that come within so many metres along and across of a place, with the
    /// squares; in order of [`squares_near`](Self::squares_near). O(rows log visits of the outing).
    pub(in crate::reading) fn of_outing_near(
        &self,
        outing: usize,
        at: ShorePoint,
        along_m: f64,
        across_m: f64,
    ) -> impl Iterator<Item = (usize, &'a OneVisit)> + '_ {
        let cell_m = self.covered.cell_m;
        let (along_m, across_m) = (along_m + 0.5 * cell_m, across_m + 0.5 * cell_m);
        let (from_row, from_column) = row_and_column(ShorePoint::new(at.along_m - along_m, at.across_m - across_m), cell_m);
        let (to_row, to_column) = row_and_column(ShorePoint::new(at.along_m + along_m, at.across_m + across_m), cell_m);
        let first = &self.index.first_by_outing;
        let own = &self.index.by_outing[first[outing] as usize..first[outing + 1] as usize];
        let place = |p: &Placed| (i64::from(p.row), i64::from(p.column));
        let rows = (from_row..=to_row).flat_map(move |row| {
            let from = own.partition_point(|p| place(p) < (row, from_column));
            own[from..].iter().take_while(move |p| place(p) <= (row, to_column))
        });
        rows.map(|p| (p.square as usize, &self.index.visits[p.visit as usize])).filter(move |(n, _)| {
            let m = self.middle(*n);
            (m.along_m - at.along_m).abs() <= along_m && (m.across_m - at.across_m).abs() <= across_m
        })
    }

    /// The squares that come within so many metres along and across of a place.
    pub(in crate::reading) fn squares_near(
        &self,
        at: ShorePoint,
        along_m: f64,
        across_m: f64,
    ) -> impl Iterator<Item = usize> + '_ {
        let cell_m = self.covered.cell_m;
        // How far a middle may lie off.
        let (along_m, across_m) = (along_m + 0.5 * cell_m, across_m + 0.5 * cell_m);
        let (from_row, from_column) = row_and_column(ShorePoint::new(at.along_m - along_m, at.across_m - across_m), cell_m);
        let (to_row, to_column) = row_and_column(ShorePoint::new(at.along_m + along_m, at.across_m + across_m), cell_m);
        // Few rows hold all squares, so that they stay at hand while thousands of places are looked up.
        let (all, in_rows) = (&self.index.rows, &self.index.in_rows);
        let first = all.partition_point(|r| r.0 < from_row);
        let rows = (first..all.len()).take_while(move |n| all[*n].0 <= to_row).flat_map(move |n| {
            let end = all.get(n + 1).map_or(in_rows.len(), |next| next.1 as usize);
            let own = &in_rows[all[n].1 as usize..end];
            let from = own.partition_point(|s| s.0 < from_column);
            own[from..].iter().take_while(move |s| s.0 <= to_column).map(|s| s.1 as usize)
        });
        rows.filter(move |n| {
            let m = self.middle(*n);
            (m.along_m - at.along_m).abs() <= along_m && (m.across_m - at.across_m).abs() <= across_m
        })
    }
}

fn row_and_column(s: ShorePoint, cell_m: f64) -> (i64, i64) {
    ((s.across_m / cell_m).floor() as i64, (s.along_m / cell_m).floor() as i64)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::effort::Visit;
    use crate::reading::given::CoveredCell;

    #[test]
    fn visits_in_any_order_come_out_by_square_and_squares_by_place() {
        let cell = |along_m, across_m| CoveredCell { along_m, across_m, swept_m2: 1.0, passes: 1.0 };
        let visit = |cell, swept_m2| Visit { cell, outing: None, swept_m2, fresh_m2: 0.0 };
        let covered = Covered {
            cell_m: 1.0,
            cells: vec![cell(10.5, 3.5), cell(-0.5, 3.5), cell(11.5, 3.5), cell(10.5, 9.5)],
            // One names a square that is not there.
            visits: vec![visit(2, 0.1), visit(0, 0.2), visit(2, 0.3), visit(9, 0.4), visit(0, 0.5)],
            searched: Vec::new(),
        };
        let index = CoveredIndex::by_square(&covered);
        let visits = Visits::new(&covered, &index);
        let swept: Vec<Vec<f64>> = (0..4).map(|n| visits.to(n).iter().map(|v| v.swept_m2).collect()).collect();
        assert_eq!(swept, [vec![0.2, 0.5], vec![], vec![0.1, 0.3], vec![]]);
        let near = |along, reach| visits.squares_near(ShorePoint::new(along, 3.2), reach, 1.0).collect::<Vec<_>>();
        assert_eq!((near(10.2, 0.5), near(10.9, 0.5), near(4.0, 40.0)), (vec![0], vec![0, 2], vec![1, 0, 2]));
        assert!(near(4.0, 1.0).is_empty());
        let own = |along, reach| {
            let of_outing = visits.of_outing_near(0, ShorePoint::new(along, 3.2), reach, 1.0);
            of_outing.map(|(n, v)| (n, v.swept_m2)).collect::<Vec<_>>()
        };
        // As going through every visit of each square near would find them.
        for (along, reach) in [(10.2, 0.5), (10.9, 0.5), (4.0, 40.0), (4.0, 1.0)] {
            let all = near(along, reach).into_iter().flat_map(|n| visits.to(n).iter().map(move |v| (n, v)));
            assert_eq!(own(along, reach), all.filter(|(_, v)| v.outing == 0).map(|(n, v)| (n, v.swept_m2)).collect::<Vec<_>>());
        }
        // Squares whose edges lie between the usual ones.
        let square = CoveredCell { along_m: 100.0, across_m: 60.0, swept_m2: 400.0, passes: 1.0 };
        let covered = Covered { cell_m: 20.0, cells: vec![square], visits: Vec::new(), searched: Vec::new() };
        let index = CoveredIndex::by_square(&covered);
        let visits = Visits::new(&covered, &index);
        let near = |along| visits.squares_near(ShorePoint::new(along, 65.0), 3.0, 3.0).count();
        assert_eq!((near(86.9), near(87.1), near(100.0), near(112.9), near(113.1)), (0, 1, 1, 1, 0));
    }
}
