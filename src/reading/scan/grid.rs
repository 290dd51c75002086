//! The grid that a scan looks at, bare and with a margin.

/// Effort and finds on a grid.
pub(in crate::reading) struct EffortGrid {
    pub(in crate::reading) across_count: usize,
    /// Effort of each cell, in rows of `across_count`, one row a step along.
    pub(in crate::reading) effort: Vec<f64>,
    /// Finds of each cell.
    pub(in crate::reading) finds: Vec<u32>,
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
    pub(in crate::reading) fn new(cells: &EffortGrid, along: usize, across: usize) -> Self {
        let rows = cells.effort.len() / cells.across_count.max(1);
        let width = cells.across_count + 2 * across;
        let len = (rows + 2 * along) * width;
        let place: Vec<usize> =
            (0..cells.effort.len()).map(|n| (n / cells.across_count + along) * width + n % cells.across_count + across).collect();
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
