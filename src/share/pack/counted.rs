//! The sums of a pack, worked out once: report, sheets and manifest say the same.

use std::collections::BTreeMap;

use geo_types::MultiPolygon;

use super::places::AreaId;
use super::told::{Place, Told};

/// Sums over what is told.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Sums {
    pub(super) finds: usize,
    pub(super) rubbish: usize,
    pub(super) outings: usize,
    pub(super) days: usize,
    pub(super) hours: f64,
    /// `None` where no outing has any.
    pub(super) covered_m2: Option<f64>,
    pub(super) litter_kg: Option<f64>,
}

impl Sums {
    pub(super) fn of_told(told: &Told) -> Self {
        let sum = |values: Vec<f64>| (!values.is_empty()).then(|| values.iter().sum());
        let days: std::collections::BTreeSet<_> = told.outings.iter().map(|o| o.day).collect();
        Self {
            finds: told.finds.len(),
            rubbish: told.finds.iter().filter(|f| f.rubbish).count(),
            outings: told.outings.len(),
            days: days.len(),
            hours: told.outings.iter().map(|o| o.hours).sum(),
            covered_m2: sum(told.outings.iter().filter_map(|o| o.covered_m2).collect()),
            litter_kg: sum(told.outings.iter().filter_map(|o| o.litter_kg).collect()),
        }
    }
}

/// How many finds lie in each area, for the picture.
pub(super) fn by_area(told: &Told) -> Vec<(MultiPolygon<f64>, usize)> {
    let mut areas: BTreeMap<AreaId, (&MultiPolygon<f64>, usize)> = BTreeMap::new();
    for find in &told.finds {
        if let Place::Area(id, _, outline) = &find.place {
            areas.entry(*id).or_insert((outline, 0)).1 += 1;
        }
    }
    areas.into_values().map(|(outline, n)| (outline.clone(), n)).collect()
}
