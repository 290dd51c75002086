//! The grid that a scan looks at, bare and with a margin.

use crate::chance::Group;

/// Exposure and finds on a grid, outing by outing.
#[derive(Clone)]
pub(in crate::reading) struct ExposureGrid {
    pub(in crate::reading) across_count: usize,
    /// Cells, in rows of `across_count`, one row a step along.
    pub(in crate::reading) cells: usize,
    /// For each outing the exposure of the cells it searched, cells in order and each once.
    pub(in crate::reading) outings: Vec<Vec<(u32, f32)>>,
    /// Each find's outing and cell.
    pub(in crate::reading) finds: Vec<(u32, u32)>,
}

impl ExposureGrid {
    /// Exposure added up by outing and cell from pieces of an outing, a cell and m²; finds where their outing has none
    /// are left out.
    pub(in crate::reading) fn new(
        across_count: usize,
        cells: usize,
        outings: usize,
        pieces: impl Iterator<Item = (u32, u32, f32)>,
        finds: impl Iterator<Item = (u32, u32)>,
    ) -> Self {
        let mut of_outing: Vec<Vec<(u32, f32)>> = vec![Vec::new(); outings];
        for (outing, cell, m2) in pieces.filter(|p| p.2 > 0.0) {
            of_outing[outing as usize].push((cell, m2));
        }
        let of_outing: Vec<Vec<(u32, f32)>> = of_outing.into_iter().map(added_up).collect();
        let bare = Self { across_count, cells, outings: of_outing, finds: Vec::new() };
        Self { finds: bare.finds_with_exposure(finds), ..bare }
    }

    /// Spreads the exposure of each outing over the cells beside it, by shares of the cell before, itself and the one
    /// after, along and across: where a swath lay is known no better than a receiver errs. Ground that nobody searched
    /// takes none; what would fall there stays where it is.
    pub(in crate::reading) fn blur(&mut self, along: [f32; 3], across: [f32; 3]) {
        let searched: Vec<bool> = self.weighed(|_| 1.0).into_iter().map(|e| e > 0.0).collect();
        let (width, rows) = (self.across_count as i64, (self.cells / self.across_count.max(1)) as i64);
        for own in &mut self.outings {
            let mut spread: Vec<(u32, f32)> = Vec::with_capacity(9 * own.len());
            for (cell, m2) in own.iter() {
                let (a, b) = (i64::from(*cell) / width, i64::from(*cell) % width);
                for (da, share_along) in (-1..=1).zip(along) {
                    for (db, share_across) in (-1..=1).zip(across).filter(|(_, s)| s * share_along > 0.0) {
                        let (a, b) = (a + da, b + db);
                        let to = a * width + b;
                        let inside = (0..rows).contains(&a) && (0..width).contains(&b) && searched[to as usize];
                        spread.push((if inside { to as u32 } else { *cell }, m2 * share_along * share_across));
                    }
                }
            }
            *own = added_up(spread);
        }
    }

    /// Whether an outing searched a cell.
    pub(in crate::reading) fn has(&self, outing: u32, cell: u32) -> bool {
        self.outings[outing as usize].binary_search_by_key(&cell, |c| c.0).is_ok()
    }

    /// Those of some finds, as outing and cell, that can be counted: the others, whose outing has no exposure in their cell, are left out.
    pub(in crate::reading) fn finds_with_exposure(&self, finds: impl Iterator<Item = (u32, u32)>) -> Vec<(u32, u32)> {
        finds.filter(|(outing, cell)| self.has(*outing, *cell)).collect()
    }

    /// The same ground with other finds.
    pub(in crate::reading) fn with_finds(&self, finds: Vec<(u32, u32)>) -> Self {
        Self { finds, outings: self.outings.clone(), ..*self }
    }

    /// Outing and exposure in order of cell, and where those of each cell begin.
    pub(in crate::reading) fn by_cell(&self) -> ByCell {
        let mut first = vec![0_u32; self.cells + 1];
        self.outings.iter().flatten().for_each(|(cell, _)| first[*cell as usize + 1] += 1);
        for n in 0..self.cells {
            first[n + 1] += first[n];
        }
        let mut next = first.clone();
        let mut stays = vec![(0, 0.0); first[self.cells] as usize];
        for (outing, own) in self.outings.iter().enumerate() {
            for (cell, m2) in own {
                let at = &mut next[*cell as usize];
                stays[*at as usize] = (outing as u32, *m2);
                *at += 1;
            }
        }
        ByCell { first, stays }
    }

    /// Finds of each cell.
    pub(super) fn counts(&self) -> Vec<u32> {
        let mut counts = vec![0; self.cells];
        self.finds.iter().for_each(|(_, cell)| counts[*cell as usize] += 1);
        counts
    }

    /// Finds and exposure of each outing.
    pub(super) fn groups(&self) -> Vec<Group> {
        let exposure = |own: &Vec<(u32, f32)>| own.iter().map(|c| f64::from(c.1)).sum::<f64>();
        let mut groups: Vec<Group> = self.outings.iter().map(|own| Group::new(0.0, exposure(own))).collect();
        self.finds.iter().for_each(|(outing, _)| groups[*outing as usize].count += 1.0);
        groups
    }

    /// Exposure of each cell, an outing's times its weight.
    pub(in crate::reading) fn weighed(&self, weights: impl Fn(usize) -> f64) -> Vec<f64> {
        let mut laid = vec![0.0; self.cells];
        for (n, own) in self.outings.iter().enumerate() {
            let weight = weights(n);
            own.iter().for_each(|(cell, m2)| laid[*cell as usize] += weight * f64::from(*m2));
        }
        laid
    }

    /// The same of some outings alone; the others are left without exposure.
    pub(in crate::reading) fn of_outings(&self, taken: &[bool]) -> Self {
        let keeps = |outing: usize| taken.get(outing).copied().unwrap_or(false);
        Self {
            across_count: self.across_count,
            cells: self.cells,
            outings: self.outings.iter().enumerate().map(|(n, own)| if keeps(n) { own.clone() } else { Vec::new() }).collect(),
            finds: self.finds.iter().filter(|f| keeps(f.0 as usize)).copied().collect(),
        }
    }

    /// The same without some cells.
    pub(super) fn without(&self, taken: &[bool]) -> Self {
        let keeps = |cell: &u32| !taken[*cell as usize];
        Self {
            across_count: self.across_count,
            cells: self.cells,
            outings: self.outings.iter().map(|own| own.iter().filter(|c| keeps(&c.0)).copied().collect()).collect(),
            finds: self.finds.iter().filter(|f| keeps(&f.1)).copied().collect(),
        }
    }
}

/// Exposure by cell and outing.
pub(in crate::reading) struct ByCell {
    first: Vec<u32>,
    stays: Vec<(u32, f32)>,
}

impl ByCell {
    /// The outings that searched a cell, each with its exposure there.
    pub(in crate::reading) fn of(&self, cell: usize) -> &[(u32, f32)] {
        &self.stays[self.first[cell] as usize..self.first[cell + 1] as usize]
    }
}

/// Pieces in order of cell, those of one cell added up.
fn added_up(mut own: Vec<(u32, f32)>) -> Vec<(u32, f32)> {
    // In the order in which they came, so that the same pieces give the same sums to the last digit.
    own.sort_by_key(|c| c.0);
    own.dedup_by(|next, kept| {
        let same = next.0 == kept.0;
        if same {
            kept.1 += next.1;
        }
        same
    });
    own
}

/// The grid with a margin, so that no window runs off it.
pub(in crate::reading) struct Padded {
    pub(in crate::reading) width: usize,
    pub(in crate::reading) len: usize,
    /// Where each cell lies in it.
    pub(in crate::reading) place: Vec<usize>,
    /// Which cell lies at each place.
    pub(in crate::reading) cell: Vec<Option<u32>>,
}

impl Padded {
    pub(in crate::reading) fn new(cells: usize, across_count: usize, along: usize, across: usize) -> Self {
        let rows = cells / across_count.max(1);
        let width = across_count + 2 * across;
        let len = (rows + 2 * along) * width;
        let place: Vec<usize> = (0..cells).map(|n| (n / across_count + along) * width + n % across_count + across).collect();
        let mut cell = vec![None; len];
        place.iter().enumerate().for_each(|(n, place)| cell[*place] = Some(n as u32));
        Self { width, len, place, cell }
    }

    pub(in crate::reading) fn lay<T: Copy + Default>(&self, values: &[T]) -> Vec<T> {
        let mut laid = vec![T::default(); self.len];
        self.place.iter().zip(values).for_each(|(place, v)| laid[*place] = *v);
        laid
    }
}
