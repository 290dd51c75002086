//! Cells drawn with chances in proportion to their effort.
//!
//! The alias method of Walker (1977), *An efficient method for generating discrete random variables with general
//! distributions*, its table built as Vose (1991) did. One 64-bit number a draw: 32 bits for the entry, 32 for
//! which of its two cells. O(cells) once, O(1) a draw.

use rand::Rng;

use super::grid::Padded;

/// The table to draw from.
pub(super) struct Draw {
    /// The share of the first cell, of 2^32, and the places of both.
    entries: Vec<(u32, [u32; 2])>,
}

impl Draw {
    pub(super) fn new(grid: &Padded, effort: &[f64]) -> Self {
        let places: Vec<(f64, u32)> =
            effort.iter().zip(&grid.place).filter(|(e, _)| **e > 0.0).map(|(e, place)| (*e, *place as u32)).collect();
        let mean = places.iter().map(|p| p.0).sum::<f64>() / places.len() as f64;
        let mut shares: Vec<f64> = places.iter().map(|p| p.0 / mean).collect();
        let (mut small, mut large): (Vec<usize>, Vec<usize>) = (0..shares.len()).partition(|n| shares[*n] < 1.0);
        // What is left over at the end is full but for rounding.
        let mut entries: Vec<(u32, [u32; 2])> = places.iter().map(|p| (u32::MAX, [p.1; 2])).collect();
        while let (Some(low), Some(high)) = (small.pop(), large.last().copied()) {
            entries[low] = ((shares[low] * 2_f64.powi(32)) as u32, [places[low].1, places[high].1]);
            shares[high] -= 1.0 - shares[low];
            if shares[high] < 1.0 {
                large.pop();
                small.push(high);
            }
        }
        Self { entries }
    }

    pub(super) fn strew(&self, total: u32, finds: &mut [u32], rng: &mut impl Rng) {
        let count = self.entries.len() as u64;
        for _ in 0..total {
            let drawn = rng.next_u64();
            let (share, places) = self.entries[(((drawn >> 32) * count) >> 32) as usize];
            finds[places[usize::from(drawn as u32 >= share)] as usize] += 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::reading::scan::grid::EffortGrid;
    use rand::SeedableRng;
    use rand_chacha::ChaCha8Rng;

    #[test]
    fn cells_are_drawn_in_proportion_to_their_effort() {
        let effort = [0.0, 1.0, 5.0, 0.25, 0.0, 3.75, 90.0];
        let cells = EffortGrid { across_count: 7, effort: effort.to_vec(), finds: vec![0; 7] };
        let grid = Padded::new(&cells, 0, 0);
        let (mut finds, total) = (vec![0; 7], 1_000_000);
        Draw::new(&grid, &cells.effort).strew(total, &mut finds, &mut ChaCha8Rng::seed_from_u64(5));
        for (n, e) in finds.iter().zip(effort) {
            let expected = f64::from(total) * e / 100.0;
            assert!((f64::from(*n) - expected).abs() <= 4.0 * expected.sqrt(), "{n} {expected}");
        }
        assert_eq!(finds.iter().sum::<u32>(), total);
    }
}
