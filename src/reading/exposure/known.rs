use std::sync::Arc;

use super::field::Field;
use super::stays::Stays;
use crate::reading::given::{Covered, CoveredIndex, Ground, OutingTables, Visits};
use crate::reading::params::Params;
use crate::shore::Setting;

/// What stands on the ground covered, whatever finds are read on it: its index, and what each outing did where.
/// O(visits log visits); an edit of a find leaves it as it is.
pub struct KnownGround {
    index: CoveredIndex,
    /// `None` where no ground was swept.
    stays: Option<(Arc<Field>, Stays)>,
    /// The ground as of one visit, where outings are not told apart.
    one_visit: Option<Covered>,
}

impl KnownGround {
    /// What stands on ground covered by outings of these tables; `scan_cell_m` is [`Params::scan_cell_m`].
    pub fn new(setting: &Setting, outings: &OutingTables, covered: &Covered, scan_cell_m: f64) -> Self {
        let one_visit = covered.as_one_visit();
        let covered = one_visit.as_ref().unwrap_or(covered);
        let index = CoveredIndex::built(setting, covered);
        let stays = Field::new(covered, scan_cell_m).map(|field| {
            let stays = Stays::new(outings, &Visits::new(covered, &index), &field);
            (Arc::new(field), stays)
        });
        Self { index, stays, one_visit }
    }

    /// The same of what a reading is made from; `None` where no ground is known.
    pub(in crate::reading) fn under(ground: &Ground, params: &Params) -> Option<Self> {
        Some(Self::new(ground.setting, &ground.book.into(), ground.covered?, params.scan_cell_m))
    }

    /// The ground with outings told apart, be it as one.
    pub(in crate::reading) fn told_apart<'a>(&'a self, ground: &Ground<'a>) -> Ground<'a> {
        Ground { covered: self.one_visit.as_ref().or(ground.covered), ..*ground }
    }

    /// Its visits; `covered` must be the ground it was made of, told apart.
    pub(in crate::reading) fn visits<'a>(&'a self, covered: &'a Covered) -> Visits<'a> {
        Visits::new(covered, &self.index)
    }

    pub(super) fn stays(&self) -> Option<(&Arc<Field>, &Stays)> {
        self.stays.as_ref().map(|(field, stays)| (field, stays))
    }
}
