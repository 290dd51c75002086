use super::{Covered, CoveredCell, ReadingError, Visit};
use crate::Progress;
use crate::book::Book;
use crate::earth::Local;
use crate::effort::{Effort, EffortError, Params};
use crate::shore::Setting;

impl Covered {
    /// The ground covered on a beach, along and across its shore, with the effort behind it; `None`
    /// where no track shows any or the beach has no shape yet.
    ///
    /// # Errors
    /// [`ReadingError::Effort`] when a setting cannot be, [`ReadingError::Cancelled`] when called off.
    pub fn of(
        book: &Book,
        setting: &Setting,
        params: &Params,
        progress: &Progress,
    ) -> Result<Option<(Self, Effort)>, ReadingError> {
        let Ok(shore) = &setting.shore else { return Ok(None) };
        let on_grid = |p: Local| {
            let s = shore.to_shore(p);
            Local::new(s.along_m, s.across_m)
        };
        let effort = Effort::of(book, setting.beach.uid, on_grid, params, progress).map_err(|e| match e {
            EffortError::Cancelled(c) => ReadingError::Cancelled(c),
            other => ReadingError::Effort(other),
        })?;
        if effort.cells.is_empty() {
            return Ok(None);
        }
        let cells = effort
            .cells
            .iter()
            .map(|c| CoveredCell { along_m: c.along_m, across_m: c.across_m, swept_m2: c.swept_m2, passes: c.passes })
            .collect();
        let visits = effort
            .shares
            .iter()
            .map(|s| Visit { cell: s.cell, outing: s.outing, swept_m2: s.swept_m2, fresh_m2: s.fresh_m2 })
            .collect();
        Ok(Some((Self { cell_m: params.cell_m, cells, visits }, effort)))
    }
}
