//! Finds drawn as they would fall on a beach of even rate: for each outing a day's effect, from that a count, and for
//! each find a cell in proportion to the outing's exposure.
//!
//! Cells are drawn by the alias method of Walker (1977), *An efficient method for generating discrete random variables
//! with general distributions*, the tables built as Vose (1991) did. One 64-bit number a draw: 32 bits for the entry,
//! 32 for which of its two cells. O(stays) once, O(1) a find.

use rand::Rng;
use rand_distr::{Distribution, Gamma, Poisson};

use super::grid::{ExposureGrid, Padded};
use crate::chance::Group;

/// The tables to draw from.
pub(super) struct Draw {
    outings: Vec<Table>,
    /// Gamma of mean 1.
    effect: Option<Gamma<f64>>,
    /// What each outing would give on a day of effect 1.
    means: Vec<f64>,
}

/// The cells of one outing.
struct Table {
    /// The share of the first cell, of 2^32, and the places of both.
    entries: Vec<(u32, [u32; 2])>,
}

impl Table {
    fn new(cells: &[(u32, f32)], grid: &Padded) -> Self {
        let mean = cells.iter().map(|c| f64::from(c.1)).sum::<f64>() / cells.len().max(1) as f64;
        let places: Vec<u32> = cells.iter().map(|c| grid.place[c.0 as usize] as u32).collect();
        let mut shares: Vec<f64> = cells.iter().map(|c| f64::from(c.1) / mean).collect();
        let (mut small, mut large): (Vec<usize>, Vec<usize>) = (0..shares.len()).partition(|n| shares[*n] < 1.0);
        // What is left over at the end is full but for rounding.
        let mut entries: Vec<(u32, [u32; 2])> = places.iter().map(|p| (u32::MAX, [*p; 2])).collect();
        while let (Some(low), Some(high)) = (small.pop(), large.last().copied()) {
            entries[low] = ((shares[low] * 2_f64.powi(32)) as u32, [places[low], places[high]]);
            shares[high] -= 1.0 - shares[low];
            if shares[high] < 1.0 {
                large.pop();
                small.push(high);
            }
        }
        Self { entries }
    }

    fn strew(&self, total: u32, finds: &mut [u32], rng: &mut impl Rng) {
        let count = self.entries.len() as u64;
        for _ in 0..total {
            let drawn = rng.next_u64();
            let (share, places) = self.entries[(((drawn >> 32) * count) >> 32) as usize];
            finds[places[usize::from(drawn as u32 >= share)] as usize] += 1;
        }
    }
}

impl Draw {
    /// From exposure at a rate `b`, with effects of shape `phi`.
    pub(super) fn new(grid: &Padded, cells: &ExposureGrid, groups: &[Group], b: f64, phi: f64) -> Self {
        Self {
            outings: cells.outings.iter().map(|own| Table::new(own, grid)).collect(),
            effect: Gamma::new(phi, 1.0 / phi).ok(),
            means: groups.iter().map(|g| b * g.exposure).collect(),
        }
    }

    /// Strews finds of some outings over the padded grid and tells how many each of them made.
    pub(super) fn strew(&self, outings: &[usize], groups: &mut [Group], finds: &mut [u32], rng: &mut impl Rng) {
        for n in outings {
            let (table, mean, group) = (&self.outings[*n], self.means[*n], &mut groups[*n]);
            let effect = self.effect.as_ref().map_or(1.0, |e| e.sample(rng));
            let count = Poisson::new(effect * mean).map_or(0.0, |p| p.sample(rng));
            // No day brings more than four billion finds.
            let count = if table.entries.is_empty() { 0 } else { count.min(f64::from(u32::MAX)) as u32 };
            group.count = f64::from(count);
            table.strew(count, finds, rng);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn cells_are_drawn_in_proportion_to_their_exposure() {
        let exposure = [0.0, 1.0, 5.0, 0.25, 0.0, 3.75, 90.0];
        let pieces = (0..7).map(|n| (0, n, exposure[n as usize]));
        let cells = ExposureGrid::new(7, 7, 1, pieces, std::iter::empty());
        let grid = Padded::new(7, 7, 0, 0);
        let (mut finds, total) = (vec![0; 7], 1_000_000);
        Table::new(&cells.outings[0], &grid).strew(total, &mut finds, &mut ChaCha8Rng::seed_from_u64(5));
        for (n, e) in finds.iter().zip(exposure) {
            let expected = f64::from(total) * f64::from(e) / 100.0;
            assert!((f64::from(*n) - expected).abs() <= 4.0 * expected.sqrt(), "{n} {expected}");
        }
        assert_eq!(finds.iter().sum::<u32>(), total);
    }

    /// Mean and variance of a negative binomial: m and m + m² / phi (Lawless 1987).
    #[test]
    fn outings_differ_as_the_shape_has_it() {
        let cells = ExposureGrid::new(1, 1, 1, [(0, 0, 20.0)].into_iter(), std::iter::empty());
        let grid = Padded::new(1, 1, 0, 0);
        let mut groups = cells.groups();
        let draw = Draw::new(&grid, &cells, &groups, 1.0, 4.0);
        let mut rng = ChaCha8Rng::seed_from_u64(9);
        let counts: Vec<f64> = (0..20_000)
            .map(|_| {
                draw.strew(&[0], &mut groups, &mut [0], &mut rng);
                groups[0].count
            })
            .collect();
        let mean = counts.iter().sum::<f64>() / 20_000.0;
        let variance = counts.iter().map(|c| (c - mean).powi(2)).sum::<f64>() / 20_000.0;
        assert!((mean - 20.0).abs() < 0.3 && (variance - 120.0).abs() < 6.0, "{mean} {variance}");
    }
}
