use super::{Covered, CoveredCell, ReadingError, Searched};
use crate::Progress;
use crate::book::Book;
use crate::earth::Local;
use crate::effort::{Effort, EffortError, Params, StretchKind};
use crate::shore::Setting;

impl Covered {
    /// The ground covered on a beach, along and across its shore, with the effort behind it, whose
    /// shares become [`Covered::visits`]; `None` where no track shows any or the beach has no shape yet.
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
        let mut effort = Effort::of(book, setting.beach.uid, on_grid, params, progress).map_err(|e| match e {
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
        // Millions on a large beach, so they are handed on and not copied.
        let visits = std::mem::take(&mut effort.shares);
        let in_use = effort.stretches.iter().filter(|s| s.kind == StretchKind::Searched);
        let searched = in_use
            .filter_map(|s| {
                let swath_m2 = s.length_m * s.swath_m * params.overlap;
                Some(Searched { outing: s.outing, from_s: s.from_s?, to_s: s.to_s?, swath_m2 })
            })
            .collect();
        Ok(Some((Self { cell_m: params.cell_m, cells, visits, searched }, effort)))
    }
}
