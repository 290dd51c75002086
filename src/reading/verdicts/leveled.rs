//! Finds by along and level, and whether the heavy ones among them are sorted out of the light ones.

use super::levels::Levels;
use crate::chance::{Fisher, fisher_exact, gamma_quantile};
use crate::reading::exposure::{CountedAt, Exposure, by_cell};
use crate::reading::given::{Counts, Placed, PlacedFinds, WeightChoice};
use crate::reading::scan::Window;
use crate::shore::{Shore, ShorePoint};

/// Finds by along and level.
pub(super) struct Leveled<'a> {
    pub(super) finds: Vec<(&'a Placed, ShorePoint)>,
    /// The number of each among all finds.
    pub(super) numbers: Vec<usize>,
    /// For each cell its finds, how many they are, and where along the heavy ones lie.
    pub(super) by_cell: Vec<Vec<usize>>,
    pub(super) counts: Vec<Counts>,
    pub(super) heavy: Vec<Vec<f64>>,
    pub(super) all: Counts,
}

impl<'a> Leveled<'a> {
    /// Those of the outings that are taken; all without.
    pub(super) fn new(
        laid: &'a PlacedFinds,
        shore: &Shore,
        levels: &Levels,
        exposure: &Exposure,
        taken: Option<&[bool]>,
    ) -> Self {
        let on_ground = |(n, (f, at)): (usize, (&'a Placed, &Option<CountedAt>))| {
            let at = at.filter(|at| taken.is_none_or(|taken| taken[at.outing as usize]))?;
            let cell = levels.cell_of(&levels.grid, shore, f, at)? as usize;
            Some((((f, shore.to_shore(f.at)), n), cell))
        };
        let all = laid.finds.iter().zip(&exposure.of_find).enumerate().filter_map(on_ground);
        let (finds, cells): (Vec<_>, Vec<_>) = all.unzip();
        let (finds, numbers): (Vec<(&Placed, ShorePoint)>, Vec<usize>) = finds.into_iter().unzip();
        let by_cell = by_cell(&cells.into_iter().map(Some).collect::<Vec<_>>(), levels.count);
        let of = |own: &Vec<usize>| own.iter().map(|n| finds[*n]).collect::<Vec<(&Placed, ShorePoint)>>();
        let counts: Vec<Counts> = by_cell.iter().map(|own| Counts::tally(of(own).into_iter().map(|f| f.0))).collect();
        let heavy = |own: &Vec<usize>| {
            of(own).into_iter().filter(|(f, _)| WeightChoice::Heavy.takes(f.weight)).map(|(_, s)| s.along_m).collect()
        };
        let heavy = by_cell.iter().map(heavy).collect();
        let all = counts.iter().fold(Counts::default(), |sum, c| sum.and(*c));
        Self { finds, numbers, by_cell, counts, heavy, all }
    }

    /// From where to where the heavy finds of some cells lie along the shore.
    pub(super) fn ends_m(&self, cells: &[usize]) -> (f64, f64) {
        let along = cells.iter().flat_map(|n| &self.heavy[*n]);
        along.fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), v| (low.min(*v), high.max(*v)))
    }

    /// Counts in some cells, and Fisher's test of their share of heavy ones against the rest's.
    pub(super) fn shares(&self, cells: &[usize]) -> (Counts, Counts, Fisher) {
        let counts = cells.iter().fold(Counts::default(), |sum, n| sum.and(self.counts[*n]));
        let rest = self.all.without(counts);
        let table = [counts.heavy, counts.light, rest.heavy, rest.light].map(|n| n as u64);
        (counts, rest, fisher_exact([[table[0], table[1]], [table[2], table[3]]]))
    }

    /// Whether heavy finds are sorted out of the light ones in a window: by Fisher's test of their shares, or as light ones as
    /// many times as dense would plainly have shown, which tells more where a beach holds few light ones. Where the light ones
    /// are plainly denser there too, things were lost rather than sorted.
    pub(super) fn is_sorted(&self, window: &Window, cells: &[usize]) -> bool {
        let (counts, _, test) = self.shares(cells);
        let (heavy, expected) = (counts.heavy as f64, window.expected.max(1e-9));
        let times = gamma_quantile(heavy.max(0.5), SURELY) / expected;
        let due = self.all.light as f64 * expected / (self.all.heavy as f64).max(1.0);
        let as_rich = counts.light as f64 * times.ln() - due * (times - 1.0);
        let denser = counts.light > 0 && gamma_quantile(counts.light as f64, DENSER_P) > DENSER_TIMES * due;
        !denser && (test.greater <= 0.01 || (times > 1.0 && as_rich <= -LN_ODDS))
    }
}

/// Heavy finds of a window are taken as no richer than they surely are, but for this chance: the strongest window is richer by
/// luck as well.
const SURELY: f64 = 0.25;
/// Light ones as rich as the heavy must be as unlikely as one to twenty, as a logarithm.
const LN_ODDS: f64 = 3.0;
/// Light ones are denser there if they are more than so many times what is due, but for luck in so many cases.
const DENSER_TIMES: f64 = 1.15;
const DENSER_P: f64 = 0.05;

#[cfg(test)]
mod tests {
    use super::*;

    /// One cell with so many heavy and light finds, of so many on the beach.
    fn sorted_of(heavy: usize, expected: f64, light: usize, all: (usize, usize)) -> bool {
        let counts = |heavy: usize, light: usize| Counts { finds: heavy + light, heavy, light, ..Counts::default() };
        let leveled = Leveled {
            finds: Vec::new(),
            numbers: Vec::new(),
            by_cell: vec![Vec::new()],
            counts: vec![counts(heavy, light)],
            heavy: vec![Vec::new()],
            all: counts(all.0, all.1),
        };
        let (finds, log_ratio, p) = (heavy as u32, 9.0, 0.01);
        let window = Window { cells: vec![0], finds, expected, log_ratio, p, slice: 0, shape: 0, rings: 1, middle: 0 };
        leveled.is_sorted(&window, &[0])
    }

    #[test]
    fn heavy_finds_are_sorted_where_light_ones_are_not_as_dense() {
        // As many light ones as are due: Fisher's test tells (31 of 35 heavy, 66 of 152 elsewhere).
        assert!(sorted_of(31, 8.4, 4, (97, 90)));
        // Five heavy ones where 0.3 are due and no light one: too few for the test, and 3.4 / 0.3 times as many light ones as the
        // 0.3 due would be missing in one case of twenty-one.
        assert!(sorted_of(5, 0.3, 0, (32, 32)));
        // Where light ones are as dense, or too few are due to tell, they are not.
        assert!(!sorted_of(45, 20.2, 40, (432, 432)));
        assert!(!sorted_of(24, 7.4, 3, (60, 13)));
        // Heavier than elsewhere beyond doubt, and yet light ones are denser as well: 24 where 13.6 are due.
        assert!(!sorted_of(29, 5.7, 24, (207, 492)));
    }
}
